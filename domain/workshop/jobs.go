package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/templates"
)

// did is what a use case leaves in the diary.
type did struct{ what, before, after string }

// onJob loads a job, lets fn decide, saves the job and writes the diary.
func (w *Workshop) onJob(ctx context.Context, by domain.Actor, a Action, id domain.JobID, fn func(tx Tx, j *job.Job, at time.Time) (did, error)) error {
	_, err := w.do(ctx, by, a, func(tx Tx, at time.Time) (int64, error) {
		j, err := loadJob(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		stage := job.StageOf(j)
		d, err := fn(tx, j, at)
		if err != nil {
			return 0, err
		}
		if err := tx.SaveJob(ctx, j); err != nil {
			return 0, err
		}
		if now := job.StageOf(j); now != stage && d.before == "" && d.after == "" {
			d.before, d.after = string(stage), string(now)
		}
		return int64(id), note(ctx, tx, id, by, at, d.what, d.before, d.after)
	})
	return err
}

// loadJob loads and locks a job and checks the version that the caller saw.
func loadJob(ctx context.Context, tx Tx, id domain.JobID) (*job.Job, error) {
	j, err := tx.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	if seen, ok := ctx.Value(versionInContext{}).(int); ok && seen != j.Version {
		return nil, domain.Conflictf("tag %d changed meanwhile: you saw version %d, it is at %d; look again", j.Tag, seen, j.Version)
	}
	return j, nil
}

// Taking is an instrument coming over the counter.
type Taking struct {
	Instrument domain.InstrumentID
	Arrival    job.Arrival
	Marks      []job.Mark
	ComebackOf domain.JobID
}

// Arrive opens a job and gives it a claim tag.
func (w *Workshop) Arrive(ctx context.Context, by domain.Actor, in Taking) (domain.JobID, error) {
	id, err := w.do(ctx, by, ActArrive, func(tx Tx, at time.Time) (int64, error) {
		j := &job.Job{Instrument: in.Instrument, Arrival: in.Arrival, ComebackOf: in.ComebackOf}
		f := domain.Fields{}
		f.AddErr("", j.Arrival.Check())
		for i, m := range in.Marks {
			m.At, m.By = at, by.Name
			f.AddErr(fmt.Sprintf("marks[%d]", i), j.AddMark(m))
		}
		if err := flat(f).Err(); err != nil {
			return 0, err
		}
		inst, err := tx.Instrument(ctx, in.Instrument)
		if err != nil {
			return 0, err
		}
		if in.ComebackOf != 0 {
			earlier, err := tx.Job(ctx, in.ComebackOf)
			if err != nil {
				return 0, err
			}
			if earlier.Instrument != in.Instrument {
				return 0, domain.Invalidf("tag %d was another instrument", earlier.Tag)
			}
		}
		if j.Tag, err = tx.Next(ctx, Tags); err != nil {
			return 0, err
		}
		j.Customer, j.Arrival.At, j.Arrival.By = inst.Owner, at, by.Name
		if err := tx.AddJob(ctx, j); err != nil {
			return 0, err
		}
		return int64(j.ID), note(ctx, tx, j.ID, by, at, fmt.Sprintf("took it in under tag %d", j.Tag), "", j.Arrival.Complaint)
	})
	return domain.JobID(id), err
}

// AddMark notes a condition mark on a job.
func (w *Workshop) AddMark(ctx context.Context, by domain.Actor, id domain.JobID, m job.Mark) error {
	return w.onJob(ctx, by, ActMark, id, func(_ Tx, j *job.Job, at time.Time) (did, error) {
		m.At, m.By = at, by.Name
		return did{what: "noted a mark: " + m.What, after: m.Place}, j.AddMark(m)
	})
}

// OpenCase notes that a cold case was opened; warm says that it was felt to be
// at room temperature all round, which is needed soon after it arrived.
func (w *Workshop) OpenCase(ctx context.Context, by domain.Actor, id domain.JobID, warm bool) error {
	return w.onJob(ctx, by, ActMark, id, func(_ Tx, j *job.Job, at time.Time) (did, error) {
		stood := fmt.Sprintf("it stood here for %d h", int(at.Sub(j.Arrival.At).Hours()))
		return did{what: "opened the case, now at room temperature", after: stood}, j.OpenCase(at, warm)
	})
}

// NoteSurvey keeps a survey of a job. Findings without a grade take the one
// that the shop's bands suggest; another grade than that needs a note.
func (w *Workshop) NoteSurvey(ctx context.Context, by domain.Actor, s job.Survey) error {
	return w.onJob(ctx, by, ActSurvey, s.Job, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		n := s
		n.Findings = slices.Clone(s.Findings)
		n.At, n.By = at, by.Name
		shop, err := tx.Shop(ctx)
		if err != nil {
			return did{}, err
		}
		if err := n.Settle(shop.Bands); err != nil {
			return did{}, err
		}
		if err := n.Check(); err != nil {
			return did{}, err
		}
		if err := n.CheckAgainst(shop.Bands); err != nil {
			return did{}, err
		}
		if err := j.NoteSurvey(n); err != nil {
			return did{}, err
		}
		return did{what: "surveyed it, worst grade " + n.WorstBy(shop.Bands).String(), after: n.Because()}, tx.AddSurvey(ctx, &n)
	})
}

