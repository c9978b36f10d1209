package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// paymentRow is a row of payments.
type paymentRow struct {
	ID          int64
	JobID       *int64
	InvoiceID   *int64
	Kind        string
	Tender      string
	Amount      int64
	Rounding    int64
	Given       int64
	ChangeGiven int64
	Reference   string
	Receipt     int
	PaidAt      moment
	TakenBy     string
	Tip         int64
	KeptCredit  int64 `gorm:"column:kept_as_credit"`
	ByPayer     bool
	CoinStep    int64
}

func (paymentRow) TableName() string { return "payments" }
func (r *paymentRow) key() *int64    { return &r.ID }

func rowOfPayment(p *billing.Payment) paymentRow {
	return paymentRow{
		ID: int64(p.ID), JobID: idOrNull(p.Job), InvoiceID: idOrNull(p.Invoice), Kind: string(p.Kind), Tender: string(p.Tender),
		Amount: int64(p.Amount), Rounding: int64(p.Rounding), Given: int64(p.Given), ChangeGiven: int64(p.Change),
		Reference: p.Reference, Receipt: p.Receipt, PaidAt: at(p.At), TakenBy: p.By,
		Tip: int64(p.Tip), KeptCredit: int64(p.Kept), ByPayer: p.ByPayer, CoinStep: int64(p.Coin),
	}
}

func (r *paymentRow) payment() billing.Payment {
	return billing.Payment{
		ID: domain.PaymentID(r.ID), Job: orZero[domain.JobID](r.JobID), Invoice: orZero[domain.InvoiceID](r.InvoiceID),
		Kind: billing.PaymentKind(r.Kind), Tender: billing.Tender(r.Tender),
		Amount: money.Amount(r.Amount), Rounding: money.Amount(r.Rounding), Given: money.Amount(r.Given), Change: money.Amount(r.ChangeGiven),
		Reference: r.Reference, Receipt: r.Receipt, At: r.PaidAt.Time, By: r.TakenBy,
		Tip: money.Amount(r.Tip), Kept: money.Amount(r.KeptCredit), ByPayer: r.ByPayer, Coin: money.Amount(r.CoinStep),
	}
}

// PaymentsOfJob reads what was paid and given back on a job, oldest first.
func (s *Store) PaymentsOfJob(ctx context.Context, id domain.JobID) ([]billing.Payment, error) {
	return paymentsOf(s.db.WithContext(ctx), id)
}

// PaymentsOf reads what was paid and given back on a job, oldest first.
func (t *tx) PaymentsOf(ctx context.Context, id domain.JobID) ([]billing.Payment, error) {
	return paymentsOf(t.db.WithContext(ctx), id)
}

func paymentsOf(db *gorm.DB, id domain.JobID) ([]billing.Payment, error) {
	var rows []paymentRow
	if err := db.Where("job_id = ?", id).Order("id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the payments of job %d: %w", id, translate(err))
	}
	return each(rows, (*paymentRow).payment), nil
}

// PaymentByID reads one payment.
func (s *Store) PaymentByID(ctx context.Context, id domain.PaymentID) (*billing.Payment, error) {
	var row paymentRow
	if err := takeRow(s.db.WithContext(ctx), &row, id, "payment"); err != nil {
		return nil, err
	}
	p := row.payment()
	return &p, nil
}

// AddPayment inserts a payment and sets its identity.
func (t *tx) AddPayment(ctx context.Context, p *billing.Payment) error {
	row := rowOfPayment(p)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return fmt.Errorf("receipt %d: %w", p.Receipt, err)
	}
	p.ID = domain.PaymentID(row.ID)
	return nil
}
