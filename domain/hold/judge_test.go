package hold

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
)

// none marks what was not measured on a day.
var none = math.NaN()

// row is one check of a hold: day, air, crack, weight, arch.
type row struct{ day, rh, gap, weight, arch float64 }

func (r row) reading() Reading {
	of := func(v float64) *float64 {
		if math.IsNaN(v) {
			return nil
		}
		return &v
	}
	return Reading{At: dayOf(r.day), RH: of(r.rh), Gap: of(r.gap), Weight: of(r.weight), Arch: of(r.arch), Trusted: true}
}

func held(rows ...row) Input {
	in := Input{Start: monday, HighDays: 28}
	for _, r := range rows {
		in.Readings = append(in.Readings, r.reading())
	}
	return in
}

// daily makes a check a day, 0 to the last, from what f says.
func daily(last int, f func(day float64) row) Input {
	var rows []row
	for day := range last + 1 {
		r := f(float64(day))
		r.day = float64(day)
		rows = append(rows, r)
	}
	return held(rows...)
}

// restless is air that is right and does not stick.
func restless(day float64) float64 { return 46 + math.Mod(day, 3) }

// ramped is a crack that never moves while the air comes up for four days.
func ramped(last int) Input {
	return daily(last, func(day float64) row {
		rh := 25 + 4*day
		if day >= 4 {
			rh = restless(day)
		}
		return row{rh: rh, gap: 0.4, weight: none, arch: none}
	})
}

// The release rule: air 45 to 50 %, weight within 2 g a day and crack unchanged
// for 48 h, arch back. Source: common practice, no source.
func TestVerdicts(t *testing.T) {
	settled := []row{{0, 40, 0.5, 2050, -0.2}, {2, 45, 0.2, 2080, 0.3}, {4, 47, 0.05, 2090, 0.8}, {5, 46, 0.05, 2091, 0.9}, {6, 47, 0.05, 2092, 0.9}}
	change := func(f func(rows []row)) Input {
		rows := slices.Clone(settled)
		f(rows)
		return held(rows...)
	}
	untrusted := held(settled...)
	for i := range untrusted.Readings {
		untrusted.Readings[i].Trusted = false
	}
	stale := held(settled...)
	stale.Now = dayOf(20)
	dryAir := daily(20, func(day float64) row { return row{rh: 38 + math.Mod(day, 2), gap: 0.4, weight: none, arch: none} })
	for _, c := range []struct {
		name string
		in   Input
		want Verdict
		why  []string
	}{
		{"all is right", held(settled...), Steady, []string{"The air in the body stands at 47 %", "stood at 0.05 mm, as the mean of 48 hours", "changes by 1.0 g a day", "+0.9 mm"}},
		{"air too dry", change(func(r []row) { r[4].rh = 44 }), StillDrinking, []string{"at 44 %, read just now: it must stay at 45 to 50 % for 48 hours"}},
		{"air too moist before", change(func(r []row) { r[3].rh = 52 }), StillDrinking, []string{"at 52 %, read 24 hours ago", "Never push a crack shut"}},
		{"air not read", change(func(r []row) {
			for i := range r {
				r[i].rh = none
			}
		}), StillDrinking, []string{"The air in the body was not read"}},
		{"meter out of calibration", untrusted, StillDrinking, []string{"The air was read with a meter that is out of calibration: calibrate it or use another."}},
		{"crack still moves", change(func(r []row) { r[2].gap, r[3].gap, r[4].gap = 0.1, 0.05, 0.02 }), StillDrinking, []string{"still moves: from 0.10 to 0.02 mm over 48 hours"}},
		{"a change that a feeler cannot tell", change(func(r []row) { r[2].gap, r[4].gap = 0.1, 0.05 }), Steady, []string{"stood"}},
		{"crack at rest but open", change(func(r []row) { r[2].gap, r[3].gap, r[4].gap = 0.2, 0.2, 0.2 }), StillDrinking, []string{"0.20 mm wide as the mean of 48 hours: it counts as closed at 0.1 mm"}},
		{"weight still rises", change(func(r []row) { r[4].weight = 2094 }), StillDrinking, []string{"still gains 2.0 g a day"}},
		{"weight falls", change(func(r []row) { r[4].weight = 2080 }), StillDrinking, []string{"loses 5.0 g a day"}},
		{"arch not back", change(func(r []row) { r[4].arch = 0.4 }), StillDrinking, []string{"The arch is at +0.4 mm: it must be back to +0.5"}},
		{"last read long ago", stale, StillDrinking, []string{"The crack was last read 14 days ago", "The air was last read"}},
		{"a day only", held(settled[0], row{1, 46, 0.05, 2090, 1}), StillDrinking, []string{"The crack has been read over 24 hours: 48 are needed", "The weight has been read over 24 hours"}},
		{"nothing but the air", held(row{0, 46, none, none, none}, row{1, 47, none, none, none}, row{2, 46, none, none, none}), Steady,
			[]string{"No crack was measured", "The weight was not measured", "The arch was not measured"}},
		{"the air for a day", held(row{0, 46, none, none, none}, row{1, 47, none, none, none}), StillDrinking, []string{"The trusted readings of the air span 24 hours so far; two days of them are needed"}},
		{"air and arch", held(row{0, 46, none, none, 0.7}, row{2, 47, none, none, 0.8}), Steady, []string{"+0.8 mm"}},
		{"open for 29 days", daily(29, func(day float64) row {
			return row{rh: restless(day), gap: 0.4 + 0.6*math.Exp(-day/9), weight: none, arch: none}
		}), WillNotClose,
			[]string{"the crack has settled at", "splint"}},
		{"open and unmoved for 14 days", daily(14, func(day float64) row { return row{rh: restless(day), gap: 0.4, weight: none, arch: none} }), WillNotClose,
			[]string{"not moved for 14 days and is 0.40 mm wide"}},
		{"open and unmoved for 10 days", daily(10, func(day float64) row { return row{rh: restless(day), gap: 0.4, weight: none, arch: none} }), StillDrinking,
			[]string{"has not moved for 10 days: it may not close"}},
		{"unmoved in dry air", dryAir, StillDrinking, []string{"for 20 days, but the air is not right"}},
		{"unmoved since before the air was right", ramped(18), WillNotClose, []string{"not moved for 18 days and is 0.40 mm wide"}},
		{"unmoved, the air right for 10 days", ramped(14), StillDrinking, []string{"not moved for 14 days, 10 of them in the right air"}},
		{"no readings at all", Input{Start: monday, Now: dayOf(3)}, StillDrinking, []string{"The air in the body was not read"}},
		{"nothing at all", Input{}, StillDrinking, []string{"not read"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := Judge(c.in)
			why := strings.Join(j.Why, " ")
			if j.Verdict != c.want {
				t.Errorf("got %s (%s), want %s", j.Verdict, why, c.want)
			}
			for _, w := range c.why {
				if !strings.Contains(why, w) {
					t.Errorf("why is %q, want it to say %q", why, w)
				}
			}
		})
	}
}

