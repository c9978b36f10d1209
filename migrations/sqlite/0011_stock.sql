-- +goose Up

-- Where parts come from.
CREATE TABLE suppliers (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    name     TEXT NOT NULL CONSTRAINT suppliers_name_given CHECK (length(name) BETWEEN 1 AND 80),
    name_key TEXT NOT NULL CONSTRAINT suppliers_name_once UNIQUE, -- the name in lower case
    reach    TEXT NOT NULL,                 -- how to order there: address, phone, customer number
    days     INTEGER NOT NULL CONSTRAINT suppliers_days_real CHECK (days BETWEEN 0 AND 365), -- from an order to the parts, as a rule; 0 when nobody knows
    retired  INTEGER NOT NULL CONSTRAINT suppliers_retired_yes_no CHECK (retired IN (0, 1)),
    version  INTEGER NOT NULL CONSTRAINT suppliers_version_counts CHECK (version >= 1)
) STRICT;

-- Parts from before have no shelf, no supplier and no stock: they are used as ever
-- until the first receipt or count.
ALTER TABLE parts ADD COLUMN kept INTEGER NOT NULL DEFAULT 0 CONSTRAINT parts_kept_yes_no CHECK (kept IN (0, 1)); -- stock is kept of it
ALTER TABLE parts ADD COLUMN supplier_id INTEGER NULL CONSTRAINT parts_of_supplier REFERENCES suppliers (id);
ALTER TABLE parts ADD COLUMN order_code TEXT NOT NULL DEFAULT '';  -- the supplier's number of it
ALTER TABLE parts ADD COLUMN shelf TEXT NOT NULL DEFAULT '';       -- where it lies
ALTER TABLE parts ADD COLUMN reorder_at INTEGER NOT NULL DEFAULT 0 CONSTRAINT parts_reorder_at_not_negative CHECK (reorder_at >= 0); -- thousandths; at or below it is to be ordered; 0 never
ALTER TABLE parts ADD COLUMN reorder_to INTEGER NOT NULL DEFAULT 0 CONSTRAINT parts_reorder_to_not_negative CHECK (reorder_to >= 0); -- thousandths; ordered up to this
ALTER TABLE parts ADD COLUMN markup TEXT NOT NULL DEFAULT '';      -- percent on the cost that makes the price; '' when the price is typed
ALTER TABLE parts ADD COLUMN opened_on TEXT NULL CONSTRAINT parts_opened_on_date CHECK (opened_on IS date(opened_on));   -- of glue: the bottle in use
ALTER TABLE parts ADD COLUMN expires_on TEXT NULL CONSTRAINT parts_expires_on_date CHECK (expires_on IS date(expires_on)); -- the last good day
ALTER TABLE parts ADD COLUMN batch TEXT NOT NULL DEFAULT '';       -- lot of glue, board of wood
ALTER TABLE parts ADD COLUMN species TEXT NOT NULL DEFAULT '';     -- of wood and bone
ALTER TABLE parts ADD COLUMN origin TEXT NOT NULL DEFAULT '';      -- where it grew
ALTER TABLE parts ADD COLUMN protected INTEGER NOT NULL DEFAULT 0 CONSTRAINT parts_protected_yes_no CHECK (protected IN (0, 1)); -- trade in it needs papers
ALTER TABLE parts ADD COLUMN papers TEXT NOT NULL DEFAULT '';      -- the certificate behind it, in words

