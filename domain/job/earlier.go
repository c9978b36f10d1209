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

// PastJob is an earlier visit of an instrument: the job with all that belongs
// to it, and its surveys, newest first.
type PastJob struct {
	*Job
	Surveys []Survey
}

// Done lists the finished tasks of the visit without surveys, kit and
// follow-up: what was done to the instrument.
func (p PastJob) Done() []Task {
	var out []Task
	for _, t := range p.Tasks {
		if !t.Done.IsZero() && t.Phase > templates.PhaseSurvey && t.Phase < templates.PhaseKit {
			out = append(out, t)
		}
	}
	return out
}

// Match is earlier work, or an earlier finding, at the place of a finding now.
type Match struct {
	Sort     string // crack, binding gap, ...
	Place    string // as noted now, else as noted then
	Fit      Fit
	Why      string // what makes it the same place, or leaves it open
	Now      []Finding
	Then     []Finding // of the first survey of the earlier visit that found it
	After    []Finding // of its last survey after the work; empty for none
	Measures []Compared
	Facts    Facts
}

// Compared is one measure then, after the work, and now.
type Compared struct {
	What             string
	Then, After, Now wood.Measure
}

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
	Name     string
	Quantity string // 60 mm, 2 cleats
	Made     string // how the joint was made; "" when nobody noted it
	Done     time.Time
	By       string
	Glued    bool
	Dry      bool // it was to be done on dry-free wood, after a hold
	Cleats   int
}

