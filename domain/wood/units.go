package wood

import (
	"github.com/shopspring/decimal"
)

// Units is how a shop likes its measures shown. The zero Units shows the canonical
// ones. Humidity is always in per cent.
type Units struct {
	Length      string `json:"length,omitempty"`      // mm, the default, or in
	Temperature string `json:"temperature,omitempty"` // C, the default, or F
	Weight      string `json:"weight,omitempty"`      // g, the default, or oz
}

var (
	inch  = decimal.RequireFromString("25.4")
	ounce = decimal.RequireFromString("28.349523125")
)

// In shows the measure in the shop's units: inches with 3 decimals, Fahrenheit and
// ounces with at most 1, halves rounded away from zero. In its canonical unit, and
// without a value, it is as [Measure.Text] has it.
func (m Measure) In(u Units) string {
	switch {
	case !m.Is():
	case m.Unit == Millimetre && u.Length == "in":
		return m.Value.DivRound(inch, 16).StringFixed(3) + " in"
	case m.Unit == Celsius && u.Temperature == "F":
		f := m.Value.Mul(decimal.NewFromInt(9)).DivRound(decimal.NewFromInt(5), 16).Add(decimal.NewFromInt(32))
		return f.Round(1).String() + " °F"
	case m.Unit == Gram && u.Weight == "oz":
		return m.Value.DivRound(ounce, 16).Round(1).String() + " oz"
	}
	return m.Text()
}
