-- +goose Up

CREATE TABLE quotes (
    id              INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id          INTEGER NOT NULL CONSTRAINT quotes_of_job REFERENCES jobs (id),
    version         INTEGER NOT NULL CONSTRAINT quotes_version_counts CHECK (version >= 1),
    number          INTEGER NULL     CONSTRAINT quotes_number_once UNIQUE CONSTRAINT quotes_number_counts CHECK (number >= 1), -- NULL until it is said
    basis           TEXT    NOT NULL CONSTRAINT quotes_basis_known CHECK (basis IN ('quote', 'estimate')),
    discount        INTEGER NOT NULL CONSTRAINT quotes_discount_not_negative CHECK (discount >= 0),
    reason          TEXT    NOT NULL,
    because         TEXT    NOT NULL,
    missing         TEXT    NOT NULL,
    note            TEXT    NOT NULL,
    currency        TEXT    NOT NULL CONSTRAINT quotes_currency_code CHECK (length(currency) = 3),
    currency_digits INTEGER NOT NULL,
    rounding        TEXT    NOT NULL,                 -- JSON
    tax_inside      INTEGER NOT NULL CONSTRAINT quotes_tax_inside_yes_no CHECK (tax_inside IN (0, 1)),
    taxes           TEXT    NOT NULL,                 -- JSON, as they were on the day
    hourly_rate     INTEGER NOT NULL,
    totals          TEXT    NOT NULL,                 -- JSON, never computed again
    total           INTEGER NOT NULL,                 -- of the totals
    low             INTEGER NOT NULL,
    high            INTEGER NOT NULL,
    ceiling         INTEGER NOT NULL,
    deposit         INTEGER NOT NULL,
    minutes_low     INTEGER NOT NULL,
    minutes_typical INTEGER NOT NULL,
    minutes_high    INTEGER NOT NULL,
    days_low        TEXT    NOT NULL CONSTRAINT quotes_days_low_digits CHECK (days_low GLOB '[-0-9]*' AND days_low NOT GLOB '*[^-0-9.]*'),
    days_typical    TEXT    NOT NULL CONSTRAINT quotes_days_typical_digits CHECK (days_typical GLOB '[-0-9]*' AND days_typical NOT GLOB '*[^-0-9.]*'),
    days_high       TEXT    NOT NULL CONSTRAINT quotes_days_high_digits CHECK (days_high GLOB '[-0-9]*' AND days_high NOT GLOB '*[^-0-9.]*'),
    hold_low        TEXT    NOT NULL CONSTRAINT quotes_hold_low_digits CHECK (hold_low GLOB '[-0-9]*' AND hold_low NOT GLOB '*[^-0-9.]*'),
    hold_typical    TEXT    NOT NULL CONSTRAINT quotes_hold_typical_digits CHECK (hold_typical GLOB '[-0-9]*' AND hold_typical NOT GLOB '*[^-0-9.]*'),
    hold_high       TEXT    NOT NULL CONSTRAINT quotes_hold_high_digits CHECK (hold_high GLOB '[-0-9]*' AND hold_high NOT GLOB '*[^-0-9.]*'),
    valid_until     TEXT    NOT NULL CONSTRAINT quotes_valid_until_date CHECK (valid_until IS date(valid_until)),
    drafted_at      TEXT    NOT NULL CONSTRAINT quotes_drafted_at_utc CHECK (drafted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    drafted_by      TEXT    NOT NULL,
    said_at         TEXT    NULL     CONSTRAINT quotes_said_at_utc CHECK (said_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    said_by         TEXT    NOT NULL,
    replaced_at     TEXT    NULL     CONSTRAINT quotes_replaced_at_utc CHECK (replaced_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    answer_outcome  TEXT    NULL     CONSTRAINT quotes_answer_known CHECK (answer_outcome IN ('whole', 'part', 'declined')),
    answer_who      TEXT    NOT NULL,
    answer_channel  TEXT    NOT NULL,
    answered_at     TEXT    NULL     CONSTRAINT quotes_answered_at_utc CHECK (answered_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    answer_note     TEXT    NOT NULL,
    answer_by       TEXT    NOT NULL,
    yes_total       INTEGER NOT NULL,
    yes_limit       INTEGER NOT NULL,
    lock            INTEGER NOT NULL CONSTRAINT quotes_lock_counts CHECK (lock >= 1),
    CONSTRAINT quotes_version_once UNIQUE (job_id, version),
    CONSTRAINT quotes_said_with_number CHECK ((said_at IS NULL) = (number IS NULL)),
    CONSTRAINT quotes_answer_after_saying CHECK (answer_outcome IS NULL OR said_at IS NOT NULL),
    CONSTRAINT quotes_answer_with_moment CHECK ((answer_outcome IS NULL) = (answered_at IS NULL))
) STRICT;

CREATE TABLE quote_lines (
    id              INTEGER PRIMARY KEY AUTOINCREMENT,
    quote_id        INTEGER NOT NULL CONSTRAINT quote_lines_of_quote REFERENCES quotes (id),
    place           INTEGER NOT NULL CONSTRAINT quote_lines_place_counts CHECK (place >= 1), -- on the paper
    task_id         INTEGER NULL     CONSTRAINT quote_lines_of_task REFERENCES tasks (id),
    template        TEXT    NOT NULL,
    edition         INTEGER NOT NULL,
    for_template    TEXT    NOT NULL,
    part            TEXT    NOT NULL,                 -- the part's code
    kind            TEXT    NOT NULL CONSTRAINT quote_lines_kind_given CHECK (kind <> ''),
    name            TEXT    NOT NULL CONSTRAINT quote_lines_name_given CHECK (name <> ''),
    quantity        INTEGER NOT NULL,
    unit            TEXT    NOT NULL,
    count           TEXT    NOT NULL CONSTRAINT quote_lines_count_digits CHECK (count GLOB '[-0-9]*' AND count NOT GLOB '*[^-0-9.]*'),
    price           TEXT    NOT NULL CONSTRAINT quote_lines_price_digits CHECK (price GLOB '[-0-9]*' AND price NOT GLOB '*[^-0-9.]*'), -- per count, in the major unit
    typed           INTEGER NOT NULL CONSTRAINT quote_lines_typed_yes_no CHECK (typed IN (0, 1)),
    off             TEXT    NOT NULL CONSTRAINT quote_lines_off_digits CHECK (off GLOB '[-0-9]*' AND off NOT GLOB '*[^-0-9.]*'), -- per cent
    off_why         TEXT    NOT NULL,
    by_time         INTEGER NOT NULL CONSTRAINT quote_lines_by_time_yes_no CHECK (by_time IN (0, 1)),
    free            INTEGER NOT NULL CONSTRAINT quote_lines_free_yes_no CHECK (free IN (0, 1)),
    minutes_low     INTEGER NOT NULL,
    minutes_typical INTEGER NOT NULL,
    minutes_high    INTEGER NOT NULL,
    days_low        TEXT    NOT NULL CONSTRAINT quote_lines_days_low_digits CHECK (days_low GLOB '[-0-9]*' AND days_low NOT GLOB '*[^-0-9.]*'),
    days_typical    TEXT    NOT NULL CONSTRAINT quote_lines_days_typical_digits CHECK (days_typical GLOB '[-0-9]*' AND days_typical NOT GLOB '*[^-0-9.]*'),
    days_high       TEXT    NOT NULL CONSTRAINT quote_lines_days_high_digits CHECK (days_high GLOB '[-0-9]*' AND days_high NOT GLOB '*[^-0-9.]*'),
    hold            INTEGER NOT NULL CONSTRAINT quote_lines_hold_yes_no CHECK (hold IN (0, 1)),
    because         TEXT    NOT NULL,
    net             INTEGER NOT NULL,
    agreed          INTEGER NOT NULL CONSTRAINT quote_lines_agreed_yes_no CHECK (agreed IN (0, 1)),
    CONSTRAINT quote_lines_place_once UNIQUE (quote_id, place)
) STRICT;

CREATE INDEX quote_lines_by_task ON quote_lines (task_id);

CREATE TABLE invoices (
    id              INTEGER PRIMARY KEY AUTOINCREMENT,
    number          INTEGER NOT NULL CONSTRAINT invoices_number_once UNIQUE CONSTRAINT invoices_number_counts CHECK (number >= 1),
    job_id          INTEGER NOT NULL CONSTRAINT invoices_one_for_job UNIQUE CONSTRAINT invoices_of_job REFERENCES jobs (id),
    customer_id     INTEGER NOT NULL CONSTRAINT invoices_of_customer REFERENCES customers (id),
    quote_id        INTEGER NULL     CONSTRAINT invoices_of_quote REFERENCES quotes (id),
    issued_on       TEXT    NOT NULL CONSTRAINT invoices_issued_on_date CHECK (issued_on IS date(issued_on)),
    billed_to       TEXT    NOT NULL,
    discount        INTEGER NOT NULL CONSTRAINT invoices_discount_not_negative CHECK (discount >= 0),
    reason          TEXT    NOT NULL,
    currency        TEXT    NOT NULL CONSTRAINT invoices_currency_code CHECK (length(currency) = 3),
    currency_digits INTEGER NOT NULL,
    rounding        TEXT    NOT NULL,                 -- JSON
    tax_inside      INTEGER NOT NULL CONSTRAINT invoices_tax_inside_yes_no CHECK (tax_inside IN (0, 1)),
    taxes           TEXT    NOT NULL,                 -- JSON, as they were on the day
    totals          TEXT    NOT NULL,                 -- JSON, never computed again
    total           INTEGER NOT NULL,                 -- of the totals
    agreed          INTEGER NOT NULL,
    agreed_limit    INTEGER NOT NULL,
    note            TEXT    NOT NULL,
    issued_by       TEXT    NOT NULL,
    issued_at       TEXT    NOT NULL CONSTRAINT invoices_issued_at_utc CHECK (issued_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

CREATE INDEX invoices_by_customer ON invoices (customer_id);

CREATE TABLE invoice_lines (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    invoice_id INTEGER NOT NULL CONSTRAINT invoice_lines_of_invoice REFERENCES invoices (id),
    place      INTEGER NOT NULL CONSTRAINT invoice_lines_place_counts CHECK (place >= 1), -- on the paper
    kind       TEXT    NOT NULL CONSTRAINT invoice_lines_kind_given CHECK (kind <> ''),
    name       TEXT    NOT NULL CONSTRAINT invoice_lines_name_given CHECK (name <> ''),
    detail     TEXT    NOT NULL,
    task_id    INTEGER NULL     CONSTRAINT invoice_lines_of_task REFERENCES tasks (id),
    count      TEXT    NOT NULL CONSTRAINT invoice_lines_count_digits CHECK (count GLOB '[-0-9]*' AND count NOT GLOB '*[^-0-9.]*'),
    unit       TEXT    NOT NULL,
    price      TEXT    NOT NULL CONSTRAINT invoice_lines_price_digits CHECK (price GLOB '[-0-9]*' AND price NOT GLOB '*[^-0-9.]*'), -- per count, in the major unit
    off        TEXT    NOT NULL CONSTRAINT invoice_lines_off_digits CHECK (off GLOB '[-0-9]*' AND off NOT GLOB '*[^-0-9.]*'), -- per cent
    minutes    INTEGER NOT NULL,
    net        INTEGER NOT NULL,
    CONSTRAINT invoice_lines_place_once UNIQUE (invoice_id, place)
) STRICT;

CREATE TABLE payments (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id       INTEGER NOT NULL CONSTRAINT payments_of_job REFERENCES jobs (id),
    invoice_id   INTEGER NULL     CONSTRAINT payments_of_invoice REFERENCES invoices (id), -- NULL for a deposit before it
    kind         TEXT    NOT NULL CONSTRAINT payments_kind_known CHECK (kind IN ('deposit', 'payment', 'refund')),
    tender       TEXT    NOT NULL CONSTRAINT payments_tender_given CHECK (tender <> ''),
    amount       INTEGER NOT NULL,                    -- below 0 for a refund
    rounding     INTEGER NOT NULL,
    given        INTEGER NOT NULL,
    change_given INTEGER NOT NULL,
    reference    TEXT    NOT NULL,
    receipt      INTEGER NOT NULL CONSTRAINT payments_receipt_once UNIQUE CONSTRAINT payments_receipt_counts CHECK (receipt >= 1),
    paid_at      TEXT    NOT NULL CONSTRAINT payments_paid_at_utc CHECK (paid_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    taken_by     TEXT    NOT NULL
) STRICT;

CREATE INDEX payments_by_job ON payments (job_id);
CREATE INDEX payments_by_invoice ON payments (invoice_id);

-- What was issued or paid stays as it is.
-- +goose StatementBegin
CREATE TRIGGER invoices_not_changed BEFORE UPDATE ON invoices BEGIN SELECT RAISE(ABORT, 'rows of invoices are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER invoices_not_removed BEFORE DELETE ON invoices BEGIN SELECT RAISE(ABORT, 'rows of invoices are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER invoice_lines_not_changed BEFORE UPDATE ON invoice_lines BEGIN SELECT RAISE(ABORT, 'rows of invoice_lines are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER invoice_lines_not_removed BEFORE DELETE ON invoice_lines BEGIN SELECT RAISE(ABORT, 'rows of invoice_lines are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER payments_not_changed BEFORE UPDATE ON payments BEGIN SELECT RAISE(ABORT, 'rows of payments are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER payments_not_removed BEFORE DELETE ON payments BEGIN SELECT RAISE(ABORT, 'rows of payments are never removed'); END;
-- +goose StatementEnd
