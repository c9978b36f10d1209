-- +goose Up

-- What an electronic invoice says of a customer besides name and address, as JSON.
ALTER TABLE customers ADD COLUMN electronic TEXT NULL; -- NULL: nothing
