package wood

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The boards of an ordinary steel-string guitar: trade notes, table 1.1.
var (
	topBoard    = Board{Wood: "Sitka spruce", Cut: Radial, Width: 400}
	fingerboard = Board{Wood: "Indian rosewood", Cut: Between, Width: 57}
)

// settled is a history long enough to be at rest.
func settled(a Air) History { return History{{a, math.Inf(1)}} }

// A short dry spell counts less than a long one. Source of the lag: the prior in
// docs/science.md, a judgement; what is checked here is the exponential itself.
func TestHistory(t *testing.T) {
	dry := Air{20, 21}
	if got, want := (History{}).Moisture(Datum, 3), Datum.Moisture(); got != want {
		t.Errorf("no history: %g %%, want the datum's %g", got, want)
	}
	if got, want := settled(dry).Moisture(Datum, 3), dry.Moisture(); got != want {
		t.Errorf("a dry spell for good: %g %%, want %g", got, want)
	}
	got := (History{{dry, 3}}).Moisture(Datum, 3)
	want := dry.Moisture() + (Datum.Moisture()-dry.Moisture())/math.E
	if !near(got, want, 1e-12) {
		t.Errorf("after one time constant: %g %%, want %g", got, want)
	}
	halves := History{{dry, 1}, {dry, 2}}.Moisture(Datum, 3)
	if !near(got, halves, 1e-12) {
		t.Errorf("one day and two: %g %%, want as three days: %g", halves, got)
	}
	for _, days := range []float64{0, -5, math.NaN()} {
		if got := (History{{dry, days}}).Moisture(Datum, 3); got != Datum.Moisture() {
			t.Errorf("a spell of %g days: %g %%, want no change", days, got)
		}
	}
	short, long := History{{dry, 2}}, History{{dry, 60}}
	for _, kind := range SignKinds() {
		a, b := Expect(kind, topBoard, Datum, short), Expect(kind, topBoard, Datum, long)
		if !(a.Likely < b.Likely && a.Low < b.Low) {
			t.Errorf("%s: two days give %v, sixty %v; want less after two", kind, a, b)
		}
	}
}

// A consistency check, not an outside one: trade table 1.1, 400 mm top and 57 mm
// rosewood board. The free shrinkage is the upper bound of what cracks show.
func TestExpectOfLongStanding(t *testing.T) {
	at25 := settled(Air{25, 21})
	free := TopShrinkage(topBoard, Datum, at25)
	if !near(free.Likely, 1.8, 0.06) || !near(free.Low, 0.8*free.Likely, 1e-9) {
		t.Errorf("top at 25 %% has shrunk %v, want 1.8 mm and a fifth either way", free)
	}
	crack := Expect(SignCrack, topBoard, Datum, at25)
	if crack.High != free.High || !(crack.Likely < free.Likely && crack.Low < free.Low) {
		t.Errorf("cracks at 25 %%: %v, want at most the free shrinkage %v and likely less", crack, free)
	}
	ends := Expect(SignFretEnds, fingerboard, Datum, at25)
	if !(ends.Low < 0.08 && ends.Likely > 0.08 && ends.Likely < 0.18 && ends.High > 0.17) {
		t.Errorf("fret ends at 25 %%: %v, want to span 0.08 to 0.18", ends)
	}
	wet := settled(Air{65, 21})
	if got := Expect(SignFretEnds, fingerboard, Datum, wet); !(got.Low < got.High && got.High < 0) {
		t.Errorf("fret ends at 65 %%: %v, want them recessed", got)
	}
	if got := Expect(SignCrack, topBoard, Datum, wet); got != (Span{}) {
		t.Errorf("cracks at 65 %%: %v, want none", got)
	}
	if got := TopShrinkage(topBoard, Datum, wet); !(got.High < 0) {
		t.Errorf("top at 65 %% has shrunk %v, want swollen", got)
	}
	if got := Expect("other", topBoard, Datum, at25); got != (Span{}) {
		t.Errorf("an unknown kind: %v, want nothing", got)
	}
}