// What a bench gets wrong: a clear answer, and a verdict as if it were not there.
func TestBadReadings(t *testing.T) {
	good := []row{{0, 40, 0.5, 2050, none}, {1, 45, 0.35, 2070, none}, {2, 46, 0.25, 2080, none}, {3, 47, 0.18, 2085, none}}
	with := func(extra ...row) Input { return held(append(slices.Clone(good), extra...)...) }
	later := with()
	later.Readings = append(later.Readings, row{9, 47, 0.1, 2085, none}.reading())
	later.Now = dayOf(3)
	for _, c := range []struct {
		name  string
		in    Input
		want  Verdict
		doubt string
		gap   int // widths that are used
	}{
		{"in order", with(), StillDrinking, "", 4},
		{"out of order", held(good[2], good[0], good[3], good[1]), StillDrinking, "put in order", 4},
		{"twice the same", with(good[3]), StillDrinking, "The crack was read more than once at the same moment; the mean was taken", 4},
		{"45 for a fraction of an inch", with(row{4, none, 45, none, none}), StillDrinking, "45 mm, outside 0 to 20: it looks like another unit; left out", 4},
		{"45 inches in mm", with(row{4, none, 1143, none, none}), StillDrinking, "1143 mm, outside 0 to 20", 4},
		{"hundredths for mm", with(row{4, none, 14, none, none}), StillDrinking, "reads 14 mm beside 0.3 mm: it looks like another unit or a slip", 4},
		{"inches for mm between", held(good[0], row{0.5, none, 0.017, none, none}, good[1], good[2]), StillDrinking, "reads 0.017 mm beside", 3},
		{"weight in pounds", with(row{4, none, none, 4.6, none}), StillDrinking, "4.6 g, outside 50 to 20000", 4},
		{"another scale", with(row{4, none, none, 3000, none}), StillDrinking, "3000 g beside", 4},
		{"air over 100", with(row{4, 104, none, none, none}), StillDrinking, "104 %; relative humidity lies from 0 to 100 %; left out", 4},
		{"air below 0", with(row{4, -3, none, none, none}), StillDrinking, "-3 %", 4},
		{"air as a fraction", with(row{4, 0.47, none, none, none}), StillDrinking, "looks like a fraction", 4},
		{"arch of another thing", with(row{4, none, none, none, 1}, row{5, none, none, none, 1}, row{6, none, none, none, 12}), StillDrinking, "arch on day 6.0", 4},
		{"no number", with(row{4, none, math.Inf(1), none, none}), StillDrinking, "is no number", 4},
		{"a crack that grows", with(row{4, 47, 0.7, 2085, none}), StillDrinking, "", 5},
		{"one reading", held(good[0]), StillDrinking, "There is one reading only", 1},
		{"nothing usable", held(row{0, 140, none, none, none}), StillDrinking, "no reading that can be used", 0},
		{"a meter that sticks", daily(6, func(float64) row { return row{rh: 47, gap: 0.05, weight: none, arch: none} }), StillDrinking, "shown 47 % 5 times running: it may stick", 7},
		{"before and after the hold", later, StillDrinking, "1 reading lies outside the time of the hold", 4},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := Judge(c.in)
			doubts := strings.Join(j.Doubts, " ")
			if c.doubt == "" && doubts != "" || !strings.Contains(doubts, c.doubt) {
				t.Errorf("doubts are %q, want %q", doubts, c.doubt)
			}
			if j.Verdict != c.want {
				t.Errorf("got %s (%q), want %s", j.Verdict, j.Why, c.want)
			}
			c.in.complete()
			if got := tidy(c.in).gap; len(got.value) != c.gap {
				t.Errorf("uses widths %v, want %d of them", got.value, c.gap)
			}
		})
	}
}

