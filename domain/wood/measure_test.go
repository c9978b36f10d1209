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
		{"0.047 in", Millimetre, "1.1938 mm"},
		{`3/64"`, Millimetre, "1.1906 mm"},
		{`1 1/2 in`, Millimetre, "38.1 mm"},
		{"6 cm", Millimetre, "60 mm"},
		{"45 %", Percent, "45 %"},
		{"68 F", Celsius, "20 C"},
		{"-40 °F", Celsius, "-40 C"},
		{"2.162 kg", Gram, "2162 g"},
		{"1 oz", Gram, "28.3495 g"},
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
		if err == nil && !again.Value.Equal(m.Value) {
			t.Errorf("%q reads as %s, which reads as %s", typed, m.Text(), again.Text())
		}
	})
}
