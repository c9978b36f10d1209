-- +goose Up

-- Who is signed in where, who tried, and with what: a second step, a PIN, a token.

-- Stays: one from a sign-in to its end. A session of the pages holds the identity.
CREATE TABLE stays (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    staff_id   INTEGER NOT NULL CONSTRAINT stays_of_staff REFERENCES staff (id),
    how        TEXT NOT NULL CONSTRAINT stays_how_known CHECK (how IN ('password', 'second step', 'recovery code', 'PIN', 'first')),
    device_id  INTEGER, -- the trusted device, NULL for any other
    place      TEXT NOT NULL, -- what kind of address it came from, never the address
    began_at   TEXT NOT NULL CONSTRAINT stays_began_at_utc CHECK (began_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    seen_at    TEXT NOT NULL CONSTRAINT stays_seen_at_utc CHECK (seen_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    ended_at   TEXT CONSTRAINT stays_ended_at_utc CHECK (ended_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    ended_why  TEXT NOT NULL CONSTRAINT stays_ended_with_reason CHECK ((ended_at IS NULL) = (ended_why = ''))
) STRICT;

CREATE INDEX stays_by_staff ON stays (staff_id, began_at);

-- The log of sign-ins and of changed rights. It only grows.
CREATE TABLE sign_ins (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    at       TEXT NOT NULL CONSTRAINT sign_ins_at_utc CHECK (at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    staff_id INTEGER CONSTRAINT sign_ins_of_staff REFERENCES staff (id), -- NULL when the name belongs to nobody
    name     TEXT NOT NULL CONSTRAINT sign_ins_name_short CHECK (length(name) <= 80), -- of a person; of nobody it stays empty, for people type passwords there
    how      TEXT NOT NULL CONSTRAINT sign_ins_how_given CHECK (length(how) BETWEEN 1 AND 40),
    outcome  TEXT NOT NULL CONSTRAINT sign_ins_outcome_known CHECK (outcome IN ('in', 'half way', 'refused', 'slowed', 'out', 'changed')),
    place    TEXT NOT NULL,
    what     TEXT NOT NULL, -- of a change: what, in words
    by_name  TEXT NOT NULL  -- who did it, when it was somebody else; '' for the person
) STRICT;

CREATE INDEX sign_ins_by_staff ON sign_ins (staff_id, id);

-- +goose StatementBegin
CREATE TRIGGER sign_ins_not_changed BEFORE UPDATE ON sign_ins BEGIN SELECT RAISE(ABORT, 'rows of sign_ins are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_ins_not_removed BEFORE DELETE ON sign_ins BEGIN SELECT RAISE(ABORT, 'rows of sign_ins are never removed'); END;
-- +goose StatementEnd

-- How often a name, an address, a second step or a PIN was tried in vain. The key
-- is a hash, so that neither names nor addresses stand here.
CREATE TABLE throttles (
    key      TEXT NOT NULL PRIMARY KEY CONSTRAINT throttles_key_given CHECK (length(key) = 64),
    failures INTEGER NOT NULL CONSTRAINT throttles_failures_counted CHECK (failures >= 0),
    last_at  TEXT NOT NULL CONSTRAINT throttles_last_at_utc CHECK (last_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    next_at  TEXT NOT NULL CONSTRAINT throttles_next_at_utc CHECK (next_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

CREATE INDEX throttles_by_last_at ON throttles (last_at);

CREATE TABLE second_factors (
    staff_id     INTEGER NOT NULL PRIMARY KEY CONSTRAINT second_factors_of_staff REFERENCES staff (id),
    secret       TEXT NOT NULL CONSTRAINT second_factors_secret_given CHECK (secret <> ''), -- base32; it must be read to compute codes
    made_at      TEXT NOT NULL CONSTRAINT second_factors_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    confirmed_at TEXT CONSTRAINT second_factors_confirmed_at_utc CHECK (confirmed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'), -- NULL: not asked for yet
    last_step    INTEGER NOT NULL CONSTRAINT second_factors_step_counts CHECK (last_step >= 0) -- of the code used last: none is taken twice
) STRICT;

CREATE TABLE recovery_codes (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    staff_id  INTEGER NOT NULL CONSTRAINT recovery_codes_of_staff REFERENCES staff (id),
    code_hash TEXT NOT NULL CONSTRAINT recovery_codes_hash_once UNIQUE,
    used_at   TEXT CONSTRAINT recovery_codes_used_at_utc CHECK (used_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

CREATE INDEX recovery_codes_by_staff ON recovery_codes (staff_id);

CREATE TABLE pins (
    staff_id INTEGER NOT NULL PRIMARY KEY CONSTRAINT pins_of_staff REFERENCES staff (id),
    pin_hash TEXT NOT NULL CONSTRAINT pins_hash_given CHECK (pin_hash <> ''), -- argon2id in its text form
    set_at   TEXT NOT NULL CONSTRAINT pins_set_at_utc CHECK (set_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

-- Devices on which a PIN is enough for the bench.
CREATE TABLE devices (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    name       TEXT NOT NULL CONSTRAINT devices_name_given CHECK (length(name) BETWEEN 1 AND 80),
    token_hash TEXT NOT NULL CONSTRAINT devices_hash_once UNIQUE,
    trusted_by TEXT NOT NULL,
    trusted_at TEXT NOT NULL CONSTRAINT devices_trusted_at_utc CHECK (trusted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    expires_at TEXT NOT NULL CONSTRAINT devices_expires_at_utc CHECK (expires_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    used_at    TEXT CONSTRAINT devices_used_at_utc CHECK (used_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    revoked_at TEXT CONSTRAINT devices_revoked_at_utc CHECK (revoked_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

-- The codes that a server prints while there is no shop yet.
CREATE TABLE first_codes (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    code_hash TEXT NOT NULL CONSTRAINT first_codes_hash_once UNIQUE,
    made_at   TEXT NOT NULL CONSTRAINT first_codes_made_at_utc CHECK (made_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    used_at   TEXT CONSTRAINT first_codes_used_at_utc CHECK (used_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

-- Tokens that were made before keep every hat of their person and do not end.
ALTER TABLE api_tokens ADD COLUMN reads_only INTEGER NOT NULL DEFAULT 0 CONSTRAINT api_tokens_reads_only_yes_no CHECK (reads_only IN (0, 1));
ALTER TABLE api_tokens ADD COLUMN roles TEXT NOT NULL DEFAULT '' CONSTRAINT api_tokens_roles_known CHECK (roles IN ('', 'counter', 'bench', 'owner', 'counter,bench', 'counter,owner', 'bench,owner', 'counter,bench,owner')); -- '' is every hat of the person
ALTER TABLE api_tokens ADD COLUMN expires_at TEXT CONSTRAINT api_tokens_expires_at_utc CHECK (expires_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00');
