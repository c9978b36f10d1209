package wood

import (
	"testing"

	"winterbench/domain"
)

// Source of the conversions: the inch is 25.4 mm and the avoirdupois ounce
// 28.349523125 g by definition; C = (F - 32) x 5/9. The rest is arithmetic.
func TestParseMeasure(t *testing.T) {
	for _, c := range []struct {
		typed string
		unit  Unit
		want  string
	}{
		{"1.2 mm", Millimetre, "1.2 mm"},
		{"-0,8", Millimetre, "-0.8 mm"},
		{"0.047 in", Millimetre, "1.19 mm"},
		{`3/64"`, Millimetre, "1.19 mm"},
		{`1 1/2 in`, Millimetre, "38.1 mm"},
		{"6 cm", Millimetre, "60 mm"},
		{"45 %", Percent, "45 %"},
		{"68 F", Celsius, "20 °C"},
		{"-40 °F", Celsius, "-40 °C"},
		{"2.162 kg", Gram, "2162 g"},
		{"1 oz", Gram, "28.3 g"},
		{"0", Millimetre, "0 mm"},
		{"", Millimetre, "not measured"},
		{"?", Millimetre, "could not reach"},
	} {
		got, err := ParseMeasure(c.typed, c.unit)
		if err != nil || got.Text() != c.want {
			t.Errorf("ParseMeasure(%q, %s) = %q, %v; want %q", c.typed, c.unit, got.Text(), err, c.want)
		}
	}
}

// What is shown is rounded; what is kept is not. Source: the definitions above.
func TestShownIsRoundedKeptIsNot(t *testing.T) {
	for typed, c := range map[string]struct {
		unit       Unit
		kept, text string
	}{
		"0.047 in": {Millimetre, "1.1938", "1.19 mm"}, "0.0005 in": {Millimetre, "0.0127", "0.01 mm"}, "0.0001 in": {Millimetre, "0.0025", "0 mm"},
		"70 F": {Celsius, "21.1111", "21.1 °C"}, "1 oz": {Gram, "28.3495", "28.3 g"}, "45.04 %": {Percent, "45.04", "45 %"},
	} {
		m, err := ParseMeasure(typed, c.unit)
		if err != nil || m.Value.String() != c.kept || m.Text() != c.text {
			t.Errorf("%s: kept %s, shown %s, %v; want %s and %s", typed, m.Value, m.Text(), err, c.kept, c.text)
		}
	}
}

func TestParseMeasureRefuses(t *testing.T) {
	for _, typed := range []string{"abc", "3/0 in", "1.5/2 in", "4 5", "1.2 kg", "1e3", "--1", "NaN", "12345678901234567890123456789 mm", "1/2/3"} {
		if m, err := ParseMeasure(typed, Millimetre); domain.KindOf(err) != domain.Invalid {
			t.Errorf("ParseMeasure(%q) = %v, %v; want an invalid error", typed, m, err)
		}
	}
}

func FuzzParseMeasure(f *testing.F) {
	f.Add(`1 3/64"`)
	f.Fuzz(func(t *testing.T, typed string) {
		m, err := ParseMeasure(typed, Millimetre)
		if err != nil || !m.Is() {
			return
		}
		again, err := ParseMeasure(m.Text(), Millimetre)
		if err == nil && !again.Value.Equal(m.Rounded()) {
			t.Errorf("%q reads as %s, which reads as %s", typed, m.Text(), again.Text())
		}
	})
}
