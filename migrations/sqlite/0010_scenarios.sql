-- +goose Up

-- What-ifs of the season that the owner keeps by name.
CREATE TABLE scenarios (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    name       TEXT NOT NULL CONSTRAINT scenarios_name_given CHECK (length(name) BETWEEN 1 AND 80),
    name_key   TEXT NOT NULL, -- the name in lower case
    body       TEXT NOT NULL, -- what is changed, as JSON
    created_at TEXT NOT NULL CONSTRAINT scenarios_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    created_by TEXT NOT NULL,
    retired_at TEXT CONSTRAINT scenarios_retired_at_utc CHECK (retired_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version    INTEGER NOT NULL CONSTRAINT scenarios_version_counts CHECK (version >= 1)
) STRICT;

CREATE UNIQUE INDEX scenarios_name_once ON scenarios (name_key) WHERE retired_at IS NULL;
