-- +goose Up

-- What a survey notes beside the measure, as JSON; rows from before have none.
ALTER TABLE findings ADD COLUMN detail TEXT NOT NULL DEFAULT '{}';

-- How a joint was made; not noted on older tasks.
ALTER TABLE tasks ADD COLUMN made TEXT NOT NULL DEFAULT '';

-- What was decided about work that came back.
ALTER TABLE jobs ADD COLUMN comeback_cause TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN comeback_share TEXT NOT NULL DEFAULT '' CONSTRAINT jobs_comeback_share_known CHECK (comeback_share IN ('', 'ours', 'shared', 'dried again'));
ALTER TABLE jobs ADD COLUMN comeback_why TEXT NOT NULL DEFAULT '';
ALTER TABLE jobs ADD COLUMN comeback_decided_at TEXT CONSTRAINT jobs_comeback_decided_at_utc CHECK (comeback_decided_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00');
ALTER TABLE jobs ADD COLUMN comeback_decided_by TEXT NOT NULL DEFAULT '';

-- Where the shop knows its air: rooms, cabinets, cases, outdoors.
CREATE TABLE air_places (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    name       TEXT    NOT NULL CONSTRAINT air_places_name_given CHECK (name <> ''),
    name_key   TEXT    NOT NULL CONSTRAINT air_places_name_once UNIQUE,
    kind       TEXT    NOT NULL CONSTRAINT air_places_kind_known CHECK (kind IN ('room', 'cabinet', 'case', 'outdoors')),
    rules      TEXT    NOT NULL,          -- JSON: band and alarms
    retired_at TEXT    CONSTRAINT air_places_retired_at_utc CHECK (retired_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version    INTEGER NOT NULL CONSTRAINT air_places_version_counts CHECK (version >= 1)
) STRICT;

CREATE TABLE meters (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    name       TEXT    NOT NULL CONSTRAINT meters_name_given CHECK (name <> ''),
    name_key   TEXT    NOT NULL CONSTRAINT meters_name_once UNIQUE,
    place_id   INTEGER CONSTRAINT meters_of_place REFERENCES air_places (id), -- where it usually lies; NULL when it travels
    note       TEXT    NOT NULL,
    retired_at TEXT    CONSTRAINT meters_retired_at_utc CHECK (retired_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version    INTEGER NOT NULL CONSTRAINT meters_version_counts CHECK (version >= 1)
) STRICT;

-- Checks of a meter against salts. Never changed: a new one takes over.
CREATE TABLE calibrations (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    meter_id INTEGER NOT NULL CONSTRAINT calibrations_of_meter REFERENCES meters (id),
    made_at  TEXT    NOT NULL CONSTRAINT calibrations_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    made_by  TEXT    NOT NULL,
    points   TEXT    NOT NULL,            -- JSON: salt, temperature, hours, true and read
    due_on   TEXT        NOT NULL CONSTRAINT calibrations_due_on_date CHECK (due_on IS date(due_on)),
    note     TEXT    NOT NULL
) STRICT;

CREATE INDEX calibrations_by_meter ON calibrations (meter_id, made_at);

-- Readings of the shop's air. Never changed: a correction is a new row that
-- names the old one with its reason.
CREATE TABLE air_readings (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    place_id INTEGER NOT NULL CONSTRAINT air_readings_of_place REFERENCES air_places (id),
    meter_id INTEGER CONSTRAINT air_readings_of_meter REFERENCES meters (id),
    read_at  TEXT    NOT NULL CONSTRAINT air_readings_read_at_utc CHECK (read_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    rh_read  TEXT    NOT NULL CONSTRAINT air_readings_rh_read_plain CHECK (rh_read GLOB '*[0-9]' AND rh_read NOT GLOB '*[^0-9.-]*'),  -- %, as the meter showed it
    rh       TEXT    NOT NULL CONSTRAINT air_readings_rh_plain CHECK (rh GLOB '*[0-9]' AND rh NOT GLOB '*[^0-9.-]*'),       -- %, put right by the calibration of that day
    celsius  TEXT    CONSTRAINT air_readings_celsius_plain CHECK (celsius GLOB '*[0-9]' AND celsius NOT GLOB '*[^0-9.-]*'),           -- NULL when not read
    trusted  INTEGER NOT NULL CONSTRAINT air_readings_trusted_yes_no CHECK (trusted IN (0, 1)),         -- the meter was within its calibration
    source   TEXT    NOT NULL CONSTRAINT air_readings_source_known CHECK (source IN ('hand', 'logger')),
    note     TEXT    NOT NULL,
    replaces INTEGER CONSTRAINT air_readings_of_reading REFERENCES air_readings (id),
    noted_at TEXT    NOT NULL CONSTRAINT air_readings_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by TEXT    NOT NULL
) STRICT;

CREATE INDEX air_readings_by_place ON air_readings (place_id, read_at);
CREATE INDEX air_readings_by_meter ON air_readings (meter_id, read_at);
CREATE UNIQUE INDEX air_readings_logged_once ON air_readings (place_id, meter_id, read_at) WHERE source = 'logger';

-- What somebody did about an alarm. Never changed.
CREATE TABLE alarm_answers (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    place_id INTEGER NOT NULL CONSTRAINT alarm_answers_of_place REFERENCES air_places (id),
    alarm    TEXT    NOT NULL CONSTRAINT alarm_answers_alarm_given CHECK (alarm <> ''),
    since    TEXT    NOT NULL CONSTRAINT alarm_answers_since_utc CHECK (since GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'), -- of the alarm
    action   TEXT    NOT NULL CONSTRAINT alarm_answers_action_given CHECK (action <> ''),
    noted_at TEXT    NOT NULL CONSTRAINT alarm_answers_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by TEXT    NOT NULL
) STRICT;

CREATE INDEX alarm_answers_by_place ON alarm_answers (place_id, since);

-- A reading in a hold: RH is the corrected value, its typed words what the
-- meter showed. Older readings name no meter and are not trusted.
ALTER TABLE readings ADD COLUMN meter_id INTEGER CONSTRAINT readings_of_meter REFERENCES meters (id);
ALTER TABLE readings ADD COLUMN rh_offset TEXT NOT NULL DEFAULT '0' CONSTRAINT readings_rh_offset_plain CHECK (rh_offset GLOB '*[0-9]' AND rh_offset NOT GLOB '*[^0-9.-]*');
ALTER TABLE readings ADD COLUMN trusted INTEGER NOT NULL DEFAULT 0 CONSTRAINT readings_trusted_yes_no CHECK (trusted IN (0, 1));

-- Photos of a job. The pictures themselves are files, named by their content.
-- A photo is never removed; the owner may withdraw it once.
CREATE TABLE photos (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id        INTEGER NOT NULL CONSTRAINT photos_of_job REFERENCES jobs (id),
    survey_id     INTEGER CONSTRAINT photos_of_survey REFERENCES surveys (id),
    subject       TEXT    NOT NULL CONSTRAINT photos_subject_given CHECK (subject <> ''),
    place         TEXT    NOT NULL,
    note          TEXT    NOT NULL,
    content       TEXT    NOT NULL CONSTRAINT photos_content_named CHECK (length(content) = 64), -- SHA-256 of the file, in hexadecimal digits
    thumb         TEXT    NOT NULL CONSTRAINT photos_thumb_named CHECK (length(thumb) = 64),
    width         INTEGER NOT NULL CONSTRAINT photos_width_counts CHECK (width >= 1),
    height        INTEGER NOT NULL CONSTRAINT photos_height_counts CHECK (height >= 1),
    size          INTEGER NOT NULL CONSTRAINT photos_size_counts CHECK (size >= 1), -- bytes
    noted_at      TEXT    NOT NULL CONSTRAINT photos_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by      TEXT    NOT NULL,
    withdrawn_at  TEXT    CONSTRAINT photos_withdrawn_at_utc CHECK (withdrawn_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    withdrawn_by  TEXT    NOT NULL,
    withdrawn_why TEXT    NOT NULL,
    CONSTRAINT photos_withdrawn_with_reason CHECK (withdrawn_at IS NULL OR withdrawn_why <> '')
) STRICT;

CREATE INDEX photos_by_job ON photos (job_id);
CREATE INDEX photos_by_survey ON photos (survey_id);

CREATE TRIGGER calibrations_not_changed BEFORE UPDATE ON calibrations BEGIN SELECT RAISE(ABORT, 'rows of calibrations are never changed'); END;
CREATE TRIGGER calibrations_not_removed BEFORE DELETE ON calibrations BEGIN SELECT RAISE(ABORT, 'rows of calibrations are never removed'); END;
CREATE TRIGGER air_readings_not_changed BEFORE UPDATE ON air_readings BEGIN SELECT RAISE(ABORT, 'rows of air_readings are never changed'); END;
CREATE TRIGGER air_readings_not_removed BEFORE DELETE ON air_readings BEGIN SELECT RAISE(ABORT, 'rows of air_readings are never removed'); END;
CREATE TRIGGER alarm_answers_not_changed BEFORE UPDATE ON alarm_answers BEGIN SELECT RAISE(ABORT, 'rows of alarm_answers are never changed'); END;
CREATE TRIGGER alarm_answers_not_removed BEFORE DELETE ON alarm_answers BEGIN SELECT RAISE(ABORT, 'rows of alarm_answers are never removed'); END;
CREATE TRIGGER photos_not_removed BEFORE DELETE ON photos BEGIN SELECT RAISE(ABORT, 'rows of photos are never removed'); END;
CREATE TRIGGER photos_withdrawn_not_changed BEFORE UPDATE ON photos WHEN OLD.withdrawn_at IS NOT NULL OR OLD.content <> NEW.content OR OLD.job_id <> NEW.job_id BEGIN SELECT RAISE(ABORT, 'rows of photos are never changed, but for being withdrawn once'); END;
