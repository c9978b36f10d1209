-- +goose Up

-- The smallest step of cash on the day of a payment, in the currency's smallest unit: 1
-- where cash was not rounded. Payments from before this step hold 0, which says that it
-- was not noted: rows are never changed.
ALTER TABLE payments ADD COLUMN coin_step INTEGER NOT NULL DEFAULT 0 CONSTRAINT payments_coin_step_not_negative CHECK (coin_step >= 0);

-- Store credit can be paid out in money: then there is no payment, and the move says
-- with what and to whom. The moves that there are all come from payments.
ALTER TABLE store_credit_moves ALTER COLUMN payment_id DROP NOT NULL;
ALTER TABLE store_credit_moves ADD COLUMN tender TEXT NOT NULL DEFAULT '';
ALTER TABLE store_credit_moves ADD COLUMN paid_to TEXT NOT NULL DEFAULT '';
ALTER TABLE store_credit_moves ADD CONSTRAINT store_credit_moves_out_to_somebody CHECK (payment_id IS NOT NULL OR (amount < 0 AND tender <> '' AND paid_to <> ''));
ALTER TABLE store_credit_moves ADD CONSTRAINT store_credit_moves_by_payment_or_out CHECK (payment_id IS NULL OR (tender = '' AND paid_to = ''));
