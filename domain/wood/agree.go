package wood

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Agreement is what several signs tell together.
type Agreement struct {
	Agree       bool   // some air explains all the signs that dryness can explain
	RH          Span   // that air, in %; Low may be [Driest]. Zero unless they agree
	Told        int    // how many signs dryness can explain
	Unexplained []Sign // signs larger than dryness alone explains
	Text        string // the same in plain words
}

// told is a sign with the air it implies.
type told struct {
	Sign
	rh Span
}

// Agree compares the air that each sign implies. Signs that say nothing are left
// out. One sign alone agrees with itself; without any, Agree is false.
func Agree(signs []Sign, datum Air) Agreement {
	var a Agreement
	var explained []told
	var lines []string
	for _, s := range signs {
		largest := Largest(s, datum)
		rh, ok := Implied(s, datum)
		switch {
		case ok:
			explained = append(explained, told{s, rh})
		case largest > 0:
			a.Unexplained = append(a.Unexplained, s)
			lines = append(lines, fmt.Sprintf("%s than dry air alone explains: %s mm, and %s mm at most in air of %g %%, about the driest a heated room gets. Look for another cause.",
				larger[s.Kind], short(s.MM), short(largest), Driest))
		}
	}
	a.Told = len(explained)
	a.RH, a.Agree = common(explained)
	if a.Told > 0 {
		lines = append([]string{a.sentence(explained)}, lines...)
	}
	if len(lines) == 0 {
		lines = []string{"No measure here tells how dry the air was."}
	}
	a.Text = strings.Join(lines, " ")
	return a
}

var larger = map[SignKind]string{
	SignCrack:    "The crack is wider",
	SignFretEnds: "The fret ends stand further out",
	SignBinding:  "The binding gap is wider",
}

// common is the air that explains all the signs; false when there is none.
func common(signs []told) (Span, bool) {
	if len(signs) == 0 {
		return Span{}, false
	}
	s := Span{Low: Driest, High: 100}
	for _, t := range signs {
		s.Low, s.High = max(s.Low, t.rh.Low), min(s.High, t.rh.High)
		s.Likely += t.rh.Likely / float64(len(signs))
	}
	if s.Low > s.High {
		return Span{}, false
	}
	s.Likely = min(max(s.Likely, s.Low), s.High)
	return s, true
}

// sentence says what the explained signs tell.
func (a Agreement) sentence(signs []told) string {
	var names, each []string
	for _, t := range signs {
		names = append(names, t.name())
		each = append(each, fmt.Sprintf("%s: air %s", t.name(), humid(t.rh)))
	}
	if !a.Agree {
		return "The measures do not agree (" + strings.Join(each, "; ") + "). One of them has another cause, or the wood has not come to rest."
	}
	verb := "fit"
	switch {
	case len(signs) == 1 && signs[0].Kind != SignFretEnds:
		verb = "fits"
	case len(signs) == 2:
		verb = "both fit"
	case len(signs) > 2:
		verb = "all fit"
	}
	text := listed(names)
	return strings.ToUpper(text[:1]) + text[1:] + " " + verb + " air " + humid(a.RH) + "."
}

// name is the sign with its measure.
func (t told) name() string {
	switch t.Kind {
	case SignCrack:
		return "a " + short(t.MM) + " mm crack"
	case SignFretEnds:
		return "fret ends " + short(t.MM) + " mm"
	}
	return "a " + short(t.MM) + " mm binding gap"
}

// humid is a span of humidity in whole per cent.
func humid(rh Span) string {
	low, high := math.Round(rh.Low), math.Round(rh.High)
	switch {
	case rh.Low == Driest:
		return fmt.Sprintf("of %.0f %% or drier", high)
	case low == high:
		return fmt.Sprintf("near %.0f %%", high)
	}
	return fmt.Sprintf("near %.0f to %.0f %%", low, high)
}

// short is a measure with at most 2 decimals.
func short(mm float64) string {
	return strconv.FormatFloat(math.Round(mm*100)/100, 'f', -1, 64)
}

// listed joins names as prose: a, b and c.
func listed(names []string) string {
	if len(names) == 1 {
		return names[0]
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}
