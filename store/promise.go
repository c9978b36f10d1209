package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/workshop"
)

// promiseRow is a row of promises.
type promiseRow struct {
	ID      int64
	JobID   int64
	QuoteID *int64
	MadeAt  moment
	MadeBy  string
	Said    *string
	P20     *moment
	P50     *moment
	P80     *moment
	P95     *moment
	Because string
}

func (promiseRow) TableName() string { return "promises" }
func (r *promiseRow) key() *int64    { return &r.ID }

func rowOfPromise(p *workshop.PromiseMade) promiseRow {
	r := promiseRow{
		ID: p.ID, JobID: int64(p.Job), QuoteID: idOrNull(p.Quote), MadeAt: at(p.At), MadeBy: p.By, Because: p.Because,
	}
	if p.Said != "" {
		said := string(p.Said)
		r.Said = &said
	}
	if w := p.Window; w != nil {
		r.P20, r.P50, r.P80, r.P95 = atOrNull(w.P20), atOrNull(w.P50), atOrNull(w.P80), atOrNull(w.P95)
	}
	return r
}

func (r *promiseRow) promise() workshop.PromiseMade {
	p := workshop.PromiseMade{
		ID: r.ID, Job: domain.JobID(r.JobID), Quote: orZero[domain.QuoteID](r.QuoteID), At: r.MadeAt.Time, By: r.MadeBy, Because: r.Because,
	}
	if r.Said != nil {
		p.Said = domain.Date(*r.Said)
	}
	if r.P20 != nil {
		p.Window = &queue.Window{P20: r.P20.orZero(), P50: r.P50.orZero(), P80: r.P80.orZero(), P95: r.P95.orZero()}
	}
	return p
}

// AddPromise adds a row to the ledger of promises.
func (t *tx) AddPromise(ctx context.Context, p *workshop.PromiseMade) error {
	row := rowOfPromise(p)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return fmt.Errorf("add a promise of job %d: %w", p.Job, err)
	}
	p.ID = row.ID
	return nil
}

// PromisesOf reads what was told about one job, oldest first.
func (s *Store) PromisesOf(ctx context.Context, id domain.JobID) ([]workshop.PromiseMade, error) {
	var rows []promiseRow
	if err := s.db.WithContext(ctx).Where("job_id = ?", id).Order("made_at, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the promises of job %d: %w", id, translate(err))
	}
	return each(rows, (*promiseRow).promise), nil
}

// PromisesKept reads what was told from a moment on, with what became of each job.
func (s *Store) PromisesKept(ctx context.Context, from time.Time) ([]workshop.PromiseKept, error) {
	var rows []struct {
		Row        promiseRow `gorm:"embedded"`
		Tag        int
		ApprovedAt *moment
		CheckedAt  *moment
	}
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		return db.Raw(`SELECT p.*, j.tag, j.approved_at, j.checked_at FROM promises p JOIN jobs j ON j.id = p.job_id
			WHERE p.made_at >= ? ORDER BY p.job_id, p.made_at, p.id`, from).Scan(&rows).Error
	})
	if err != nil {
		return nil, fmt.Errorf("read the promises since %s: %w", from.Format(time.DateOnly), err)
	}
	out := make([]workshop.PromiseKept, len(rows))
	for i := range rows {
		r := &rows[i]
		out[i] = workshop.PromiseKept{PromiseMade: r.Row.promise(), Tag: r.Tag, Approved: r.ApprovedAt.orZero(), Checked: r.CheckedAt.orZero()}
	}
	return out, nil
}
