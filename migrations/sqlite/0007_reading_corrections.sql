-- +goose Up

-- A reading of a hold is never changed: a row that names it puts it right, or
-- takes it back when it measures nothing. The note is then the reason.
ALTER TABLE readings ADD COLUMN replaces INTEGER CONSTRAINT readings_of_reading REFERENCES readings (id) CONSTRAINT readings_replaced_with_reason CHECK (replaces IS NULL OR note <> '');

-- What was put right is put right again through the newer row.
CREATE UNIQUE INDEX readings_replaced_once ON readings (replaces);
