-- +goose Up

-- The outdoor climate of the shop's town: one row, once it is known.
CREATE TABLE climates (
    id         INTEGER PRIMARY KEY AUTOINCREMENT CONSTRAINT climates_one CHECK (id = 1),
    town       TEXT NOT NULL CONSTRAINT climates_town_given CHECK (length(town) BETWEEN 1 AND 80),
    source     TEXT NOT NULL CONSTRAINT climates_source_short CHECK (length(source) <= 200), -- where the figures are from
    changed_at TEXT NOT NULL CONSTRAINT climates_changed_at_utc CHECK (changed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    changed_by TEXT NOT NULL,
    version    INTEGER NOT NULL CONSTRAINT climates_version_counts CHECK (version >= 1)
) STRICT;

-- Its months: outdoor means of a usual year (year 0) and of months that were measured.
CREATE TABLE climate_months (
    id             INTEGER PRIMARY KEY AUTOINCREMENT,
    climate_id     INTEGER NOT NULL REFERENCES climates (id),
    year           INTEGER NOT NULL CONSTRAINT climate_months_year_known CHECK (year = 0 OR year BETWEEN 1900 AND 2200),
    month          INTEGER NOT NULL CONSTRAINT climate_months_month_real CHECK (month BETWEEN 1 AND 12),
    celsius_tenths INTEGER NOT NULL CONSTRAINT climate_months_celsius_real CHECK (celsius_tenths BETWEEN -600 AND 500),
    rh_tenths      INTEGER NOT NULL CONSTRAINT climate_months_rh_real CHECK (rh_tenths BETWEEN 10 AND 1000)
) STRICT;

CREATE UNIQUE INDEX climate_months_once ON climate_months (climate_id, year, month);

-- What the owner expects to come of a kind of repair in a week, in place of the forecast.
CREATE TABLE arrival_guesses (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    monday     TEXT NOT NULL CONSTRAINT arrival_guesses_monday_date CHECK (monday GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
    kind       TEXT NOT NULL CONSTRAINT arrival_guesses_kind_given CHECK (length(kind) BETWEEN 1 AND 80),
    jobs       INTEGER NOT NULL CONSTRAINT arrival_guesses_jobs_real CHECK (jobs BETWEEN 0 AND 1000),
    reason     TEXT NOT NULL CONSTRAINT arrival_guesses_reason_given CHECK (length(reason) BETWEEN 1 AND 200),
    made_at    TEXT NOT NULL CONSTRAINT arrival_guesses_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    made_by    TEXT NOT NULL,
    removed_at TEXT CONSTRAINT arrival_guesses_removed_at_utc CHECK (removed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version    INTEGER NOT NULL CONSTRAINT arrival_guesses_version_counts CHECK (version >= 1)
) STRICT;

CREATE UNIQUE INDEX arrival_guesses_once ON arrival_guesses (monday, kind) WHERE removed_at IS NULL;

-- The season adds up the tasks of ten winters; with this it need not open each task.
CREATE INDEX tasks_of_visits ON tasks (job_id, dropped_at, phase, minutes_typical);
