-- +goose Up

-- The outbox: mails to customers, each written with what it tells of. about is the
-- quote, or the second at which the work was finished: the same is never mailed
-- twice. secret is the path of the customer's page, until the mail is out.
CREATE TABLE mails (
    id            INTEGER PRIMARY KEY AUTOINCREMENT,
    job_id        INTEGER NOT NULL CONSTRAINT mails_of_job REFERENCES jobs (id),
    kind          TEXT NOT NULL CONSTRAINT mails_kind CHECK (kind IN ('quote', 'ready', 'quote reminder', 'ready reminder', 'check reminder')),
    about         INTEGER NOT NULL,
    to_address    TEXT NOT NULL,
    subject       TEXT NOT NULL,
    body          TEXT NOT NULL,
    secret        TEXT NOT NULL,
    created_at    TEXT NOT NULL CONSTRAINT mails_created_at_utc CHECK (created_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    created_by    TEXT NOT NULL,
    due_at        TEXT NOT NULL CONSTRAINT mails_due_at_utc CHECK (due_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    claimed_until TEXT CONSTRAINT mails_claimed_until_utc CHECK (claimed_until GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    tries         INTEGER NOT NULL CONSTRAINT mails_tries CHECK (tries >= 0),
    sent_at       TEXT CONSTRAINT mails_sent_at_utc CHECK (sent_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    failed_at     TEXT CONSTRAINT mails_failed_at_utc CHECK (failed_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    failure       TEXT NOT NULL,
    wiped_at      TEXT CONSTRAINT mails_wiped_at_utc CHECK (wiped_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    CONSTRAINT mails_one_end CHECK (sent_at IS NULL OR failed_at IS NULL),
    CONSTRAINT mails_once UNIQUE (job_id, kind, about)
) STRICT;

CREATE INDEX mails_waiting ON mails (due_at) WHERE sent_at IS NULL AND failed_at IS NULL;

-- What a customer said of reminders, newest last: yes, or no more.
CREATE TABLE mail_consents (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    customer_id INTEGER NOT NULL CONSTRAINT mail_consents_of_customer REFERENCES customers (id),
    given       INTEGER NOT NULL CONSTRAINT mail_consents_given_yes_no CHECK (given IN (0, 1)),
    said_on     TEXT NOT NULL CONSTRAINT mail_consents_said_on_date CHECK (said_on IS date(said_on)),
    noted_at    TEXT NOT NULL CONSTRAINT mail_consents_noted_at_utc CHECK (noted_at GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9] *+00:00'),
    noted_by    TEXT NOT NULL
) STRICT;

CREATE INDEX mail_consents_by_customer ON mail_consents (customer_id);
