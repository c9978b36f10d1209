package store

import (
	"context"
	"fmt"
	"time"

	"github.com/shopspring/decimal"
	"gorm.io/gorm"

	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// spentRow is a task with its clock, its line on the bill and the line it was agreed on.
type spentRow struct {
	Template         string
	Phase            templates.Phase
	CollectedAt      moment
	Clocked, Counted int64

	OnBill       bool
	Price, Count string
	Off          string
	Minutes      int64

	Agreed, Free, ByTime, Typed bool
	OffWhy, Basis               string
	HourlyRate                  int64
	CurrencyDigits              int32
	Discount                    int64
	Totals, Reason              string
}

// SpentTasks reads the tasks of the jobs handed over from one moment to another that
// were clocked or billed, in one statement. The clock is cut to whole seconds.
func (s *Store) SpentTasks(ctx context.Context, from, to time.Time) ([]workshop.SpentTask, error) {
	var rows []spentRow
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		return db.Raw(`SELECT t.template, t.phase, j.collected_at, COALESCE(w.clocked, 0) AS clocked, COALESCE(w.counted, 0) AS counted,
			l.id IS NOT NULL AS on_bill, COALESCE(l.price, '0') AS price, COALESCE(l.count, '0') AS count, COALESCE(l.off, '0') AS off, COALESCE(l.minutes, 0) AS minutes,
			CASE WHEN i.quote_id IS NULL THEN EXISTS (SELECT 1 FROM quote_lines a WHERE a.task_id = t.id AND a.agreed = TRUE) ELSE COALESCE(a.agreed, FALSE) END AS agreed,
			COALESCE(a.free, FALSE) AS free, COALESCE(a.by_time, FALSE) AS by_time, COALESCE(a.typed, FALSE) AS typed,
			COALESCE(a.off_why, '') AS off_why, COALESCE(q.basis, '') AS basis, COALESCE(q.hourly_rate, 0) AS hourly_rate,
			COALESCE(i.currency_digits, 0) AS currency_digits, COALESCE(i.discount, 0) AS discount, COALESCE(i.totals, '') AS totals, COALESCE(i.reason, '') AS reason
		FROM jobs j JOIN tasks t ON t.job_id = j.id
		LEFT JOIN (SELECT d.task_id, CAST(SUM(CASE WHEN d.replaces IS NULL THEN d.seconds ELSE 0 END) AS BIGINT) AS clocked, CAST(SUM(CASE WHEN d.stands THEN d.seconds ELSE 0 END) AS BIGINT) AS counted
			FROM (SELECT c.task_id, c.replaces, NOT EXISTS (SELECT 1 FROM clockings r WHERE r.replaces = c.id) AS stands, `+s.secondsOf("c.started_at", "c.ended_at")+` AS seconds
				FROM clockings c JOIN jobs k ON k.id = c.job_id WHERE k.collected_at >= ? AND k.collected_at < ? AND c.ended_at IS NOT NULL) d GROUP BY d.task_id) w ON w.task_id = t.id
		LEFT JOIN invoices i ON i.job_id = j.id LEFT JOIN quotes q ON q.id = i.quote_id
		LEFT JOIN invoice_lines l ON l.invoice_id = i.id AND l.task_id = t.id AND l.kind = ?
		LEFT JOIN quote_lines a ON a.quote_id = i.quote_id AND a.task_id = t.id AND a.template <> ''
		WHERE j.collected_at >= ? AND j.collected_at < ? AND (w.task_id IS NOT NULL OR l.id IS NOT NULL) ORDER BY t.id`,
			at(from), at(to), money.Labour, at(from), at(to)).Scan(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("read what became of the work since %s: %w", from.Format(time.DateOnly), translate(err))
	}
	out := make([]workshop.SpentTask, len(rows))
	for i := range rows {
		spent, err := rows[i].spent()
		if err != nil {
			return nil, fmt.Errorf("what became of the work on %s: %w", rows[i].Template, err)
		}
		out[i] = workshop.SpentTask{Template: rows[i].Template, Collected: rows[i].CollectedAt.Time, Spent: spent}
	}
	return out, nil
}

func (r *spentRow) spent() (billing.Spent, error) {
	s := billing.Spent{
		Clocked: r.Clocked, Counted: r.Counted, OnBill: r.OnBill, Agreed: r.Agreed, Free: r.Free || r.Phase == templates.PhaseFollowUp,
		ByTime: r.ByTime && !r.Typed && r.Basis == string(quote.Estimate), Kept: billing.KeptToLimit(r.Reason),
	}
	if !s.OnBill {
		return s, nil
	}
	s.Comeback = quote.Line{OffWhy: r.OffWhy}.Comeback()
	var err error
	if s.Off, err = decimal.NewFromString(r.Off); err != nil {
		return s, err
	}
	if s.Full, err = r.full(s.ByTime); err != nil || r.Discount == 0 {
		return s, err
	}
	var totals money.Totals
	if err := fromJSON(r.Totals, &totals); err != nil || totals.Sum <= 0 {
		return s, err
	}
	s.Cut = decimal.NewFromInt(min(r.Discount, int64(totals.Sum))).DivRound(decimal.NewFromInt(int64(totals.Sum)), 9)
	return s, nil
}

// full is the seconds that a line pays for before anything is taken off.
func (r *spentRow) full(byTime bool) (int64, error) {
	if byTime {
		return r.Minutes * 60, nil
	}
	price, err := decimal.NewFromString(r.Price)
	if err != nil || r.HourlyRate <= 0 {
		return 0, err
	}
	count, err := decimal.NewFromString(r.Count)
	if err != nil {
		return 0, err
	}
	return price.Mul(count).Shift(r.CurrencyDigits).Mul(decimal.NewFromInt(3600)).DivRound(decimal.NewFromInt(r.HourlyRate), 0).IntPart(), nil
}
