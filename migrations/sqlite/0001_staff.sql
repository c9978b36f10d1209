-- +goose Up

CREATE TABLE staff (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    name          TEXT    NOT NULL CONSTRAINT staff_name_given CHECK (length(name) BETWEEN 1 AND 80),
    name_key      TEXT    NOT NULL CONSTRAINT staff_name_key_unique UNIQUE, -- the name in lower case
    password_hash TEXT    NOT NULL,                   -- argon2id in its text form; '' cannot sign in
    roles         TEXT    NOT NULL,                   -- counter,bench,owner in that order, no spaces
    active        INTEGER NOT NULL CONSTRAINT staff_active_yes_no CHECK (active IN (0, 1)),
    created_at    TEXT    NOT NULL CONSTRAINT staff_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    version       INTEGER NOT NULL CONSTRAINT staff_version_counts CHECK (version >= 1),
    CONSTRAINT staff_name_once UNIQUE (name),
    CONSTRAINT staff_roles_known CHECK (roles IN ('', 'counter', 'bench', 'owner', 'counter,bench', 'counter,owner', 'bench,owner', 'counter,bench,owner'))
) STRICT;

CREATE TABLE sessions (
    token  TEXT NOT NULL PRIMARY KEY CONSTRAINT sessions_token_given CHECK (token <> ''),
    data   BLOB NOT NULL,
    expiry TEXT NOT NULL CONSTRAINT sessions_expiry_utc CHECK (expiry GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

CREATE INDEX sessions_by_expiry ON sessions (expiry);

CREATE TABLE api_tokens (
    id           INTEGER PRIMARY KEY AUTOINCREMENT,
    staff_id     INTEGER NOT NULL CONSTRAINT api_tokens_of_staff REFERENCES staff (id),
    name         TEXT    NOT NULL CONSTRAINT api_tokens_name_given CHECK (length(name) BETWEEN 1 AND 80),
    token_hash   TEXT    NOT NULL CONSTRAINT api_tokens_hash_once UNIQUE,
    created_at   TEXT    NOT NULL CONSTRAINT api_tokens_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    last_used_at TEXT    CONSTRAINT api_tokens_last_used_at_utc CHECK (last_used_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    revoked_at   TEXT    CONSTRAINT api_tokens_revoked_at_utc CHECK (revoked_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00')
) STRICT;

CREATE INDEX api_tokens_by_staff ON api_tokens (staff_id);
