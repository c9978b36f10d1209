package wood

import (
	"math"
	"strings"
	"testing"
)

// Source: testdata/psychro.csv: ASHRAE table 3, IAPWS releases, a JPL report and an
// ice table, all read; IAPWS and Murphy-Koop computed. The Magnus curves are meant
// for -45 to 60 C, so the row at 100 C is out of range; below -20 C the supercooled
// reference itself is less sure and the bound wider.
func TestSaturationAgainstPublishedPressures(t *testing.T) {
	published, largest := 0, 0.0
	for _, r := range rows(t, "psychro.csv") {
		celsius, want := r.num(t, "t_c"), r.num(t, "pa")
		if celsius > 60 {
			continue
		}
		got, bound := SaturationWater(celsius), 0.004
		if r["phase"] == "ice" {
			got = SaturationIce(celsius)
		} else if celsius < -20 {
			bound = 0.006
		}
		if off := math.Abs(got/want - 1); !(off <= bound) {
			t.Errorf("%s at %g C: %.3f Pa, want %g within %.1f %% (%s)", r["phase"], celsius, got, want, bound*100, r["source"])
		} else if r["kind"] == "published" {
			published++
			largest = max(largest, off)
		}
	}
	t.Logf("%d published pressures; largest difference %.2f %%", published, largest*100)
	if published < 35 {
		t.Errorf("only %d published pressures checked", published)
	}
}

// Source: testdata/psychro_examples.csv, computed: the Magnus result to the last
// digit, the IAPWS reference within 0.06 C and 0.06 % RH.
func TestAirAgainstExamples(t *testing.T) {
	for _, r := range rows(t, "psychro_examples.csv") {
		var got float64
		switch r["kind"] {
		case "dew_point":
			got = Air{r.num(t, "rh_in_pct"), r.num(t, "t_in_c")}.DewPoint()
		case "frost_point":
			got = Air{r.num(t, "rh_in_pct"), r.num(t, "t_in_c")}.FrostPoint()
		default:
			got = HeatedIndoor(r.num(t, "t_out_c"), r.num(t, "rh_out_pct"), r.num(t, "t_in_c"))
		}
		if !near(got, r.num(t, "magnus"), 0.00051) || !near(got, r.num(t, "reference"), 0.06) {
			t.Errorf("%s %v: %.4f, want %s", r["kind"], r, got, r["magnus"])
		}
	}
}

// Source: ASHRAE Handbook Fundamentals 2017 ch. 1 example 1 (read): 40 C dry bulb,
// humidity ratio 0.0065, 14 %, dew point 7 C, all rounded as printed.
func TestDewPointAgainstASHRAE(t *testing.T) {
	if got := (Air{14, 40}).DewPoint(); !near(got, 7, 0.5) {
		t.Errorf("dew point %.2f, want 7 as printed", got)
	}
}

// Source: ideal gas law with the vapour pressure of ASHRAE table 3 at 25 C, 3169.7
// Pa: 3169.7/(461.5 x 298.15) = 23.04 g/m3.
func TestAbsoluteHumidity(t *testing.T) {
	if got := (Air{100, 25}).AbsoluteHumidity(); !near(got, 23.04, 0.08) {
		t.Errorf("saturated air at 25 C holds %.3f g/m3, want 23.04", got)
	}
}

// Source: typical years of three stations (testdata/climate.csv). That heated
// rooms in northern North America are dry from October to April is common practice,
// no source; October and April are left loose as the stations differ there.
func TestHeatedIndoorByMonth(t *testing.T) {
	dry, damp := 0, 0
	for _, r := range rows(t, "climate.csv") {
		dew := r.num(t, "mean_dew_point_c")
		got := HeatedIndoor(dew, 100, 21) // at the dew point the air is saturated
		if !near(got, r.num(t, "indoor_rh_21c_computed_pct"), 0.06) {
			t.Errorf("%s %s: %.2f %%, want %s", r["station"], r["month"], got, r["indoor_rh_21c_computed_pct"])
		}
		switch r["month"] {
		case "Nov", "Dec", "Jan", "Feb", "Mar":
			if dry++; !(got < 35) {
				t.Errorf("%s %s: %.1f %% indoors, want under 35", r["station"], r["month"], got)
			}
		case "May", "Jun", "Jul", "Aug", "Sep":
			if damp++; !(got > 35) {
				t.Errorf("%s %s: %.1f %% indoors, want over 35", r["station"], r["month"], got)
			}
		}
	}
	if dry != 15 || damp != 15 {
		t.Errorf("%d dry and %d damp months checked, want 15 each", dry, damp)
	}
}

