-- +goose Up

-- A customer with an account takes instruments along and pays later.
ALTER TABLE customers ADD COLUMN account_days INTEGER NULL CONSTRAINT customers_account_days_range CHECK (account_days BETWEEN 0 AND 365); -- NULL: no account
ALTER TABLE customers ADD COLUMN account_limit INTEGER NULL CONSTRAINT customers_account_limit_not_negative CHECK (account_limit >= 0);

-- An invoice may be for another to pay, such as an insurer, but for the customer's own part.
ALTER TABLE invoices ADD COLUMN due_on TEXT NULL CONSTRAINT invoices_due_on_date CHECK (due_on IS date(due_on)); -- NULL: at once
ALTER TABLE invoices ADD COLUMN payer_id INTEGER NULL CONSTRAINT invoices_of_payer REFERENCES customers (id);
ALTER TABLE invoices ADD COLUMN own_part INTEGER NOT NULL DEFAULT 0 CONSTRAINT invoices_own_part_not_negative CHECK (own_part >= 0);
ALTER TABLE invoices ADD COLUMN payer_reference TEXT NOT NULL DEFAULT '';

CREATE INDEX invoices_by_payer ON invoices (payer_id);

-- What is laid down besides the amount: for the staff, and to be kept for the next job.
ALTER TABLE payments ADD COLUMN tip INTEGER NOT NULL DEFAULT 0 CONSTRAINT payments_tip_not_negative CHECK (tip >= 0);
ALTER TABLE payments ADD COLUMN kept_as_credit INTEGER NOT NULL DEFAULT 0 CONSTRAINT payments_kept_not_negative CHECK (kept_as_credit >= 0);
ALTER TABLE payments ADD COLUMN by_payer INTEGER NOT NULL DEFAULT 0 CONSTRAINT payments_by_payer_yes_no CHECK (by_payer IN (0, 1));

