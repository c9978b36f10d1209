package wood

import (
	"strings"
	"testing"

	"winterbench/domain"
)

// Source: the inch is 25.4 mm and the avoirdupois ounce 28.349523125 g by
// definition, F = C x 9/5 + 32; the rest is arithmetic. Halves go away from zero:
// 0.0127 mm is half a thousandth of an inch.
func TestIn(t *testing.T) {
	us := Units{Length: "in", Temperature: "F", Weight: "oz"}
	for _, c := range []struct {
		typed           string
		unit            Unit
		want, canonical string
	}{
		{"1.2 mm", Millimetre, "0.047 in", "1.2 mm"},
		{`3/64"`, Millimetre, "0.047 in", "1.19 mm"},
		{"1.5 in", Millimetre, "1.500 in", "38.1 mm"},
		{"0.0127", Millimetre, "0.001 in", "0.01 mm"},
		{"-0.0127", Millimetre, "-0.001 in", "-0.01 mm"},
		{"0.0126", Millimetre, "0.000 in", "0.01 mm"},
		{"-0.8", Millimetre, "-0.031 in", "-0.8 mm"},
		{"21 C", Celsius, "69.8 °F", "21 °C"},
		{"70 F", Celsius, "70 °F", "21.1 °C"},
		{"-40 F", Celsius, "-40 °F", "-40 °C"},
		{"2162 g", Gram, "76.3 oz", "2162 g"},
		{"1 oz", Gram, "1 oz", "28.3 g"},
		{"45 %", Percent, "45 %", "45 %"},
		{"", Millimetre, "not measured", "not measured"},
		{"?", Celsius, "could not reach", "could not reach"},
	} {
		m, err := ParseMeasure(c.typed, c.unit)
		if err != nil {
			t.Fatal(err)
		}
		if got := m.In(us); got != c.want {
			t.Errorf("%q in inches, F and ounces = %q, want %q", c.typed, got, c.want)
		}
		for _, u := range []Units{{}, {Length: "mm", Temperature: "C", Weight: "g"}} {
			if got := m.In(u); got != c.canonical {
				t.Errorf("%q in %+v = %q, want %q", c.typed, u, got, c.canonical)
			}
		}
	}
}

func TestParseMeasureTellsWhatIsWanted(t *testing.T) {
	for _, c := range []struct {
		typed string
		unit  Unit
		want  string
	}{
		{"45 in", Percent, `a percentage is wanted here, and "in" is a unit of length; write it like 45 %`},
		{`45"`, Percent, "a percentage is wanted here"},
		{"45 %", Millimetre, `a length is wanted here, and "%" is a unit of percentage`},
		{"70 F", Gram, `a weight is wanted here, and "F" is a unit of temperature`},
		{"2 kg", Celsius, `a temperature is wanted here, and "kg" is a unit of weight`},
		{"2 miles", Millimetre, `a length is wanted here, and "miles" is no unit of it; write it like 1.2 mm`},
	} {
		_, err := ParseMeasure(c.typed, c.unit)
		if domain.KindOf(err) != domain.Invalid || !strings.HasPrefix(domain.TextOf(err), c.want) {
			t.Errorf("ParseMeasure(%q, %s): %v, want %q", c.typed, c.unit, err, c.want)
		}
	}
}