// A consistency check: the winter sums of the trade notes are computed ones.
func TestWinterSums(t *testing.T) {
	for _, c := range []struct{ out, rh, in, want float64 }{
		{-20, 80, 21, 4}, {-10, 80, 21, 9}, {-5, 80, 21, 14}, {0, 80, 21, 20}, {5, 80, 21, 28}, {10, 80, 21, 40}, {24, 60, 21, 72},
	} {
		if got := HeatedIndoor(c.out, c.rh, c.in); !near(got, c.want, 0.6) {
			t.Errorf("%g C %g %% brought to %g C: %.2f %%, want %g", c.out, c.rh, c.in, got, c.want)
		}
	}
	if got := HeatedIndoor(30, 90, 10); got != 100 {
		t.Errorf("damp air cooled far: %g %%, want 100", got)
	}
	for name, got := range map[string]float64{
		"dew point of dry air": Air{0, 21}.DewPoint(), "dew point of NaN": Air{math.NaN(), 21}.DewPoint(),
		"frost point of dry air": Air{0, -5}.FrostPoint(), "dew point of endless air": Air{math.Inf(1), 21}.DewPoint(),
		"heated NaN": HeatedIndoor(math.NaN(), 50, 21),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s = %g, want NaN", name, got)
		}
	}
}

// Sources: sodium chloride 75.29 % at 25 C (NBS 1977, read); between 74.9 and 75.6
// from 0 to 50 C (Wexler and Hasegawa, NBS 1954, read in the abstract); the
// relation RH = A exp(B/T) of the CRC Handbook, constant humidity solutions, read,
// with its own accuracy of 2 %. The other rows of salts.csv are from memory, which is
// why they are held against it, within 1 % where it is that good and at shop
// temperatures within 2 % for magnesium nitrate, whose slope the relation misses.
// Potassium carbonate: no second source was found; the trade notes have 43.2 from
// memory.
func TestSalts(t *testing.T) {
	if got, ok := SaltRH("Sodium Chloride", 25); !ok || got != 75.29 {
		t.Errorf("sodium chloride at 25 C: %g, %v; want 75.29", got, ok)
	}
	for _, s := range []struct {
		name                   string
		a, b, low, high, bound float64
	}{
		{"sodium chloride", 69.20, 25, 10, 40, 1},
		{"magnesium nitrate", 25.28, 220, 15, 30, 2},
		{"magnesium chloride", 29.26, 34, 5, 35, 1},
	} {
		for c := s.low; c <= s.high; c += 2.5 {
			got, ok := SaltRH(s.name, c)
			if want := s.a * math.Exp(s.b/(c+273.15)); !ok || !near(got, want, s.bound) {
				t.Errorf("%s at %g C: %.2f, %v; want %.2f within %g", s.name, c, got, ok, want, s.bound)
			}
		}
	}
	for c := 15.0; c <= 30; c++ {
		if got, _ := SaltRH("sodium chloride", c); got < 74.85 || got > 75.65 {
			t.Errorf("sodium chloride at %g C: %.2f, want 74.9 to 75.6 as printed", c, got)
		}
	}
	if got, ok := SaltRH("magnesium nitrate", 22.5); !ok || !near(got, (54.38+52.89)/2, 1e-9) {
		t.Errorf("magnesium nitrate at 22.5 C: %g, want half way between its points", got)
	}
}

func TestSaltsThatAreNotThere(t *testing.T) {
	if got := strings.Join(Salts(), ", "); got != "sodium chloride, magnesium nitrate, magnesium chloride, potassium carbonate" {
		t.Errorf("Salts() = %s", got)
	}
	for _, name := range Salts() {
		for _, c := range []float64{-0.1, 40.5, 1000, math.NaN(), math.Inf(1), math.Inf(-1)} {
			if got, ok := SaltRH(name, c); ok {
				t.Errorf("SaltRH(%s, %g) = %g, want none", name, c, got)
			}
		}
	}
	if _, ok := SaltRH("pepper", 20); ok {
		t.Error("pepper is a salt")
	}
	Salts()[0] = "changed"
	if Salts()[0] != "sodium chloride" {
		t.Error("the list of salts can be changed from outside")
	}
}
