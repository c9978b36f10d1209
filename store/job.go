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

// JobByID reads a job with all its children as they stood at one moment.
func (s *Store) JobByID(ctx context.Context, id domain.JobID) (*job.Job, error) {
	var j *job.Job
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		j, _, err = readJob(db, id, free)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read job %d: %w", id, err)
	}
	return j, nil
}

// JobByTag returns the job of a claim tag.
func (s *Store) JobByTag(ctx context.Context, tag int) (domain.JobID, error) {
	var ids []int64
	err := s.db.WithContext(ctx).Raw("SELECT id FROM jobs WHERE tag = ?", tag).Scan(&ids).Error
	if err != nil {
		return 0, fmt.Errorf("find tag %d: %w", tag, translate(err))
	}
	if len(ids) == 0 {
		return 0, domain.NotFoundf("there is no tag %d", tag)
	}
	return domain.JobID(ids[0]), nil
}

// Job reads a job with all its children and locks it until the transaction ends.
func (t *tx) Job(ctx context.Context, id domain.JobID) (*job.Job, error) {
	j, children, err := readJob(t.db.WithContext(ctx), id, locked)
	if err != nil {
		return nil, fmt.Errorf("read job %d: %w", id, translate(err))
	}
	t.rememberJob(id, &children)
	return j, nil
}

// rememberJob keeps the children as they were read, so that a save can tell
// which ones differ.
func (t *tx) rememberJob(id domain.JobID, c *childRows) {
	t.read.put(jobRow{}.TableName(), int64(id), true)
	remember(t, c.marks)
	remember(t, c.tasks)
	remember(t, c.waits)
	remember(t, c.holds)
	remember(t, c.readings)
	remember(t, c.clockings)
	remember(t, c.parts)
	remember(t, c.checks)
	remember(t, c.contacts)
}

// AddJob inserts a job with its children and sets all identities.
func (t *tx) AddJob(ctx context.Context, j *job.Job) error {
	if j.ID != 0 {
		return fmt.Errorf("add job %d: it has an identity already", j.ID)
	}
	db := t.db.WithContext(ctx)
	row := rowOfJob(j)
	row.Version = 1
	if err := db.Create(&row).Error; err != nil {
		return fmt.Errorf("add the job of tag %d: %w", j.Tag, translate(err))
	}
	j.ID, j.Version = domain.JobID(row.ID), row.Version
	t.read.put(row.TableName(), row.ID, true)
	return t.saveChildren(db, j)
}

// SaveJob writes a job with the stage that its facts tell, unless somebody saved
// it since it was read. Of its children it inserts those without an identity,
// and sets it, and updates those that differ from what was read; none is removed.
func (t *tx) SaveJob(ctx context.Context, j *job.Job) error {
	db := t.db.WithContext(ctx)
	if !t.read.has(jobRow{}.TableName(), int64(j.ID)) {
		if _, err := t.Job(ctx, j.ID); err != nil {
			return err
		}
	}
	row := rowOfJob(j)
	row.Version++
	res := db.Model(&jobRow{}).Where("id = ? AND version = ?", j.ID, j.Version).
		Select("*").Omit("id", "tag").Updates(&row)
	if res.Error != nil {
		return fmt.Errorf("save job %d: %w", j.ID, translate(res.Error))
	}
	if res.RowsAffected == 0 {
		return domain.Conflictf("somebody else saved tag %d meanwhile; look at it again", j.Tag)
	}
	if err := t.saveChildren(db, j); err != nil {
		return err
	}
	j.Version = row.Version
	return nil
}

// RunningElsewhere returns the job and task on which a person's clock runs, 0
// for none.
func (t *tx) RunningElsewhere(ctx context.Context, id domain.StaffID) (domain.JobID, domain.TaskID, error) {
	var row struct{ JobID, TaskID int64 }
	err := t.db.WithContext(ctx).
		Raw("SELECT job_id, task_id FROM clockings WHERE staff_id = ? AND ended_at IS NULL", id).Scan(&row).Error
	if err != nil {
		return 0, 0, fmt.Errorf("look for a running clock: %w", translate(err))
	}
	return domain.JobID(row.JobID), domain.TaskID(row.TaskID), nil
}

// PlaceTaken returns the tag of the job that stands in a cabinet place, 0 for none.
func (t *tx) PlaceTaken(ctx context.Context, place string) (int, error) {
	var tag int
	err := t.db.WithContext(ctx).
		Raw("SELECT j.tag FROM holds h JOIN jobs j ON j.id = h.job_id WHERE h.place = ? AND h.ended_at IS NULL", place).Scan(&tag).Error
	if err != nil {
		return 0, fmt.Errorf("look into cabinet place %s: %w", place, translate(err))
	}
	return tag, nil
}

// ClockedBetween reads a person's clockings that no correction replaced and that lie,
// in part, between two moments, oldest first.
func (t *tx) ClockedBetween(ctx context.Context, id domain.StaffID, from, to time.Time) ([]workshop.Stretch, error) {
	var rows []struct {
		ID        int64
		Tag       int
		StartedAt moment
		EndedAt   *moment
	}
	err := t.db.WithContext(ctx).Raw(`SELECT c.id, j.tag, c.started_at, c.ended_at FROM clockings c JOIN jobs j ON j.id = c.job_id
		WHERE c.staff_id = ? AND c.started_at < ? AND (c.ended_at IS NULL OR c.ended_at > ?)
		AND NOT EXISTS (SELECT 1 FROM clockings n WHERE n.replaces = c.id) ORDER BY c.started_at, c.id`, int64(id), at(to), at(from)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read a person's clockings: %w", translate(err))
	}
	out := make([]workshop.Stretch, len(rows))
	for i, r := range rows {
		out[i] = workshop.Stretch{ID: domain.ClockingID(r.ID), Tag: r.Tag, Start: r.StartedAt.Time, End: r.EndedAt.orZero()}
	}
	return out, nil
}
