package job

import (
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/templates"
)

// Task returns the task with this identity, or a not-found error.
func (j *Job) Task(id domain.TaskID) (*Task, error) {
	i := slices.IndexFunc(j.Tasks, func(t Task) bool { return t.ID == id })
	if i < 0 {
		return nil, domain.NotFoundf("job %d has no task %d", j.ID, id)
	}
	return &j.Tasks[i], nil
}

// open returns the task when work on it may still be noted.
func (j *Job) open(id domain.TaskID) (*Task, error) {
	t, err := j.Task(id)
	switch {
	case err != nil:
		return nil, err
	case j.gone() && t.Phase != templates.PhaseFollowUp:
		return nil, domain.Conflictf("tag %d has left the shop; open a new job for more work", j.Tag)
	case !t.Dropped.IsZero():
		return nil, domain.Conflictf("%s is no longer part of this job", t.Name)
	case !t.Done.IsZero():
		return nil, domain.Conflictf("%s is finished; reopen it before noting more", t.Name)
	}
	return t, nil
}

// gone reports whether the instrument has left the shop.
func (j *Job) gone() bool { return !j.Collected.IsZero() || !j.Unclaimed.IsZero() }

// Running returns the open clocking of a person on this job, nil for none.
func (j *Job) Running(staff domain.StaffID) *Clocking {
	for i := range j.Clockings {
		if j.Clockings[i].End.IsZero() && j.Clockings[i].Staff == staff {
			return &j.Clockings[i]
		}
	}
	return nil
}

// ClockOn starts by's clock on a task. It refuses a task that is not free
// (see [Job.Blocked]) and a second clock of the same person.
func (j *Job) ClockOn(id domain.TaskID, by domain.Actor, at time.Time) error {
	t, err := j.open(id)
	if err != nil {
		return err
	}
	if c := j.Running(by.Staff); c != nil {
		return domain.Conflictf("your clock already runs on this job; stop it first")
	}
	if why := j.Blocked(t); why != "" {
		return domain.Conflictf("%s is not free: %s", t.Name, why)
	}
	j.Clockings = append(j.Clockings, Clocking{Task: id, Staff: by.Staff, Name: by.Name, Start: at})
	return nil
}

// ClockOff stops by's clock on a task.
func (j *Job) ClockOff(id domain.TaskID, by domain.Actor, at time.Time) error {
	c := j.Running(by.Staff)
	if c == nil || c.Task != id {
		return domain.Conflictf("your clock does not run on this task")
	}
	if !at.After(c.Start) {
		at = c.Start.Add(time.Microsecond) // a clock set back must not lose the stretch
	}
	c.End = at
	return nil
}

// CorrectClocking puts a closed or forgotten clocking right: the old one stays
// and the new one, which names it, counts. The reason is kept.
func (j *Job) CorrectClocking(id domain.ClockingID, start, end time.Time, reason string, by domain.Actor) error {
	i := slices.IndexFunc(j.Clockings, func(c Clocking) bool { return c.ID == id })
	if i < 0 {
		return domain.NotFoundf("job %d has no clocking %d", j.ID, id)
	}
	f := domain.Fields{}
	reason = domain.Line(f, "reason", reason, 200, true)
	if !end.After(start) {
		f.Add("end", "must be after the start")
	}
	if end.Sub(start) > 24*time.Hour {
		f.Add("end", "must be within 24 hours of the start")
	}
	if err := f.Err(); err != nil {
		return err
	}
	old := &j.Clockings[i]
	if j.replaced(id) {
		return domain.Conflictf("this clocking was corrected before; correct the newer one")
	}
	if old.End.IsZero() {
		old.End = end
		if !end.After(old.Start) {
			old.End = old.Start.Add(time.Microsecond)
		}
	}
	j.Clockings = append(j.Clockings, Clocking{
		Task: old.Task, Staff: old.Staff, Name: old.Name, Start: start, End: end, Replaces: id, Reason: reason + " (" + by.Name + ")",
	})
	return nil
}

func (j *Job) replaced(id domain.ClockingID) bool {
	return slices.ContainsFunc(j.Clockings, func(c Clocking) bool { return c.Replaces == id && id != 0 })
}

// Counted returns the clockings that count: those that no correction replaced.
func (j *Job) Counted() []Clocking {
	out := make([]Clocking, 0, len(j.Clockings))
	for _, c := range j.Clockings {
		if !j.replaced(c.ID) {
			out = append(out, c)
		}
	}
	return out
}

// StartWait notes that a task, or with id 0 the whole job, waits from now on.
// until may be zero when nobody knows the end.
func (j *Job) StartWait(id domain.TaskID, kind string, until time.Time, note string, by domain.Actor, at time.Time) error {
	f := domain.Fields{}
	domain.OneOf(f, "kind", kind, WaitKinds())
	note = domain.Line(f, "note", note, 200, false)
	if !until.IsZero() && !until.After(at) {
		f.Add("until", "must be later than now")
	}
	if err := f.Err(); err != nil {
		return err
	}
	if id != 0 {
		t, err := j.open(id)
		if err != nil {
			return err
		}
		if j.waitOf(id) != nil {
			return domain.Conflictf("%s waits already; end that wait first", t.Name)
		}
		if c := j.Running(by.Staff); c != nil && c.Task == id {
			if err := j.ClockOff(id, by, at); err != nil {
				return err
			}
		}
	} else if slices.ContainsFunc(j.Waits, func(w Wait) bool { return w.Task == 0 && w.End.IsZero() && w.Kind == kind }) {
		return domain.Conflictf("the job already waits for this: %s", kind)
	}
	j.Waits = append(j.Waits, Wait{Task: id, Kind: kind, Start: at, Until: until, Note: note, By: by.Name})
	return nil
}

