package job

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/wood"
)

func (j *Job) openHold(task domain.TaskID) *Hold {
	for i := range j.Holds {
		if h := &j.Holds[i]; h.Task == task && h.End.IsZero() {
			return h
		}
	}
	return nil
}

// OpenHold returns the running hold of the job, nil for none.
func (j *Job) OpenHold() *Hold {
	for i := range j.Holds {
		if j.Holds[i].End.IsZero() {
			return &j.Holds[i]
		}
	}
	return nil
}

// StartHold puts the instrument into a place of the cabinet. It ends the wait
// for a place.
func (j *Job) StartHold(task domain.TaskID, place string, by domain.Actor, at time.Time) error {
	t, err := j.open(task)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	place = domain.Line(f, "place", place, 40, true)
	if err := f.Err(); err != nil {
		return err
	}
	if !t.Hold {
		return domain.Invalidf("%s is not a hold", t.Name)
	}
	if h := j.OpenHold(); h != nil {
		return domain.Conflictf("tag %d is in hold already, %s", j.Tag, h.Place)
	}
	if why := j.blocked(t, CabinetFull); why != "" {
		return domain.Conflictf("%s is not free: %s", t.Name, why)
	}
	for i := range j.Waits {
		if w := &j.Waits[i]; w.End.IsZero() && w.Kind == CabinetFull && (w.Task == 0 || w.Task == task) {
			w.End = at // the place it waited for is this one
		}
	}
	j.Holds = append(j.Holds, Hold{Task: task, Place: place, Start: at, By: by.Name})
	return nil
}

// hold returns a hold that still runs.
func (j *Job) hold(id domain.HoldID) (*Hold, error) {
	i := slices.IndexFunc(j.Holds, func(h Hold) bool { return h.ID == id })
	switch {
	case i < 0:
		return nil, domain.NotFoundf("job %d has no hold %d", j.ID, id)
	case !j.Holds[i].End.IsZero():
		return nil, domain.Conflictf("this hold ended before")
	}
	return &j.Holds[i], nil
}

// NoteReading adds a reading to a running hold. At least one value is needed, see
// also [Reading.Check]; the same values within a minute are a conflict.
func (j *Job) NoteReading(id domain.HoldID, r Reading) error {
	h, err := j.hold(id)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	r.Check(f)
	r.Note = domain.Line(f, "note", r.Note, 300, false)
	if !r.Is() {
		f.Add("rh", "note at least one value")
	}
	if r.At.Before(h.Start) {
		f.Add("at", "must not be before the hold began")
	}
	if err := f.Err(); err != nil {
		return err
	}
	for _, o := range h.Standing() {
		if r.At.Sub(o.At) < sameMinute && r.same(o) {
			return domain.Conflictf("the same reading was noted a moment ago; it stands once")
		}
	}
	h.Readings = append(h.Readings, r)
	return nil
}

func within(f domain.Fields, field string, m wood.Measure, low, high int64, unit string) {
	if m.Is() && (m.Value.LessThan(decimal.NewFromInt(low)) || m.Value.GreaterThan(decimal.NewFromInt(high))) {
		f.Add(field, "must be from %d to %d %s", low, high, unit)
	}
}

// Release is the wish to end a hold.
type Release struct {
	Reason string         // one of HoldEnds
	Note   string         // needed for an owner's exception
	Says   hold.Judgement // what the readings say now; only SteadyByMeasure and WillNotClose look at it
}

// EndHold ends a hold. "steady by measurement" needs that verdict of the
// readings, "will not close" needs that verdict or the owner, and "owner's
// exception" the owner and a note. A reason that is refused is an invalid field
// whose text says what is missing and which other ways there are.
//
// Those three also finish the task of the hold and stop by's clock on it, unless
// somebody else's clock still runs there. "taken back" and "over-humid" leave it
// open, to be started again.
func (j *Job) EndHold(id domain.HoldID, r Release, by domain.Actor, at time.Time) error {
	h, err := j.hold(id)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	domain.OneOf(f, "reason", r.Reason, HoldEnds())
	note := domain.Line(f, "note", r.Note, 300, r.Reason == OwnersException)
	if why := NotYet(r.Reason, r.Says, by); why != "" && r.Reason != OwnersException {
		f.Add("reason", "%s", why)
	}
	if err := f.Err(); err != nil {
		return err
	}
	if r.Reason == OwnersException && !by.Wears(domain.Owner) {
		return domain.Deniedf("only the owner may release a hold without measurement")
	}
	h.End, h.Reason, h.Note, h.EndedBy = at, r.Reason, note, by.Name
	return j.serve(h, by, at)
}

// serves reports whether a hold that ended for this reason has done what its
// task was for: the wood is steady, was let go by the owner, or the crack is the
// quote's to decide. One that was broken off is to be started again.
func serves(reason string) bool {
	return reason == SteadyByMeasure || reason == OwnersException || reason == WillNotClose
}

