-- +goose Up

CREATE TABLE shop (
    id      INTEGER NOT NULL PRIMARY KEY CONSTRAINT shop_only_one CHECK (id = 1),
    body    TEXT    NOT NULL,                         -- the settings as JSON
    version INTEGER NOT NULL CONSTRAINT shop_version_counts CHECK (version >= 1)
) STRICT;

CREATE TABLE customers (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    name         TEXT    NOT NULL CONSTRAINT customers_name_given CHECK (name <> ''),
    name_key     TEXT    NOT NULL,                    -- the name in lower case
    phone        TEXT    NOT NULL,
    phone_digits TEXT    NOT NULL CONSTRAINT customers_phone_digits_only CHECK (phone_digits NOT GLOB '*[^0-9]*'),
    email        TEXT    NOT NULL,
    email_key    TEXT    NOT NULL,                    -- the address in lower case
    address      TEXT    NOT NULL,
    contact      TEXT    NOT NULL CONSTRAINT customers_contact_known CHECK (contact IN ('phone', 'message', 'letter')),
    note         TEXT    NOT NULL,
    exempt       TEXT    NULL,                        -- the exemption from taxes as JSON
    created_at   TEXT    NOT NULL CONSTRAINT customers_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version      INTEGER NOT NULL CONSTRAINT customers_version_counts CHECK (version >= 1)
) STRICT;

CREATE INDEX customers_by_name ON customers (name_key, id);

CREATE TABLE instruments (
    id                 INTEGER PRIMARY KEY AUTOINCREMENT,
    owner_id           INTEGER NOT NULL CONSTRAINT instruments_of_owner REFERENCES customers (id),
    kind               TEXT    NOT NULL CONSTRAINT instruments_kind_given CHECK (kind <> ''),
    maker              TEXT    NOT NULL,
    model              TEXT    NOT NULL,
    serial             TEXT    NOT NULL,
    search_key         TEXT    NOT NULL,              -- maker, model and serial in lower case
    made               TEXT    NOT NULL,
    top_wood           TEXT    NOT NULL,
    top_construction   TEXT    NOT NULL,
    back_wood          TEXT    NOT NULL,
    back_construction  TEXT    NOT NULL,
    sides_wood         TEXT    NOT NULL,
    sides_construction TEXT    NOT NULL,
    board              TEXT    NOT NULL,
    binding            TEXT    NOT NULL,
    finish             TEXT    NOT NULL,
    bracing            TEXT    NOT NULL,
    identity           TEXT    NOT NULL,
    note               TEXT    NOT NULL,
    created_at         TEXT    NOT NULL CONSTRAINT instruments_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version            INTEGER NOT NULL CONSTRAINT instruments_version_counts CHECK (version >= 1)
) STRICT;

CREATE INDEX instruments_by_owner ON instruments (owner_id);

CREATE TABLE parts (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    code     TEXT    NOT NULL CONSTRAINT parts_code_once UNIQUE CONSTRAINT parts_code_given CHECK (code <> ''),
    name     TEXT    NOT NULL CONSTRAINT parts_name_given CHECK (name <> ''),
    name_key TEXT    NOT NULL,                        -- the name in lower case
    unit     TEXT    NOT NULL CONSTRAINT parts_unit_given CHECK (unit <> ''),
    kind     TEXT    NOT NULL CONSTRAINT parts_kind_known CHECK (kind IN ('part', 'retail_goods', 'shop_supplies')),
    price    INTEGER NOT NULL CONSTRAINT parts_price_not_negative CHECK (price >= 0),
    cost     INTEGER NOT NULL CONSTRAINT parts_cost_not_negative CHECK (cost >= 0),
    retired  INTEGER NOT NULL CONSTRAINT parts_retired_yes_no CHECK (retired IN (0, 1)),
    version  INTEGER NOT NULL CONSTRAINT parts_version_counts CHECK (version >= 1)
) STRICT;

-- Editions of task templates are only added, so that a job can always name the
-- one it was planned with.
CREATE TABLE task_editions (
    code    TEXT    NOT NULL CONSTRAINT task_editions_code_given CHECK (code <> ''),
    number  INTEGER NOT NULL CONSTRAINT task_editions_number_counts CHECK (number >= 1),
    body    BLOB    NOT NULL,                         -- the template's file
    origin  TEXT    NOT NULL CONSTRAINT task_editions_origin_known CHECK (origin IN ('built-in', 'shop')),
    made_at TEXT    NOT NULL CONSTRAINT task_editions_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    made_by TEXT    NOT NULL,                         -- '' for the program
    PRIMARY KEY (code, number)
) STRICT;

CREATE TABLE series (
    name TEXT    NOT NULL PRIMARY KEY,
    last INTEGER NOT NULL CONSTRAINT series_last_counts CHECK (last >= 0) -- the last number given
) STRICT;

INSERT INTO series (name, last) VALUES ('tags', 0), ('quotes', 0), ('invoices', 0), ('receipts', 0);

CREATE TABLE request_keys (
    staff_id    INTEGER NOT NULL CONSTRAINT request_keys_of_staff REFERENCES staff (id),
    request_key TEXT    NOT NULL CONSTRAINT request_keys_key_given CHECK (request_key <> ''),
    used_for    TEXT    NOT NULL,                     -- the action, with a hash of what was sent
    claimed_at  TEXT    NOT NULL CONSTRAINT request_keys_claimed_at_utc CHECK (claimed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    result      INTEGER NULL,                         -- an identity; NULL only inside the claiming transaction
    PRIMARY KEY (staff_id, request_key)
) STRICT;
