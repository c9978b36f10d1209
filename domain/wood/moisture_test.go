package wood

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Source: Wood Handbook FPL-GTR-190 table 4-2, all 342 cells (testdata/emc.csv).
// The bound of 0.07 is that of its README: the table has one decimal and the
// equation lies up to 0.056 from it.
func TestMoistureAgainstTheHandbook(t *testing.T) {
	cells := rows(t, "emc.csv")
	if len(cells) != 342 {
		t.Fatalf("emc.csv has %d cells, want 342", len(cells))
	}
	largest, forms := 0.0, 0.0
	for _, r := range cells {
		celsius, rh := (r.num(t, "temp_f")-32)/1.8, r.num(t, "rh_pct")
		got := Moisture(celsius, rh)
		if !near(got, r.num(t, "emc_table_pct"), 0.07) {
			t.Errorf("Moisture(%.2f C, %g %%) = %.4f, want %s within 0.07", celsius, rh, got, r["emc_table_pct"])
		}
		if !MoistureInRange(celsius, rh) {
			t.Errorf("MoistureInRange(%.4f, %g) = false for a cell of the table", celsius, rh)
		}
		largest = max(largest, math.Abs(got-r.num(t, "emc_table_pct")))
		forms = max(forms, math.Abs(got-r.num(t, "f_form_computed_pct")))
	}
	t.Logf("largest difference from the table %.4f %%, from the Fahrenheit form %.4f %%", largest, forms)
	if forms > 0.0128 { // computed for the reference: at most 0.0126, columns rounded to 4 decimals
		t.Errorf("largest difference from the Fahrenheit form %.4f, want at most 0.0128", forms)
	}
}

// Source: a published note that works the same equation out (C form), read; and
// the two check values at 21 C = 69.8 F, computed by hand from the coefficients.
func TestMoistureAgainstPublishedValues(t *testing.T) {
	for _, c := range []struct{ celsius, rh, want, tolerance float64 }{
		{20, 50, 9.27, 0.005}, {20, 75, 14.45, 0.005}, {20, 85, 18.00, 0.005}, {20, 95, 23.94, 0.005},
		{5, 85, 18.47, 0.005}, {2, 83, 17.66, 0.005}, {21, 50, 9.245, 0.0005}, {20, 100, 28.84, 0.005},
	} {
		if got := Moisture(c.celsius, c.rh); !near(got, c.want, c.tolerance) {
			t.Errorf("Moisture(%g, %g) = %.4f, want %g", c.celsius, c.rh, got, c.want)
		}
	}
}

// Source: the same note, humidity at 20 C for a given moisture; and for 6 and 14 %
// at 21 C the reference's own inversion (computed): 28.9 and 73.5 %.
func TestHumidityAgainstPublishedValues(t *testing.T) {
	for _, c := range []struct{ celsius, moisture, want float64 }{
		{20, 8, 41.8}, {20, 12, 65.0}, {20, 15, 76.8}, {20, 16, 79.9}, {20, 18, 85.0}, {20, 20, 89.1}, {20, 23, 93.8},
		{21, 6, 28.9}, {21, 14, 73.5},
	} {
		if got := Humidity(c.celsius, c.moisture); !near(got, c.want, 0.05) {
			t.Errorf("Humidity(%g, %g) = %.3f, want %g", c.celsius, c.moisture, got, c.want)
		}
	}
}

func TestHumidityIsTheInverseAndMoistureRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		celsius, rh := rapid.Float64Range(-1.1, 93).Draw(t, "celsius"), rapid.Float64Range(0, 100).Draw(t, "rh")
		m := Moisture(celsius, rh)
		if back := Humidity(celsius, m); !near(back, rh, 1e-4) {
			t.Fatalf("Humidity(%g, Moisture %g) = %g, want %g", celsius, m, back, rh)
		}
		if rh >= 0.01 && Moisture(celsius, rh-0.01) >= m {
			t.Fatalf("Moisture at %g C does not rise at %g %%", celsius, rh)
		}
	})
}

// Beyond the table the equation must still rise with the humidity and stay at 0 or
// above, or its inverse would mean nothing.
func TestMoistureRisesBeyondTheTable(t *testing.T) {
	for celsius := -40.0; celsius <= 120; celsius += 0.5 {
		for rh, last := 0.5, 0.0; rh <= 100; rh += 0.5 {
			m := Moisture(celsius, rh)
			if !(m > last) {
				t.Fatalf("Moisture(%g, %g) = %g, not above %g", celsius, rh, m, last)
			}
			last = m
		}
	}
}

func TestMoistureOutOfRange(t *testing.T) {
	if got := Moisture(21, -5); got != 0 {
		t.Errorf("Moisture at -5 %% = %g, want that of 0 %%: 0", got)
	}
	if got, want := Moisture(21, 150), Moisture(21, 100); got != want {
		t.Errorf("Moisture at 150 %% = %g, want that of 100 %%: %g", got, want)
	}
	if got := Humidity(21, -1); got != 0 {
		t.Errorf("Humidity(21, -1) = %g, want 0", got)
	}
	if got := Humidity(21, 60); got != 100 {
		t.Errorf("Humidity(21, 60) = %g, want 100", got)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for name, got := range map[string]float64{
		"Moisture(NaN, 50)": Moisture(nan, 50), "Moisture(21, NaN)": Moisture(21, nan), "Moisture(+Inf, 50)": Moisture(inf, 50),
		"Moisture(-41, 50)": Moisture(-41, 50), "Moisture(121, 50)": Moisture(121, 50),
		"Humidity(NaN, 8)": Humidity(nan, 8), "Humidity(21, NaN)": Humidity(21, nan), "Humidity(500, 8)": Humidity(500, 8),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s = %g, want NaN", name, got)
		}
	}
	for _, a := range []Air{{96, 21}, {-1, 21}, {50, -5}, {50, 100}, {nan, 21}, {50, nan}} {
		if MoistureInRange(a.Celsius, a.RH) {
			t.Errorf("MoistureInRange(%g, %g) = true, want false", a.Celsius, a.RH)
		}
	}
}

func BenchmarkMoisture(b *testing.B) {
	for b.Loop() {
		Moisture(21, 45)
	}
}
