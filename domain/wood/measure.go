// Package wood knows what a dry instrument measures: lengths, humidity,
// temperature and weight as a bench writes them.
package wood

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// Unit is a canonical unit of measure.
type Unit string

// The canonical units. Every measure is kept in one of them beside the words
// that were typed.
const (
	Millimetre Unit = "mm"
	Celsius    Unit = "C"
	Percent    Unit = "%" // relative humidity, or wood moisture
	Gram       Unit = "g"
)

// Known says whether there is a value. Not measured, could not reach and zero
// are three different answers.
type Known string

// The three answers.
const (
	NotMeasured   Known = "not_measured"
	CouldNotReach Known = "could_not_reach"
	Measured      Known = "measured"
)

// Measure is one measured value. The zero Measure is not measured.
type Measure struct {
	Known Known           `json:"known"`
	Typed string          `json:"typed,omitempty"` // as the bench wrote it: 3/64"
	Value decimal.Decimal `json:"value"`           // in Unit; 0 unless measured
	Unit  Unit            `json:"unit,omitempty"`
}

// Is reports whether there is a value.
func (m Measure) Is() bool { return m.Known == Measured }

// resolution is how many decimals of a canonical unit are shown: a hundredth of a
// millimetre is what a feeler tells apart, a tenth what the other meters do.
// Source: common practice, no source.
var resolution = map[Unit]int32{Millimetre: 2, Celsius: 1, Percent: 1, Gram: 1}

// Word is the unit as a sentence writes it.
func (u Unit) Word() string {
	if u == Celsius {
		return "°C"
	}
	return string(u)
}

// Rounded is the value as exactly as it is shown: what was typed in inches has
// decimals that nobody measured.
func (m Measure) Rounded() decimal.Decimal { return m.Value.Round(resolution[m.Unit]) }

// Text shows the measure in its canonical unit, rounded to what can be measured,
// or says that there is none.
func (m Measure) Text() string {
	switch m.Known {
	case Measured:
		return m.Rounded().String() + " " + m.Unit.Word()
	case CouldNotReach:
		return "could not reach"
	}
	return "not measured"
}

var written = regexp.MustCompile(`^([+-]?)\s*(?:(\d+)\s+)?(\d+(?:[.,]\d+)?|[.,]\d+)(?:\s*/\s*(\d+))?\s*([^\d\s]*)$`)

// factors turn a written unit into the canonical one. Inch to millimetre is
// exact by definition: 25.4 (International yard and pound agreement, 1959);
// ounce to gram likewise: 28.349523125.
var factors = map[Unit]map[string]string{
	Millimetre: {"": "1", "mm": "1", "cm": "10", "m": "1000", "in": "25.4", `"`: "25.4", "″": "25.4"},
	Percent:    {"": "1", "%": "1", "rh": "1", "%rh": "1"},
	Gram:       {"": "1", "g": "1", "kg": "1000", "oz": "28.349523125"},
	Celsius:    {"": "1", "c": "1", "°c": "1", "f": "", "°f": ""},
}

// ParseMeasure reads a measure as a bench writes it: 1.2 mm, 0.047 in, 3/64",
// 1 1/2 in, 45 %, 68 F, 2162 g. A bare number is taken in unit. The empty text
// is not measured; "?" is could not reach. Lengths keep 4 decimals.
func ParseMeasure(typed string, unit Unit) (Measure, error) {
	s := strings.TrimSpace(typed)
	switch s {
	case "":
		return Measure{Known: NotMeasured}, nil
	case "?":
		return Measure{Known: CouldNotReach, Typed: s}, nil
	}
	hint := map[Unit]string{Millimetre: `1.2 mm or 3/64"`, Percent: "45 %", Gram: "2162 g", Celsius: "21 C or 70 F"}[unit]
	p := written.FindStringSubmatch(s)
	if p == nil || len(s) > 24 {
		return Measure{}, domain.Invalidf("%q is no measure; write it like %s", typed, hint)
	}
	value, ok := number(p)
	if !ok {
		return Measure{}, domain.Invalidf("%q is no measure; write it like %s", typed, hint)
	}
	factor, ok := factors[unit][strings.ToLower(p[5])]
	if !ok {
		return Measure{}, domain.Invalidf("%s; write it like %s", wrongUnit(p[5], unit), hint)
	}
	if factor == "" { // Fahrenheit
		value.Sub(value, big.NewRat(32, 1)).Mul(value, big.NewRat(5, 9))
	} else {
		f, _ := new(big.Rat).SetString(factor)
		value.Mul(value, f)
	}
	return Measure{Known: Measured, Typed: s, Value: decimal.NewFromBigRat(value, 4), Unit: unit}, nil
}

// kinds says in words what is measured in a canonical unit.
var kinds = map[Unit]string{Millimetre: "a length", Percent: "a percentage", Gram: "a weight", Celsius: "a temperature"}

// wrongUnit says what is wanted, and what the written unit is for when it is for
// something else: 45 in typed for a humidity.
func wrongUnit(written string, want Unit) string {
	for _, other := range []Unit{Millimetre, Percent, Gram, Celsius} {
		if _, ok := factors[other][strings.ToLower(written)]; ok {
			return fmt.Sprintf("%s is wanted here, and %q is a unit of %s", kinds[want], written, kinds[other][2:])
		}
	}
	return fmt.Sprintf("%s is wanted here, and %q is no unit of it", kinds[want], written)
}

// number reads sign, whole part and (fraction of a) number: 1 3/64.
func number(p []string) (*big.Rat, bool) {
	value, ok := new(big.Rat).SetString(strings.Replace(p[3], ",", ".", 1))
	if !ok {
		return nil, false
	}
	if p[4] != "" {
		below, ok := new(big.Rat).SetString(p[4])
		if !ok || below.Sign() == 0 || strings.ContainsAny(p[3], ".,") {
			return nil, false
		}
		value.Quo(value, below)
	}
	if p[2] != "" {
		if p[4] == "" {
			return nil, false
		}
		whole, _ := new(big.Rat).SetString(p[2])
		value.Add(value, whole)
	}
	if p[1] == "-" {
		value.Neg(value)
	}
	return value, true
}
