package store

import (
	"context"
	"fmt"
	"sync"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
)

// pastHolds is how many holds of the past the prior looks at, the newest first.
const pastHolds = 40

// priors keeps what past holds tell of the next one. It is worked out once a
// day from what had ended before that day, so that all servers of a shop agree.
type priors struct {
	sync.Mutex
	day   time.Time
	prior hold.Prior
}

// HoldPrior returns what the shop's own past holds tell of the time constant of
// the next one, the general belief while there are few.
func (s *Store) HoldPrior(ctx context.Context) (hold.Prior, error) {
	return s.prior.of(s.db.WithContext(ctx))
}

// HoldPrior returns what the shop's own past holds tell.
func (t *tx) HoldPrior(ctx context.Context) (hold.Prior, error) {
	return t.prior.of(t.db.WithContext(ctx))
}

func (p *priors) of(db *gorm.DB) (hold.Prior, error) {
	p.Lock()
	defer p.Unlock()
	today := db.NowFunc().UTC().Truncate(24 * time.Hour)
	if today.Equal(p.day) {
		return p.prior, nil
	}
	past, err := readPastHolds(db, today)
	if err != nil {
		return hold.Prior{}, fmt.Errorf("read the holds of the past: %w", translate(err))
	}
	p.day, p.prior = today, job.PriorOf(past)
	return p.prior, nil
}

// readPastHolds judges the newest holds that ended steady before a day.
func readPastHolds(db *gorm.DB, before time.Time) ([]hold.Judgement, error) {
	var rows []struct {
		ID        int64
		StartedAt moment
		EndedAt   moment
	}
	err := db.Raw(`SELECT h.id, h.started_at, h.ended_at FROM holds h WHERE h.reason = ? AND h.ended_at < ?
		ORDER BY h.ended_at DESC, h.id DESC LIMIT ?`, job.SteadyByMeasure, at(before), pastHolds).Scan(&rows).Error
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	ids, holds := make([]int64, len(rows)), make([]job.Hold, len(rows))
	for i, r := range rows {
		ids[i] = r.ID
		holds[i] = job.Hold{ID: domain.HoldID(r.ID), Start: r.StartedAt.Time, End: r.EndedAt.Time}
	}
	var readings []readingRow
	if err := db.Where("hold_id IN ?", ids).Order("id").Find(&readings).Error; err != nil {
		return nil, err
	}
	if err := readingsInto(holds, readings); err != nil {
		return nil, err
	}
	shop, err := readShop(db)
	if err != nil {
		return nil, err
	}
	out := make([]hold.Judgement, len(holds))
	for i, h := range holds {
		out[i] = job.JudgeHold(h, job.Task{}, shop.Hold, hold.Prior{}, h.End)
	}
	return out, nil
}
