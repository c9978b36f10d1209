package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// openHoldRow is a running hold with what the cabinet's list shows of its job.
type openHoldRow struct {
	ID          int64
	JobID       int64
	TaskID      int64
	Place       string
	StartedAt   moment
	Tag         int
	Maker       string
	Model       string
	Kind        string
	DaysLow     string
	DaysTypical string
	DaysHigh    string
}

// OpenHolds reads the running holds by place, each with its readings.
func (s *Store) OpenHolds(ctx context.Context) ([]workshop.HoldRow, error) {
	var rows []openHoldRow
	var readings []readingRow
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		err := db.Raw(`SELECT h.id, h.job_id, h.task_id, h.place, h.started_at, j.tag, i.maker, i.model, i.kind,
			t.days_low, t.days_typical, t.days_high
			FROM holds h JOIN jobs j ON j.id = h.job_id JOIN instruments i ON i.id = j.instrument_id
			JOIN tasks t ON t.id = h.task_id WHERE h.ended_at IS NULL`).Scan(&rows).Error
		if err != nil {
			return err
		}
		return db.Where("hold_id IN (SELECT id FROM holds WHERE ended_at IS NULL)").Order("id").Find(&readings).Error
	})
	if err != nil {
		return nil, fmt.Errorf("list the running holds: %w", err)
	}
	out, err := holdRows(rows, readings)
	if err != nil {
		return nil, fmt.Errorf("list the running holds: %w", err)
	}
	return out, nil
}

func holdRows(rows []openHoldRow, readings []readingRow) ([]workshop.HoldRow, error) {
	holds := make([]job.Hold, len(rows))
	for i, r := range rows {
		holds[i] = job.Hold{ID: domain.HoldID(r.ID), Task: domain.TaskID(r.TaskID), Place: r.Place, Start: r.StartedAt.Time}
	}
	if err := readingsInto(holds, readings); err != nil {
		return nil, err
	}
	out := make([]workshop.HoldRow, len(rows))
	for i, r := range rows {
		days, err := daysOf(r.DaysLow, r.DaysTypical, r.DaysHigh)
		if err != nil {
			return nil, err
		}
		out[i] = workshop.HoldRow{
			Job: domain.JobID(r.JobID), Tag: r.Tag, Title: titleOf(r.Maker, r.Model, r.Kind), Task: domain.TaskID(r.TaskID),
			Hold: domain.HoldID(r.ID), Place: r.Place, Start: r.StartedAt.Time, Days: days,
			Readings: len(holds[i].Standing()), Record: holds[i],
		}
		for _, r := range holds[i].Standing() {
			out[i].LastAt = r.At
			newest(&out[i].RH, r.RH)
			newest(&out[i].Gap, r.Gap)
			newest(&out[i].Weight, r.Weight)
		}
	}
	slices.SortFunc(out, func(a, b workshop.HoldRow) int { return cmp.Compare(a.Place, b.Place) })
	return out, nil
}

// newest keeps m when it says more than nothing.
func newest(kept *wood.Measure, m wood.Measure) {
	if m.Is() || !kept.Is() {
		*kept = m
	}
}