// What an air of long standing is expected to show implies that air.
func TestImpliedIsTheInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Sign{
			Kind: rapid.SampledFrom(SignKinds()).Draw(t, "kind"),
			Board: Board{
				Wood:      rapid.SampledFrom(AllSpecies()).Draw(t, "wood").Name,
				Cut:       rapid.SampledFrom(Cuts()).Draw(t, "cut"),
				Width:     rapid.Float64Range(30, 450).Draw(t, "width"),
				Laminated: rapid.Bool().Draw(t, "laminated"),
			},
		}
		datum := Air{rapid.Float64Range(40, 60).Draw(t, "datum"), rapid.Float64Range(15, 30).Draw(t, "celsius")}
		rh := rapid.Float64Range(Driest+0.5, datum.RH-2).Draw(t, "rh")
		shown := Expect(s.Kind, s.Board, datum, settled(Air{rh, datum.Celsius}))
		for name, c := range map[string]struct {
			mm float64
			of func(Span) float64
		}{
			"low":    {shown.Low, func(s Span) float64 { return s.Low }},
			"likely": {shown.Likely, func(s Span) float64 { return s.Likely }},
			"high":   {shown.High, func(s Span) float64 { return s.High }},
		} {
			s.MM = c.mm
			got, ok := Implied(s, datum)
			if !ok || !(got.Low <= got.Likely && got.Likely <= got.High) {
				t.Fatalf("Implied(%+v) = %v, %v", s, got, ok)
			}
			// Where the formula takes over from the coefficient one measure fits a
			// short stretch of humidity; see Change.
			if !near(c.of(got), rh, 0.5) {
				t.Fatalf("%s of %+v: %.3f %%, want %.3f", name, s, c.of(got), rh)
			}
		}
	})
}

func TestImpliedIsOpenForAWideSign(t *testing.T) {
	wide, ok := Implied(Sign{SignCrack, 3, topBoard}, Datum)
	if !ok || wide.Low != Driest || wide.High < 15 || wide.High > 30 {
		t.Errorf("a 3 mm crack: %v, %v; want an open span up to some 20 %%", wide, ok)
	}
	largest := Largest(Sign{SignCrack, 1, topBoard}, Datum)
	if got, ok := Implied(Sign{SignCrack, largest * 1.001, topBoard}, Datum); ok {
		t.Errorf("more than %g mm: %v, want that dryness does not explain it", largest, got)
	}
	if got, ok := Implied(Sign{SignCrack, largest, topBoard}, Datum); !ok || !near(got.High, Driest, 0.01) {
		t.Errorf("%g mm: %v, %v; want the driest air", largest, got, ok)
	}
}

func TestSignsThatSayNothing(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	along := topBoard
	along.Along = true
	none, endless := Board{Wood: "maple"}, Board{Wood: "maple", Width: inf}
	for _, s := range []Sign{
		{SignCrack, 0, topBoard}, {SignCrack, -1, topBoard}, {SignCrack, nan, topBoard}, {SignCrack, inf, topBoard},
		{"other", 1, topBoard}, {SignCrack, 1, along}, {SignCrack, 1, none}, {SignCrack, 1, endless}, {SignCrack, 1, Board{Width: nan}},
	} {
		if got, ok := Implied(s, Datum); ok || got != (Span{}) || Largest(s, Datum) != 0 {
			t.Errorf("Implied(%+v) = %v, %v; want nothing", s, got, ok)
		}
	}
	for _, a := range []Air{{nan, 21}, {45, nan}, {45, 1000}, {0, 21}, {-3, 21}, {Driest, 21}, {45, -60}} {
		if got, ok := Implied(Sign{SignCrack, 1, topBoard}, a); ok {
			t.Errorf("from %v: %v, want nothing", a, got)
		}
	}
	a := Agree([]Sign{{SignCrack, 0, topBoard}}, Datum)
	if a.Agree || a.Told != 0 || a.Text != "No measure here tells how dry the air was." {
		t.Errorf("a crack of 0 mm: %+v", a)
	}
}

