package job

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// MaxHoldRH is the relative humidity, in %, above which a hold is stopped.
// Source: conservation guidance, mould in long stays above 65 %; shops stop at
// 60 %: common practice, no source.
var MaxHoldRH = decimal.NewFromInt(60)

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

// StartHold puts the instrument into a place of the cabinet.
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
	if why := j.Blocked(t); why != "" {
		return domain.Conflictf("%s is not free: %s", t.Name, why)
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

// NoteReading adds a reading to a running hold. At least one value is needed;
// RH must lie in 0 to 100 %, weight in 50 to 20000 g.
func (j *Job) NoteReading(id domain.HoldID, r Reading) error {
	h, err := j.hold(id)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	within(f, "rh", r.RH, 0, 100, "%")
	within(f, "air", r.Air, -30, 50, "C")
	within(f, "gap", r.Gap, 0, 20, "mm")
	within(f, "arch", r.Arch, -20, 20, "mm")
	within(f, "weight", r.Weight, 50, 20000, "g")
	r.Note = domain.Line(f, "note", r.Note, 300, false)
	if !r.RH.Is() && !r.Air.Is() && !r.Gap.Is() && !r.Arch.Is() && !r.Weight.Is() {
		f.Add("rh", "note at least one value")
	}
	if r.At.Before(h.Start) {
		f.Add("at", "must not be before the hold began")
	}
	if err := f.Err(); err != nil {
		return err
	}
	h.Readings = append(h.Readings, r)
	return nil
}

func within(f domain.Fields, field string, m wood.Measure, low, high int64, unit string) {
	if m.Is() && (m.Value.LessThan(decimal.NewFromInt(low)) || m.Value.GreaterThan(decimal.NewFromInt(high))) {
		f.Add(field, "must be from %d to %d %s", low, high, unit)
	}
}

// EndHold ends a hold with its reason. "steady by measurement" needs at least
// two readings; "owner's exception" needs the owner and a note.
func (j *Job) EndHold(id domain.HoldID, reason, note string, by domain.Actor, at time.Time) error {
	h, err := j.hold(id)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	domain.OneOf(f, "reason", reason, HoldEnds())
	note = domain.Line(f, "note", note, 300, reason == "owner's exception")
	if reason == "steady by measurement" && len(h.Readings) < 2 {
		f.Add("reason", "needs at least two readings; there are %d", len(h.Readings))
	}
	if err := f.Err(); err != nil {
		return err
	}
	if reason == "owner's exception" && !by.Wears(domain.Owner) {
		return domain.Deniedf("only the owner may release a hold without measurement")
	}
	h.End, h.Reason, h.Note, h.EndedBy = at, reason, note, by.Name
	return nil
}

// HoldCaution warns of what the last reading says, "" when there is nothing.
// Rates: at most 5 % RH change in 24 h. Source: Western Australian Museum,
// conservation manual, wood.
func HoldCaution(h Hold) string {
	var last, before *Reading
	for i := range h.Readings {
		if h.Readings[i].RH.Is() {
			before, last = last, &h.Readings[i]
		}
	}
	switch {
	case last == nil:
		return ""
	case last.RH.Value.GreaterThanOrEqual(MaxHoldRH):
		return "Air at " + last.RH.Text() + ": too moist. Stop, open the cabinet and let it come down slowly."
	case before != nil && tooFast(*before, *last):
		return "The air rose by more than 5 % in a day. Slow down: quick changes open new cracks."
	}
	return ""
}

func tooFast(a, b Reading) bool {
	hours := decimal.NewFromFloat(b.At.Sub(a.At).Hours())
	if hours.LessThan(decimal.NewFromInt(24)) {
		hours = decimal.NewFromInt(24)
	}
	rise := b.RH.Value.Sub(a.RH.Value)
	return rise.Mul(decimal.NewFromInt(24)).GreaterThan(hours.Mul(decimal.NewFromInt(5)))
}
