-- +goose Up

-- What the shop no longer holds on a customer, and what it had to keep. While one
-- is being erased, inside one transaction, sealed is 0 and the words that were
-- noted on that customer's jobs may be taken out; afterwards they stay as they are,
-- like all others.
CREATE TABLE erasures (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    customer_id INTEGER NOT NULL CONSTRAINT erasures_once UNIQUE CONSTRAINT erasures_of_customer REFERENCES customers (id),
    reason      TEXT    NOT NULL CONSTRAINT erasures_reason_given CHECK (reason <> ''),
    kept        TEXT    NOT NULL,                     -- what stayed and why, in words
    sealed      INTEGER NOT NULL CONSTRAINT erasures_sealed_yes_no CHECK (sealed IN (0, 1)),
    erased_at   TEXT    NOT NULL CONSTRAINT erasures_erased_at_utc CHECK (erased_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    erased_by   TEXT    NOT NULL
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER erasures_not_changed BEFORE UPDATE ON erasures WHEN OLD.sealed = 1 BEGIN SELECT RAISE(ABORT, 'rows of erasures are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER erasures_not_removed BEFORE DELETE ON erasures BEGIN SELECT RAISE(ABORT, 'rows of erasures are never removed'); END;
-- +goose StatementEnd

DROP TRIGGER condition_marks_not_changed;
-- +goose StatementBegin
CREATE TRIGGER condition_marks_not_changed BEFORE UPDATE ON condition_marks
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = OLD.job_id)
BEGIN SELECT RAISE(ABORT, 'rows of condition_marks are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER contacts_not_changed;
-- +goose StatementBegin
CREATE TRIGGER contacts_not_changed BEFORE UPDATE ON contacts
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = OLD.job_id)
BEGIN SELECT RAISE(ABORT, 'rows of contacts are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER surveys_not_changed;
-- +goose StatementBegin
CREATE TRIGGER surveys_not_changed BEFORE UPDATE ON surveys
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = OLD.job_id)
BEGIN SELECT RAISE(ABORT, 'rows of surveys are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER diary_not_changed;
-- +goose StatementBegin
CREATE TRIGGER diary_not_changed BEFORE UPDATE ON diary
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = OLD.job_id)
BEGIN SELECT RAISE(ABORT, 'rows of diary are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER checks_not_changed;
-- +goose StatementBegin
CREATE TRIGGER checks_not_changed BEFORE UPDATE ON checks
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = OLD.job_id)
BEGIN SELECT RAISE(ABORT, 'rows of checks are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER promises_not_changed;
-- +goose StatementBegin
CREATE TRIGGER promises_not_changed BEFORE UPDATE ON promises
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = OLD.job_id)
BEGIN SELECT RAISE(ABORT, 'rows of promises are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER findings_not_changed;
-- +goose StatementBegin
CREATE TRIGGER findings_not_changed BEFORE UPDATE ON findings
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = (SELECT s.job_id FROM surveys s WHERE s.id = OLD.survey_id))
BEGIN SELECT RAISE(ABORT, 'rows of findings are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER readings_not_changed;
-- +goose StatementBegin
CREATE TRIGGER readings_not_changed BEFORE UPDATE ON readings
WHEN NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = (SELECT h.job_id FROM holds h WHERE h.id = OLD.hold_id))
BEGIN SELECT RAISE(ABORT, 'rows of readings are never changed'); END;
-- +goose StatementEnd

DROP TRIGGER photos_withdrawn_not_changed;
-- +goose StatementBegin
CREATE TRIGGER photos_withdrawn_not_changed BEFORE UPDATE ON photos
WHEN (OLD.withdrawn_at IS NOT NULL OR OLD.content <> NEW.content OR OLD.job_id <> NEW.job_id)
AND NOT EXISTS (SELECT 1 FROM erasures e JOIN jobs j ON j.customer_id = e.customer_id WHERE e.sealed = 0 AND j.id = OLD.job_id)
BEGIN SELECT RAISE(ABORT, 'rows of photos are not changed once they are withdrawn'); END;
-- +goose StatementEnd