// ClockOn starts the clock of by on a task. When it runs on another job,
// switchOver stops it there; else that is a conflict.
func (w *Workshop) ClockOn(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, switchOver bool) error {
	return w.clockOn(ctx, by, id, task, switchOver, Stopped{})
}

// ClockOff stops the clock of by on a task. One that ran on overnight is a
// [ForgottenError]: it is put right by [Workshop.CorrectClocking].
func (w *Workshop) ClockOff(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID) error {
	return w.onJob(ctx, by, ActClock, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		t, err := j.Task(task)
		if err != nil {
			return did{}, err
		}
		if err := notOvernight(ctx, tx, j, by, task, at); err != nil {
			return did{}, err
		}
		if err := j.ClockOff(task, by, at); err != nil {
			return did{}, err
		}
		return did{what: "clocked off: " + t.Name, after: clockedMinutes(j, task, at)}, nil
	})
}

// CorrectClocking puts a clocking right.
func (w *Workshop) CorrectClocking(ctx context.Context, by domain.Actor, id domain.JobID, c domain.ClockingID, start, end time.Time, reason string) error {
	return w.onJob(ctx, by, ActCorrect, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		if end.After(at) {
			return did{}, &domain.Error{Kind: domain.Invalid, Text: "the end lies in the future", Fields: domain.Fields{"end": "must not lie in the future"}}
		}
		if err := mayCorrect(j, c, by); err != nil {
			return did{}, err
		}
		if err := notTwice(ctx, tx, j, c, start, end); err != nil {
			return did{}, err
		}
		before := j.Minutes(0, at)
		if err := j.CorrectClocking(c, domain.Moment(start), domain.Moment(end), reason, by); err != nil {
			return did{}, err
		}
		return did{what: "corrected a clocking: " + reason, before: fmt.Sprintf("%d min", before), after: fmt.Sprintf("%d min", j.Minutes(0, at))}, nil
	})
}

// Stretch is a clocking of a person on any job.
type Stretch struct {
	ID         domain.ClockingID
	Tag        int
	Start, End time.Time // End is zero while it runs
}

// notTwice refuses a corrected clocking over another of the same person: nobody works
// on two tasks at once.
func notTwice(ctx context.Context, tx Tx, j *job.Job, c domain.ClockingID, start, end time.Time) error {
	i := slices.IndexFunc(j.Clockings, func(x job.Clocking) bool { return x.ID == c })
	if i < 0 || !end.After(start) { // told of by the correction itself
		return nil
	}
	others, err := tx.ClockedBetween(ctx, j.Clockings[i].Staff, start, end)
	if err != nil {
		return err
	}
	others = slices.DeleteFunc(others, func(o Stretch) bool { return o.ID == c })
	if len(others) == 0 {
		return nil
	}
	shop, err := tx.Shop(ctx)
	if err != nil {
		return err
	}
	o, zone := others[0], shop.Location()
	until := "still running"
	if !o.End.IsZero() {
		until = "until " + o.End.In(zone).Format("15:04")
	}
	return domain.Conflictf("%s was clocked on tag %d from %s %s, and nobody works on two tasks at once; choose other times, or correct that clocking first",
		j.Clockings[i].Name, o.Tag, o.Start.In(zone).Format("Mon 2 Jan 15:04"), until)
}