func TestAgree(t *testing.T) {
	crack, ends := Sign{SignCrack, 0.8, topBoard}, Sign{SignFretEnds, 0.15, fingerboard}
	gap := Sign{SignBinding, 0.3, topBoard}
	for _, c := range []struct {
		name        string
		signs       []Sign
		agree       bool
		told        int
		unexplained int
		starts      string
		has         string
	}{
		{"two that fit", []Sign{ends, crack}, true, 2, 0, "Fret ends 0.15 mm and a 0.8 mm crack both fit air ", "%."},
		{"three that fit", []Sign{ends, crack, gap}, true, 3, 0, "Fret ends 0.15 mm, a 0.8 mm crack and a 0.3 mm binding gap all fit air ", "%."},
		{"one crack", []Sign{crack}, true, 1, 0, "A 0.8 mm crack fits air near ", " to "},
		{"fret ends alone", []Sign{ends}, true, 1, 0, "Fret ends 0.15 mm fit air of ", "% or drier."},
		{"a wide crack alone", []Sign{{SignCrack, 3, topBoard}}, true, 1, 0, "A 3 mm crack fits air of ", "% or drier."},
		{"two that differ", []Sign{{SignFretEnds, 0.01, fingerboard}, {SignCrack, 2.5, topBoard}}, false, 2, 0, "The measures do not agree (fret ends 0.01 mm: air near ", "a 2.5 mm crack: air of "},
		{"too wide a crack", []Sign{{SignCrack, 9, topBoard}}, false, 0, 1, "The crack is wider than dry air alone explains: 9 mm, and ", "Look for another cause."},
		{"too wide a crack beside fret ends", []Sign{{SignCrack, 9, topBoard}, ends}, true, 1, 1, "Fret ends 0.15 mm fit air ", "The crack is wider"},
		{"fret ends too far out", []Sign{{SignFretEnds, 1, fingerboard}}, false, 0, 1, "The fret ends stand further out than dry air alone explains", "another cause"},
		{"too wide a gap", []Sign{{SignBinding, 5, topBoard}}, false, 0, 1, "The binding gap is wider than dry air alone explains", "another cause"},
	} {
		a := Agree(c.signs, Datum)
		if a.Agree != c.agree || a.Told != c.told || len(a.Unexplained) != c.unexplained {
			t.Errorf("%s: %+v", c.name, a)
		}
		if !strings.HasPrefix(a.Text, c.starts) || !strings.Contains(a.Text, c.has) {
			t.Errorf("%s: %q, want it to start %q and to have %q", c.name, a.Text, c.starts, c.has)
		}
		if a.Agree && !(a.RH.Low <= a.RH.Likely && a.RH.Likely <= a.RH.High && a.RH.High < Datum.RH) {
			t.Errorf("%s: air %v", c.name, a.RH)
		}
		t.Logf("%s: %s", c.name, a.Text)
	}
}

// An air that the moisture equation does not know gives no number at all.
func TestExpectOfNonsense(t *testing.T) {
	for _, h := range []History{{{Air{math.NaN(), 21}, 5}}, {{Air{30, 500}, 5}}} {
		if got := TopShrinkage(topBoard, Datum, h); !math.IsNaN(got.Low) || !math.IsNaN(got.Likely) || !math.IsNaN(got.High) {
			t.Errorf("top after %v: %v, want NaN", h, got)
		}
	}
	if got := Expect(SignCrack, topBoard, Air{45, 500}, nil); !math.IsNaN(got.Likely) {
		t.Errorf("crack from an impossible datum: %v, want NaN", got)
	}
	if got := (Board{Wood: "maple", Width: -1}).Change(Datum, Air{30, 21}); !math.IsNaN(got.Likely) {
		t.Errorf("a board of -1 mm: %v, want NaN", got)
	}
}

func TestHumidInWords(t *testing.T) {
	for want, rh := range map[string]Span{
		"near 24 to 31 %": {24.4, 28, 30.6}, "of 31 % or drier": {Driest, 20, 31.2}, "near 28 %": {27.8, 28, 28.3},
	} {
		if got := humid(rh); got != want {
			t.Errorf("humid(%v) = %q, want %q", rh, got, want)
		}
	}
}

func BenchmarkImplied(b *testing.B) {
	for b.Loop() {
		Implied(Sign{SignCrack, 0.8, topBoard}, Datum)
	}
}
