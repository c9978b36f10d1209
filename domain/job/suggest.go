package job

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// Suggest grades a finding: the worst of what its measure says by the band and
// of what its detail says. It returns the grade, why in words, and false when
// neither says anything; b empty means the usual bands.
//
// Source of the rules beside the bands: common practice, no source.
func Suggest(f Finding, b Bands) (Grade, string, bool) {
	w := worst{grade: Ungraded}
	w.band(b, f.Symptom, f.Measure)
	switch f.Symptom {
	case "crack length", "crack width":
		return w.crack(f, b)
	case "top arch behind bridge", "top arch in front of bridge":
		w.arch(f)
	case "fret ends proud":
		w.feel(f.Detail.Feel)
	case "binding gap":
		w.when(f.Detail.Closes == "no", Severe, "does not reach under the thumb, so the binding is too short")
	case "heel gap":
		w.when(f.Detail.Moves == "yes", Stop, "moves when the neck is flexed")
	case "bridge lift":
		w.bridge(f, b)
	}
	return w.grade, w.why, w.grade > Ungraded
}

// Suggest grades a finding as [Suggest] does, and by what else the survey found:
// a sunk top with a loose brace is about to give way.
//
// Source: common practice, no source.
func (s Survey) Suggest(f Finding, b Bands) (Grade, string, bool) {
	g, why, ok := Suggest(f, b)
	if f.sunkTop() && g < Stop && slices.ContainsFunc(s.Findings, Finding.looseBrace) {
		return Stop, "sunk " + f.Measure.Text() + " with a loose brace: " + Stop.String(), true
	}
	return g, why, ok
}

// sunkTop reports a top that lies below the straightedge.
func (d Finding) sunkTop() bool {
	top := d.Symptom == "top arch behind bridge" || d.Symptom == "top arch in front of bridge"
	return top && d.Measure.Is() && d.Measure.Value.Sign() < 0
}

// looseBrace reports a brace that was found loose: graded above fine, or not
// graded yet and measured or named.
func (d Finding) looseBrace() bool {
	if d.Symptom != "loose brace" || d.Grade > Fine {
		return d.Symptom == "loose brace"
	}
	return d.Grade == Ungraded && (d.Detail.Brace != "" || d.Measure.Is() && d.Measure.Value.Sign() > 0)
}

// worst keeps the worst grade met and why.
type worst struct {
	grade Grade
	why   string
}

func (w *worst) when(is bool, g Grade, why string) {
	if is && g > w.grade {
		w.grade, w.why = g, why+": "+g.String()
	}
}

func (w *worst) band(b Bands, symptom string, m wood.Measure) {
	if g, why, ok := b.GradeOf(symptom, m); ok && g > w.grade {
		w.grade, w.why = g, why
	}
}

// stepLimit is the step between the edges of a crack, in mm, beyond which
// playing on tears it. Source: common practice, no source.
var stepLimit = decimal.RequireFromString("0.3")

// crack grades a crack. A crack of the finish alone is fine whatever its
// length; one that nobody measured is at least slight once it is described.
func (w worst) crack(f Finding, b Bands) (Grade, string, bool) {
	d := f.Detail
	if f.FinishOnly() {
		return Fine, "the finish is cracked, the wood is not: fine", true
	}
	w.band(b, "crack width", d.Width)
	if d.Step.Is() {
		w.when(d.Step.Value.GreaterThan(stepLimit), Stop, fmt.Sprintf("one edge stands %s higher, over %s mm", d.Step.Text(), stepLimit))
	}
	for _, r := range d.Reaches {
		w.when(r == "bridge", Stop, "runs into the bridge")
		w.when(r == "brace", Stop, "runs through a brace")
	}
	w.when(d.Plates > 1, Stop, fmt.Sprintf("runs through %d plates", d.Plates))
	w.when(d.Kind == "hairline", Slight, "a hairline")
	w.when(d.Closes == "yes", Slight, "shuts under the thumb")
	return w.grade, w.why, w.grade > Ungraded
}

