package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// feedRow is a row of feeds.
type feedRow struct {
	ID         int64
	StaffID    *int64
	Name       string
	SecretHash string
	CreatedAt  moment
	CreatedBy  string
	LastUsedAt *moment
	RevokedAt  *moment
	ExpiresAt  *moment
}

func (feedRow) TableName() string { return "feeds" }
func (r *feedRow) key() *int64    { return &r.ID }

func rowOfFeed(f *workshop.Feed) feedRow {
	row := feedRow{
		ID: f.ID, Name: f.Name, SecretHash: f.Hash, CreatedAt: at(f.Created), CreatedBy: f.By,
		LastUsedAt: atOrNull(f.Used), RevokedAt: atOrNull(f.Revoked), ExpiresAt: atOrNull(f.Expires),
	}
	if f.Staff != 0 {
		id := int64(f.Staff)
		row.StaffID = &id
	}
	return row
}

func (r *feedRow) feed() workshop.Feed {
	f := workshop.Feed{
		ID: r.ID, Name: r.Name, Hash: r.SecretHash, Created: r.CreatedAt.Time, By: r.CreatedBy,
		Used: r.LastUsedAt.orZero(), Revoked: r.RevokedAt.orZero(), Expires: r.ExpiresAt.orZero(),
	}
	if r.StaffID != nil {
		f.Staff = domain.StaffID(*r.StaffID)
	}
	return f
}

// FeedsOf reads a person's calendars, newest first, also the revoked.
func (s *Store) FeedsOf(ctx context.Context, id domain.StaffID) ([]workshop.Feed, error) {
	return listFeeds(s.db.WithContext(ctx).Where("staff_id = ?", id))
}

// AllFeeds reads every calendar, newest first, also the shop's and the revoked.
func (s *Store) AllFeeds(ctx context.Context) ([]workshop.Feed, error) {
	return listFeeds(s.db.WithContext(ctx))
}

func listFeeds(db *gorm.DB) ([]workshop.Feed, error) {
	var rows []feedRow
	if err := db.Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list the calendars: %w", translate(err))
	}
	return each(rows, (*feedRow).feed), nil
}

// FeedByHash reads the calendar of a hash.
func (s *Store) FeedByHash(ctx context.Context, hash string) (*workshop.Feed, error) {
	var row feedRow
	err := s.db.WithContext(ctx).Take(&row, "secret_hash = ?", hash).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("there is no such calendar")
	}
	if err != nil {
		return nil, fmt.Errorf("find a calendar: %w", translate(err))
	}
	f := row.feed()
	return &f, nil
}

// Feed reads one calendar and locks the row.
func (t *tx) Feed(ctx context.Context, id int64) (*workshop.Feed, error) {
	var row feedRow
	if err := takeRow(locked(t.db.WithContext(ctx)), &row, id, "calendar"); err != nil {
		return nil, err
	}
	f := row.feed()
	return &f, nil
}

// AddFeed inserts a calendar and sets its identity.
func (t *tx) AddFeed(ctx context.Context, f *workshop.Feed) error {
	row := rowOfFeed(f)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	f.ID = row.ID
	return nil
}

// SaveFeed writes when a calendar was used last and when it was revoked. What
// was revoked stays so: a use that began before takes nothing back.
func (t *tx) SaveFeed(ctx context.Context, f *workshop.Feed) error {
	row := rowOfFeed(f)
	return saveUse(t.db.WithContext(ctx), &row, row.ID, row.RevokedAt, "calendar")
}

// feedJobRow is a job with what a calendar shows of it.
type feedJobRow struct {
	ID       int64
	Tag      int
	Version  int
	Stage    string
	Promised *string
	Recheck  *string
	Checked  bool
	Maker    string
	Model    string
	Kind     string
}

func (r *feedJobRow) job() workshop.FeedJob {
	return workshop.FeedJob{
		Job: domain.JobID(r.ID), Tag: r.Tag, Version: r.Version, Title: titleOf(r.Maker, r.Model, r.Kind), Stage: job.Stage(r.Stage),
		Promised: orEmpty[domain.Date](r.Promised), Recheck: orEmpty[domain.Date](r.Recheck), Checked: r.Checked,
	}
}

// FeedJobs reads the jobs that were promised for a day from one to another, or
// are to be looked at again on one, by tag.
func (s *Store) FeedJobs(ctx context.Context, from, to domain.Date) ([]workshop.FeedJob, error) {
	var out []workshop.FeedJob
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		out, err = readFeedJobs(db, from, to)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the days of a calendar: %w", err)
	}
	return out, nil
}

func readFeedJobs(db *gorm.DB, from, to domain.Date) ([]workshop.FeedJob, error) {
	var rows []feedJobRow
	err := db.Raw(`SELECT j.id, j.tag, j.version, j.stage, j.promised, j.recheck, i.maker, i.model, i.kind,
			EXISTS (SELECT 1 FROM tasks t WHERE t.job_id = j.id AND t.phase = ? AND t.done_at IS NOT NULL) AS checked
		FROM jobs j JOIN instruments i ON i.id = j.instrument_id
		WHERE j.promised BETWEEN ? AND ? OR j.recheck BETWEEN ? AND ? ORDER BY j.tag`,
		int(templates.PhaseFollowUp), from, to, from, to).Scan(&rows).Error
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	out, at := each(rows, (*feedJobRow).job), map[int64]int{}
	ids := make([]int64, len(rows))
	for i, r := range rows {
		ids[i], at[r.ID] = r.ID, i
	}
	var hands []struct{ JobID, StaffID int64 }
	err = db.Raw(`SELECT DISTINCT t.job_id, c.staff_id FROM clockings c JOIN tasks t ON t.id = c.task_id WHERE t.job_id IN ? ORDER BY t.job_id, c.staff_id`, ids).Scan(&hands).Error
	if err != nil {
		return nil, err
	}
	for _, h := range hands {
		j := &out[at[h.JobID]]
		j.Hands = append(j.Hands, domain.StaffID(h.StaffID))
	}
	var open []struct {
		JobID int64
		Skill int
	}
	err = db.Raw(`SELECT job_id, skill FROM tasks WHERE job_id IN ? AND done_at IS NULL AND dropped_at IS NULL ORDER BY id`, ids).Scan(&open).Error
	for _, t := range open {
		j := &out[at[t.JobID]]
		j.Open = append(j.Open, t.Skill)
	}
	return out, err
}
