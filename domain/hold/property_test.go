package hold

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// anyReading draws readings that may be nonsense.
func anyReading(t *rapid.T) Reading {
	value := func(name string, low, high float64) *float64 {
		switch rapid.IntRange(0, 9).Draw(t, name+" kind") {
		case 0, 1, 2:
			return nil
		case 3:
			v := rapid.Float64().Draw(t, name+" wild")
			return &v
		}
		v := math.Round(100*rapid.Float64Range(low, high).Draw(t, name)) / 100
		return &v
	}
	return Reading{
		At:      monday.Add(time.Duration(rapid.IntRange(-100, 3000).Draw(t, "hour")) * time.Hour),
		RH:      value("rh", -5, 110),
		Gap:     value("gap", 0, 2),
		Arch:    value("arch", -3, 3),
		Weight:  value("weight", 1900, 2200),
		Trusted: rapid.Bool().Draw(t, "trusted"),
	}
}

func sane(t interface{ Fatalf(string, ...any) }, in Input, j Judgement) {
	for _, s := range []Span{j.Level, j.TauDays} {
		if !(s.P10 <= s.P50 && s.P50 <= s.P90) || math.IsInf(s.P90, 0) || math.IsInf(s.P10, 0) {
			t.Fatalf("a span of %v", s)
		}
	}
	w := j.Ready
	if w.Known && (w.P10.After(w.P50) || w.P50.After(w.P90) || w.P10.Before(in.Now)) || w.Text == "" || !w.Known && !w.P90.IsZero() {
		t.Fatalf("a window of %+v at %v", w, in.Now)
	}
	if len(j.Why) == 0 {
		t.Fatalf("%s without a reason", j.Verdict)
	}
	for day := range 5 {
		s, ok := j.Curve(in.Start.Add(time.Duration(day) * 100 * time.Hour))
		if ok && (!(s.P10 <= s.P50 && s.P50 <= s.P90) || j.Signal == "gap" && s.P10 < 0) {
			t.Fatalf("the curve is %v", s)
		}
	}
}

func TestAnyReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := Input{Start: monday, Readings: rapid.SliceOfN(rapid.Custom(anyReading), 0, 25).Draw(t, "readings")}
		in.Now = monday.Add(time.Duration(rapid.IntRange(0, 3000).Draw(t, "now")) * time.Hour)
		in.HighDays = rapid.Float64().Draw(t, "high")
		in.Prior = Prior{rapid.Float64().Draw(t, "log days"), rapid.Float64().Draw(t, "spread")}
		j := Judge(in)
		sane(t, in, j)

		other := in
		other.Readings = rapid.Permutation(in.Readings).Draw(t, "another order")
		again := Judge(other)
		for _, j := range []*Judgement{&j, &again} { // the order itself is a doubt
			j.Doubts = slices.DeleteFunc(j.Doubts, func(s string) bool { return strings.Contains(s, "order of time") })
			slices.Sort(j.Doubts)
		}
		if diff := cmp.Diff(j, again, cmpopts.IgnoreUnexported(Judgement{}), cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("another order says another thing (-one +other):\n%s", diff)
		}
	})
}

// One more reading of an exact curve never makes the window much wider.
func TestMoreReadingsNarrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draw{rapid.Float64Range(1, 8).Draw(t, "tau"), rapid.Float64Range(0, 0.08).Draw(t, "level"), rapid.Float64Range(0.4, 1.2).Draw(t, "amp")}
		var before time.Duration
		in := Input{Start: monday, Now: monday}
		for day := range 13 {
			gap := exponential(d, float64(day))
			in.Readings = append(in.Readings, Reading{At: dayOf(float64(day)), Gap: &gap})
			in.Now = dayOf(float64(day))
			w := Judge(in).Ready
			if width := w.P90.Sub(w.P10); w.Known && before > 0 && width > before*5/4+6*time.Hour {
				t.Fatalf("day %d: %v wide after %v", day, width, before)
			} else if w.Known {
				before = width
			}
		}
	})
}

func TestNthAgainstSorting(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for range 300 {
		v := make([]float64, 1+rng.IntN(40))
		for i := range v {
			v[i] = float64(rng.IntN(12))
		}
		sorted := slices.Sorted(slices.Values(v))
		for k := range v {
			if got := nth(v, k); got != sorted[k] {
				t.Fatalf("place %d of %v: got %g, want %g", k, sorted, got, sorted[k])
			}
		}
	}
}