// A crack that closes from wide open is no slip.
func TestCrackThatClosesIsNoSlip(t *testing.T) {
	in := daily(6, func(day float64) row { return row{rh: none, gap: 3 * math.Exp(-day/1.5), weight: none, arch: none} })
	if j := Judge(in); len(j.Doubts) != 0 || j.Signal != "gap" {
		t.Errorf("doubts %q, signal %q; want none and gap", j.Doubts, j.Signal)
	}
}

func TestWindowUnknown(t *testing.T) {
	growing := daily(6, func(day float64) row { return row{rh: 47, gap: 0.2 + day/10, weight: none, arch: none} })
	open := daily(14, func(day float64) row { return row{rh: restless(day), gap: 0.4, weight: none, arch: none} })
	for name, c := range map[string]struct {
		in   Input
		want string
	}{
		"one reading":  {held(row{0, 40, 0.5, none, none}), "not enough readings yet"},
		"two readings": {held(row{0, 40, 0.5, none, none}, row{1, 40, 0.4, none, none}), "not enough readings yet"},
		"growing":      {growing, "the crack is getting worse"},
		"open":         {open, "the crack has settled open"},
		"far too slow": {func() Input {
			in := daily(4, func(day float64) row { return row{rh: 47, gap: 3 - day/100, weight: none, arch: none} })
			in.Prior = Prior{LogDays: math.Log(300), Spread: 0.5}
			return in
		}(), "not enough readings yet"},
	} {
		w := Judge(c.in).Ready
		if w.Known || w.Text != c.want || !w.P50.IsZero() {
			t.Errorf("%s: got %+v, want it not known: %s", name, w, c.want)
		}
	}
}

// Each quantity carries a fit and foretells its own release. The truth of the
// curves is known; the window must hold it.
func TestSignals(t *testing.T) {
	gap, weight, arch, rh := draw{3, 0.02, 0.8}, draw{3, 2100, -45}, draw{3, 1.4, -2.5}, draw{2, 47.5, -20}
	for _, c := range []struct {
		name, unit string
		d          draw
		into       func(*row, float64)
	}{
		{"gap", "mm", gap, func(r *row, v float64) { r.gap = v }},
		{"weight", "g", weight, func(r *row, v float64) { r.weight = v }},
		{"arch", "mm", arch, func(r *row, v float64) { r.arch = v }},
		{"rh", "%", rh, func(r *row, v float64) { r.rh = v }},
		{"rh", "%", draw{2, 48, 8}, func(r *row, v float64) { r.rh = v }},
	} {
		in := daily(4, func(day float64) row {
			r := row{rh: none, gap: none, weight: none, arch: none}
			c.into(&r, exponential(c.d, day))
			return r
		})
		j := Judge(in)
		if j.Signal != c.name || j.Unit != c.unit {
			t.Fatalf("%s: signal %q in %q", c.name, j.Signal, j.Unit)
		}
		if !(j.TauDays.P10 < c.d.tau && c.d.tau < j.TauDays.P90) || !(j.Level.P10 <= c.d.level && c.d.level <= j.Level.P90) {
			t.Errorf("%s: tau %v, level %v; want them about %v", c.name, j.TauDays, j.Level, c.d)
		}
		if at := dayOf(max(newJudge(in, false).earliest(), Usual().ready(c.name, c.d))); !j.Ready.Known || at.Before(j.Ready.P10) || at.After(j.Ready.P90) {
			t.Errorf("%s: window %v, want it to hold %v", c.name, j.Ready, at)
		}
		span, ok := j.Curve(dayOf(3))
		if want := exponential(c.d, 3); !ok || span.P10 > want || span.P90 < want {
			t.Errorf("%s: curve at day 3 is %v, want about %g", c.name, span, want)
		}
		if _, ok := j.Curve(monday.Add(-time.Hour)); ok {
			t.Errorf("%s: a curve before the hold began", c.name)
		}
	}
	if _, ok := (Judgement{}).Curve(monday); ok {
		t.Error("a curve without a fit")
	}
}

