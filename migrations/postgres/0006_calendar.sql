-- +goose Up

-- When a person works: hours by weekday and days away, as JSON. People from
-- before have none and keep the shop's hours.
ALTER TABLE staff ADD COLUMN working TEXT NOT NULL DEFAULT '{}';

-- What tasks a person can do, as templates grade them; 0 is as the hats say.
ALTER TABLE staff ADD COLUMN skill BIGINT NOT NULL DEFAULT 0 CONSTRAINT staff_skill_known CHECK (skill BETWEEN 0 AND 4);