// StartWait notes that a task, or with task 0 the job, waits.
func (w *Workshop) StartWait(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, kind string, until time.Time, text string) error {
	return w.onJob(ctx, by, ActWait, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		if err := notOvernight(ctx, tx, j, by, task, at); err != nil {
			return did{}, err
		}
		if !until.IsZero() {
			until = domain.Moment(until)
		}
		return did{what: "waits for " + kind, after: text}, j.StartWait(task, kind, until, text, by, at)
	})
}

// EndWait ends a wait.
func (w *Workshop) EndWait(ctx context.Context, by domain.Actor, id domain.JobID, wait domain.WaitID) error {
	return w.onJob(ctx, by, ActWait, id, func(_ Tx, j *job.Job, at time.Time) (did, error) {
		kind := ""
		for _, x := range j.Waits {
			if x.ID == wait {
				kind = x.Kind
			}
		}
		return did{what: "the wait for " + kind + " is over"}, j.EndWait(wait, at)
	})
}

// StartHold puts the instrument into a cabinet place.
func (w *Workshop) StartHold(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, place string) error {
	return w.onJob(ctx, by, ActHold, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return did{}, err
		}
		if !slices.Contains(shop.Places, place) {
			return did{}, &domain.Error{Kind: domain.Invalid, Text: "choose a place of the cabinet", Fields: domain.Fields{"place": "is not a place of the cabinet; choose one of the list"}}
		}
		tag, err := tx.PlaceTaken(ctx, place)
		if err != nil {
			return did{}, err
		}
		if tag != 0 {
			text := fmt.Sprintf("%s is taken by tag %d; choose a free place", place, tag)
			return did{}, &domain.Error{Kind: domain.Conflict, Text: text, Fields: domain.Fields{"place": text}}
		}
		return did{what: "began the hold in " + place}, j.StartHold(task, place, by, at)
	})
}

// NoteReading notes a reading of a running hold, made now. When it names the
// meter, its humidity is put right by the meter's calibration; without one it is
// not trusted.
func (w *Workshop) NoteReading(ctx context.Context, by domain.Actor, id domain.JobID, hold domain.HoldID, r job.Reading) error {
	return w.onJob(ctx, by, ActHold, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		n := r
		n.At, n.By = at, by.Name
		if err := putRight(ctx, tx, &n); err != nil {
			return did{}, err
		}
		return did{what: "noted a reading", after: readingText(n)}, j.NoteReading(hold, n)
	})
}

// CorrectReading puts the reading that r.Replaces names right, or takes it back
// when r has no value; r.Note is the reason. The old reading stays on record.
func (w *Workshop) CorrectReading(ctx context.Context, by domain.Actor, id domain.JobID, hold domain.HoldID, r job.Reading) error {
	return w.onJob(ctx, by, ActHold, id, func(tx Tx, j *job.Job, _ time.Time) (did, error) {
		old, err := j.Reading(hold, r.Replaces)
		if err != nil {
			return did{}, err
		}
		n, before := r, readingText(*old)
		n.At, n.By = old.At, by.Name
		if err := putRight(ctx, tx, &n); err != nil {
			return did{}, err
		}
		what, after := "put a reading right: ", readingText(n)
		if !n.Is() {
			what, after = "took a reading back: ", "withdrawn"
		}
		return did{what: what + n.Note, before: before, after: after}, j.CorrectReading(hold, n)
	})
}

// readingText tells what a reading measured, for the diary.
func readingText(r job.Reading) string {
	var parts []string
	for _, m := range []struct {
		name string
		wood.Measure
	}{{"air", r.RH}, {"crack", r.Gap}, {"weight", r.Weight}, {"arch", r.Arch}, {"temperature", r.Air}} {
		if m.Is() {
			parts = append(parts, m.name+" "+m.Text())
		}
	}
	return strings.Join(parts, " ")
}