func TestCautions(t *testing.T) {
	for _, c := range []struct {
		name string
		rows []row
		want []Caution
	}{
		{"slow", []row{{0, 40, 1, none, none}, {1, 45, 1, none, none}}, nil},
		{"too fast", []row{{0, 30, 1, none, none}, {1, 36, 1, none, none}}, []Caution{{"The air moved by +6 % within a day; 5 is the most. Slow down: quick changes open new cracks.", false}}},
		{"within hours", []row{{0, 40, 1, none, none}, {0.1, 43, 1, none, none}, {0.3, 46, 1, none, none}}, []Caution{{"The air moved by +6 % within a day; 5 is the most. Slow down: quick changes open new cracks.", false}}},
		{"over days", []row{{0, 30, 1, none, none}, {3, 44, 1, none, none}}, nil},
		{"falls", []row{{0, 47, 1, none, none}, {1, 40, 1, none, none}}, []Caution{{"The air moved by -7 % within a day; 5 is the most. Slow down: quick changes open new cracks.", false}}},
		{"too moist", []row{{0, 58, 1, none, none}, {1, 60, 1, none, none}}, []Caution{{"Air at 60 %: too moist. Stop, open the cabinet and let it come down slowly.", true}}},
		{"not read", []row{{0, none, 1, none, none}}, nil},
	} {
		if diff := cmp.Diff(c.want, Judge(held(c.rows...)).Cautions); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestRule(t *testing.T) {
	r := Rule{GapLimit: 0.2}
	if err := r.Check(); err != nil {
		t.Fatal(err)
	}
	want := Usual()
	want.GapLimit = 0.2
	if r != want {
		t.Errorf("got %+v, want %+v", r, want)
	}
	r = Rule{LowRH: 52, HighRH: 51, GapLimit: -1, WeightStill: 100, StillHours: math.NaN(), GapStill: 1, ArchFrom: 9, MaxRate: 40, StopRH: 50.5, GiveUpDays: 1}
	got := domain.FieldsOf(r.Check())
	for _, field := range []string{"high_rh", "gap_limit", "weight_still", "still_hours", "gap_still", "arch_from", "max_rate", "stop_rh", "give_up_days"} {
		if got[field] == "" {
			t.Errorf("%s is not named in %v", field, got)
		}
	}
	j := Judge(Input{Start: monday, Rule: Rule{StillHours: -5}})
	if !strings.Contains(strings.Join(j.Doubts, " "), "the usual rule was used") {
		t.Errorf("doubts %q, want the rule named", j.Doubts)
	}
}

// With a template's high wait of 10 days an open crack is given up after 11.
func TestHighWait(t *testing.T) {
	in := daily(11, func(day float64) row {
		return row{rh: restless(day), gap: 0.5 + 0.5*math.Exp(-day/2), weight: none, arch: none}
	})
	in.HighDays = 10
	if j := Judge(in); j.Verdict != WillNotClose {
		t.Errorf("got %s: %q", j.Verdict, j.Why)
	}
	in.HighDays = 0
	if j := Judge(in); j.Verdict != StillDrinking {
		t.Errorf("without a high wait: got %s: %q", j.Verdict, j.Why)
	}
}

func TestPriorCounts(t *testing.T) {
	in := daily(2, func(day float64) row { return row{rh: 47, gap: 0.8 - 0.05*day, weight: none, arch: none} })
	in.Prior = Prior{math.Log(1), 0.2}
	quick := Judge(in).TauDays.P50
	in.Prior = Prior{math.Log(20), 0.2}
	if slow := Judge(in).TauDays.P50; slow < 2*quick {
		t.Errorf("time constants %.2f and %.2f days, want the second far longer", quick, slow)
	}
}