// arch adds that a sunk top which ripples is about to give way. What a loose
// brace adds is another finding's, see [Survey.Suggest].
func (w *worst) arch(f Finding) {
	w.when(f.sunkTop() && f.Detail.Ripple == "yes", Stop, "sunk "+f.Measure.Text()+" with ripple")
}

// feel grades how the fret ends feel; the five words go with the five grades.
func (w *worst) feel(word string) {
	for i, one := range Feels() {
		w.when(one == word, Grade(i), "feels: "+word)
	}
}

// bridge grades the wings too. Lifted by a wing and along its back, both by the
// moderate limit, it peels off under the strings.
func (w *worst) bridge(f Finding, b Bands) {
	d := f.Detail
	for _, depth := range d.Wings {
		w.band(b, f.Symptom, depth)
	}
	band, _ := b.or(f.Symptom)
	deep := func(m wood.Measure) bool { return m.Is() && m.Value.GreaterThanOrEqual(band.Edges[1]) }
	w.when(deep(d.Wings[1]) && (deep(d.Wings[0]) || deep(d.Wings[2])), Stop, "lifts along its back and at a wing")
}

// Graded reports whether the finding has a grade of its own. A grade above fine
// was given; fine counts where something was measured, felt or looked at. Not
// measured and could not reach say nothing, and so they are never fine.
func (d Finding) Graded() bool {
	switch {
	case d.Grade == Ungraded:
		return false
	case d.Grade > Fine || d.Measure.Is():
		return true
	case d.Measure.Known == wood.CouldNotReach:
		return false
	}
	if unit, known := SymptomUnit(d.Symptom); known && unit == "" {
		return true
	}
	_, _, ok := Suggest(d, nil)
	return ok
}

// Settle gives each finding without a grade the one that the bands suggest. A
// finding that says nothing, not measured or out of reach, stays without; one
// that was looked at and has no band needs the surveyor's grade, which the
// returned Invalid error names by findings[i].grade.
func (s *Survey) Settle(b Bands) error {
	f, before := domain.Fields{}, Survey{Findings: slices.Clone(s.Findings)}
	for i := range s.Findings {
		d := &s.Findings[i]
		if d.Grade != Ungraded {
			continue
		}
		d.Grade = Fine // how a row without a grade is kept, see Graded
		if g, _, ok := before.Suggest(*d, b); ok {
			d.Grade = g
			continue
		}
		if d.Graded() {
			f.Add(fmt.Sprintf("findings[%d].grade", i), "choose a grade; there is no band for %s", d.Symptom)
		}
	}
	return f.Err()
}

// CheckAgainst returns an Invalid error that names each finding whose grade is
// not the suggested one and that does not say why in its note.
func (s Survey) CheckAgainst(b Bands) error {
	f := domain.Fields{}
	for i, d := range s.Findings {
		g, why, ok := s.Suggest(d, b)
		if ok && d.Graded() && d.Grade != g && d.Note == "" {
			f.Add(fmt.Sprintf("findings[%d].note", i), "say why the grade differs from the band: %s", why)
		}
	}
	return f.Err()
}

// CaseGrade grades the air in the case by its band: the grade, why in words,
// and false when it was not read. b empty means the usual bands.
func (s Survey) CaseGrade(b Bands) (Grade, string, bool) { return b.GradeOf(CaseAir, s.CaseRH) }

// Worst is the overall grade by the usual bands, see [Survey.WorstBy].
func (s Survey) Worst() Grade { return s.WorstBy(nil) }

// WorstBy is the overall grade: the worst single finding or the air in the
// case, never an average. What was not measured or out of reach has no part in
// it. Source: common practice, no source.
func (s Survey) WorstBy(b Bands) Grade {
	worst := Fine
	for _, d := range s.Findings {
		if d.Graded() {
			worst = max(worst, d.Grade)
		}
	}
	if g, _, ok := s.CaseGrade(b); ok {
		worst = max(worst, g)
	}
	return worst
}

// Unreached lists the findings that could not be reached and have no grade: the
// survey does not know them.
func (s Survey) Unreached() []Finding {
	var out []Finding
	for _, d := range s.Findings {
		if d.Measure.Known == wood.CouldNotReach && !d.Graded() {
			out = append(out, d)
		}
	}
	return out
}
