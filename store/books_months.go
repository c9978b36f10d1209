package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// Months reads the months that have entries or were closed, newest first.
func (s *Store) Months(ctx context.Context) ([]workshop.MonthState, error) {
	return months(s.db.WithContext(ctx))
}

// Months reads the months as the transaction sees them.
func (t *tx) Months(ctx context.Context) ([]workshop.MonthState, error) {
	return months(t.db.WithContext(ctx))
}

func months(db *gorm.DB) ([]workshop.MonthState, error) {
	var rows []struct {
		Period  periodRow `gorm:"embedded"`
		Entries int
		Debits  int64
	}
	err := db.Raw(`SELECT m.month, p.closed_at, coalesce(p.closed_by, '') AS closed_by, coalesce(p.version, 0) AS version,
		coalesce(x.entries, 0) AS entries, CAST(coalesce(x.debits, 0) AS BIGINT) AS debits
		FROM (SELECT DISTINCT substr(dated, 1, 7) AS month FROM journal_entries UNION SELECT month FROM periods) m
		LEFT JOIN (SELECT substr(e.dated, 1, 7) AS month, count(DISTINCT e.id) AS entries, sum(q.debit) AS debits
			FROM journal_entries e JOIN journal_postings q ON q.entry_id = e.id GROUP BY substr(e.dated, 1, 7)) x ON x.month = m.month
		LEFT JOIN periods p ON p.month = m.month ORDER BY m.month DESC`).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("list the months: %w", translate(err))
	}
	out := make([]workshop.MonthState, len(rows))
	for i := range rows {
		r := &rows[i]
		out[i] = workshop.MonthState{Month: r.Period.Month, Entries: r.Entries, Debits: money.Amount(r.Debits), Period: r.Period.period()}
	}
	return out, nil
}

// PeriodChanges reads what was closed and opened again, newest first.
func (s *Store) PeriodChanges(ctx context.Context) ([]workshop.PeriodChange, error) {
	var rows []periodChangeRow
	if err := s.db.WithContext(ctx).Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list what was closed: %w", translate(err))
	}
	return each(rows, (*periodChangeRow).change), nil
}

// UnpostedUntil counts documents and moves that no entry is about.
func (s *Store) UnpostedUntil(ctx context.Context, on domain.Date) (workshop.Unposted, error) {
	return unpostedUntil(s.db.WithContext(ctx), on)
}

// UnpostedUntil counts them as the transaction sees them.
func (t *tx) UnpostedUntil(ctx context.Context, on domain.Date) (workshop.Unposted, error) {
	return unpostedUntil(t.db.WithContext(ctx), on)
}

func unpostedUntil(db *gorm.DB, on domain.Date) (u workshop.Unposted, err error) {
	end, err := endOf(db, on)
	if err != nil {
		return u, err
	}
	err = db.Raw(`SELECT
		(SELECT count(*) FROM invoices v WHERE v.issued_on <= ? AND v.total <> 0 AND NOT EXISTS (
			SELECT 1 FROM journal_entries e WHERE e.invoice_id = v.id AND e.event = ?)) AS invoices,
		(SELECT count(*) FROM payments p WHERE p.paid_at < ? AND p.amount + p.rounding <> 0 AND NOT EXISTS (
			SELECT 1 FROM journal_entries e WHERE e.payment_id = p.id)) AS payments,
		(SELECT count(*) FROM stock_moves m WHERE m.moved_at < ? AND m.value <> 0 AND m.kind <> 'repriced' AND NOT EXISTS (
			SELECT 1 FROM journal_entries e WHERE e.move_id = m.id)) AS moves`,
		string(on), string(billing.InvoiceIssued), end, end).Scan(&u).Error
	if err != nil {
		return u, fmt.Errorf("count what is not posted: %w", translate(err))
	}
	return u, nil
}

// CheckedNotBilled counts the jobs that were checked up to a day and had no invoice
// by then.
func (s *Store) CheckedNotBilled(ctx context.Context, on domain.Date) (int, error) {
	return checkedNotBilled(s.db.WithContext(ctx), on)
}

// CheckedNotBilled counts them as the transaction sees them.
func (t *tx) CheckedNotBilled(ctx context.Context, on domain.Date) (int, error) {
	return checkedNotBilled(t.db.WithContext(ctx), on)
}

func checkedNotBilled(db *gorm.DB, on domain.Date) (n int, err error) {
	end, err := endOf(db, on)
	if err != nil {
		return 0, err
	}
	err = db.Raw(`SELECT count(*) FROM jobs j WHERE j.checked_at < ? AND NOT EXISTS (
		SELECT 1 FROM invoices v WHERE v.job_id = j.id AND v.issued_on <= ?)`, end, string(on)).Scan(&n).Error
	if err != nil {
		return 0, fmt.Errorf("count what is not billed: %w", translate(err))
	}
	return n, nil
}
