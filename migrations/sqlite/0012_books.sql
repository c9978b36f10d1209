-- +goose Up

-- The journal: what every event does to the accounts, in double entry. The postings
-- of an entry are written first and the entry seals them: its trigger adds them up,
-- and no posting is taken for an entry that is there. Rows are never changed.
CREATE TABLE journal_entries (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    dated       TEXT    NOT NULL CONSTRAINT journal_entries_dated_date CHECK (dated IS date(dated)), -- in the shop's zone; its month is the period
    event       TEXT    NOT NULL CONSTRAINT journal_entries_event_given CHECK (event <> ''),
    text        TEXT    NOT NULL,
    customer_id INTEGER NULL     CONSTRAINT journal_entries_of_customer REFERENCES customers (id),
    job_id      INTEGER NULL     CONSTRAINT journal_entries_of_job REFERENCES jobs (id),
    invoice_id  INTEGER NULL     CONSTRAINT journal_entries_of_invoice REFERENCES invoices (id),
    payment_id  INTEGER NULL     CONSTRAINT journal_entries_of_payment REFERENCES payments (id),
    move_id     INTEGER NULL     CONSTRAINT journal_entries_of_move REFERENCES stock_moves (id),
    reverses    INTEGER NULL     CONSTRAINT journal_entries_reverses_entry REFERENCES journal_entries (id),
    made_at     TEXT    NOT NULL CONSTRAINT journal_entries_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    made_by     TEXT    NOT NULL,
    CONSTRAINT journal_entries_reverses_older CHECK (reverses < id)
) STRICT;

CREATE INDEX journal_entries_by_date ON journal_entries (dated, id);
CREATE INDEX journal_entries_by_customer ON journal_entries (customer_id);
CREATE INDEX journal_entries_by_job ON journal_entries (job_id);
CREATE INDEX journal_entries_by_invoice ON journal_entries (invoice_id);
CREATE INDEX journal_entries_by_payment ON journal_entries (payment_id);
CREATE INDEX journal_entries_by_move ON journal_entries (move_id);
CREATE UNIQUE INDEX journal_entries_reversed_once ON journal_entries (reverses);

CREATE TABLE journal_postings (
    entry_id INTEGER NOT NULL CONSTRAINT journal_postings_of_entry REFERENCES journal_entries (id) DEFERRABLE INITIALLY DEFERRED,
    place    INTEGER NOT NULL CONSTRAINT journal_postings_place_counts CHECK (place >= 1), -- in the entry
    account  TEXT    NOT NULL CONSTRAINT journal_postings_account_given CHECK (account <> ''),
    detail   TEXT    NOT NULL,                 -- what of the account, such as the name of a tax
    debit    INTEGER NOT NULL CONSTRAINT journal_postings_debit_not_negative CHECK (debit >= 0),
    credit   INTEGER NOT NULL CONSTRAINT journal_postings_credit_not_negative CHECK (credit >= 0),
    CONSTRAINT journal_postings_one_side CHECK ((debit = 0) <> (credit = 0)),
    PRIMARY KEY (entry_id, place)
) STRICT, WITHOUT ROWID;

CREATE INDEX journal_postings_by_account ON journal_postings (account, entry_id);

-- Months. A closed one takes no entry; a month without a row is open.
CREATE TABLE periods (
    month     TEXT    NOT NULL PRIMARY KEY CONSTRAINT periods_month_known CHECK (month || '-01' IS date(month || '-01')),
    closed_at TEXT    NULL     CONSTRAINT periods_closed_at_utc CHECK (closed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'), -- NULL while it is open
    closed_by TEXT    NOT NULL,
    version   INTEGER NOT NULL CONSTRAINT periods_version_counts CHECK (version >= 1)
) STRICT;

CREATE TABLE period_changes (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    month      TEXT    NOT NULL CONSTRAINT period_changes_of_period REFERENCES periods (month),
    change     TEXT    NOT NULL CONSTRAINT period_changes_change_known CHECK (change IN ('closed', 'opened again')),
    reason     TEXT    NOT NULL,
    entries    INTEGER NOT NULL CONSTRAINT period_changes_entries_not_negative CHECK (entries >= 0), -- of the month at that moment
    debits     INTEGER NOT NULL CONSTRAINT period_changes_debits_not_negative CHECK (debits >= 0),   -- their sum, which is that of the credits
    changed_at TEXT    NOT NULL CONSTRAINT period_changes_changed_at_utc CHECK (changed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    changed_by TEXT    NOT NULL,
    CONSTRAINT period_changes_reason_to_open CHECK (change = 'closed' OR reason <> '')
) STRICT;

CREATE INDEX period_changes_by_month ON period_changes (month);

-- +goose StatementBegin
CREATE TRIGGER journal_postings_sealed BEFORE INSERT ON journal_postings
WHEN EXISTS (SELECT 1 FROM journal_entries WHERE id = NEW.entry_id)
BEGIN SELECT RAISE(ABORT, 'the entry is sealed: it takes no more postings'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER journal_entries_balance AFTER INSERT ON journal_entries
WHEN (SELECT count(*) < 2 OR max(place) <> count(*) OR sum(debit) <> sum(credit) FROM journal_postings WHERE entry_id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'an entry needs two postings or more whose debits equal their credits'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER journal_entries_month_open BEFORE INSERT ON journal_entries
WHEN EXISTS (SELECT 1 FROM periods WHERE month = substr(NEW.dated, 1, 7) AND closed_at IS NOT NULL)
BEGIN SELECT RAISE(ABORT, 'the month of the entry is closed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER journal_entries_not_changed BEFORE UPDATE ON journal_entries BEGIN SELECT RAISE(ABORT, 'rows of journal_entries are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER journal_entries_not_removed BEFORE DELETE ON journal_entries BEGIN SELECT RAISE(ABORT, 'rows of journal_entries are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER journal_postings_not_changed BEFORE UPDATE ON journal_postings BEGIN SELECT RAISE(ABORT, 'rows of journal_postings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER journal_postings_not_removed BEFORE DELETE ON journal_postings BEGIN SELECT RAISE(ABORT, 'rows of journal_postings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER period_changes_not_changed BEFORE UPDATE ON period_changes BEGIN SELECT RAISE(ABORT, 'rows of period_changes are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER period_changes_not_removed BEFORE DELETE ON period_changes BEGIN SELECT RAISE(ABORT, 'rows of period_changes are never removed'); END;
-- +goose StatementEnd
