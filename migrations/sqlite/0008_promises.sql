-- +goose Up

-- What was told a customer about the day, each time a quote was said: the day,
-- and the window that the queue gave at that moment. Jobs from before have none.
CREATE TABLE promises (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id   INTEGER NOT NULL CONSTRAINT promises_of_job REFERENCES jobs (id),
    quote_id INTEGER CONSTRAINT promises_of_quote REFERENCES quotes (id),
    made_at  TEXT NOT NULL CONSTRAINT promises_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    made_by  TEXT NOT NULL,
    said     TEXT CONSTRAINT promises_said_date CHECK (said IS date(said)), -- NULL when no day was said
    p20      TEXT CONSTRAINT promises_p20_utc CHECK (p20 GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'), -- NULL with the others when the queue could not be played
    p50      TEXT CONSTRAINT promises_p50_utc CHECK (p50 GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    p80      TEXT CONSTRAINT promises_p80_utc CHECK (p80 GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    p95      TEXT CONSTRAINT promises_p95_utc CHECK (p95 GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    because  TEXT NOT NULL, -- what the time goes into, in words
    CONSTRAINT promises_window_whole CHECK ((p20 IS NULL) = (p50 IS NULL) AND (p50 IS NULL) = (p80 IS NULL) AND (p80 IS NULL) = (p95 IS NULL)),
    CONSTRAINT promises_window_in_order CHECK (p20 <= p50 AND p50 <= p80 AND p80 <= p95)
) STRICT;

CREATE INDEX promises_by_job ON promises (job_id, made_at);
CREATE INDEX promises_by_time ON promises (made_at);

-- +goose StatementBegin
CREATE TRIGGER promises_not_changed BEFORE UPDATE ON promises BEGIN SELECT RAISE(ABORT, 'rows of promises are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER promises_not_removed BEFORE DELETE ON promises BEGIN SELECT RAISE(ABORT, 'rows of promises are never removed'); END;
-- +goose StatementEnd
