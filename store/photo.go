package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/photo"
)

// photoRow is a row of photos.
type photoRow struct {
	ID           int64
	JobID        int64
	SurveyID     *int64
	Subject      string
	Place        string
	Note         string
	Content      string
	Thumb        string
	Width        int
	Height       int
	Size         int
	NotedAt      moment
	NotedBy      string
	WithdrawnAt  *moment
	WithdrawnBy  string
	WithdrawnWhy string
}

func (photoRow) TableName() string { return "photos" }
func (r *photoRow) key() *int64    { return &r.ID }

func rowOfPhoto(p *photo.Photo) photoRow {
	return photoRow{
		ID: int64(p.ID), JobID: int64(p.Job), SurveyID: idOrNull(p.Survey), Subject: p.Subject, Place: p.Place, Note: p.Note,
		Content: p.Content, Thumb: p.Thumb, Width: p.Width, Height: p.Height, Size: p.Size, NotedAt: at(p.At), NotedBy: p.By,
		WithdrawnAt: atOrNull(p.Withdrawn), WithdrawnBy: p.WithdrawnBy, WithdrawnWhy: p.WithdrawnWhy,
	}
}

func (r *photoRow) photo() photo.Photo {
	return photo.Photo{
		ID: domain.PhotoID(r.ID), Job: domain.JobID(r.JobID), Survey: orZero[domain.SurveyID](r.SurveyID), Subject: r.Subject, Place: r.Place, Note: r.Note,
		Content: r.Content, Thumb: r.Thumb, Width: r.Width, Height: r.Height, Size: r.Size, At: r.NotedAt.Time, By: r.NotedBy,
		Withdrawn: r.WithdrawnAt.orZero(), WithdrawnBy: r.WithdrawnBy, WithdrawnWhy: r.WithdrawnWhy,
	}
}

// Photo reads a photo and locks it.
func (t *tx) Photo(ctx context.Context, id domain.PhotoID) (*photo.Photo, error) {
	return photoByID(locked(t.db.WithContext(ctx)), id)
}

// PhotoByID reads a photo, also one that was withdrawn.
func (s *Store) PhotoByID(ctx context.Context, id domain.PhotoID) (*photo.Photo, error) {
	return photoByID(s.db.WithContext(ctx), id)
}

func photoByID(db *gorm.DB, id domain.PhotoID) (*photo.Photo, error) {
	var row photoRow
	if err := takeRow(db, &row, id, "photo"); err != nil {
		return nil, err
	}
	p := row.photo()
	return &p, nil
}

// PhotosOf reads the photos of a job, oldest first, also the withdrawn.
func (t *tx) PhotosOf(ctx context.Context, id domain.JobID) ([]photo.Photo, error) {
	return photosOf(t.db.WithContext(ctx), id)
}

// PhotosOfJob reads the photos of a job, oldest first, also the withdrawn.
func (s *Store) PhotosOfJob(ctx context.Context, id domain.JobID) ([]photo.Photo, error) {
	return photosOf(s.db.WithContext(ctx), id)
}

func photosOf(db *gorm.DB, id domain.JobID) ([]photo.Photo, error) {
	var rows []photoRow
	if err := db.Where("job_id = ?", id).Order("id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the photos of job %d: %w", id, translate(err))
	}
	return each(rows, (*photoRow).photo), nil
}

// SurveyIsOf reports whether a survey is one of a job.
func (t *tx) SurveyIsOf(ctx context.Context, id domain.SurveyID, of domain.JobID) (bool, error) {
	var n int64
	err := t.db.WithContext(ctx).Model(&surveyRow{}).Where("id = ? AND job_id = ?", id, of).Count(&n).Error
	if err != nil {
		return false, fmt.Errorf("look for survey %d of job %d: %w", id, of, translate(err))
	}
	return n > 0, nil
}

// AddPhoto inserts a photo and sets its identity.
func (t *tx) AddPhoto(ctx context.Context, p *photo.Photo) error {
	row := rowOfPhoto(p)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return fmt.Errorf("photo of job %d: %w", p.Job, err)
	}
	p.ID = domain.PhotoID(row.ID)
	return nil
}

// SavePhoto writes that a photo was withdrawn; nothing else of it changes. One
// that was withdrawn meanwhile is a conflict.
func (t *tx) SavePhoto(ctx context.Context, p *photo.Photo) error {
	row := rowOfPhoto(p)
	query := t.db.WithContext(ctx).Model(&photoRow{}).Where("withdrawn_at IS NULL").Select("withdrawn_at", "withdrawn_by", "withdrawn_why")
	if err := saveVersion(query, row.ID, &row, "somebody else withdrew this photo meanwhile"); err != nil {
		return fmt.Errorf("save photo %d: %w", p.ID, translate(err))
	}
	return nil
}
