package job

import (
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain/wood"
)

// samePlace is how far apart, in mm, two cracks may be measured from the centre
// seam and still be taken for one. Source: common practice, no source.
var samePlace = decimal.NewFromInt(25)

// oneOfIt is why a sort of finding that is everywhere lies at the same place.
const oneOfIt = "an instrument has one of it"

// Fit says how sure it is that two findings lie at the same place.
type Fit string

// The fits.
const (
	Same    Fit = "the same place"
	Perhaps Fit = "perhaps the same place"
)

// sort groups the symptoms that describe one thing, so that a crack measured
// in length then and in width now is one crack.
func sortOf(symptom string) string {
	switch symptom {
	case "crack length", "crack width":
		return "crack"
	case "action bass", "action treble", "relief", "body-joint hump", "buzz":
		return "set-up"
	case "top arch behind bridge", "top arch in front of bridge":
		return "top arch"
	}
	return symptom
}

// everywhere reports whether a sort of finding has its place by its name: there
// is one bridge and one set of frets.
func everywhere(sort string) bool {
	switch sort {
	case "set-up", "fret ends proud", "heel gap", "bridge lift":
		return true
	}
	return false
}

// signOnly reports whether a sort of finding is a sign of the air and no joint
// that could come open: the top sinks again whenever it dries again.
func signOnly(sort string) bool { return sort == "top arch" || sort == "back arch" }

// fitOf compares the places of two findings of one sort. ok is false when they
// are two places; why says what is known of it.
func fitOf(a, b Finding) (fit Fit, why string, ok bool) {
	if sortOf(a.Symptom) != sortOf(b.Symptom) {
		return "", "", false
	}
	if everywhere(sortOf(a.Symptom)) {
		return Same, oneOfIt, true
	}
	placeA, placeB := spot(a), spot(b)
	if placeA != "" && placeB != "" && placeA != placeB {
		return "", "", false
	}
	sideA, sideB := sideOf(a), sideOf(b)
	sided := sideA != "" && sideB != ""
	if sided && sideA != sideB && sideA != "both" && sideB != "both" {
		return "", "", false
	}
	apart, measured := apart(a.Detail.FromSeam, b.Detail.FromSeam, sided)
	if measured && apart.GreaterThan(samePlace) {
		return "", "", false
	}
	switch {
	case placeA == "" || placeB == "":
		return Perhaps, "the place was not noted " + unnoted(placeB == "", placeA == ""), true
	case (sideA == "") != (sideB == ""):
		return Perhaps, "the side was not noted " + unnoted(sideB == "", sideA == ""), true
	case measured:
		return Same, apart.String() + " mm apart, measured from the centre seam", true
	}
	return Same, "by its name; nobody measured from the centre seam both times", true
}

// oneThing reports whether two findings of one survey describe the same thing:
// there a side or a distance that was noted once holds for both.
func oneThing(a, b Finding) bool {
	fit, _, ok := fitOf(a, b)
	return ok && (fit == Same || spot(a) != "" && spot(a) == spot(b))
}

// spot is the place as words that compare: capitals and spaces do not count.
func spot(d Finding) string {
	if d.Symptom == "loose brace" && d.Detail.Brace != "" {
		return strings.Join(strings.Fields(strings.ToLower(d.Detail.Brace)), " ")
	}
	return strings.Join(strings.Fields(strings.ToLower(d.Place)), " ")
}

// sideOf is the side noted, or the one that the place names.
func sideOf(d Finding) string {
	if d.Detail.Side != "" {
		return d.Detail.Side
	}
	for _, word := range strings.FieldsFunc(strings.ToLower(d.Place), func(r rune) bool { return r == ' ' || r == ',' }) {
		if word == "bass" || word == "treble" {
			return word
		}
	}
	return ""
}

// apart is how far two distances from the seam lie apart. On sides that are
// known to agree a minus sign says nothing; else it is the other side.
func apart(a, b wood.Measure, sided bool) (decimal.Decimal, bool) {
	if !a.Is() || !b.Is() {
		return decimal.Zero, false
	}
	if sided {
		return a.Value.Abs().Sub(b.Value.Abs()).Abs(), true
	}
	return a.Value.Sub(b.Value).Abs(), true
}

func unnoted(then, now bool) string {
	switch {
	case then && now:
		return "either time"
	case then:
		return "then"
	}
	return "now"
}
