package store

import (
	"fmt"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// loadJobs inserts jobs with their children, all with the identities they have.
// A job must come after the one it is a comeback of, and a corrected clocking
// before its correction. The moves of stock come before the parts used that name
// them. PostgreSQL's counters are not moved.
func loadJobs(db *gorm.DB, js []*job.Job, moves []workshop.MoveRow) error {
	heads := make([]jobRow, len(js))
	var c childRows
	for i, j := range js {
		heads[i] = rowOfJob(j)
		heads[i].Version = max(j.Version, 1)
		if err := c.add(j); err != nil {
			return fmt.Errorf("load job %d: %w", j.ID, err)
		}
	}
	for _, load := range []func() error{
		func() error { return loadRows(db, heads) },
		func() error { return loadRows(db, c.marks) },
		func() error { return loadRows(db, c.tasks) },
		func() error { return loadRows(db, c.waits) },
		func() error { return loadRows(db, c.holds) },
		func() error { return loadRows(db, c.readings) },
		func() error { return loadRows(db, c.clockings) },
		func() error { return loadMoves(db, moves) },
		func() error { return loadRows(db, c.parts) },
		func() error { return loadRows(db, c.checks) },
		func() error { return loadRows(db, c.contacts) },
	} {
		if err := load(); err != nil {
			return err
		}
	}
	return nil
}

// add appends the rows of a job's children.
func (c *childRows) add(j *job.Job) error {
	if err := wholeThousandths(j.Parts); err != nil {
		return err
	}
	c.marks = appendRows(c.marks, j.Marks, of(j, rowOfMark))
	c.tasks = appendRows(c.tasks, j.Tasks, of(j, rowOfTask))
	c.waits = appendRows(c.waits, j.Waits, of(j, rowOfWait))
	c.holds = appendRows(c.holds, j.Holds, of(j, rowOfHold))
	for _, h := range j.Holds {
		c.readings = appendRows(c.readings, h.Readings, func(r job.Reading) readingRow { return rowOfReading(h.ID, r) })
	}
	c.clockings = appendRows(c.clockings, j.Clockings, of(j, rowOfClocking))
	c.parts = appendRows(c.parts, j.Parts, of(j, rowOfPartUsed))
	c.checks = appendRows(c.checks, j.Checks, of(j, rowOfCheck))
	c.contacts = appendRows(c.contacts, j.Contacts, of(j, rowOfContact))
	return nil
}

func appendRows[C, R any](rows []R, children []C, row func(C) R) []R {
	for _, c := range children {
		rows = append(rows, row(c))
	}
	return rows
}

// loadRows inserts rows that have identities, many at a time.
func loadRows[R any, P rowOf[R]](db *gorm.DB, rows []R) error {
	if len(rows) == 0 {
		return nil
	}
	table := P(&rows[0]).TableName()
	for i := range rows {
		if *P(&rows[i]).key() == 0 {
			return fmt.Errorf("load %s: row %d of %d has no identity", table, i+1, len(rows))
		}
	}
	if err := db.CreateInBatches(rows, rowsAtOnce).Error; err != nil {
		return fmt.Errorf("load %s: %w", table, translate(err))
	}
	return nil
}

// loadSurveys inserts surveys with their findings; see loadJobs.
func loadSurveys(db *gorm.DB, all []job.Survey) error {
	rows := make([]surveyRow, len(all))
	var findings []findingRow
	for i := range all {
		rows[i] = rowOfSurvey(&all[i])
		for _, d := range all[i].Findings {
			row, err := rowOfFinding(domain.SurveyID(rows[i].ID), d)
			if err != nil {
				return fmt.Errorf("load survey %d: %w", rows[i].ID, err)
			}
			findings = append(findings, row)
		}
	}
	if err := loadRows(db, rows); err != nil {
		return err
	}
	return loadRows(db, findings)
}

// loadDiary inserts diary entries; see loadJobs.
func loadDiary(db *gorm.DB, all []workshop.Entry) error {
	rows := make([]entryRow, len(all))
	for i := range all {
		rows[i] = rowOfEntry(&all[i])
	}
	return loadRows(db, rows)
}
