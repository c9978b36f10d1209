package store

import (
	"context"
	"fmt"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// entryRow is a row of diary.
type entryRow struct {
	ID         int64
	JobID      *int64
	NotedAt    moment
	NotedBy    string
	What       string
	BeforeText string
	AfterText  string
}

func (entryRow) TableName() string { return "diary" }
func (r *entryRow) key() *int64    { return &r.ID }

func rowOfEntry(e *workshop.Entry) entryRow {
	return entryRow{
		ID: int64(e.ID), JobID: idOrNull(e.Job), NotedAt: at(e.At), NotedBy: e.By, What: e.What, BeforeText: e.Before, AfterText: e.After,
	}
}

func (r *entryRow) entry() workshop.Entry {
	return workshop.Entry{
		ID: domain.EntryID(r.ID), Job: orZero[domain.JobID](r.JobID), At: r.NotedAt.Time, By: r.NotedBy, What: r.What,
		Before: r.BeforeText, After: r.AfterText,
	}
}

// Note adds an entry to the diary and sets its identity.
func (t *tx) Note(ctx context.Context, e *workshop.Entry) error {
	row := rowOfEntry(e)
	if err := t.db.WithContext(ctx).Create(&row).Error; err != nil {
		return fmt.Errorf("write the diary: %w", translate(err))
	}
	e.ID = domain.EntryID(row.ID)
	return nil
}

// DiaryOf reads the diary of a job, newest first.
func (s *Store) DiaryOf(ctx context.Context, id domain.JobID) ([]workshop.Entry, error) {
	var rows []entryRow
	if err := s.db.WithContext(ctx).Where("job_id = ?", id).Order("noted_at DESC, id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the diary of job %d: %w", id, translate(err))
	}
	return each(rows, (*entryRow).entry), nil
}
