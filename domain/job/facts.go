package job

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/wood"
	"winterbench/templates"
)

// Facts is what is on record about the earlier visit, as far as it bears on
// the joint. A zero value was not recorded.
type Facts struct {
	Job       domain.JobID
	Tag       int
	Arrived   time.Time
	Left      time.Time // hand-over; zero when it never left by us
	Complaint string
	Work      []Work
	Who       []string     // who worked on it, in the order of work
	CaseRH    wood.Measure // in the case when it was surveyed first
	Held      bool
	HoldEnd   string       // why the hold ended, one of HoldEnds
	ReleaseRH wood.Measure // the last air read in the hold
	Gap       wood.Measure // crack width before the hold, mm
	LastGap   wood.Measure // and at the last reading of the hold
	Passed    []string     // checks of that work with a good result
	Failing   []string     // checks that stand as failed, or could not be made
	Brief     bool         // the care brief was given
	BriefTo   string       // to whom
	Signed    Signed       // whether the customer signed it
	Kit       bool         // a humidity kit was taken
	Recheck   domain.Date  // the day said for another look
	Rechecked time.Time    // when it was; zero when it was not
}

// Signed says what is on record about the signature under the care brief.
type Signed string

// The answers; "" is not recorded.
const (
	WasSigned Signed = "signed"
	NotSigned Signed = "not signed"
)

// Work is one task that was done at the place.
type Work struct {
	Template string // its code
	Name     string
	Quantity string // 60 mm, 2 cleats
	Made     string // how the joint was made; "" when nobody noted it
	Done     time.Time
	By       string
	Glued    bool
	Dry      bool // it was to be done on dry-free wood, after a hold
	Cleats   int
}

// phasesOf lists the phases that mend a sort of finding. Source: the repairs
// as the templates describe them; common practice, no source.
func phasesOf(sort string) []templates.Phase {
	switch sort {
	case "crack":
		return []templates.Phase{templates.PhaseCracks, templates.PhaseCleats, templates.PhaseTouchUp}
	case "binding gap", "heel gap":
		return []templates.Phase{templates.PhaseBinding}
	case "bridge lift":
		return []templates.Phase{templates.PhaseBridge}
	case "loose brace":
		return []templates.Phase{templates.PhaseBraces}
	case "fret ends proud":
		return []templates.Phase{templates.PhaseFrets}
	case "set-up":
		return []templates.Phase{templates.PhaseFrets, templates.PhaseNut, templates.PhaseSetUp}
	case "finish":
		return []templates.Phase{templates.PhaseTouchUp}
	}
	return nil
}

// doneFor reports whether a task mends a sort. The heel cap has a phase with
// the binding, but a binding reglued says nothing of the heel.
func doneFor(t Task, sort string) bool {
	if t.Template == "HC" || sort == "heel gap" {
		return t.Template == "HC" && sort == "heel gap"
	}
	return slices.Contains(phasesOf(sort), t.Phase)
}

func (p PastJob) facts(sort string) Facts {
	f := Facts{
		Job: p.ID, Tag: p.Tag, Arrived: p.Arrival.At, Left: p.Collected, Complaint: p.Arrival.Complaint,
		Brief: p.HandOver.Brief, BriefTo: p.HandOver.To, Recheck: p.HandOver.Recheck,
	}
	if n := len(p.Surveys); n > 0 {
		f.CaseRH = p.Surveys[n-1].CaseRH
	}
	for _, t := range p.Tasks {
		switch {
		case t.Done.IsZero():
		case t.Phase == templates.PhaseKit:
			f.Kit, f.Signed = true, p.signed(t)
		case t.Phase == templates.PhaseFollowUp:
			f.Rechecked = t.Done
		case doneFor(t, sort):
			f.Work = append(f.Work, WorkOf(t))
			p.people(&f, t)
			p.checks(&f, t)
		}
	}
	f.Kit = f.Kit || p.soldKit()
	p.held(&f)
	return f
}

// WorkOf tells a finished task as work on record.
func WorkOf(t Task) Work {
	w := Work{Template: t.Template, Name: t.Name, Made: t.Made, Done: t.Done, By: t.DoneBy, Glued: t.Glues(), Dry: t.Dry}
	if t.Unit != "" {
		w.Quantity = fmt.Sprintf("%d %s", t.Quantity, domain.UnitFor(t.Quantity, t.Unit))
	}
	if t.Unit == "cleats" {
		w.Cleats = t.Quantity
	}
	return w
}

// people adds who had a hand in a task.
func (p PastJob) people(f *Facts, t Task) {
	names := []string{}
	for _, c := range p.Counted() {
		if c.Task == t.ID {
			names = append(names, c.Name)
		}
	}
	for _, name := range append(names, t.DoneBy) {
		if name != "" && !slices.Contains(f.Who, name) {
			f.Who = append(f.Who, name)
		}
	}
}

// checks adds the standing results of a task's checks.
func (p PastJob) checks(f *Facts, t Task) {
	seen := map[string]bool{}
	for _, c := range p.Checks {
		if c.Task != t.ID || seen[c.What] {
			continue
		}
		seen[c.What] = true
		switch last, _ := p.Latest(t.ID, c.What); last.Result {
		case Pass, PassNote:
			f.Passed = append(f.Passed, strings.TrimSpace(c.What+" "+last.Value))
		case Fail, CouldNotTest:
			f.Failing = append(f.Failing, c.What+": "+string(last.Result))
		}
	}
}

// signed looks for the check that asks for the signature under the care brief.
func (p PastJob) signed(t Task) Signed {
	for _, c := range slices.Backward(p.Checks) {
		if c.Task != t.ID || !strings.Contains(c.What, "signed") {
			continue
		}
		switch c.Result {
		case Pass, PassNote:
			return WasSigned
		case Fail:
			return NotSigned
		}
	}
	return ""
}

// soldKit reports whether goods for the humidity were sold on the visit.
func (p PastJob) soldKit() bool {
	left := 0
	for _, u := range p.Parts {
		if t, err := p.Task(u.Task); err == nil && t.Phase == templates.PhaseKit || u.Kind == money.RetailGoods && strings.Contains(u.Code, "humid") {
			left += u.Quantity.Sign()
		}
	}
	return left > 0
}

// held adds how the last hold ended and what was read in it.
func (p PastJob) held(f *Facts) {
	for _, h := range p.Holds {
		if h.End.IsZero() {
			continue
		}
		f.Held, f.HoldEnd, f.ReleaseRH, f.LastGap = true, h.Reason, wood.Measure{}, wood.Measure{}
		for _, r := range h.Standing() {
			if r.RH.Is() {
				f.ReleaseRH = r.RH
			}
			if r.Gap.Is() {
				f.LastGap = r.Gap
			}
		}
	}
}
