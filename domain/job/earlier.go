package job

import (
	"slices"

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

// AsItCame is the survey that shows how an instrument came in: the newest made
// before the hold, else the oldest.
func AsItCame(newestFirst []Survey) *Survey {
	for i := range newestFirst {
		if newestFirst[i].Moment == "before hold" {
			return &newestFirst[i]
		}
	}
	if n := len(newestFirst); n > 0 {
		return &newestFirst[n-1]
	}
	return nil
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
