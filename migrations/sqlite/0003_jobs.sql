-- +goose Up

-- A job is one visit of one instrument. What the customer was asked and what
-- the counter noted stands in the job's own row, and so does the hand-over; what
-- there can be several of has tables of its own. A moment that is NULL has not
-- happened. stage and stage_since are a cache of what the rules derive from the
-- other facts; each save writes them anew.
CREATE TABLE jobs (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    tag           INTEGER NOT NULL CONSTRAINT jobs_tag_once UNIQUE CONSTRAINT jobs_tag_counts CHECK (tag >= 1),
    customer_id   INTEGER NOT NULL CONSTRAINT jobs_of_customer REFERENCES customers (id),
    instrument_id INTEGER NOT NULL CONSTRAINT jobs_of_instrument REFERENCES instruments (id),
    comeback_of   INTEGER CONSTRAINT jobs_comeback_of_job REFERENCES jobs (id),
    arrived_at    TEXT    NOT NULL CONSTRAINT jobs_arrived_at_utc CHECK (arrived_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    arrived_by    TEXT    NOT NULL,
    complaint     TEXT    NOT NULL,
    since         TEXT    NOT NULL, -- since when, in the customer's words
    storage       TEXT    NOT NULL,
    heating       TEXT    NOT NULL,
    humidifier    TEXT    NOT NULL,
    contents      TEXT    NOT NULL, -- of the case
    rack          TEXT    NOT NULL,
    case_opened   INTEGER NOT NULL CONSTRAINT jobs_case_opened_yes_no CHECK (case_opened IN (0, 1)),
    marks_seen_by TEXT    NOT NULL,
    survey_fee    INTEGER NOT NULL CONSTRAINT jobs_survey_fee_not_negative CHECK (survey_fee >= 0),
    storage_fee   INTEGER NOT NULL CONSTRAINT jobs_storage_fee_yes_no CHECK (storage_fee IN (0, 1)), -- agreed in writing
    surveyed_at   TEXT    CONSTRAINT jobs_surveyed_at_utc CHECK (surveyed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    quoted_at     TEXT    CONSTRAINT jobs_quoted_at_utc CHECK (quoted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    approved_at   TEXT    CONSTRAINT jobs_approved_at_utc CHECK (approved_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    declined_at   TEXT    CONSTRAINT jobs_declined_at_utc CHECK (declined_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    promised      TEXT    CONSTRAINT jobs_promised_date CHECK (promised IS date(promised)),
    checked_at    TEXT    CONSTRAINT jobs_checked_at_utc CHECK (checked_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    checked_by    TEXT    NOT NULL,
    ready_at      TEXT    CONSTRAINT jobs_ready_at_utc CHECK (ready_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    collected_at  TEXT    CONSTRAINT jobs_collected_at_utc CHECK (collected_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    handed_to     TEXT    NOT NULL,
    tag_shown     INTEGER NOT NULL CONSTRAINT jobs_tag_shown_yes_no CHECK (tag_shown IN (0, 1)),
    brief_given   INTEGER NOT NULL CONSTRAINT jobs_brief_given_yes_no CHECK (brief_given IN (0, 1)),
    recheck       TEXT    CONSTRAINT jobs_recheck_date CHECK (recheck IS date(recheck)),
    handed_note   TEXT    NOT NULL,
    unpaid_reason TEXT    NOT NULL,
    handed_by     TEXT    NOT NULL,
    unclaimed_at  TEXT    CONSTRAINT jobs_unclaimed_at_utc CHECK (unclaimed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    stage         TEXT    NOT NULL,
    stage_since   TEXT    NOT NULL CONSTRAINT jobs_stage_since_utc CHECK (stage_since GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version       INTEGER NOT NULL CONSTRAINT jobs_version_counts CHECK (version >= 1),
    CONSTRAINT jobs_comeback_of_another CHECK (comeback_of <> id),
    CONSTRAINT jobs_one_end CHECK (collected_at IS NULL OR unclaimed_at IS NULL),
    CONSTRAINT jobs_stage_known CHECK (stage IN ('arrived', 'surveyed', 'quoted', 'approved', 'in hold', 'on the bench', 'waiting', 'checked', 'ready', 'collected', 'declined', 'closed unclaimed'))
) STRICT;

CREATE INDEX jobs_by_stage ON jobs (stage, arrived_at, id);
CREATE INDEX jobs_by_customer ON jobs (customer_id, arrived_at, id);
CREATE INDEX jobs_by_instrument ON jobs (instrument_id, arrived_at, id);
CREATE INDEX jobs_by_arrival ON jobs (arrived_at, id);
CREATE INDEX jobs_in_the_shop ON jobs (arrived_at, id) WHERE collected_at IS NULL AND unclaimed_at IS NULL;
CREATE INDEX jobs_by_comeback ON jobs (comeback_of) WHERE comeback_of IS NOT NULL;

-- Damage that was there before. Rows are never changed.
CREATE TABLE condition_marks (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id   INTEGER NOT NULL CONSTRAINT condition_marks_of_job REFERENCES jobs (id),
    what     TEXT    NOT NULL,
    place    TEXT    NOT NULL,
    note     TEXT    NOT NULL,
    noted_at TEXT    NOT NULL CONSTRAINT condition_marks_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by TEXT    NOT NULL
) STRICT;

CREATE INDEX condition_marks_by_job ON condition_marks (job_id);

-- Planned work. line_id is the line of the quote that the customer agreed to, and
-- NULL for none. It has no foreign key: the table of quotes' lines comes in a
-- later step and points back at the task that a line became, and a key both ways
-- could not be written row by row.
CREATE TABLE tasks (
    id              INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id          INTEGER NOT NULL CONSTRAINT tasks_of_job REFERENCES jobs (id),
    line_id         INTEGER,
    template        TEXT    NOT NULL, -- code
    edition         INTEGER NOT NULL CONSTRAINT tasks_edition_counts CHECK (edition >= 0),
    name            TEXT    NOT NULL,
    phase           INTEGER NOT NULL CONSTRAINT tasks_phase_known CHECK (phase BETWEEN 1 AND 17),
    quantity        INTEGER NOT NULL CONSTRAINT tasks_quantity_counts CHECK (quantity >= 1), -- as unit says
    unit            TEXT    NOT NULL,
    minutes_low     INTEGER NOT NULL,
    minutes_typical INTEGER NOT NULL,
    minutes_high    INTEGER NOT NULL,
    days_low        TEXT    NOT NULL CONSTRAINT tasks_days_low_plain CHECK (days_low GLOB '[0-9]*' AND days_low NOT GLOB '*[^0-9.]*'),
    days_typical    TEXT    NOT NULL CONSTRAINT tasks_days_typical_plain CHECK (days_typical GLOB '[0-9]*' AND days_typical NOT GLOB '*[^0-9.]*'),
    days_high       TEXT    NOT NULL CONSTRAINT tasks_days_high_plain CHECK (days_high GLOB '[0-9]*' AND days_high NOT GLOB '*[^0-9.]*'),
    wait_kind       TEXT    NOT NULL,
    skill           INTEGER NOT NULL,
    hold            INTEGER NOT NULL CONSTRAINT tasks_hold_yes_no CHECK (hold IN (0, 1)), -- the task is the hold itself
    dry             INTEGER NOT NULL CONSTRAINT tasks_dry_yes_no CHECK (dry IN (0, 1)), -- the task comes after the hold
    done_at         TEXT    CONSTRAINT tasks_done_at_utc CHECK (done_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    done_by         TEXT    NOT NULL,
    dropped_at      TEXT    CONSTRAINT tasks_dropped_at_utc CHECK (dropped_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    reason          TEXT    NOT NULL, -- why it was dropped
    CONSTRAINT tasks_minutes_in_order CHECK (minutes_low >= 0 AND minutes_low <= minutes_typical AND minutes_typical <= minutes_high),
    CONSTRAINT tasks_one_end CHECK (done_at IS NULL OR dropped_at IS NULL),
    CONSTRAINT tasks_dropped_with_reason CHECK (dropped_at IS NULL OR reason <> '')
) STRICT;

CREATE INDEX tasks_by_job ON tasks (job_id);
CREATE INDEX tasks_open ON tasks (job_id) WHERE done_at IS NULL AND dropped_at IS NULL;

-- Stretches in which nobody works. Without a task the whole job waits.
CREATE TABLE waits (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id     INTEGER NOT NULL CONSTRAINT waits_of_job REFERENCES jobs (id),
    task_id    INTEGER CONSTRAINT waits_of_task REFERENCES tasks (id),
    kind       TEXT    NOT NULL,
    started_at TEXT    NOT NULL CONSTRAINT waits_started_at_utc CHECK (started_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    until_at   TEXT    CONSTRAINT waits_until_at_utc CHECK (until_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'), -- expected end; NULL when nobody knows
    ended_at   TEXT    CONSTRAINT waits_ended_at_utc CHECK (ended_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    note       TEXT    NOT NULL,
    started_by TEXT    NOT NULL,
    CONSTRAINT waits_until_after_start CHECK (until_at > started_at),
    CONSTRAINT waits_end_not_before_start CHECK (ended_at >= started_at)
) STRICT;

CREATE INDEX waits_by_job ON waits (job_id);
CREATE INDEX waits_open ON waits (job_id) WHERE ended_at IS NULL;

-- The rehumidify wait. A place of the cabinet holds one instrument at a time.
CREATE TABLE holds (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id     INTEGER NOT NULL CONSTRAINT holds_of_job REFERENCES jobs (id),
    task_id    INTEGER NOT NULL CONSTRAINT holds_of_task REFERENCES tasks (id),
    place      TEXT    NOT NULL CONSTRAINT holds_place_given CHECK (place <> ''),
    started_at TEXT    NOT NULL CONSTRAINT holds_started_at_utc CHECK (started_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    ended_at   TEXT    CONSTRAINT holds_ended_at_utc CHECK (ended_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    reason     TEXT    NOT NULL, -- why it ended
    note       TEXT    NOT NULL,
    started_by TEXT    NOT NULL,
    ended_by   TEXT    NOT NULL,
    CONSTRAINT holds_end_not_before_start CHECK (ended_at >= started_at),
    CONSTRAINT holds_ended_with_reason CHECK ((ended_at IS NULL) = (reason = ''))
) STRICT;

CREATE INDEX holds_by_job ON holds (job_id);
CREATE UNIQUE INDEX holds_one_in_a_place ON holds (place) WHERE ended_at IS NULL;
CREATE UNIQUE INDEX holds_one_of_a_job ON holds (job_id) WHERE ended_at IS NULL;

-- Looks at a held instrument. Rows are never changed. A measure is four columns:
-- whether there is a value, what was typed, the value in the canonical unit as
-- plain digits (NULL without a value), and the unit.
CREATE TABLE readings (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    hold_id      INTEGER NOT NULL CONSTRAINT readings_of_hold REFERENCES holds (id),
    noted_at     TEXT    NOT NULL CONSTRAINT readings_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    rh_known     TEXT    NOT NULL CONSTRAINT readings_rh_known_word CHECK (rh_known IN ('not_measured', 'could_not_reach', 'measured')),
    rh_typed     TEXT    NOT NULL,
    rh_value     TEXT    CONSTRAINT readings_rh_value_plain CHECK (rh_value GLOB '*[0-9]' AND rh_value NOT GLOB '*[^0-9.-]*'),
    rh_unit      TEXT    NOT NULL,
    air_known    TEXT    NOT NULL CONSTRAINT readings_air_known_word CHECK (air_known IN ('not_measured', 'could_not_reach', 'measured')),
    air_typed    TEXT    NOT NULL,
    air_value    TEXT    CONSTRAINT readings_air_value_plain CHECK (air_value GLOB '*[0-9]' AND air_value NOT GLOB '*[^0-9.-]*'),
    air_unit     TEXT    NOT NULL,
    gap_known    TEXT    NOT NULL CONSTRAINT readings_gap_known_word CHECK (gap_known IN ('not_measured', 'could_not_reach', 'measured')),
    gap_typed    TEXT    NOT NULL,
    gap_value    TEXT    CONSTRAINT readings_gap_value_plain CHECK (gap_value GLOB '*[0-9]' AND gap_value NOT GLOB '*[^0-9.-]*'),
    gap_unit     TEXT    NOT NULL,
    arch_known   TEXT    NOT NULL CONSTRAINT readings_arch_known_word CHECK (arch_known IN ('not_measured', 'could_not_reach', 'measured')),
    arch_typed   TEXT    NOT NULL,
    arch_value   TEXT    CONSTRAINT readings_arch_value_plain CHECK (arch_value GLOB '*[0-9]' AND arch_value NOT GLOB '*[^0-9.-]*'),
    arch_unit    TEXT    NOT NULL,
    weight_known TEXT    NOT NULL CONSTRAINT readings_weight_known_word CHECK (weight_known IN ('not_measured', 'could_not_reach', 'measured')),
    weight_typed TEXT    NOT NULL,
    weight_value TEXT    CONSTRAINT readings_weight_value_plain CHECK (weight_value GLOB '*[0-9]' AND weight_value NOT GLOB '*[^0-9.-]*'),
    weight_unit  TEXT    NOT NULL,
    note         TEXT    NOT NULL,
    noted_by     TEXT    NOT NULL,
    CONSTRAINT readings_rh_value_when_measured CHECK ((rh_known = 'measured') = (rh_value IS NOT NULL)),
    CONSTRAINT readings_air_value_when_measured CHECK ((air_known = 'measured') = (air_value IS NOT NULL)),
    CONSTRAINT readings_gap_value_when_measured CHECK ((gap_known = 'measured') = (gap_value IS NOT NULL)),
    CONSTRAINT readings_arch_value_when_measured CHECK ((arch_known = 'measured') = (arch_value IS NOT NULL)),
    CONSTRAINT readings_weight_value_when_measured CHECK ((weight_known = 'measured') = (weight_value IS NOT NULL))
) STRICT;

CREATE INDEX readings_by_hold ON readings (hold_id);

-- Stretches of one person's time. A person's clock runs once at a time. A closed
-- row is never changed: a correction is a new one that names the old.
CREATE TABLE clockings (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id     INTEGER NOT NULL CONSTRAINT clockings_of_job REFERENCES jobs (id),
    task_id    INTEGER NOT NULL CONSTRAINT clockings_of_task REFERENCES tasks (id),
    staff_id   INTEGER NOT NULL CONSTRAINT clockings_of_staff REFERENCES staff (id),
    name       TEXT    NOT NULL, -- as it was then
    started_at TEXT    NOT NULL CONSTRAINT clockings_started_at_utc CHECK (started_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    ended_at   TEXT    CONSTRAINT clockings_ended_at_utc CHECK (ended_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    replaces   INTEGER CONSTRAINT clockings_replace_clocking REFERENCES clockings (id),
    reason     TEXT    NOT NULL, -- of the correction
    CONSTRAINT clockings_end_after_start CHECK (ended_at > started_at),
    CONSTRAINT clockings_corrections_closed CHECK (replaces IS NULL OR ended_at IS NOT NULL)
) STRICT;

CREATE INDEX clockings_by_job ON clockings (job_id);
CREATE UNIQUE INDEX clockings_one_open ON clockings (staff_id) WHERE ended_at IS NULL;
CREATE UNIQUE INDEX clockings_corrected_once ON clockings (replaces) WHERE replaces IS NOT NULL;

-- Parts fitted or used up, at the prices of that day. Rows are never changed; a
-- part put back is a row with a negative quantity.
CREATE TABLE parts_used (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id   INTEGER NOT NULL CONSTRAINT parts_used_of_job REFERENCES jobs (id),
    task_id  INTEGER NOT NULL CONSTRAINT parts_used_of_task REFERENCES tasks (id),
    part_id  INTEGER NOT NULL CONSTRAINT parts_used_of_part REFERENCES parts (id),
    code     TEXT    NOT NULL,
    name     TEXT    NOT NULL,
    unit     TEXT    NOT NULL,
    kind     TEXT    NOT NULL,
    quantity INTEGER NOT NULL CONSTRAINT parts_used_quantity_counts CHECK (quantity <> 0), -- thousandths of the unit
    price    INTEGER NOT NULL CONSTRAINT parts_used_price_not_negative CHECK (price >= 0),
    cost     INTEGER NOT NULL CONSTRAINT parts_used_cost_not_negative CHECK (cost >= 0),
    noted_at TEXT    NOT NULL CONSTRAINT parts_used_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by TEXT    NOT NULL
) STRICT;

CREATE INDEX parts_used_by_job ON parts_used (job_id);
CREATE INDEX parts_used_by_part ON parts_used (part_id);

-- Results of quality checks. Rows are never changed; the last one stands.
CREATE TABLE checks (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id   INTEGER NOT NULL CONSTRAINT checks_of_job REFERENCES jobs (id),
    task_id  INTEGER NOT NULL CONSTRAINT checks_of_task REFERENCES tasks (id),
    what     TEXT    NOT NULL,
    result   TEXT    NOT NULL CONSTRAINT checks_result_known CHECK (result IN ('pass', 'pass with note', 'fail', 'not applicable', 'could not test')),
    value    TEXT    NOT NULL, -- as typed
    note     TEXT    NOT NULL,
    noted_at TEXT    NOT NULL CONSTRAINT checks_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by TEXT    NOT NULL
) STRICT;

CREATE INDEX checks_by_job ON checks (job_id);

-- Attempts to reach the customer. Rows are never changed.
CREATE TABLE contacts (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id   INTEGER NOT NULL CONSTRAINT contacts_of_job REFERENCES jobs (id),
    about    TEXT    NOT NULL,
    result   TEXT    NOT NULL,
    note     TEXT    NOT NULL,
    noted_at TEXT    NOT NULL CONSTRAINT contacts_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by TEXT    NOT NULL
) STRICT;

CREATE INDEX contacts_by_job ON contacts (job_id);

-- Measured examinations. Rows are never changed; a later look is a new one.
CREATE TABLE surveys (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id        INTEGER NOT NULL CONSTRAINT surveys_of_job REFERENCES jobs (id),
    noted_at      TEXT    NOT NULL CONSTRAINT surveys_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by      TEXT    NOT NULL,
    moment        TEXT    NOT NULL, -- in the job: before hold, during hold, after work
    strings       TEXT    NOT NULL,
    tuning        TEXT    NOT NULL,
    indoors       TEXT    NOT NULL,
    room_rh_known TEXT    NOT NULL CONSTRAINT surveys_room_rh_known_word CHECK (room_rh_known IN ('not_measured', 'could_not_reach', 'measured')),
    room_rh_typed TEXT    NOT NULL,
    room_rh_value TEXT    CONSTRAINT surveys_room_rh_value_plain CHECK (room_rh_value GLOB '*[0-9]' AND room_rh_value NOT GLOB '*[^0-9.-]*'),
    room_rh_unit  TEXT    NOT NULL,
    room_known    TEXT    NOT NULL CONSTRAINT surveys_room_known_word CHECK (room_known IN ('not_measured', 'could_not_reach', 'measured')),
    room_typed    TEXT    NOT NULL,
    room_value    TEXT    CONSTRAINT surveys_room_value_plain CHECK (room_value GLOB '*[0-9]' AND room_value NOT GLOB '*[^0-9.-]*'),
    room_unit     TEXT    NOT NULL,
    case_rh_known TEXT    NOT NULL CONSTRAINT surveys_case_rh_known_word CHECK (case_rh_known IN ('not_measured', 'could_not_reach', 'measured')),
    case_rh_typed TEXT    NOT NULL,
    case_rh_value TEXT    CONSTRAINT surveys_case_rh_value_plain CHECK (case_rh_value GLOB '*[0-9]' AND case_rh_value NOT GLOB '*[^0-9.-]*'),
    case_rh_unit  TEXT    NOT NULL,
    weight_known  TEXT    NOT NULL CONSTRAINT surveys_weight_known_word CHECK (weight_known IN ('not_measured', 'could_not_reach', 'measured')),
    weight_typed  TEXT    NOT NULL,
    weight_value  TEXT    CONSTRAINT surveys_weight_value_plain CHECK (weight_value GLOB '*[0-9]' AND weight_value NOT GLOB '*[^0-9.-]*'),
    weight_unit   TEXT    NOT NULL,
    note          TEXT    NOT NULL,
    CONSTRAINT surveys_room_rh_value_when_measured CHECK ((room_rh_known = 'measured') = (room_rh_value IS NOT NULL)),
    CONSTRAINT surveys_room_value_when_measured CHECK ((room_known = 'measured') = (room_value IS NOT NULL)),
    CONSTRAINT surveys_case_rh_value_when_measured CHECK ((case_rh_known = 'measured') = (case_rh_value IS NOT NULL)),
    CONSTRAINT surveys_weight_value_when_measured CHECK ((weight_known = 'measured') = (weight_value IS NOT NULL))
) STRICT;

CREATE INDEX surveys_by_job ON surveys (job_id, noted_at);

-- Single symptoms of a survey, causes as JSON: [{"what":"dryness","sure":"likely"}].
CREATE TABLE findings (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    survey_id     INTEGER NOT NULL CONSTRAINT findings_of_survey REFERENCES surveys (id),
    symptom       TEXT    NOT NULL,
    place         TEXT    NOT NULL,
    measure_known TEXT    NOT NULL CONSTRAINT findings_measure_known_word CHECK (measure_known IN ('not_measured', 'could_not_reach', 'measured')),
    measure_typed TEXT    NOT NULL,
    measure_value TEXT    CONSTRAINT findings_measure_value_plain CHECK (measure_value GLOB '*[0-9]' AND measure_value NOT GLOB '*[^0-9.-]*'),
    measure_unit  TEXT    NOT NULL,
    grade         INTEGER NOT NULL CONSTRAINT findings_grade_known CHECK (grade BETWEEN 0 AND 4),
    causes        TEXT    NOT NULL,
    note          TEXT    NOT NULL,
    CONSTRAINT findings_measure_value_when_measured CHECK ((measure_known = 'measured') = (measure_value IS NOT NULL))
) STRICT;

CREATE INDEX findings_by_survey ON findings (survey_id);

-- What happened, in words. Rows are never changed. Without a job it concerns the
-- shop as a whole.
CREATE TABLE diary (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id      INTEGER CONSTRAINT diary_of_job REFERENCES jobs (id),
    noted_at    TEXT    NOT NULL CONSTRAINT diary_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by    TEXT    NOT NULL,
    what        TEXT    NOT NULL CONSTRAINT diary_what_given CHECK (what <> ''),
    before_text TEXT    NOT NULL,
    after_text  TEXT    NOT NULL
) STRICT;

CREATE INDEX diary_by_job ON diary (job_id, noted_at);

-- What was noted stays as it is, and so does a stretch of time once it is closed.
-- +goose StatementBegin
CREATE TRIGGER condition_marks_not_changed BEFORE UPDATE ON condition_marks BEGIN SELECT RAISE(ABORT, 'rows of condition_marks are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER condition_marks_not_removed BEFORE DELETE ON condition_marks BEGIN SELECT RAISE(ABORT, 'rows of condition_marks are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER readings_not_changed BEFORE UPDATE ON readings BEGIN SELECT RAISE(ABORT, 'rows of readings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER readings_not_removed BEFORE DELETE ON readings BEGIN SELECT RAISE(ABORT, 'rows of readings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER parts_used_not_changed BEFORE UPDATE ON parts_used BEGIN SELECT RAISE(ABORT, 'rows of parts_used are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER parts_used_not_removed BEFORE DELETE ON parts_used BEGIN SELECT RAISE(ABORT, 'rows of parts_used are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER checks_not_changed BEFORE UPDATE ON checks BEGIN SELECT RAISE(ABORT, 'rows of checks are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER checks_not_removed BEFORE DELETE ON checks BEGIN SELECT RAISE(ABORT, 'rows of checks are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER contacts_not_changed BEFORE UPDATE ON contacts BEGIN SELECT RAISE(ABORT, 'rows of contacts are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER contacts_not_removed BEFORE DELETE ON contacts BEGIN SELECT RAISE(ABORT, 'rows of contacts are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER surveys_not_changed BEFORE UPDATE ON surveys BEGIN SELECT RAISE(ABORT, 'rows of surveys are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER surveys_not_removed BEFORE DELETE ON surveys BEGIN SELECT RAISE(ABORT, 'rows of surveys are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER findings_not_changed BEFORE UPDATE ON findings BEGIN SELECT RAISE(ABORT, 'rows of findings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER findings_not_removed BEFORE DELETE ON findings BEGIN SELECT RAISE(ABORT, 'rows of findings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER diary_not_changed BEFORE UPDATE ON diary BEGIN SELECT RAISE(ABORT, 'rows of diary are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER diary_not_removed BEFORE DELETE ON diary BEGIN SELECT RAISE(ABORT, 'rows of diary are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER clockings_closed_not_changed BEFORE UPDATE ON clockings WHEN OLD.ended_at IS NOT NULL BEGIN SELECT RAISE(ABORT, 'rows of clockings are never changed once they are closed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER clockings_not_removed BEFORE DELETE ON clockings BEGIN SELECT RAISE(ABORT, 'rows of clockings are never removed'); END;
-- +goose StatementEnd