// waitOf returns the running wait of a task, nil for none.
func (j *Job) waitOf(id domain.TaskID) *Wait {
	for i := range j.Waits {
		if w := &j.Waits[i]; w.Task == id && w.End.IsZero() {
			return w
		}
	}
	return nil
}

// EndWait ends a wait.
func (j *Job) EndWait(id domain.WaitID, at time.Time) error {
	i := slices.IndexFunc(j.Waits, func(w Wait) bool { return w.ID == id })
	switch {
	case i < 0:
		return domain.NotFoundf("job %d has no wait %d", j.ID, id)
	case !j.Waits[i].End.IsZero():
		return domain.Conflictf("this wait ended before")
	}
	j.Waits[i].End = at
	return nil
}

// Finish marks a task as done. It stops by's own clock on it and ends its
// running wait; another person's clock must be stopped first, and a hold must
// have been released.
func (j *Job) Finish(id domain.TaskID, by domain.Actor, at time.Time) error {
	t, err := j.open(id)
	if err != nil {
		return err
	}
	if c := j.Running(by.Staff); c != nil && c.Task == id {
		if err := j.ClockOff(id, by, at); err != nil {
			return err
		}
	}
	for _, c := range j.Clockings {
		if c.Task == id && c.End.IsZero() {
			return domain.Conflictf("%s's clock still runs on %s", c.Name, t.Name)
		}
	}
	if h := j.openHold(id); h != nil {
		return domain.Conflictf("the hold in %s still runs; release it by its readings first", h.Place)
	}
	if why := j.Blocked(t); why != "" && j.waitOf(id) == nil {
		return domain.Conflictf("%s is not free: %s", t.Name, why)
	}
	if w := j.waitOf(id); w != nil {
		w.End = at
	}
	t.Done, t.DoneBy = at, by.Name
	return nil
}

// Reopen takes a finished task up again, as when a check failed. A checked job
// loses its check; a job whose customer was called stays ready no longer.
func (j *Job) Reopen(id domain.TaskID, at time.Time) error {
	t, err := j.Task(id)
	switch {
	case err != nil:
		return err
	case j.gone():
		return domain.Conflictf("tag %d has left the shop; open a new job for more work", j.Tag)
	case t.Done.IsZero():
		return domain.Conflictf("%s is not finished", t.Name)
	}
	t.Done, t.DoneBy = time.Time{}, ""
	j.Checked, j.CheckedBy, j.Ready = time.Time{}, "", time.Time{}
	return nil
}

// Blocked says in words why work on t cannot start now, "" when it is free.
// Source of the order: the order rule in package templates; common practice,
// no source.
func (j *Job) Blocked(t *Task) string { return j.blocked(t, "") }

// blocked is [Job.Blocked] but for waits of one kind, which do not count.
func (j *Job) blocked(t *Task, but string) string {
	if j.Approved.IsZero() {
		return "the customer has not said yes"
	}
	if t.Phase == templates.PhaseFollowUp {
		if j.Collected.IsZero() {
			return "comes after the hand-over"
		}
		return ""
	}
	for _, w := range j.Waits {
		if w.End.IsZero() && (w.Task == 0 || w.Task == t.ID) && w.Kind != but {
			return "waits for " + w.Kind
		}
	}
	for i := range j.Holds {
		if j.Holds[i].End.IsZero() && !t.Hold && t.Dry {
			return "the instrument is in hold, " + j.Holds[i].Place
		}
	}
	for i := range j.Tasks {
		o := &j.Tasks[i]
		if o.Open() && o.ID != t.ID && j.precedes(o, t) && !(o.Hold && j.Served(o.ID)) {
			return "comes after " + strings.ToLower(o.Name)
		}
	}
	return ""
}

// precedes reports whether o must be finished before t may start.
func (j *Job) precedes(o, t *Task) bool {
	if o.Hold {
		return t.Dry
	}
	return o.Phase < t.Phase
}

// Drop takes a task that was not begun out of the job, with its reason.
func (j *Job) Drop(id domain.TaskID, reason string, at time.Time) error {
	t, err := j.open(id)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	reason = domain.Line(f, "reason", reason, 200, true)
	if err := f.Err(); err != nil {
		return err
	}
	if j.begun(id) {
		return domain.Conflictf("%s was begun; finish it, or agree a new quote", t.Name)
	}
	if w := j.waitOf(id); w != nil { // for a part
		w.End = at
	}
	t.Dropped, t.Reason = at, reason
	return nil
}

// begun reports whether any time, wait, hold or part was noted on a task. To wait for
// a part begins nothing.
func (j *Job) begun(id domain.TaskID) bool {
	return slices.ContainsFunc(j.Clockings, func(c Clocking) bool { return c.Task == id }) ||
		slices.ContainsFunc(j.Waits, func(w Wait) bool { return w.Task == id && w.Kind != PartOrdered }) ||
		slices.ContainsFunc(j.Holds, func(h Hold) bool { return h.Task == id }) ||
		slices.ContainsFunc(j.Parts, func(p PartUsed) bool { return p.Task == id })
}
