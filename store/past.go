package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
)

// mostPast is how many earlier visits of one instrument are looked through.
const mostPast = 40

// PastOf reads the visits of an instrument before a job, newest first, each
// with all that belongs to it and its surveys; before 0 reads them all. It
// takes the same few statements however many visits there were.
func (s *Store) PastOf(ctx context.Context, id domain.InstrumentID, before domain.JobID) ([]job.PastJob, error) {
	var out []job.PastJob
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		out, err = readPast(db, id, before)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the past of instrument %d: %w", id, err)
	}
	return out, nil
}

func readPast(db *gorm.DB, id domain.InstrumentID, before domain.JobID) ([]job.PastJob, error) {
	query := db.Where("instrument_id = ?", id)
	if before != 0 {
		query = query.Where("id <> ? AND arrived_at <= (SELECT o.arrived_at FROM jobs o WHERE o.id = ?)", before, before)
	}
	var rows []jobRow
	if err := query.Order("arrived_at DESC, id DESC").Limit(mostPast).Find(&rows).Error; err != nil || len(rows) == 0 {
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
	surveys, err := surveysOf(db, ids)
	if err != nil {
		return nil, err
	}
	out := make([]job.PastJob, len(rows))
	for i := range rows {
		out[i] = job.PastJob{Job: rows[i].job(), Surveys: surveys[rows[i].ID]}
		if c := children[rows[i].ID]; c != nil {
			if err := c.into(out[i].Job); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// childrenOf reads the rows that belong to several jobs, by job.
func childrenOf(db *gorm.DB, ids []int64) (map[int64]*childRows, error) {
	var all childRows
	for _, rows := range []any{&all.marks, &all.tasks, &all.waits, &all.holds, &all.clockings, &all.parts, &all.checks, &all.contacts} {
		if err := db.Where("job_id IN ?", ids).Order("id").Find(rows).Error; err != nil {
			return nil, err
		}
	}
	holder := map[int64]int64{}
	for _, h := range all.holds {
		holder[h.ID] = h.JobID
	}
	if len(all.holds) > 0 {
		if err := db.Where("hold_id IN (SELECT id FROM holds WHERE job_id IN ?)", ids).Order("id").Find(&all.readings).Error; err != nil {
			return nil, err
		}
	}
	out := map[int64]*childRows{}
	of := func(id int64) *childRows {
		if out[id] == nil {
			out[id] = &childRows{}
		}
		return out[id]
	}
	deal(all.marks, func(r markRow) *[]markRow { return &of(r.JobID).marks })
	deal(all.tasks, func(r taskRow) *[]taskRow { return &of(r.JobID).tasks })
	deal(all.waits, func(r waitRow) *[]waitRow { return &of(r.JobID).waits })
	deal(all.holds, func(r holdRow) *[]holdRow { return &of(r.JobID).holds })
	deal(all.readings, func(r readingRow) *[]readingRow { return &of(holder[r.HoldID]).readings })
	deal(all.clockings, func(r clockingRow) *[]clockingRow { return &of(r.JobID).clockings })
	deal(all.parts, func(r partUsedRow) *[]partUsedRow { return &of(r.JobID).parts })
	deal(all.checks, func(r checkRow) *[]checkRow { return &of(r.JobID).checks })
	deal(all.contacts, func(r contactRow) *[]contactRow { return &of(r.JobID).contacts })
	return out, nil
}

// deal hands each row to the list it belongs to, in order.
func deal[R any](rows []R, list func(R) *[]R) {
	for _, r := range rows {
		l := list(r)
		*l = append(*l, r)
	}
}

// surveysOf reads the surveys of several jobs with their findings, newest
// first, by job.
func surveysOf(db *gorm.DB, ids []int64) (map[int64][]job.Survey, error) {
	var rows []surveyRow
	if err := db.Where("job_id IN ?", ids).Order("noted_at DESC, id DESC").Find(&rows).Error; err != nil {
		return nil, err
	}
	var findings []findingRow
	err := db.Where("survey_id IN (SELECT id FROM surveys WHERE job_id IN ?)", ids).Order("id").Find(&findings).Error
	if err != nil {
		return nil, err
	}
	found := map[int64][]job.Finding{}
	for i := range findings {
		d, err := findings[i].finding()
		if err != nil {
			return nil, err
		}
		found[findings[i].SurveyID] = append(found[findings[i].SurveyID], d)
	}
	out := map[int64][]job.Survey{}
	for i := range rows {
		s, err := rows[i].survey()
		if err != nil {
			return nil, err
		}
		s.Findings = found[rows[i].ID]
		out[rows[i].JobID] = append(out[rows[i].JobID], s)
	}
	return out, nil
}
