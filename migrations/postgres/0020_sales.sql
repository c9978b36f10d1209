-- +goose Up

-- A sale over the counter is an invoice without a job; who gives no name is no
-- customer either.
ALTER TABLE invoices ALTER COLUMN job_id DROP NOT NULL;
ALTER TABLE invoices ALTER COLUMN customer_id DROP NOT NULL;
ALTER TABLE payments ALTER COLUMN job_id DROP NOT NULL;
ALTER TABLE credit_notes ALTER COLUMN job_id DROP NOT NULL;
ALTER TABLE write_offs ALTER COLUMN job_id DROP NOT NULL;
ALTER TABLE invoices ADD CONSTRAINT invoices_job_has_customer CHECK (job_id IS NULL OR customer_id IS NOT NULL);
ALTER TABLE payments ADD CONSTRAINT payments_for_job_or_invoice CHECK (job_id IS NOT NULL OR invoice_id IS NOT NULL);

-- What a line sold off the shelf: the part, and the move that took it when stock is
-- kept of it.
ALTER TABLE invoice_lines ADD COLUMN part_id BIGINT NULL CONSTRAINT invoice_lines_of_part REFERENCES parts (id);
ALTER TABLE invoice_lines ADD COLUMN move_id BIGINT NULL CONSTRAINT invoice_lines_of_move REFERENCES stock_moves (id);
CREATE UNIQUE INDEX invoice_lines_move_once ON invoice_lines (move_id);
CREATE INDEX invoice_lines_by_part ON invoice_lines (part_id);
