package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// inWork are the stages of agreed work that is not checked.
var inWork = []string{string(job.Approved), string(job.InHold), string(job.OnBench), string(job.Waiting)}

// AgreedJobs reads the jobs with agreed work that is not checked, each with all
// that belongs to it, in the order in which they were agreed. It takes the same
// few statements however many there are.
func (s *Store) AgreedJobs(ctx context.Context) ([]*job.Job, error) {
	var out []*job.Job
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		out, err = readAgreed(db)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the agreed work: %w", err)
	}
	return out, nil
}

func readAgreed(db *gorm.DB) ([]*job.Job, error) {
	var rows []jobRow
	err := db.Where("stage IN ? AND approved_at IS NOT NULL AND checked_at IS NULL", inWork).Order("approved_at, id").Find(&rows).Error
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	ids := make([]int64, len(rows))
	for i := range rows {
		ids[i] = rows[i].ID
	}
	children, err := childrenOf(db, ids)
	if err != nil {
		return nil, err
	}
	out := make([]*job.Job, len(rows))
	for i := range rows {
		out[i] = rows[i].job()
		if c := children[rows[i].ID]; c != nil {
			if err := c.into(out[i]); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// Routes reads what was agreed from one moment to another, oldest first.
func (s *Store) Routes(ctx context.Context, from, to time.Time) ([]workshop.Route, error) {
	var out []workshop.Route
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		out, err = readRoutes(db, from, to)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read what was agreed: %w", err)
	}
	return out, nil
}

func readRoutes(db *gorm.DB, from, to time.Time) ([]workshop.Route, error) {
	var jobs []struct {
		ID         int64
		ApprovedAt moment
	}
	agreed := db.Table("jobs").Where("approved_at >= ? AND approved_at < ?", from, to)
	if err := agreed.Session(&gorm.Session{}).Select("id, approved_at").Order("approved_at, id").Find(&jobs).Error; err != nil {
		return nil, err
	}
	var tasks []taskRow
	err := db.Where("dropped_at IS NULL AND job_id IN (?)", agreed.Session(&gorm.Session{}).Select("id")).Order("id").Find(&tasks).Error
	if err != nil {
		return nil, err
	}
	of := map[int64][]job.Task{}
	for i := range tasks {
		t, err := tasks[i].task()
		if err != nil {
			return nil, err
		}
		of[tasks[i].JobID] = append(of[tasks[i].JobID], t)
	}
	out := make([]workshop.Route, len(jobs))
	for i, j := range jobs {
		out[i] = workshop.Route{Job: domain.JobID(j.ID), Agreed: j.ApprovedAt.Time, Tasks: of[j.ID]}
	}
	return out, nil
}
