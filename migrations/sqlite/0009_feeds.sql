-- +goose Up

-- Calendars that other programs fetch by a secret address. Only a hash of the
-- secret is kept. staff_id is whose work the calendar holds, NULL for the shop's.
CREATE TABLE feeds (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    staff_id     INTEGER CONSTRAINT feeds_of_staff REFERENCES staff (id),
    name         TEXT NOT NULL CONSTRAINT feeds_name_given CHECK (length(name) BETWEEN 1 AND 80),
    secret_hash  TEXT NOT NULL CONSTRAINT feeds_secret_once UNIQUE,
    created_at   TEXT NOT NULL CONSTRAINT feeds_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    created_by   TEXT NOT NULL,
    last_used_at TEXT CONSTRAINT feeds_last_used_at_utc CHECK (last_used_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    revoked_at   TEXT CONSTRAINT feeds_revoked_at_utc CHECK (revoked_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

CREATE INDEX feeds_by_staff ON feeds (staff_id);