-- The ledger of the shelf. Rows are added, never changed; the level of a part is the
-- sum of its moves, and each row says what it left.
CREATE TABLE stock_moves (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    part_id       INTEGER NOT NULL CONSTRAINT stock_moves_of_part REFERENCES parts (id),
    kind          TEXT NOT NULL CONSTRAINT stock_moves_kind_known CHECK (kind IN ('received', 'used', 'put back', 'sold', 'sent back', 'damaged', 'counted', 'repriced')),
    quantity      INTEGER NOT NULL, -- thousandths; below 0 when it leaves
    value         INTEGER NOT NULL, -- at cost, with the sign of what it does to the shelf
    left_quantity INTEGER NOT NULL CONSTRAINT stock_moves_left_quantity_not_negative CHECK (left_quantity >= 0),
    left_value    INTEGER NOT NULL CONSTRAINT stock_moves_left_value_not_negative CHECK (left_value >= 0),
    job_id        INTEGER NULL CONSTRAINT stock_moves_of_job REFERENCES jobs (id),
    task_id       INTEGER NULL CONSTRAINT stock_moves_of_task REFERENCES tasks (id),
    undoes        INTEGER NULL CONSTRAINT stock_moves_undoes_move REFERENCES stock_moves (id),
    reason        TEXT NOT NULL,
    moved_at      TEXT NOT NULL CONSTRAINT stock_moves_moved_at_utc CHECK (moved_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    moved_by      TEXT NOT NULL,
    CONSTRAINT stock_moves_undoes_older CHECK (undoes < id),
    CONSTRAINT stock_moves_empty_is_worth_nothing CHECK (left_quantity > 0 OR left_value = 0),
    CONSTRAINT stock_moves_sign_fits_kind CHECK (
        kind IN ('received', 'put back') AND quantity > 0 AND value >= 0
        OR kind IN ('used', 'sold', 'sent back', 'damaged') AND quantity < 0 AND value <= 0
        OR kind = 'counted' AND quantity <> 0 OR kind = 'repriced' AND quantity = 0)
) STRICT;

CREATE INDEX stock_moves_by_part ON stock_moves (part_id, id);
CREATE INDEX stock_moves_by_job ON stock_moves (job_id);
CREATE INDEX stock_moves_by_undone ON stock_moves (undoes);
CREATE INDEX stock_moves_by_time ON stock_moves (moved_at);

-- What lies on the shelf of each part that is kept.
CREATE TABLE stock_levels (
    part_id  INTEGER NOT NULL PRIMARY KEY CONSTRAINT stock_levels_of_part REFERENCES parts (id),
    quantity INTEGER NOT NULL CONSTRAINT stock_levels_quantity_not_negative CHECK (quantity >= 0), -- thousandths
    value    INTEGER NOT NULL CONSTRAINT stock_levels_value_not_negative CHECK (value >= 0),
    reserved INTEGER NOT NULL CONSTRAINT stock_levels_reserved_not_negative CHECK (reserved >= 0), -- may be above quantity: then some of it is short
    version  INTEGER NOT NULL CONSTRAINT stock_levels_version_counts CHECK (version >= 1),
    CONSTRAINT stock_levels_empty_is_worth_nothing CHECK (quantity > 0 OR value = 0)
) STRICT;

-- The move that a part used on a job made, and its cost as a whole: a part of three
-- that cost 10.00 is 3.33 or 3.34. NULL when no stock was kept.
ALTER TABLE parts_used ADD COLUMN move_id INTEGER NULL CONSTRAINT parts_used_of_move REFERENCES stock_moves (id);
ALTER TABLE parts_used ADD COLUMN value INTEGER NULL; -- below 0 when put back

-- What an approved job will need of a part. The oldest is served first.
CREATE TABLE reservations (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    part_id   INTEGER NOT NULL CONSTRAINT reservations_of_part REFERENCES parts (id),
    job_id    INTEGER NOT NULL CONSTRAINT reservations_of_job REFERENCES jobs (id),
    line_id   INTEGER NOT NULL CONSTRAINT reservations_of_line REFERENCES quote_lines (id),
    task_id   INTEGER NULL CONSTRAINT reservations_of_task REFERENCES tasks (id),
    wait_id   INTEGER NULL CONSTRAINT reservations_of_wait REFERENCES waits (id), -- that its shortage began
    asked     INTEGER NOT NULL CONSTRAINT reservations_asked_counts CHECK (asked > 0), -- thousandths
    open      INTEGER NOT NULL CONSTRAINT reservations_open_not_negative CHECK (open >= 0), -- of them neither used nor released
    made_at   TEXT NOT NULL CONSTRAINT reservations_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    made_by   TEXT NOT NULL,
    ended     TEXT NOT NULL, -- why it is over, '' while it is open
    CONSTRAINT reservations_open_within CHECK (open <= asked),
    CONSTRAINT reservations_over_when_nothing_is_open CHECK ((open = 0) = (ended <> ''))
) STRICT;

CREATE INDEX reservations_by_part ON reservations (part_id, id);
CREATE INDEX reservations_by_job ON reservations (job_id);
CREATE INDEX reservations_by_line ON reservations (line_id);

CREATE TABLE purchase_orders (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    number      INTEGER NOT NULL CONSTRAINT purchase_orders_number_once UNIQUE CONSTRAINT purchase_orders_number_counts CHECK (number >= 1),
    supplier_id INTEGER NOT NULL CONSTRAINT purchase_orders_of_supplier REFERENCES suppliers (id),
    note        TEXT NOT NULL,
    expected_on TEXT NULL CONSTRAINT purchase_orders_expected_on_date CHECK (expected_on IS date(expected_on)), -- NULL when nobody knows
    drafted_at  TEXT NOT NULL CONSTRAINT purchase_orders_drafted_at_utc CHECK (drafted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    drafted_by  TEXT NOT NULL,
    sent_at     TEXT NULL CONSTRAINT purchase_orders_sent_at_utc CHECK (sent_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    closed_at   TEXT NULL CONSTRAINT purchase_orders_closed_at_utc CHECK (closed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'), -- all came, or what is missing is not waited for
    closed_why  TEXT NOT NULL,
    version     INTEGER NOT NULL CONSTRAINT purchase_orders_version_counts CHECK (version >= 1)
) STRICT;

CREATE INDEX purchase_orders_by_supplier ON purchase_orders (supplier_id);

CREATE TABLE purchase_lines (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    order_id INTEGER NOT NULL CONSTRAINT purchase_lines_of_order REFERENCES purchase_orders (id),
    part_id  INTEGER NOT NULL CONSTRAINT purchase_lines_of_part REFERENCES parts (id),
    quantity INTEGER NOT NULL CONSTRAINT purchase_lines_quantity_counts CHECK (quantity > 0), -- thousandths
    cost     INTEGER NOT NULL CONSTRAINT purchase_lines_cost_not_negative CHECK (cost >= 0),  -- expected, of the whole line
    received INTEGER NOT NULL CONSTRAINT purchase_lines_received_not_negative CHECK (received >= 0), -- thousandths; more than ordered may come
    version  INTEGER NOT NULL CONSTRAINT purchase_lines_version_counts CHECK (version >= 1)
) STRICT;

CREATE INDEX purchase_lines_by_order ON purchase_lines (order_id);
CREATE INDEX purchase_lines_by_part ON purchase_lines (part_id);

-- What came in, with the supplier's bill once it is there.
CREATE TABLE goods_receipts (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    part_id     INTEGER NOT NULL CONSTRAINT goods_receipts_of_part REFERENCES parts (id),
    supplier_id INTEGER NULL CONSTRAINT goods_receipts_of_supplier REFERENCES suppliers (id),
    line_id     INTEGER NULL CONSTRAINT goods_receipts_of_line REFERENCES purchase_lines (id),
    move_id     INTEGER NOT NULL CONSTRAINT goods_receipts_of_move REFERENCES stock_moves (id) CONSTRAINT goods_receipts_move_once UNIQUE,
    quantity    INTEGER NOT NULL CONSTRAINT goods_receipts_quantity_counts CHECK (quantity > 0),
    ordered     INTEGER NULL CONSTRAINT goods_receipts_ordered_not_negative CHECK (ordered >= 0), -- what the order expected it to cost
    cost        INTEGER NOT NULL CONSTRAINT goods_receipts_cost_not_negative CHECK (cost >= 0),   -- at which it came on the shelf
    paper       TEXT NOT NULL, -- delivery note or bill
    received_at TEXT NOT NULL CONSTRAINT goods_receipts_received_at_utc CHECK (received_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    received_by TEXT NOT NULL,
    billed      INTEGER NULL CONSTRAINT goods_receipts_billed_not_negative CHECK (billed >= 0), -- the bill without tax that is recovered; NULL before it
    tax         INTEGER NULL CONSTRAINT goods_receipts_tax_not_negative CHECK (tax >= 0),
    billed_at   TEXT NULL CONSTRAINT goods_receipts_billed_at_utc CHECK (billed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    billed_by   TEXT NOT NULL,
    gone        INTEGER NULL,      -- of the difference between bill and cost, what is cost of parts that have left
    repriced_id INTEGER NULL CONSTRAINT goods_receipts_repriced_move REFERENCES stock_moves (id),
    CONSTRAINT goods_receipts_bill_whole CHECK ((billed IS NULL) = (tax IS NULL) AND (billed IS NULL) = (billed_at IS NULL) AND (billed IS NULL) = (gone IS NULL))
) STRICT;

CREATE INDEX goods_receipts_by_part ON goods_receipts (part_id);
CREATE INDEX goods_receipts_by_line ON goods_receipts (line_id);

-- Counts of the shelf. What was expected is noted when the sheet is entered; the
-- difference is posted later, so that what moved in between does no harm.
CREATE TABLE stock_counts (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    shelf      TEXT NOT NULL,
    counted_at TEXT NOT NULL CONSTRAINT stock_counts_counted_at_utc CHECK (counted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    counted_by TEXT NOT NULL,
    posted_at  TEXT NULL CONSTRAINT stock_counts_posted_at_utc CHECK (posted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    posted_by  TEXT NOT NULL,
    dropped    TEXT NOT NULL, -- why nothing of it was posted, '' otherwise
    version    INTEGER NOT NULL CONSTRAINT stock_counts_version_counts CHECK (version >= 1)
) STRICT;

CREATE TABLE stock_count_lines (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    count_id INTEGER NOT NULL CONSTRAINT stock_count_lines_of_count REFERENCES stock_counts (id),
    part_id  INTEGER NOT NULL CONSTRAINT stock_count_lines_of_part REFERENCES parts (id),
    found    INTEGER NOT NULL CONSTRAINT stock_count_lines_found_not_negative CHECK (found >= 0),
    expected INTEGER NOT NULL CONSTRAINT stock_count_lines_expected_not_negative CHECK (expected >= 0),
    reason   TEXT NOT NULL, -- of the difference
    move_id  INTEGER NULL CONSTRAINT stock_count_lines_of_move REFERENCES stock_moves (id)
) STRICT;

CREATE UNIQUE INDEX stock_count_lines_once ON stock_count_lines (count_id, part_id);

INSERT INTO series (name, last) VALUES ('orders', 0);

-- +goose StatementBegin
CREATE TRIGGER stock_moves_not_changed BEFORE UPDATE ON stock_moves BEGIN SELECT RAISE(ABORT, 'rows of stock_moves are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER stock_moves_not_removed BEFORE DELETE ON stock_moves BEGIN SELECT RAISE(ABORT, 'rows of stock_moves are never removed'); END;
-- +goose StatementEnd
