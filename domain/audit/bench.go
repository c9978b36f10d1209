package audit

import (
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/templates"
)

// stretches holds the clockings of a job against the rule of clocks, as far as one
// job tells.
func (a *Audit) stretches(f *Facts) {
	a.looked(clockRule, len(f.Job.Clockings))
	seen, replaced := map[domain.ClockingID]job.Clocking{}, map[domain.ClockingID]domain.ClockingID{}
	for _, c := range f.Job.Clockings {
		seen[c.ID] = c
	}
	for _, c := range f.Job.Clockings {
		if !c.End.IsZero() && !c.End.After(c.Start) {
			a.broken(clockRule, f.Job.ID, "%s: clocking %d ends at %s, not after its start at %s", f.name(), c.ID, when(c.End), when(c.Start))
		}
		if c.Replaces == 0 {
			continue
		}
		old, there := seen[c.Replaces]
		switch other := replaced[c.Replaces]; {
		case !there:
			a.broken(clockRule, f.Job.ID, "%s: clocking %d corrects clocking %d, which is not of this job", f.name(), c.ID, c.Replaces)
		case old.Staff != c.Staff:
			a.broken(clockRule, f.Job.ID, "%s: clocking %d of %s corrects clocking %d of %s", f.name(), c.ID, c.Name, old.ID, old.Name)
		case other != 0:
			a.broken(clockRule, f.Job.ID, "%s: clockings %d and %d both correct clocking %d", f.name(), other, c.ID, c.Replaces)
		}
		replaced[c.Replaces] = c.ID
	}
}

// Clocking is a stretch on the clock that counts: no correction replaced it.
type Clocking struct {
	ID         domain.ClockingID
	Staff      domain.StaffID
	Name       string
	Job        domain.JobID
	Start, End time.Time // End is zero while the clock runs
}

// Clocking holds a stretch against those of the same person. Stretches come by
// person and then by start.
func (a *Audit) Clocking(c Clocking) {
	before, there := a.people[c.Staff]
	if there && (before.End.IsZero() || c.Start.Before(before.End)) {
		a.broken(clockRule, c.Job, "%s is on two clocks at once: clocking %d on job %d and clocking %d on job %d, at %s",
			c.Name, before.ID, before.Job, c.ID, c.Job, when(c.Start))
	}
	if !there || !before.End.IsZero() && (c.End.IsZero() || c.End.After(before.End)) {
		a.people.keep(c.Staff, c)
	}
}

func (a *Audit) tasks(f *Facts) {
	a.looked(taskRule, len(f.Job.Tasks))
	ended := map[domain.TaskID]string{}
	for _, t := range f.Job.Tasks {
		switch {
		case !t.Done.IsZero():
			ended[t.ID] = "is done"
		case !t.Dropped.IsZero():
			ended[t.ID] = "was dropped"
		}
	}
	runs := func(id domain.TaskID, what string, n int64) {
		if how := ended[id]; id != 0 && how != "" {
			a.broken(taskRule, f.Job.ID, "%s: task %d %s, but %s %d still runs on it", f.name(), id, how, what, n)
		}
	}
	for _, c := range f.Job.Clockings {
		if c.End.IsZero() {
			runs(c.Task, "clocking", int64(c.ID))
		}
	}
	for _, w := range f.Job.Waits {
		if w.End.IsZero() {
			runs(w.Task, "wait", int64(w.ID))
		}
	}
	for _, h := range f.Job.Holds {
		if h.End.IsZero() {
			runs(h.Task, "hold", int64(h.ID))
		}
	}
	a.order(f)
}

// order looks for tasks that were done while a hold ran that they had to wait for.
// A task whose own wait ended with it may be done meanwhile.
//
// The order of phases is not looked at here: it is a rule for the moment of
// starting, and what comes later, such as a task that is reopened or added by
// another yes, rightly changes which was done first.
func (a *Audit) order(f *Facts) {
	for _, t := range f.Job.Tasks {
		if t.Done.IsZero() || t.Phase == templates.PhaseFollowUp {
			continue
		}
		if t.Done.Before(f.Job.Arrival.At) {
			a.broken(taskRule, f.Job.ID, "%s: task %d, %s, was done at %s, before the instrument arrived", f.name(), t.ID, t.Name, when(t.Done))
		}
		for _, h := range f.Job.Holds {
			during := t.Done.After(h.Start) && (h.End.IsZero() || t.Done.Before(h.End))
			if during && (t.Dry || t.ID == h.Task) && !waited(f.Job, t) {
				a.broken(taskRule, f.Job.ID, "%s: task %d, %s, was done at %s, while hold %d ran", f.name(), t.ID, t.Name, when(t.Done), h.ID)
			}
		}
	}
}

// waited reports whether a wait of the task ended when it was done.
func waited(j *job.Job, t job.Task) bool {
	return slices.ContainsFunc(j.Waits, func(w job.Wait) bool { return w.Task == t.ID && w.End.Equal(t.Done) })
}

func (a *Audit) holds(f *Facts) {
	var before job.Hold
	for _, h := range f.Job.Holds {
		a.looked(holdRule, 1)
		if before.ID != 0 && (before.End.IsZero() || h.Start.Before(before.End)) {
			a.broken(holdRule, f.Job.ID, "%s is in two places at once: hold %d in %s and hold %d in %s, at %s",
				f.name(), before.ID, before.Place, h.ID, h.Place, when(h.Start))
		}
		before = h
		a.readings(f, h)
	}
}

func (a *Audit) readings(f *Facts, h job.Hold) {
	a.looked(readingRule, len(h.Readings))
	seen := map[domain.ReadingID]job.Reading{}
	for _, r := range h.Readings {
		if r.At.Before(h.Start) || !h.End.IsZero() && r.At.After(h.End) {
			a.broken(readingRule, f.Job.ID, "%s: reading %d at %s lies outside its hold %d, which went from %s to %s",
				f.name(), r.ID, when(r.At), h.ID, when(h.Start), endOr(h.End))
		}
		if r.Replaces != 0 {
			old, there := seen[r.Replaces]
			switch {
			case !there:
				a.broken(readingRule, f.Job.ID, "%s: reading %d corrects reading %d, which is no earlier one of hold %d", f.name(), r.ID, r.Replaces, h.ID)
			case !old.At.Equal(r.At):
				a.broken(readingRule, f.Job.ID, "%s: reading %d corrects reading %d but lies at %s, not at %s", f.name(), r.ID, r.Replaces, when(r.At), when(old.At))
			}
		}
		seen[r.ID] = r
	}
}

func endOr(t time.Time) string {
	if t.IsZero() {
		return "now"
	}
	return when(t)
}

// Stay is a hold in its place.
type Stay struct {
	ID         domain.HoldID
	Job        domain.JobID
	Place      string
	Start, End time.Time // End is zero while it runs
}

// Stay holds a hold against the others of its place. Holds come by place and then
// by start.
func (a *Audit) Stay(s Stay) {
	before, there := a.places[s.Place]
	if there && (before.End.IsZero() || s.Start.Before(before.End)) {
		a.broken(holdRule, s.Job, "two instruments are in %s at once: hold %d of job %d and hold %d of job %d, at %s",
			s.Place, before.ID, before.Job, s.ID, s.Job, when(s.Start))
	}
	if !there || !before.End.IsZero() && (s.End.IsZero() || s.End.After(before.End)) {
		a.places.keep(s.Place, s)
	}
}
