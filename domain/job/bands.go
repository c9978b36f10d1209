package job

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// Ungraded is the grade of a finding that nobody graded yet. It is never kept:
// a survey takes the band's grade in its place, see [Survey.Settle].
const Ungraded Grade = -1

// CaseAir is the name under which the air in the case has its band. It is a
// condition of the survey and no finding.
const CaseAir = "case air"

// Band turns a measured value into a grade from fine (0) to stop (4).
//
// A rising band worsens as the value grows, a falling one as it sinks. A value
// on a limit counts as the table is written at the bench: in a rising band the
// first three limits belong to the worse grade (0.10 mm of fret end is
// moderate), a first limit of 0 is fine, and only beyond the last limit is it
// stop; in a falling band each limit belongs to the better grade (40 % in the
// case is fine).
type Band struct {
	Symptom string             `json:"symptom"` // one of Symptoms, or CaseAir
	Unit    wood.Unit          `json:"unit"`
	Rising  bool               `json:"rising"`
	Edges   [4]decimal.Decimal `json:"edges"`          // between the grades 0|1, 1|2, 2|3, 3|4, in Unit
	Over    []decimal.Decimal  `json:"over,omitempty"` // of a falling band: beyond these it worsens upwards too; at most 4
}

// Bands are the bands of a shop. The empty list means the usual ones.
type Bands []Band

// UsualBands lists the bands that a shop starts with, a copy for the caller.
func UsualBands() Bands {
	out := slices.Clone(usualBands)
	for i := range out {
		out[i].Over = slices.Clone(out[i].Over)
	}
	return out
}

// usualBands are read once. Source: common practice, no source, unless a line
// says otherwise.
var usualBands = Bands{
	// A dome of 7.6 to 9.1 m radius over 380 to 400 mm stands 2.0 to 2.6 mm
	// high at its centre: chord² / (8 × radius).
	falling("top arch behind bridge", wood.Millimetre, "1.5", "0.5", "-0.5", "-1.5"),
	// A small dip under the pull of the strings is usual on old flat tops.
	falling("top arch in front of bridge", wood.Millimetre, "0", "-0.5", "-1", "-2"),
	rising("crack length", wood.Millimetre, "0", "30", "80", "200"),
	rising("crack width", wood.Millimetre, "0", "0.1", "0.3", "1.0"),
	// Beyond 0.30 mm a side is more than dryness from 45 % explains, by the
	// shrinkage of a rosewood board 57 mm wide (Wood Handbook, FPL-GTR-190).
	rising("fret ends proud", wood.Millimetre, "0.05", "0.10", "0.20", "0.30"),
	rising("binding gap", wood.Millimetre, "0", "0.2", "0.5", "1.5"),
	rising("heel gap", wood.Millimetre, "0", "0.1", "0.2", "0.4"),
	rising("bridge lift", wood.Millimetre, "0", "2", "5", "10"),
	// Too much relief is no sign of dryness; the limits upwards are common
	// practice, no source.
	falling("relief", wood.Millimetre, "0.10", "0.05", "0", "-0.15", "0.30", "0.50", "0.80"),
	// Below 25 % even briefly can split layered woods (a published standard
	// for conservation environments); above 60 % instruments swell, and long
	// stays above 65 % grow mould (reCollections, Heritage Collections
	// Council, Australia).
	falling(CaseAir, wood.Percent, "40", "35", "30", "25", "55", "60", "65"),
}

func rising(symptom string, unit wood.Unit, edges ...string) Band {
	b := falling(symptom, unit, edges...)
	b.Rising = true
	return b
}

// falling reads four limits; more are the limits upwards.
func falling(symptom string, unit wood.Unit, edges ...string) Band {
	b := Band{Symptom: symptom, Unit: unit}
	for i, e := range edges {
		limit := decimal.RequireFromString(e)
		if i < len(b.Edges) {
			b.Edges[i] = limit
			continue
		}
		b.Over = append(b.Over, limit)
	}
	return b
}

// Of returns the band of a symptom and whether it has one.
func (b Bands) Of(symptom string) (Band, bool) {
	for _, one := range b {
		if one.Symptom == symptom {
			return one, true
		}
	}
	return Band{}, false
}

// Complete returns the shop's bands with the usual ones for all that it does
// not name, in the usual order. What is measured, in which unit and which way
// is worse are facts of the symptom and come from the usual band.
func (b Bands) Complete() Bands {
	out := UsualBands()
	for i := range out {
		out[i], _ = b.or(out[i].Symptom)
	}
	return out
}

// or is Of with the usual band for one that b does not name.
func (b Bands) or(symptom string) (Band, bool) {
	band, ok := usualBands.Of(symptom)
	if own, has := b.Of(symptom); ok && has {
		band.Edges, band.Over = own.Edges, own.Over
	}
	return band, ok
}

// Check returns an Invalid error that names each wrong field, such as
// bands[4].edges.
func (b Bands) Check() error {
	f := domain.Fields{}
	seen := map[string]bool{}
	for i, one := range b {
		at := fmt.Sprintf("bands[%d].", i)
		kin, known := usualBands.Of(one.Symptom)
		switch {
		case !known:
			f.Add(at+"symptom", "%q has no band", one.Symptom)
			continue
		case seen[one.Symptom]:
			f.Add(at+"symptom", "%s has a band already", one.Symptom)
		}
		seen[one.Symptom] = true
		if one.Unit != "" && one.Unit != kin.Unit {
			f.Add(at+"unit", "is %s, %s is measured in %s", one.Unit, one.Symptom, kin.Unit)
		}
		one.Rising = kin.Rising
		one.checkEdges(f, at)
	}
	return f.Err()
}