// EndHold ends a hold. "steady by measurement" needs that verdict of the
// readings, "will not close" that verdict or the owner. A hold that served
// finishes its task, see [job.Job.EndHold].
func (w *Workshop) EndHold(ctx context.Context, by domain.Actor, id domain.JobID, hold domain.HoldID, reason, text string) error {
	return w.onJob(ctx, by, ActHold, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		r := job.Release{Reason: reason, Note: text}
		if reason == job.SteadyByMeasure || reason == job.WillNotClose {
			var err error
			if r.Says, err = judge(ctx, tx, j, hold, at); err != nil {
				return did{}, err
			}
		}
		if err := j.EndHold(hold, r, by, at); err != nil {
			return did{}, err
		}
		return did{what: "ended the hold: " + reason + finishedWith(j, hold, at), after: text}, nil
	})
}

// finishedWith says that the task of a hold was finished with it, "" when it was
// not.
func finishedWith(j *job.Job, id domain.HoldID, at time.Time) string {
	for _, h := range j.Holds {
		if t, err := j.Task(h.Task); h.ID == id && err == nil && t.Done.Equal(at) {
			return "; finished " + t.Name
		}
	}
	return ""
}

// UsePart notes a part used on a task. A part of which stock is kept leaves the shelf
// with it, or is refused when less is free.
func (w *Workshop) UsePart(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, part domain.PartID, quantity decimal.Decimal) error {
	return w.onJob(ctx, by, ActPartUsed, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		p, err := tx.Part(ctx, part)
		if err != nil {
			return did{}, err
		}
		if err := j.UsePart(task, *p, quantity, by, at); err != nil {
			return did{}, err
		}
		return did{what: "used " + quantity.String() + " " + p.Unit + " of " + p.Name}, w.takeForJob(ctx, tx, j, by, at)
	})
}

// PutBack takes a used part back, to the shelf when it came from it.
func (w *Workshop) PutBack(ctx context.Context, by domain.Actor, id domain.JobID, row int64) error {
	return w.onJob(ctx, by, ActPartUsed, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		if err := j.PutBack(row, by, at); err != nil {
			return did{}, err
		}
		first := j.Parts[slices.IndexFunc(j.Parts, func(p job.PartUsed) bool { return p.ID == row })]
		return did{what: "put back " + j.Parts[len(j.Parts)-1].Name}, w.returnToShelf(ctx, tx, j, first, by, at)
	})
}

// Finish marks a task as done. What it reserved and did not use is free again.
func (w *Workshop) Finish(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID) error {
	return w.onTask(ctx, by, id, task, "finished ", func(tx Tx, j *job.Job, at time.Time) error {
		if err := notOvernight(ctx, tx, j, by, task, at); err != nil {
			return err
		}
		if err := j.Finish(task, by, at); err != nil {
			return err
		}
		return w.release(ctx, tx, j, task, "the task was finished", by, at)
	})
}

// Reopen takes a finished task up again.
func (w *Workshop) Reopen(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID) error {
	return w.onTask(ctx, by, id, task, "reopened ", func(_ Tx, j *job.Job, at time.Time) error { return j.Reopen(task, at) })
}

// Drop takes a task that was not begun out of the job, and frees what it reserved.
func (w *Workshop) Drop(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, reason string) error {
	return w.onTask(ctx, by, id, task, "dropped ", func(tx Tx, j *job.Job, at time.Time) error {
		if err := w.release(ctx, tx, j, task, "the task was dropped", by, at); err != nil {
			return err
		}
		return j.Drop(task, reason, at)
	})
}

func (w *Workshop) onTask(ctx context.Context, by domain.Actor, id domain.JobID, task domain.TaskID, verb string, fn func(Tx, *job.Job, time.Time) error) error {
	return w.onJob(ctx, by, ActTask, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		t, err := j.Task(task)
		if err != nil {
			return did{}, err
		}
		if _, err := tx.InvoiceOf(ctx, id); err == nil && t.Phase != templates.PhaseFollowUp {
			return did{}, domain.Conflictf("the invoice of tag %d is issued; more work needs a new job", j.Tag)
		} else if err != nil && domain.KindOf(err) != domain.NotFound {
			return did{}, err
		}
		return did{what: verb + t.Name}, fn(tx, j, at)
	})
}