// Earlier finds, for the findings of a survey, what was found and done before
// at the same place. One match stands for all findings of a sort at a place, for
// each earlier visit; sure matches come first, then the newest visit. An earlier
// visit whose task fits but whose survey does not name the place is a possible
// match and says so.
func Earlier(now []Finding, past []PastJob) []Match {
	var out []Match
	for _, p := range past {
		for _, group := range grouped(now) {
			if m, ok := matchOf(group, p); ok {
				out = append(out, m)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Match) int {
		if a.Fit != b.Fit {
			if a.Fit == Same {
				return -1
			}
			return 1
		}
		return b.Facts.Arrived.Compare(a.Facts.Arrived)
	})
	return out
}

// grouped puts the findings of one thing together. What is fine is left out,
// for nothing came back there, and so is what is no joint.
func grouped(now []Finding) [][]Finding {
	var out [][]Finding
	for _, d := range now {
		if d.Grade == Fine || signOnly(sortOf(d.Symptom)) {
			continue
		}
		i := slices.IndexFunc(out, func(g []Finding) bool { return oneThing(g[0], d) })
		if i < 0 {
			out = append(out, []Finding{d})
			continue
		}
		out[i] = append(out[i], d)
	}
	return out
}

func matchOf(group []Finding, p PastJob) (Match, bool) {
	sort := sortOf(group[0].Symptom)
	m := Match{Sort: sort, Place: placeOf(group), Now: group}
	facts := p.facts(sort)
	for _, s := range slices.Backward(p.Surveys) { // oldest first
		hits := m.hits(s)
		switch {
		case len(hits) == 0:
		case s.Moment == afterWork:
			m.After = hits
		case len(m.Then) == 0:
			m.Then = hits
		}
	}
	if len(m.Then) == 0 && len(m.After) == 0 {
		if len(facts.Work) == 0 || p.names(sort) {
			return m, false // nothing was done of that sort, or it was done elsewhere
		}
		m.Fit, m.Why = Perhaps, "work of this sort was done, but no survey of that visit names its place"
		if everywhere(sort) {
			m.Fit, m.Why = Same, oneOfIt
		}
	}
	if m.Place == "" {
		m.Place = placeOf(append(slices.Clone(m.Then), m.After...))
	}
	m.Facts, m.Measures = facts, compared(m)
	m.Facts.Gap = widthOf(m.Then)
	return m, true
}

// afterWork is the moment of a survey that looks at what was done.
const afterWork = "after work"

// hits lists the findings of an earlier survey that lie at the place of m, and
// keeps the surest reason. What was fine then counts after the work only.
func (m *Match) hits(s Survey) []Finding {
	var out []Finding
	for _, d := range s.Findings {
		fit, why, ok := bestFit(m.Now, d)
		if !ok || d.Grade == Fine && s.Moment != afterWork {
			continue
		}
		out = append(out, d)
		if m.Fit == "" || m.Fit == Perhaps && fit == Same {
			m.Fit, m.Why = fit, why
		}
	}
	return out
}

// bestFit compares an earlier finding with each of a group.
func bestFit(group []Finding, d Finding) (best Fit, why string, ok bool) {
	for _, n := range group {
		fit, text, fits := fitOf(n, d)
		if !fits {
			if placed(n) && placed(d) && sortOf(n.Symptom) == sortOf(d.Symptom) {
				return "", "", false // one of the group says that it is elsewhere
			}
			continue
		}
		if best == "" || best == Perhaps && fit == Same {
			best, why, ok = fit, text, true
		}
	}
	return best, why, ok
}

func placed(d Finding) bool { return spot(d) != "" || d.Detail.FromSeam.Is() }

func placeOf(group []Finding) string {
	for _, d := range group {
		if d.Place != "" {
			return d.Place
		}
	}
	return ""
}

// names reports whether any survey of the visit has a finding of the sort with
// its place.
func (p PastJob) names(sort string) bool {
	for _, s := range p.Surveys {
		for _, d := range s.Findings {
			if sortOf(d.Symptom) == sort && d.Grade > Fine && (placed(d) || everywhere(sort)) {
				return true
			}
		}
	}
	return false
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
	w := Work{Name: t.Name, Made: t.Made, Done: t.Done, By: t.DoneBy, Glued: t.Glues(), Dry: t.Dry}
	if t.Unit != "" {
		w.Quantity = fmt.Sprintf("%d %s", t.Quantity, t.Unit)
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
		for _, r := range h.Readings {
			if r.RH.Is() {
				f.ReleaseRH = r.RH
			}
			if r.Gap.Is() {
				f.LastGap = r.Gap
			}
		}
	}
}

// compared sets the measures of a match side by side.
func compared(m Match) []Compared {
	var out []Compared
	put := func(what string, get func([]Finding) wood.Measure) {
		c := Compared{What: what, Then: get(m.Then), After: get(m.After), Now: get(m.Now)}
		if c.Then.Is() || c.After.Is() || c.Now.Is() {
			out = append(out, c)
		}
	}
	for _, s := range Symptoms() {
		if sortOf(s.Name) != m.Sort || s.Unit == "" {
			continue
		}
		if s.Name == "crack width" {
			put(s.Name, widthOf)
			continue
		}
		put(s.Name, func(all []Finding) wood.Measure { return measureOf(all, s.Name) })
	}
	put("from the centre seam", func(all []Finding) wood.Measure {
		return detailOf(all, func(d Detail) wood.Measure { return d.FromSeam })
	})
	put("step between the edges", func(all []Finding) wood.Measure { return detailOf(all, func(d Detail) wood.Measure { return d.Step }) })
	return out
}

func measureOf(all []Finding, symptom string) wood.Measure {
	for _, d := range all {
		if d.Symptom == symptom {
			return d.Measure
		}
	}
	return wood.Measure{}
}

// widthOf is the width of a crack, which is noted as a finding of its own or
// beside the length.
func widthOf(all []Finding) wood.Measure {
	if m := measureOf(all, "crack width"); m.Is() {
		return m
	}
	return detailOf(all, func(d Detail) wood.Measure { return d.Width })
}

func detailOf(all []Finding, get func(Detail) wood.Measure) wood.Measure {
	for _, d := range all {
		if m := get(d.Detail); m.Is() {
			return m
		}
	}
	return wood.Measure{}
}
