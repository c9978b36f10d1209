package store

import (
	"errors"
	"fmt"
	"reflect"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
)

// rowsAtOnce is how many rows one statement inserts. SQLite takes 32766 values
// in a statement, PostgreSQL 65535; the widest row has under 40.
const rowsAtOnce = 500

// rowOf is a pointer to a row with an identity.
type rowOf[R any] interface {
	*R
	key() *int64
	TableName() string
}

// childRule says how rows of one kind may change.
type childRule struct {
	while string // holds for a row that may still change; "" for rows that never do
	twice string // what a person reads when a rule of uniqueness was broken, "" for the usual
}

var (
	never    = childRule{}
	always   = childRule{while: "1 = 1"}
	openEnd  = childRule{while: "ended_at IS NULL"}
	oneClock = childRule{while: "ended_at IS NULL", twice: "this clock was started or put right somewhere else at the same moment; look again"}
	onePlace = childRule{while: "ended_at IS NULL", twice: "somebody else put an instrument into this place at the same moment; choose a free place"}
)

// saveChildren writes what is new or differs among the children of a job. Tasks
// and holds come before what names them. The first error ends it: PostgreSQL
// takes nothing more after one.
func (t *tx) saveChildren(db *gorm.DB, j *job.Job) error {
	for _, save := range []func() error{
		func() error { return wholeThousandths(j.Parts) },
		func() error {
			return saveEach(t, db, j.Marks, of(j, rowOfMark), func(m *job.Mark) *int64 { return &m.ID }, never)
		},
		func() error {
			return saveEach(t, db, j.Tasks, of(j, rowOfTask), func(k *job.Task) *domain.TaskID { return &k.ID }, always)
		},
		func() error {
			return saveEach(t, db, j.Waits, of(j, rowOfWait), func(w *job.Wait) *domain.WaitID { return &w.ID }, openEnd)
		},
		func() error {
			return saveEach(t, db, j.Holds, of(j, rowOfHold), func(h *job.Hold) *domain.HoldID { return &h.ID }, onePlace)
		},
		func() error { return t.saveReadings(db, j.Holds) },
		func() error {
			return saveEach(t, db, j.Clockings, of(j, rowOfClocking), func(c *job.Clocking) *domain.ClockingID { return &c.ID }, oneClock)
		},
		func() error {
			return saveEach(t, db, j.Parts, of(j, rowOfPartUsed), func(p *job.PartUsed) *int64 { return &p.ID }, never)
		},
		func() error {
			return saveEach(t, db, j.Checks, of(j, rowOfCheck), func(c *job.Check) *int64 { return &c.ID }, never)
		},
		func() error {
			return saveEach(t, db, j.Contacts, of(j, rowOfContact), func(c *job.Contact) *int64 { return &c.ID }, never)
		},
	} {
		if err := save(); err != nil {
			return fmt.Errorf("save job %d: %w", j.ID, err)
		}
	}
	return nil
}

func (t *tx) saveReadings(db *gorm.DB, holds []job.Hold) error {
	for i := range holds {
		h := &holds[i]
		row := func(r job.Reading) readingRow { return rowOfReading(h.ID, r) }
		if err := saveEach(t, db, h.Readings, row, func(r *job.Reading) *domain.ReadingID { return &r.ID }, never); err != nil {
			return err
		}
	}
	return nil
}

// of binds a function that makes a row to the job it belongs to.
func of[C, R any](j *job.Job, row func(domain.JobID, C) R) func(C) R {
	return func(c C) R { return row(j.ID, c) }
}

// saveEach writes one kind of children and sets the identities of the new ones.
func saveEach[C, R any, ID ~int64, P rowOf[R]](t *tx, db *gorm.DB, children []C, row func(C) R, id func(*C) *ID, rule childRule) error {
	rows := make([]R, len(children))
	for i := range children {
		rows[i] = row(children[i])
	}
	if err := saveRows[R, P](t, db, rows, rule); err != nil {
		return err
	}
	for i := range rows {
		*id(&children[i]) = ID(*P(&rows[i]).key())
	}
	return nil
}

// saveRows updates the rows that differ from what was read and then inserts
// those without an identity, so that what has just ended makes room for what begins.
func saveRows[R any, P rowOf[R]](t *tx, db *gorm.DB, rows []R, rule childRule) error {
	var fresh []P
	for i := range rows {
		row := P(&rows[i])
		if *row.key() == 0 {
			fresh = append(fresh, row)
			continue
		}
		if err := changeRow[R, P](t, db, row, rule); err != nil {
			return err
		}
	}
	if len(fresh) > 0 {
		if err := db.CreateInBatches(fresh, rowsAtOnce).Error; err != nil {
			return refused(fresh[0].TableName(), err, rule)
		}
	}
	remember[R, P](t, rows)
	return nil
}

// changeRow updates a row that differs from what was read.
func changeRow[R any, P rowOf[R]](t *tx, db *gorm.DB, row P, rule childRule) error {
	table, id := row.TableName(), *row.key()
	was, there := t.read[table][id].(R)
	switch {
	case !there:
		return fmt.Errorf("save %s %d: it was not read with its job", table, id)
	case reflect.DeepEqual(was, *row):
		return nil
	case rule.while == "":
		return fmt.Errorf("save %s %d: rows of this table are never changed; add one that puts it right", table, id)
	}
	res := db.Model(new(R)).Where("id = ?", id).Where(rule.while).Select("*").Omit("id", "job_id").Updates(row)
	if res.Error != nil {
		return refused(table, res.Error, rule)
	}
	if res.RowsAffected == 0 {
		return fmt.Errorf("save %s %d: it has ended and is not changed any more", table, id)
	}
	return nil
}

// refused gives the database's refusal its meaning.
func refused(table string, err error, rule childRule) error {
	if rule.twice != "" && errors.Is(err, gorm.ErrDuplicatedKey) {
		err = meaning(domain.Conflict, rule.twice, err)
	}
	return fmt.Errorf("save %s: %w", table, translate(err))
}

// remember keeps rows as they now stand in the database.
func remember[R any, P rowOf[R]](t *tx, rows []R) {
	for i := range rows {
		row := P(&rows[i])
		t.read.put(row.TableName(), *row.key(), rows[i])
	}
}

func (s snapshot) put(table string, id int64, row any) {
	if s[table] == nil {
		s[table] = map[int64]any{}
	}
	s[table][id] = row
}

func (s snapshot) has(table string, id int64) bool {
	_, there := s[table][id]
	return there
}
