package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// linkRow is a row of job_links.
type linkRow struct {
	ID         int64
	JobID      int64
	StaffID    int64
	SecretHash string
	CreatedAt  moment
	CreatedBy  string
	ExpiresAt  moment
	LastUsedAt *moment
	RevokedAt  *moment
}

func (linkRow) TableName() string { return "job_links" }
func (r *linkRow) key() *int64    { return &r.ID }

func rowOfLink(l *workshop.JobLink) linkRow {
	return linkRow{
		ID: l.ID, JobID: int64(l.Job), StaffID: int64(l.Staff), SecretHash: l.Hash, CreatedAt: at(l.Created), CreatedBy: l.By,
		ExpiresAt: at(l.Expires), LastUsedAt: atOrNull(l.Used), RevokedAt: atOrNull(l.Revoked),
	}
}

func (r *linkRow) link() workshop.JobLink {
	return workshop.JobLink{
		ID: r.ID, Job: domain.JobID(r.JobID), Staff: domain.StaffID(r.StaffID), Hash: r.SecretHash, Created: r.CreatedAt.Time, By: r.CreatedBy,
		Expires: r.ExpiresAt.Time, Used: r.LastUsedAt.orZero(), Revoked: r.RevokedAt.orZero(),
	}
}

// LinksOf reads the links of a job, newest first, also those that ended.
func (s *Store) LinksOf(ctx context.Context, id domain.JobID) ([]workshop.JobLink, error) {
	var rows []linkRow
	if err := s.db.WithContext(ctx).Where("job_id = ?", int64(id)).Order("id DESC").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list the links of job %d: %w", id, translate(err))
	}
	return each(rows, (*linkRow).link), nil
}

// LinkByHash reads the link of a hash.
func (s *Store) LinkByHash(ctx context.Context, hash string) (*workshop.JobLink, error) {
	var row linkRow
	err := s.db.WithContext(ctx).Take(&row, "secret_hash = ?", hash).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, domain.NotFoundf("there is no such link")
	}
	if err != nil {
		return nil, fmt.Errorf("find a link: %w", translate(err))
	}
	l := row.link()
	return &l, nil
}

// JobLink reads one link and locks the row.
func (t *tx) JobLink(ctx context.Context, id int64) (*workshop.JobLink, error) {
	var row linkRow
	if err := takeRow(locked(t.db.WithContext(ctx)), &row, id, "link"); err != nil {
		return nil, err
	}
	l := row.link()
	return &l, nil
}

// AddJobLink inserts a link and sets its identity.
func (t *tx) AddJobLink(ctx context.Context, l *workshop.JobLink) error {
	row := rowOfLink(l)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	l.ID = row.ID
	return nil
}

// SaveJobLink writes when a link was used last and when it was revoked. What was
// revoked stays so: a use that began before takes nothing back.
func (t *tx) SaveJobLink(ctx context.Context, l *workshop.JobLink) error {
	row := rowOfLink(l)
	return saveUse(t.db.WithContext(ctx), &row, row.ID, row.RevokedAt, "link")
}
