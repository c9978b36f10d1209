package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
)

// Sale reads the invoice of a sale over the counter and locks it: whoever takes or
// gives back money for it too waits for the end of the transaction.
func (t *tx) Sale(ctx context.Context, id domain.InvoiceID) (*billing.Invoice, error) {
	db := t.db.WithContext(ctx)
	var row invoiceRow
	if err := takeRow(locked(db), &row, id, "sale"); err != nil {
		return nil, err
	}
	if row.JobID != nil {
		return nil, domain.NotFoundf("there is no sale %d: invoice %d is of a job", id, row.Number)
	}
	return withInvoiceLines(db, &row)
}

// PaymentsOfSale reads what was paid and given back on a sale, oldest first.
func (t *tx) PaymentsOfSale(ctx context.Context, id domain.InvoiceID) ([]billing.Payment, error) {
	return paymentsOfInvoice(t.db.WithContext(ctx), id)
}

// PaymentsOfInvoice reads the payments that name an invoice, oldest first.
func (s *Store) PaymentsOfInvoice(ctx context.Context, id domain.InvoiceID) ([]billing.Payment, error) {
	return paymentsOfInvoice(s.db.WithContext(ctx), id)
}

func paymentsOfInvoice(db *gorm.DB, id domain.InvoiceID) ([]billing.Payment, error) {
	var rows []paymentRow
	if err := db.Where("invoice_id = ?", id).Order("id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the payments of invoice %d: %w", id, translate(err))
	}
	return each(rows, (*paymentRow).payment), nil
}

// Sales reads one page of the sales over the counter to a customer, or to all with 0,
// newest first, and how many there are in all.
func (s *Store) Sales(ctx context.Context, who domain.CustomerID, p workshop.Page) ([]workshop.InvoiceRow, int, error) {
	if who == 0 {
		return s.listInvoices(ctx, "WHERE job_id IS NULL", nil, p)
	}
	return s.listInvoices(ctx, "WHERE job_id IS NULL AND customer_id = ?", []any{int64(who)}, p)
}