// Served reports whether the last hold of a task ended as served: nothing of the
// task's wait is left, even while the task is open.
func (j *Job) Served(id domain.TaskID) bool {
	for i := len(j.Holds) - 1; i >= 0; i-- {
		if h := &j.Holds[i]; h.Task == id {
			return !h.End.IsZero() && serves(h.Reason)
		}
	}
	return false
}

// serve finishes the task of a hold that served, with by's own clock and the
// task's wait. Another person's clock keeps the task open: that time is still
// being worked.
func (j *Job) serve(h *Hold, by domain.Actor, at time.Time) error {
	t, err := j.Task(h.Task)
	if err != nil || !t.Open() || !serves(h.Reason) {
		return err
	}
	if c := j.Running(by.Staff); c != nil && c.Task == t.ID {
		if err := j.ClockOff(t.ID, by, at); err != nil {
			return err
		}
	}
	if slices.ContainsFunc(j.Clockings, func(c Clocking) bool { return c.Task == t.ID && c.End.IsZero() }) {
		return nil
	}
	if w := j.waitOf(t.ID); w != nil {
		w.End = at
	}
	t.Done, t.DoneBy = at, by.Name
	return nil
}

// NotYet says why a hold cannot end for a reason now, in a sentence that names
// the other ways; "" when it can.
func NotYet(reason string, says hold.Judgement, by domain.Actor) string {
	owner := by.Wears(domain.Owner)
	switch {
	case reason == SteadyByMeasure && says.Verdict != hold.Steady:
		return fmt.Sprintf("the readings do not say so: %s. %s.%s", says.Verdict, sentence(says.Why), otherWays(owner))
	case reason == WillNotClose && says.Verdict != hold.WillNotClose && !owner:
		return fmt.Sprintf("the readings do not say so: %s. %s. The owner may decide it without them.", says.Verdict, sentence(says.Why))
	case reason == OwnersException && !owner:
		return "only the owner may release a hold without measurement, with a note why"
	}
	return ""
}

// sentence joins reasons, each of which may end with a full stop.
func sentence(why []string) string {
	parts := make([]string, len(why))
	for i, w := range why {
		parts[i] = strings.TrimRight(w, ". ")
	}
	if len(parts) == 0 {
		return "Read it again"
	}
	return strings.Join(parts, "; ")
}

func otherWays(owner bool) string {
	if owner {
		return " Read again, or release it by your exception with a note; else it ends as one that will not close, taken back or too moist."
	}
	return " Read again, or ask the owner for an exception with a note; else it ends when it will not close, is taken back or too moist."
}

// JudgeHold tells what the readings of a hold of task t say at a moment. The
// high wait of the task is when an open crack that stands still is given up.
// A hold that has ended is judged at its end.
func JudgeHold(h Hold, t Task, rule hold.Rule, prior hold.Prior, now time.Time) hold.Judgement {
	if !h.End.IsZero() {
		now = h.End
	}
	return hold.Judge(hold.Input{
		Start: h.Start, Now: now, Readings: ReadingsOf(h), Rule: rule, Prior: prior, HighDays: t.WaitDays.High.InexactFloat64(),
	})
}

// How much of the past a shop's own prior needs, and the least spread it claims:
// a handful of like holds must not make the next one look certain. Source: our
// own judgement, no source.
const (
	priorHolds  = 8
	leastSpread = 0.4
)

// PriorOf returns what past holds that closed tell of the time constant of the
// next one. Holds without a fit and those that did not end steady do not count;
// with fewer than eight that do, the prior is the general one, its zero value.
func PriorOf(past []hold.Judgement) hold.Prior {
	var logs []float64
	sum := 0.0
	for _, p := range past {
		if p.Verdict == hold.Steady && p.TauDays.P50 > 0 {
			logs = append(logs, math.Log(p.TauDays.P50))
			sum += logs[len(logs)-1]
		}
	}
	if len(logs) < priorHolds {
		return hold.Prior{}
	}
	mean, squares := sum/float64(len(logs)), 0.0
	for _, l := range logs {
		squares += (l - mean) * (l - mean)
	}
	return hold.Prior{LogDays: mean, Spread: max(math.Sqrt(squares/float64(len(logs)-1)), leastSpread)}
}

// ReadingsOf gives the readings of a hold that stand as figures.
func ReadingsOf(h Hold) []hold.Reading {
	standing := h.Standing()
	out := make([]hold.Reading, len(standing))
	for i, r := range standing {
		out[i] = hold.Reading{At: r.At, RH: figure(r.RH), Gap: figure(r.Gap), Arch: figure(r.Arch), Weight: figure(r.Weight), Trusted: r.Trusted}
		if r.RH.Is() && !r.Offset.IsZero() {
			shown := r.RH.Value.Sub(r.Offset).InexactFloat64()
			out[i].Shown = &shown
		}
	}
	return out
}

// figure is the value of a measure, nil when there is none.
func figure(m wood.Measure) *float64 {
	if !m.Is() {
		return nil
	}
	v := m.Value.InexactFloat64()
	return &v
}
