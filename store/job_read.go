package store

import (
	"errors"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
)

// childRows are the rows that belong to a job, each kind in the order of the
// identities.
type childRows struct {
	marks     []markRow
	tasks     []taskRow
	waits     []waitRow
	holds     []holdRow
	readings  []readingRow
	clockings []clockingRow
	parts     []partUsedRow
	checks    []checkRow
	contacts  []contactRow
}

// readChildren reads the rows that belong to a job.
func readChildren(db *gorm.DB, id domain.JobID) (c childRows, err error) {
	for _, rows := range []any{&c.marks, &c.tasks, &c.waits, &c.holds, &c.clockings, &c.parts, &c.checks, &c.contacts} {
		if err := db.Where("job_id = ?", id).Order("id").Find(rows).Error; err != nil {
			return c, err
		}
	}
	if len(c.holds) == 0 {
		return c, nil
	}
	return c, db.Where("hold_id IN (SELECT id FROM holds WHERE job_id = ?)", id).Order("id").Find(&c.readings).Error
}

// into hangs the children on their job.
func (c *childRows) into(j *job.Job) error {
	j.Marks = each(c.marks, (*markRow).mark)
	j.Waits = each(c.waits, (*waitRow).wait)
	j.Holds = each(c.holds, (*holdRow).hold)
	j.Clockings = each(c.clockings, (*clockingRow).clocking)
	j.Parts = each(c.parts, (*partUsedRow).partUsed)
	j.Checks = each(c.checks, (*checkRow).check)
	j.Contacts = each(c.contacts, (*contactRow).contact)
	for i := range c.tasks {
		t, err := c.tasks[i].task()
		if err != nil {
			return err
		}
		j.Tasks = append(j.Tasks, t)
	}
	return readingsInto(j.Holds, c.readings)
}

// each turns rows into values; no rows are nil.
func each[R, V any](rows []R, value func(*R) V) []V {
	if len(rows) == 0 {
		return nil
	}
	out := make([]V, len(rows))
	for i := range rows {
		out[i] = value(&rows[i])
	}
	return out
}

// readJob reads a job with its children; lock may hold a clause that locks the
// job's row, which is enough: who writes a child writes the job's row first.
func readJob(db *gorm.DB, id domain.JobID, lock func(*gorm.DB) *gorm.DB) (*job.Job, childRows, error) {
	var row jobRow
	err := lock(db).Take(&row, "id = ?", id).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, childRows{}, domain.NotFoundf("there is no job %d", id)
	}
	if err != nil {
		return nil, childRows{}, err
	}
	children, err := readChildren(db, id)
	if err != nil {
		return nil, childRows{}, err
	}
	j := row.job()
	return j, children, children.into(j)
}

// free reads without a lock.
func free(db *gorm.DB) *gorm.DB { return db }