// NoteCheck records the result of a quality check.
func (w *Workshop) NoteCheck(ctx context.Context, by domain.Actor, id domain.JobID, c job.Check) error {
	return w.onJob(ctx, by, ActCheck, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		t, err := j.Task(c.Task)
		if err != nil {
			return did{}, err
		}
		e, err := tx.Edition(ctx, t.Template, t.Edition)
		if err != nil {
			return did{}, err
		}
		if err := withinLimits(e.Template, c); err != nil {
			return did{}, err
		}
		c.At, c.By = at, by.Name
		return did{what: fmt.Sprintf("checked %s: %s, %s", t.Name, c.What, c.Result), after: c.Value}, j.NoteCheck(c, CheckNames(e.Template))
	})
}

// withinLimits refuses a measured value that is no number, and a plain pass of
// one outside the check's limits. A check without limits, and an empty value,
// say nothing.
func withinLimits(t templates.Template, c job.Check) error {
	i := slices.IndexFunc(t.Checks, func(k templates.Check) bool { return k.What == c.What })
	if i < 0 || !t.Checks[i].Measured() || c.Value == "" {
		return nil
	}
	wrong := func(text string) error {
		return &domain.Error{Kind: domain.Invalid, Text: "the measured value " + text, Fields: domain.Fields{"value": text}}
	}
	number, err := valueOf(c.Value, t.Checks[i].Unit)
	switch {
	case err != nil:
		return wrong("must be a number of " + t.Checks[i].Unit)
	case c.Result == job.Pass && !t.Checks[i].Passes(number):
		return wrong("is outside the limits: note a fail, or a pass with note and why")
	}
	return nil
}

// valueOf reads a value in a check's unit, as a bench writes it.
func valueOf(typed, unit string) (decimal.Decimal, error) {
	switch u := wood.Unit(unit); u {
	case wood.Millimetre, wood.Percent, wood.Gram, wood.Celsius:
		m, err := wood.ParseMeasure(typed, u)
		return m.Value, err
	}
	return decimal.NewFromString(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(typed), unit)))
}

// CheckNames lists the checks of a template by their words.
func CheckNames(t templates.Template) []string {
	names := make([]string, len(t.Checks))
	for i, c := range t.Checks {
		names[i] = c.What
	}
	return names
}

// Pass closes the quality check of a job.
func (w *Workshop) Pass(ctx context.Context, by domain.Actor, id domain.JobID) error {
	return w.onJob(ctx, by, ActCheck, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		required := map[domain.TaskID][]string{}
		for _, t := range j.Tasks {
			e, err := tx.Edition(ctx, t.Template, t.Edition)
			if err != nil {
				return did{}, err
			}
			required[t.ID] = CheckNames(e.Template)
		}
		return did{what: "passed the quality check"}, j.Pass(required, by, at)
	})
}

// Call records an attempt to reach the customer.
func (w *Workshop) Call(ctx context.Context, by domain.Actor, id domain.JobID, c job.Contact) error {
	return w.onJob(ctx, by, ActCall, id, func(_ Tx, j *job.Job, at time.Time) (did, error) {
		c.At, c.By = at, by.Name
		return did{what: fmt.Sprintf("called about %s: %s", c.About, c.Result), after: c.Note}, j.Call(c)
	})
}

// CloseUnclaimed closes a job whose owner never came.
func (w *Workshop) CloseUnclaimed(ctx context.Context, by domain.Actor, id domain.JobID, lawChecked bool) error {
	return w.onJob(ctx, by, ActUnclaimed, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		if err := w.release(ctx, tx, j, 0, "the job was closed", by, at); err != nil {
			return did{}, err
		}
		if err := j.CloseUnclaimed(lawChecked, by, at); err != nil {
			return did{}, err
		}
		return did{what: "closed as unclaimed"}, w.postLeaving(ctx, tx, j, by, at)
	})
}
