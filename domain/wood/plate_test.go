package wood

import (
	"math"
	"testing"
)

// Source: values published in the documentation of an open-source transport
// library that cites Crank (read); testdata/drying_plate.csv, computed with
// 40-digit arithmetic.
func TestPlateAgainstCrank(t *testing.T) {
	for fo, want := range map[float64]float64{0.25: 0.562233541762138, 0.125: 0.39892798988457} {
		if got := Plate(fo); !near(got, want, 1e-14) {
			t.Errorf("Plate(%g) = %.16f, want %.15f", fo, got, want)
		}
	}
	for _, r := range rows(t, "drying_plate.csv") {
		fo := r.num(t, "fo")
		if got := Plate(fo); !near(got, r.num(t, "e"), 1e-11) {
			t.Errorf("Plate(%g) = %.13f, want %s", fo, got, r["e"])
		}
		for column, biot := range map[string]float64{"e_biot_1": 1, "e_biot_10": 10} {
			if got := PlateInAir(fo, biot); !near(got, r.num(t, column), 1e-9) {
				t.Errorf("PlateInAir(%g, %g) = %.12f, want %s", fo, biot, got, r[column])
			}
		}
	}
}

// Both series hold at all times; they must meet.
func TestPlateSeriesMeet(t *testing.T) {
	for fo := 0.02; fo < 2; fo *= 1.1 {
		if long, short := plateLong(fo), plateShort(fo); !near(long, short, 1e-13) {
			t.Errorf("at Fo %.3f: %.16f by the long series, %.16f by the short one", fo, long, short)
		}
	}
}

// Source: computed with 40-digit arithmetic for the reference (drying notes).
func TestPlateTimes(t *testing.T) {
	for e, want := range map[float64]float64{0.5: 0.1967307395, 0.9: 0.8480854080, 0.95: 1.1290073770, 0.99: 1.7812879940} {
		if got := PlateTime(e); !near(got, want, 1e-9) {
			t.Errorf("PlateTime(%g) = %.11f, want %.10f", e, got, want)
		}
	}
}

// Source: the table of the drying notes (computed), one face sealed; and the panel
// of a museum-conservation page (read): 10 mm, one face sealed, half way in about
// 50 days, which gives D = 4.55e-12 m2/s.
func TestPlateDays(t *testing.T) {
	for _, c := range []struct{ d, mm, tau, half, ninety float64 }{
		{1e-10, 2.8, 8.8 / 24, 4.3 / 24, 18.5 / 24},
		{1e-11, 2.8, 3.7, 1.8, 7.7},
		{4.5e-12, 2.8, 8.2, 4.0, 17},
		{4.5e-12, 4.0, 16.7, 8.1, 35},
	} {
		for name, v := range map[string][2]float64{
			"tau": {PlateTau(c.mm, c.d, false), c.tau},
			"t50": {PlateDays(0.5, c.mm, c.d, false), c.half},
			"t90": {PlateDays(0.9, c.mm, c.d, false), c.ninety},
		} {
			if !near(v[0], v[1], 0.03*v[1]) {
				t.Errorf("%g mm, D %g: %s %.3f days, want %.3g", c.mm, c.d, name, v[0], v[1])
			}
		}
	}
	if got := PlateDays(0.5, 10, 4.55e-12, false); !near(got, 50, 0.2) {
		t.Errorf("the panel is half way in %.2f days, want 50", got)
	}
	if open, sealed := PlateDays(0.5, 2.8, 1e-11, true), PlateDays(0.5, 2.8, 1e-11, false); !near(open, sealed/4, 1e-12) {
		t.Errorf("two open faces: %g days, want a quarter of %g", open, sealed)
	}
	if open, sealed := PlateTau(2.8, 1e-11, true), PlateTau(2.8, 1e-11, false); !near(open, sealed/4, 1e-12) {
		t.Errorf("two open faces: time constant %g, want a quarter of %g", open, sealed)
	}
}

func TestPlateEnds(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, v := range map[string][2]float64{
		"Plate(-1)": {Plate(-1), 0}, "Plate(0)": {Plate(0), 0}, "Plate(Inf)": {Plate(inf), 1},
		"PlateInAir(0, 1)": {PlateInAir(0, 1), 0}, "PlateInAir(Inf, 1)": {PlateInAir(inf, 1), 1},
		"PlateInAir(0.25, Inf)": {PlateInAir(0.25, inf), Plate(0.25)},
		"PlateTime(0)":          {PlateTime(0), 0}, "PlateTime(-1)": {PlateTime(-1), 0},
	} {
		if v[0] != v[1] {
			t.Errorf("%s = %g, want %g", name, v[0], v[1])
		}
	}
	if got := PlateTime(1); !math.IsInf(got, 1) {
		t.Errorf("PlateTime(1) = %g, want never", got)
	}
	for name, got := range map[string]float64{
		"Plate(NaN)": Plate(nan), "PlateTime(NaN)": PlateTime(nan), "PlateInAir(NaN, 1)": PlateInAir(nan, 1),
		"PlateInAir(1, 0)": PlateInAir(1, 0), "PlateInAir(1, -1)": PlateInAir(1, -1), "PlateInAir(1, NaN)": PlateInAir(1, nan),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s = %g, want NaN", name, got)
		}
	}
	if got, want := PlateInAir(0.25, 1e5), Plate(0.25); !near(got, want, 1e-4) {
		t.Errorf("PlateInAir(0.25, 1e5) = %g, want near %g", got, want)
	}
}
