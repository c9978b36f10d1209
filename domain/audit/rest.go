package audit

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
)

// Number is one number that was given out of a series.
type Number struct {
	Number int
	ID     int64 // of the row that has it
}

// Series holds the numbers of one series against each other. what names them, such
// as "invoice"; next yields them in rising order and false at the end; stands is
// the last number that the series says it gave.
func (a *Audit) Series(what string, stands int, next func() (Number, bool)) {
	before, any := Number{}, false
	for n, more := next(); more; n, more = next() {
		a.looked(seriesRule, 1)
		switch {
		case any && n.Number == before.Number:
			a.broken(seriesRule, 0, "%s %d is there twice: rows %d and %d", what, n.Number, before.ID, n.ID)
		case any && n.Number != before.Number+1:
			a.broken(seriesRule, 0, "%s is missing between %d and %d", missing(what, before.Number+1, n.Number-1), before.Number, n.Number)
		}
		before, any = n, true
	}
	if any && stands != before.Number {
		a.broken(seriesRule, 0, "the series says that %s %d was the last; the last there is is %d (row %d)", what, stands, before.Number, before.ID)
	}
}

func missing(what string, from, to int) string {
	if from == to {
		return fmt.Sprintf("%s %d", what, from)
	}
	return fmt.Sprintf("every %s from %d to %d", what, from, to)
}

// noCircles follows the chains of comebacks. Every job of a circle is named once,
// with the circle.
func (a *Audit) noCircles() {
	a.looked(comebackRule, len(a.links))
	state := map[domain.JobID]int{} // 1 on the way, 2 done
	ids := make([]domain.JobID, 0, len(a.links))
	for id := range a.links {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		var way []domain.JobID
		for at := id; at != 0 && state[at] != 2; at = a.links[at] {
			if state[at] == 1 {
				a.broken(comebackRule, at, "jobs %s are comebacks of each other in a circle", list(way[slices.Index(way, at):]))
				break
			}
			state[at] = 1
			way = append(way, at)
		}
		for _, on := range way {
			state[on] = 2
		}
	}
}

func list(ids []domain.JobID) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = fmt.Sprint(id)
	}
	return strings.Join(out, ", ")
}

// Link is a comeback beside the job it names.
type Link struct {
	Job, Of           domain.JobID
	Instrument, OfOne domain.InstrumentID
	ArrivedAfter      bool // the comeback arrived after the other
}

// Link holds a comeback against the job it names.
func (a *Audit) Link(l Link) {
	switch {
	case l.Instrument != l.OfOne:
		a.broken(comebackRule, l.Job, "job %d on instrument %d is a comeback of job %d on instrument %d", l.Job, l.Instrument, l.Of, l.OfOne)
	case !l.ArrivedAfter:
		a.broken(comebackRule, l.Job, "job %d is a comeback of job %d, which arrived later", l.Job, l.Of)
	}
}

// Key is an idempotency key.
type Key struct {
	Staff  domain.StaffID
	Key    string
	Use    string // the action, with a hash
	Result int64
	Kept   bool // there is a result
	There  bool // the result exists, as far as the action tells what it is
}

// Keys counts the keys that were looked at.
func (a *Audit) Keys(n int) { a.looked(keyRule, n) }

// Key holds a key against its result.
func (a *Audit) Key(k Key) {
	switch {
	case !k.Kept:
		a.broken(keyRule, 0, "key %q of person %d (%s) has no result", k.Key, k.Staff, k.Use)
	case !k.There:
		a.broken(keyRule, 0, "key %q of person %d (%s) has result %d, which does not exist", k.Key, k.Staff, k.Use, k.Result)
	}
}

// Stray is a row of one job that names a row of another.
type Stray struct {
	What   string // such as "part used"
	ID     int64
	Job    domain.JobID
	Names  string // such as "task"
	Named  int64
	Others domain.JobID // the job that the named row is of
}

// Strays counts the rows that were looked at.
func (a *Audit) Strays(n int) { a.looked(belongRule, n) }

// Stray notes a row that names a row of another job.
func (a *Audit) Stray(s Stray) {
	a.broken(belongRule, s.Job, "%s %d of job %d names %s %d, which is of job %d", s.What, s.ID, s.Job, s.Names, s.Named, s.Others)
}

// Photo is a photo beside its files.
type Photo struct {
	ID      domain.PhotoID
	Job     domain.JobID
	Trouble []string // what is wrong with its files; none when they are as they were kept
}

// Photo holds a photo against its files.
func (a *Audit) Photo(p Photo) {
	a.looked(photoRule, 1)
	for _, why := range p.Trouble {
		a.broken(photoRule, p.Job, "photo %d of job %d: %s", p.ID, p.Job, why)
	}
}

// Orphan is a row that refers to one that is not there.
type Orphan struct {
	Table, Row, Column string
	Value              int64
	Refers             string // the other table
}

// References counts the references that were looked at.
func (a *Audit) References(n int) { a.looked(referRule, n) }

// Orphan notes a row that refers to nothing.
func (a *Audit) Orphan(o Orphan) {
	a.broken(referRule, 0, "row %s of %s: its %s is %d, and there is no such row of %s", o.Row, o.Table, o.Column, o.Value, o.Refers)
}