-- Credit notes take an issued invoice back, in whole or by line and quantity. The
-- amounts are above 0 and are what the customer no longer owes.
CREATE TABLE credit_notes (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    number      INTEGER NOT NULL CONSTRAINT credit_notes_number_once UNIQUE CONSTRAINT credit_notes_number_counts CHECK (number >= 1),
    invoice_id  INTEGER NOT NULL CONSTRAINT credit_notes_of_invoice REFERENCES invoices (id),
    job_id      INTEGER NOT NULL CONSTRAINT credit_notes_of_job REFERENCES jobs (id),
    issued_on   TEXT NOT NULL CONSTRAINT credit_notes_issued_on_date CHECK (issued_on IS date(issued_on)),
    reason      TEXT NOT NULL CONSTRAINT credit_notes_reason_given CHECK (reason <> ''),
    totals      TEXT NOT NULL, -- JSON, never computed again
    total       INTEGER NOT NULL CONSTRAINT credit_notes_total_not_negative CHECK (total >= 0), -- of the totals
    issued_by   TEXT NOT NULL,
    issued_at   TEXT NOT NULL CONSTRAINT credit_notes_issued_at_utc CHECK (issued_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

CREATE INDEX credit_notes_by_invoice ON credit_notes (invoice_id);
CREATE INDEX credit_notes_by_job ON credit_notes (job_id);

CREATE TABLE credit_note_lines (
    id             INTEGER PRIMARY KEY AUTOINCREMENT,
    credit_note_id INTEGER NOT NULL CONSTRAINT credit_note_lines_of_note REFERENCES credit_notes (id),
    place          INTEGER NOT NULL CONSTRAINT credit_note_lines_place_counts CHECK (place >= 1), -- of the line on the invoice
    count          TEXT NOT NULL CONSTRAINT credit_note_lines_count_digits CHECK (count GLOB '[-0-9]*' AND count NOT GLOB '*[^-0-9.]*'),
    net            INTEGER NOT NULL, -- after its share of the invoice's discount
    CONSTRAINT credit_note_lines_place_once UNIQUE (credit_note_id, place)
) STRICT;

-- Debts that the shop gave up. An invoice is given up once.
CREATE TABLE write_offs (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    invoice_id  INTEGER NOT NULL CONSTRAINT write_offs_once UNIQUE CONSTRAINT write_offs_of_invoice REFERENCES invoices (id),
    job_id      INTEGER NOT NULL CONSTRAINT write_offs_of_job REFERENCES jobs (id),
    amount      INTEGER NOT NULL CONSTRAINT write_offs_amount_counts CHECK (amount > 0),
    tax         INTEGER NOT NULL CONSTRAINT write_offs_tax_within CHECK (tax >= 0 AND tax <= amount), -- taken back from the authority
    reason      TEXT NOT NULL CONSTRAINT write_offs_reason_given CHECK (reason <> ''),
    written_on  TEXT NOT NULL CONSTRAINT write_offs_written_on_date CHECK (written_on IS date(written_on)),
    written_at  TEXT NOT NULL CONSTRAINT write_offs_written_at_utc CHECK (written_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    written_by  TEXT NOT NULL
) STRICT;

-- What the shop keeps for a customer. Each row is the next of the customer and says
-- what is left after it, which is never below 0: two who spend the same credit at once
-- meet in the place.
CREATE TABLE store_credit_moves (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    customer_id INTEGER NOT NULL CONSTRAINT store_credit_moves_of_customer REFERENCES customers (id),
    place       INTEGER NOT NULL CONSTRAINT store_credit_moves_place_counts CHECK (place >= 1),
    amount      INTEGER NOT NULL CONSTRAINT store_credit_moves_amount_given CHECK (amount <> 0), -- below 0 when it is spent
    balance     INTEGER NOT NULL CONSTRAINT store_credit_moves_balance_not_negative CHECK (balance >= 0),
    payment_id  INTEGER NOT NULL CONSTRAINT store_credit_moves_of_payment REFERENCES payments (id),
    moved_at    TEXT NOT NULL CONSTRAINT store_credit_moves_moved_at_utc CHECK (moved_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    moved_by    TEXT NOT NULL,
    CONSTRAINT store_credit_moves_place_once UNIQUE (customer_id, place)
) STRICT;

CREATE INDEX store_credit_moves_by_payment ON store_credit_moves (payment_id);

-- Tips that the shop holds for the staff, in the same way.
CREATE TABLE tip_moves (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    place      INTEGER NOT NULL CONSTRAINT tip_moves_place_once UNIQUE CONSTRAINT tip_moves_place_counts CHECK (place >= 1),
    amount     INTEGER NOT NULL CONSTRAINT tip_moves_amount_given CHECK (amount <> 0), -- below 0 when it is paid out
    balance    INTEGER NOT NULL CONSTRAINT tip_moves_balance_not_negative CHECK (balance >= 0),
    payment_id INTEGER NULL CONSTRAINT tip_moves_of_payment REFERENCES payments (id), -- NULL when it is paid out
    tender     TEXT NOT NULL,
    paid_to    TEXT NOT NULL,
    moved_at   TEXT NOT NULL CONSTRAINT tip_moves_moved_at_utc CHECK (moved_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    moved_by   TEXT NOT NULL,
    CONSTRAINT tip_moves_in_or_out CHECK ((amount > 0) = (payment_id IS NOT NULL)),
    CONSTRAINT tip_moves_out_to_somebody CHECK (amount > 0 OR paid_to <> '')
) STRICT;

CREATE INDEX tip_moves_by_payment ON tip_moves (payment_id);

INSERT INTO series (name, last) VALUES ('credit notes', 0), ('tips', 0);

-- +goose StatementBegin
CREATE TRIGGER store_credit_moves_add_up BEFORE INSERT ON store_credit_moves
WHEN NEW.balance <> NEW.amount + coalesce((SELECT balance FROM store_credit_moves WHERE customer_id = NEW.customer_id AND place = NEW.place - 1), CASE WHEN NEW.place = 1 THEN 0 ELSE NEW.balance - NEW.amount + 1 END)
BEGIN SELECT RAISE(ABORT, 'store credit must go on from the move before it'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tip_moves_add_up BEFORE INSERT ON tip_moves
WHEN NEW.balance <> NEW.amount + coalesce((SELECT balance FROM tip_moves WHERE place = NEW.place - 1), CASE WHEN NEW.place = 1 THEN 0 ELSE NEW.balance - NEW.amount + 1 END)
BEGIN SELECT RAISE(ABORT, 'tips must go on from the move before it'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER credit_notes_not_changed BEFORE UPDATE ON credit_notes BEGIN SELECT RAISE(ABORT, 'rows of credit_notes are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER credit_notes_not_removed BEFORE DELETE ON credit_notes BEGIN SELECT RAISE(ABORT, 'rows of credit_notes are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER credit_note_lines_not_changed BEFORE UPDATE ON credit_note_lines BEGIN SELECT RAISE(ABORT, 'rows of credit_note_lines are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER credit_note_lines_not_removed BEFORE DELETE ON credit_note_lines BEGIN SELECT RAISE(ABORT, 'rows of credit_note_lines are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER write_offs_not_changed BEFORE UPDATE ON write_offs BEGIN SELECT RAISE(ABORT, 'rows of write_offs are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER write_offs_not_removed BEFORE DELETE ON write_offs BEGIN SELECT RAISE(ABORT, 'rows of write_offs are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER store_credit_moves_not_changed BEFORE UPDATE ON store_credit_moves BEGIN SELECT RAISE(ABORT, 'rows of store_credit_moves are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER store_credit_moves_not_removed BEFORE DELETE ON store_credit_moves BEGIN SELECT RAISE(ABORT, 'rows of store_credit_moves are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tip_moves_not_changed BEFORE UPDATE ON tip_moves BEGIN SELECT RAISE(ABORT, 'rows of tip_moves are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER tip_moves_not_removed BEFORE DELETE ON tip_moves BEGIN SELECT RAISE(ABORT, 'rows of tip_moves are never removed'); END;
-- +goose StatementEnd
