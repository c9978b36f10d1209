package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// WeekFigures adds up what happened from one moment to another, in one statement. A
// clocking counts where it began; one that was put right counts by its newer row.
func (s *Store) WeekFigures(ctx context.Context, from, to time.Time) (workshop.WeekFigures, error) {
	var row struct {
		Known      bool
		Arrived    int
		HandedOver int
		Seconds    int64
		Taken      int64
	}
	a, b := at(from), at(to)
	end := "(CASE WHEN c.ended_at IS NULL OR c.ended_at > ? THEN ? ELSE c.ended_at END)"
	err := s.db.WithContext(ctx).Raw(`SELECT EXISTS (SELECT 1 FROM jobs WHERE arrived_at < ?) AS known,
			(SELECT COUNT(*) FROM jobs WHERE arrived_at >= ? AND arrived_at < ?) AS arrived,
			(SELECT COUNT(*) FROM jobs WHERE collected_at >= ? AND collected_at < ?) AS handed_over,
			(SELECT CAST(COALESCE(SUM(amount), 0) AS BIGINT) FROM payments WHERE paid_at >= ? AND paid_at < ?) AS taken,
			(SELECT CAST(COALESCE(SUM(`+s.secondsOf("c.started_at", end)+`), 0) AS BIGINT) FROM clockings c
				WHERE c.started_at >= ? AND c.started_at < ? AND NOT EXISTS (SELECT 1 FROM clockings r WHERE r.replaces = c.id)) AS seconds`,
		b, a, b, a, b, a, b, b, b, a, b).Scan(&row).Error
	if err != nil {
		return workshop.WeekFigures{}, fmt.Errorf("add up the week from %s: %w", from.Format(time.DateOnly), translate(err))
	}
	return workshop.WeekFigures{Known: row.Known, Arrived: row.Arrived, HandedOver: row.HandedOver, Seconds: row.Seconds, Taken: money.Amount(row.Taken)}, nil
}

// EarnedJobs reads the jobs handed over from one moment to another, in four
// statements however many they are.
func (s *Store) EarnedJobs(ctx context.Context, from, to time.Time) ([]workshop.EarnedJob, error) {
	var out []workshop.EarnedJob
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		out, err = s.readEarned(db, at(from), at(to))
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read what was earned since %s: %w", from.Format(time.DateOnly), err)
	}
	return out, nil
}

func (s *Store) readEarned(db *gorm.DB, from, to moment) ([]workshop.EarnedJob, error) {
	var rows []struct {
		ID          int64
		CollectedAt moment
		InvoiceID   *int64
		TaxInside   bool
		Totals      string
	}
	err := db.Raw(`SELECT j.id, j.collected_at, i.id AS invoice_id, COALESCE(i.tax_inside, FALSE) AS tax_inside, COALESCE(i.totals, '') AS totals
		FROM jobs j LEFT JOIN invoices i ON i.job_id = j.id WHERE j.collected_at >= ? AND j.collected_at < ? ORDER BY j.id`, from, to).Scan(&rows).Error
	if err != nil {
		return nil, err
	}
	out, of, bills := make([]workshop.EarnedJob, len(rows)), map[int64]*workshop.EarnedJob{}, map[int64]*workshop.EarnedJob{}
	for i, r := range rows {
		out[i] = workshop.EarnedJob{Job: domain.JobID(r.ID), Collected: r.CollectedAt.Time}
		of[r.ID] = &out[i]
		if r.InvoiceID == nil {
			continue
		}
		out[i].Invoice = &billing.Invoice{ID: domain.InvoiceID(*r.InvoiceID), TaxInside: r.TaxInside}
		if err := fromJSON(r.Totals, &out[i].Invoice.Totals); err != nil {
			return nil, fmt.Errorf("invoice %d: %w", *r.InvoiceID, err)
		}
		bills[*r.InvoiceID] = &out[i]
	}
	if err := readEarnedLines(db, from, to, bills); err != nil {
		return nil, err
	}
	return out, s.readEarnedWork(db, from, to, of)
}

// readEarnedLines puts the lines to their invoices.
func readEarnedLines(db *gorm.DB, from, to moment, bills map[int64]*workshop.EarnedJob) error {
	var rows []struct {
		InvoiceID      int64
		Kind, Template string
	}
	err := db.Raw(`SELECT l.invoice_id, l.kind, COALESCE(t.template, '') AS template
		FROM jobs j JOIN invoices i ON i.job_id = j.id JOIN invoice_lines l ON l.invoice_id = i.id LEFT JOIN tasks t ON t.id = l.task_id
		WHERE j.collected_at >= ? AND j.collected_at < ? ORDER BY l.invoice_id, l.place`, from, to).Scan(&rows).Error
	if err != nil {
		return err
	}
	for _, r := range rows {
		e := bills[r.InvoiceID]
		e.LineOf = append(e.LineOf, r.Template)
		e.Invoice.Lines = append(e.Invoice.Lines, billing.Line{Kind: money.LineKind(r.Kind)})
	}
	return nil
}

// readEarnedWork puts the clocked time and the parts to their jobs, by template.
func (s *Store) readEarnedWork(db *gorm.DB, from, to moment, of map[int64]*workshop.EarnedJob) error {
	var rows []struct {
		JobID                int64
		Template             string
		Seconds, Thousandths int64
	}
	err := db.Raw(`SELECT w.job_id, w.template, CAST(SUM(w.seconds) AS BIGINT) AS seconds, CAST(SUM(w.thousandths) AS BIGINT) AS thousandths FROM (
			SELECT j.id AS job_id, t.template, `+s.secondsOf("c.started_at", "c.ended_at")+` AS seconds, 0 AS thousandths
				FROM jobs j JOIN clockings c ON c.job_id = j.id JOIN tasks t ON t.id = c.task_id
				WHERE j.collected_at >= ? AND j.collected_at < ? AND c.ended_at IS NOT NULL AND NOT EXISTS (SELECT 1 FROM clockings r WHERE r.replaces = c.id)
			UNION ALL SELECT j.id, t.template, 0, coalesce(1000 * p.value, p.quantity * p.cost)
				FROM jobs j JOIN parts_used p ON p.job_id = j.id JOIN tasks t ON t.id = p.task_id
				WHERE j.collected_at >= ? AND j.collected_at < ?) w
		GROUP BY w.job_id, w.template ORDER BY w.job_id, w.template`, from, to, from, to).Scan(&rows).Error
	if err != nil {
		return err
	}
	for _, r := range rows {
		e := of[r.JobID]
		e.Work = append(e.Work, workshop.EarnedWork{Template: r.Template, AtCost: workshop.AtCost{Seconds: r.Seconds, Thousandths: r.Thousandths}})
	}
	return nil
}