// widest is how far from 0 a limit may lie, in mm or %.
var widest = decimal.NewFromInt(2000)

func (b Band) checkEdges(f domain.Fields, at string) {
	for i := 1; i < len(b.Edges); i++ {
		if b.Rising && !b.Edges[i].GreaterThan(b.Edges[i-1]) {
			f.Add(at+"edges", "must grow from limit to limit: %s is not above %s", b.Edges[i], b.Edges[i-1])
		}
		if !b.Rising && !b.Edges[i].LessThan(b.Edges[i-1]) {
			f.Add(at+"edges", "must sink from limit to limit: %s is not below %s", b.Edges[i], b.Edges[i-1])
		}
	}
	if b.Rising && b.Edges[0].Sign() < 0 {
		f.Add(at+"edges", "must not be below 0")
	}
	for _, e := range append(b.Edges[:], b.Over...) {
		if e.Abs().GreaterThan(widest) {
			f.Add(at+"edges", "%s is out of reach; limits lie within %s either way", e, widest)
		}
	}
	switch {
	case b.Rising && len(b.Over) > 0:
		f.Add(at+"over", "%s worsens in one direction only", b.Symptom)
	case len(b.Over) > len(b.Edges):
		f.Add(at+"over", "must be at most %d limits", len(b.Edges))
	}
	last := b.Edges[0]
	for _, e := range b.Over {
		if !e.GreaterThan(last) {
			f.Add(at+"over", "must grow from limit to limit: %s is not above %s", e, last)
		}
		last = e
	}
}

// Grade returns the grade of a value in the band's unit.
func (b Band) Grade(value decimal.Decimal) Grade {
	g := Fine
	for i := range b.Edges {
		if b.past(i, value) {
			g = Grade(i + 1)
		}
	}
	for i, e := range b.Over {
		if value.GreaterThan(e) {
			g = Grade(i + 1)
		}
	}
	return g
}

// past reports whether a value is beyond limit i, see [Band] for values on it.
func (b Band) past(i int, value decimal.Decimal) bool {
	switch {
	case !b.Rising:
		return value.LessThan(b.Edges[i])
	case i == len(b.Edges)-1 || b.Edges[i].IsZero():
		return value.GreaterThan(b.Edges[i])
	}
	return value.GreaterThanOrEqual(b.Edges[i])
}

// Range says which values the band grades so: "0.10 to 0.20".
func (b Band) Range(g Grade) string {
	low := func(i int) string { return b.text(b.Edges[i]) }
	switch {
	case g < Fine || g > Stop:
		return ""
	case b.Rising && g == Fine && b.Edges[0].IsZero():
		return "0"
	case b.Rising && g == Fine:
		return "below " + low(0)
	case b.Rising && g == Stop:
		return "over " + low(3)
	case b.Rising && b.Edges[g-1].IsZero():
		return "below " + low(int(g))
	case !b.Rising && g == Fine && len(b.Over) > 0:
		return b.span(b.Edges[0], b.Over[0])
	case !b.Rising && g == Fine:
		return low(0) + " or more"
	case !b.Rising && g == Stop:
		return "below " + low(3)
	}
	return b.span(b.Edges[g-1], b.Edges[g])
}

// span writes two limits as they are said: from the one nearer to 0, and across
// 0 from below.
func (b Band) span(one, other decimal.Decimal) string {
	if c := one.Abs().Cmp(other.Abs()); c > 0 || (c == 0 && one.GreaterThan(other)) {
		one, other = other, one
	}
	return b.text(one) + " to " + b.text(other)
}

// rangeOf is Range for a value, which may lie beyond the limits upwards.
func (b Band) rangeOf(value decimal.Decimal, g Grade) string {
	n := int(g) - 1 // the limit passed last
	if n < 0 || n >= len(b.Over) || !value.GreaterThan(b.Over[n]) {
		return b.Range(g)
	}
	if n == len(b.Over)-1 {
		return "over " + b.text(b.Over[n])
	}
	return b.span(b.Over[n], b.Over[n+1])
}

// text writes a limit with as many decimals as the finest limit has.
func (b Band) text(limit decimal.Decimal) string {
	places := int32(0)
	for _, e := range append(b.Edges[:], b.Over...) {
		places = max(places, decimals(e))
	}
	return limit.StringFixed(places)
}

// decimals counts the decimals that a number needs, at most 4.
func decimals(d decimal.Decimal) int32 {
	for n := int32(0); n < 4; n++ {
		if d.Equal(d.Truncate(n)) {
			return n
		}
	}
	return 4
}

// GradeOf grades a measure by its band: the grade, why in words ("0.15 mm a
// side is 0.10 to 0.20: moderate"), and false when there is no band or no value.
// The usual band stands in for one that b does not name.
func (b Bands) GradeOf(symptom string, m wood.Measure) (Grade, string, bool) {
	band, ok := b.or(symptom)
	if !ok || !m.Is() {
		return Ungraded, "", false
	}
	g := band.Grade(m.Value)
	shown := m.Text()
	if symptom == "fret ends proud" {
		shown += " a side"
	}
	return g, fmt.Sprintf("%s is %s: %s", shown, band.rangeOf(m.Value, g), g), true
}
