package store

import (
	"context"
	"encoding/json"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
)

// surveyRow is a row of surveys.
type surveyRow struct {
	ID      int64
	JobID   int64
	NotedAt moment
	NotedBy string
	Moment  string
	Strings string
	Tuning  string
	Indoors string
	RoomRH  measureRow `gorm:"embedded;embeddedPrefix:room_rh_"`
	Room    measureRow `gorm:"embedded;embeddedPrefix:room_"`
	CaseRH  measureRow `gorm:"embedded;embeddedPrefix:case_rh_"`
	Weight  measureRow `gorm:"embedded;embeddedPrefix:weight_"`
	Note    string
}

func (surveyRow) TableName() string { return "surveys" }
func (r *surveyRow) key() *int64    { return &r.ID }

func rowOfSurvey(s *job.Survey) surveyRow {
	return surveyRow{
		ID: int64(s.ID), JobID: int64(s.Job), NotedAt: at(s.At), NotedBy: s.By, Moment: s.Moment, Strings: s.Strings,
		Tuning: s.Tuning, Indoors: s.Indoors, RoomRH: rowOfMeasure(s.RoomRH), Room: rowOfMeasure(s.Room),
		CaseRH: rowOfMeasure(s.CaseRH), Weight: rowOfMeasure(s.Weight), Note: s.Note,
	}
}

// survey makes the survey of a row, without its findings.
func (r *surveyRow) survey() (job.Survey, error) {
	s := job.Survey{
		ID: domain.SurveyID(r.ID), Job: domain.JobID(r.JobID), At: r.NotedAt.Time, By: r.NotedBy, Moment: r.Moment,
		Strings: r.Strings, Tuning: r.Tuning, Indoors: r.Indoors, Note: r.Note,
	}
	err := measures(measurePair{&s.RoomRH, r.RoomRH}, measurePair{&s.Room, r.Room},
		measurePair{&s.CaseRH, r.CaseRH}, measurePair{&s.Weight, r.Weight})
	return s, err
}

// findingRow is a row of findings.
type findingRow struct {
	ID       int64
	SurveyID int64
	Symptom  string
	Place    string
	Measure  measureRow `gorm:"embedded;embeddedPrefix:measure_"`
	Grade    int
	Causes   string // JSON, a list of causeJSON
	Detail   string // JSON, a job.Detail
	Note     string
}

func (findingRow) TableName() string { return "findings" }
func (r *findingRow) key() *int64    { return &r.ID }

// causeJSON is how a finding's row holds a cause.
type causeJSON struct {
	What string `json:"what"`
	Sure string `json:"sure"`
}

func rowOfFinding(id domain.SurveyID, d job.Finding) (findingRow, error) {
	causes := make([]causeJSON, len(d.Causes))
	for i, c := range d.Causes {
		causes[i] = causeJSON(c)
	}
	text, err := json.Marshal(causes)
	if err != nil {
		return findingRow{}, err
	}
	detail, err := json.Marshal(d.Detail)
	return findingRow{
		ID: d.ID, SurveyID: int64(id), Symptom: d.Symptom, Place: d.Place, Measure: rowOfMeasure(d.Measure), Grade: int(d.Grade),
		Causes: string(text), Detail: string(detail), Note: d.Note,
	}, err
}

func (r *findingRow) finding() (job.Finding, error) {
	d := job.Finding{ID: r.ID, Symptom: r.Symptom, Place: r.Place, Grade: job.Grade(r.Grade), Note: r.Note}
	if err := measures(measurePair{&d.Measure, r.Measure}); err != nil {
		return d, err
	}
	if err := json.Unmarshal([]byte(r.Detail), &d.Detail); err != nil {
		return d, fmt.Errorf("read the detail of finding %d: %w", r.ID, err)
	}
	var causes []causeJSON
	if err := json.Unmarshal([]byte(r.Causes), &causes); err != nil {
		return d, fmt.Errorf("read the causes of finding %d: %w", r.ID, err)
	}
	for _, c := range causes {
		d.Causes = append(d.Causes, job.Cause(c))
	}
	return d, nil
}

// AddSurvey inserts a survey with its findings and sets their identities.
func (t *tx) AddSurvey(ctx context.Context, s *job.Survey) error {
	db := t.db.WithContext(ctx)
	row := rowOfSurvey(s)
	if err := db.Create(&row).Error; err != nil {
		return fmt.Errorf("add a survey of job %d: %w", s.Job, translate(err))
	}
	s.ID = domain.SurveyID(row.ID)
	rows := make([]findingRow, len(s.Findings))
	for i, d := range s.Findings {
		var err error
		if rows[i], err = rowOfFinding(s.ID, d); err != nil {
			return fmt.Errorf("add a survey of job %d: %w", s.Job, err)
		}
	}
	if len(rows) == 0 {
		return nil
	}
	if err := db.CreateInBatches(rows, rowsAtOnce).Error; err != nil {
		return fmt.Errorf("add the findings of job %d: %w", s.Job, translate(err))
	}
	for i := range rows {
		s.Findings[i].ID = rows[i].ID
	}
	return nil
}

// LastSurvey reads the newest survey of a job.
func (t *tx) LastSurvey(ctx context.Context, id domain.JobID) (*job.Survey, error) {
	all, err := readSurveys(t.db.WithContext(ctx), id, 1)
	if err != nil {
		return nil, fmt.Errorf("read the last survey of job %d: %w", id, translate(err))
	}
	if len(all) == 0 {
		return nil, domain.NotFoundf("this job has not been surveyed")
	}
	return &all[0], nil
}

// SurveysOf reads the surveys of a job, newest first.
func (s *Store) SurveysOf(ctx context.Context, id domain.JobID) ([]job.Survey, error) {
	var all []job.Survey
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		all, err = readSurveys(db, id, -1)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the surveys of job %d: %w", id, err)
	}
	return all, nil
}

// readSurveys reads surveys of a job, newest first, at most limit, -1 for all.
func readSurveys(db *gorm.DB, id domain.JobID, limit int) ([]job.Survey, error) {
	var rows []surveyRow
	if err := db.Where("job_id = ?", id).Order("noted_at DESC, id DESC").Limit(limit).Find(&rows).Error; err != nil {
		return nil, err
	}
	out := make([]job.Survey, len(rows))
	ids, place := make([]int64, len(rows)), make(map[int64]int, len(rows))
	for i := range rows {
		var err error
		if out[i], err = rows[i].survey(); err != nil {
			return nil, err
		}
		ids[i], place[rows[i].ID] = rows[i].ID, i
	}
	if len(rows) == 0 {
		return out, nil
	}
	var findings []findingRow
	if err := db.Where("survey_id IN ?", ids).Order("id").Find(&findings).Error; err != nil {
		return nil, err
	}
	for i := range findings {
		d, err := findings[i].finding()
		if err != nil {
			return nil, err
		}
		s := &out[place[findings[i].SurveyID]]
		s.Findings = append(s.Findings, d)
	}
	return out, nil
}
