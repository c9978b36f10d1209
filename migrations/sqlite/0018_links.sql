-- +goose Up

-- Pages that a customer reads by a secret address. Only a hash of the secret is
-- kept. staff_id is who made the address: answers that come by it are told apart
-- under that person's keys.
CREATE TABLE job_links (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id       INTEGER NOT NULL CONSTRAINT job_links_of_job REFERENCES jobs (id),
    staff_id     INTEGER NOT NULL CONSTRAINT job_links_of_staff REFERENCES staff (id),
    secret_hash  TEXT NOT NULL CONSTRAINT job_links_secret_once UNIQUE,
    created_at   TEXT NOT NULL CONSTRAINT job_links_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    created_by   TEXT NOT NULL,
    expires_at   TEXT NOT NULL CONSTRAINT job_links_expires_at_utc CHECK (expires_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    last_used_at TEXT CONSTRAINT job_links_last_used_at_utc CHECK (last_used_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    revoked_at   TEXT CONSTRAINT job_links_revoked_at_utc CHECK (revoked_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    CONSTRAINT job_links_end_after_start CHECK (expires_at > created_at)
) STRICT;

CREATE INDEX job_links_by_job ON job_links (job_id);
CREATE INDEX job_links_by_staff ON job_links (staff_id);

-- Calendar addresses end too. Those made before get a year from this step on.
ALTER TABLE feeds ADD COLUMN expires_at TEXT CONSTRAINT feeds_expires_at_utc CHECK (expires_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00');
UPDATE feeds SET expires_at = strftime('%Y-%m-%d %H:%M:%S+00:00', 'now', '+1 year');
