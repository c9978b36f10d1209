package hold

import (
	"math"
	"strings"
	"testing"
	"time"
)

// says joins what is missing, for a look at its words.
func says(j Judgement) string { return strings.Join(j.Why, " ") }

// trustedFrom distrusts every reading of the air before a day.
func trustedFrom(in Input, day float64) Input {
	for i := range in.Readings {
		in.Readings[i].Trusted = !in.Readings[i].At.Before(dayOf(day))
	}
	return in
}

// closed is a crack that has closed, in air that is right, day by day.
func closed(last int) Input {
	return daily(last, func(day float64) row { return row{rh: restless(day), gap: 0.05, weight: 2090, arch: 1} })
}

// The air counts for as long as a meter within its calibration showed it. Source:
// the rule in docs/science.md.
func TestTrustMustSpanTheStillHours(t *testing.T) {
	paused := closed(8)
	for i := range paused.Readings {
		paused.Readings[i].Trusted = i == 0 || i == 8
	}
	gap := closed(8)
	for i := range gap.Readings {
		gap.Readings[i].Trusted = i < 3 || i > 6
	}
	between := closed(8)
	for i := range between.Readings {
		between.Readings[i].Trusted = i%2 == 0
	}
	for _, c := range []struct {
		name string
		in   Input
		want Verdict
		why  string
	}{
		{"one of a week", trustedFrom(closed(7), 7), StillDrinking, "The air has one trusted reading so far; two days of them are needed."},
		{"two of a week", trustedFrom(closed(7), 6), StillDrinking, "The trusted readings of the air span 24 hours so far; two days of them are needed."},
		{"two days of a week", trustedFrom(closed(7), 5), Steady, "stands at"},
		{"one after a pause", paused, StillDrinking, "The air has one trusted reading since a pause of 8 days"},
		{"two after a pause", gap, StillDrinking, "The trusted readings of the air span 24 hours since a pause of 5 days"},
		{"every other one", between, Steady, "stands at"},
		{"the first is out of range", held(row{0, 40, 0.05, none, none}, row{2.5, 46, 0.05, none, none}, row{3.5, 47, 0.05, none, none}), StillDrinking, "was at 40 %, read 4 days ago"},
	} {
		if j := Judge(c.in); j.Verdict != c.want || !strings.Contains(says(j), c.why) {
			t.Errorf("%s: got %s (%s), want %s and %q", c.name, j.Verdict, says(j), c.want, c.why)
		}
	}
}

// Air that was not read for long gives no crack two weeks of right air.
func TestUnreadAirIsNotRightAir(t *testing.T) {
	in := daily(14, func(day float64) row { return row{rh: none, gap: 0.4, weight: none, arch: none} })
	for _, i := range []int{0, 14} {
		rh := 47.
		in.Readings[i].RH = &rh
	}
	if j := Judge(in); j.Verdict != StillDrinking {
		t.Errorf("got %s: %q", j.Verdict, j.Why)
	}
}

// A fraction is a fraction whatever the meter's offset makes of it.
func TestFractionBehindAnOffset(t *testing.T) {
	in := closed(6)
	for i := range in.Readings {
		shown := *in.Readings[i].RH - 2
		in.Readings[i].Shown = &shown
	}
	if j := Judge(in); j.Verdict != Steady || len(j.Doubts) != 0 {
		t.Fatalf("with an offset: got %s (%q, %q), want steady without a doubt", j.Verdict, j.Why, j.Doubts)
	}
	shown, rh := 0.47, 2.47
	in.Readings[6].Shown, in.Readings[6].RH = &shown, &rh
	j := Judge(in)
	if got := strings.Join(j.Doubts, " "); !strings.Contains(got, "reads 0.47 %: it looks like a fraction") {
		t.Errorf("doubts %q, want the fraction as it was shown", got)
	}
	if j.Verdict != Steady { // six right readings are left
		t.Errorf("got %s: %q, want the fraction left out", j.Verdict, j.Why)
	}
	if tiny := 0.9; !new(record).possible(rhKind, tiny, 45, 0) {
		t.Error("what the meter showed was right: it is no fraction")
	}
}

// A crack that settles over the limit is not likely to be steady on any day.
func TestNoWindowForACrackThatSettlesOpen(t *testing.T) {
	j := Judge(daily(9, func(day float64) row {
		return row{rh: restless(day), gap: 0.3 + 0.4*math.Exp(-day/1.5), weight: none, arch: none}
	}))
	if j.Verdict != StillDrinking || j.Level.P10 <= Usual().GapLimit {
		t.Fatalf("got %s with a level of %v; want a crack that still drinks and settles open", j.Verdict, j.Level)
	}
	if w := j.Ready; w.Known || !w.P10.IsZero() || !w.P50.IsZero() || !w.P90.IsZero() || !strings.Contains(w.Text, "by the curve the crack settles at 0.29 mm: it may not close") {
		t.Errorf("got %+v, want no window and why", w)
	}
	arch := Judge(daily(9, func(day float64) row {
		return row{rh: restless(day), gap: none, weight: none, arch: -1 - math.Exp(-day/1.5)}
	}))
	if w := arch.Ready; w.Known || !strings.Contains(w.Text, "it may not come back to +0.5") {
		t.Errorf("an arch that stays down: got %+v", w)
	}
}

// The window never begins before the rule can be met: a crack over the limit has
// still to stand for 48 hours within it.
func TestReadyIsNotBeforeTheRule(t *testing.T) {
	base := func(day float64) row { return row{rh: restless(day), gap: 0.05, weight: 2090, arch: 1} }
	for _, c := range []struct {
		name  string
		in    Input
		after float64 // days from now, by the rule and the readings by hand
	}{
		{"all is met", closed(6), 0},
		{"an open crack", daily(6, func(day float64) row { r := base(day); r.gap = 0.15; return r }), 2},
		{"an open crack and a weight that rises", daily(6, func(day float64) row {
			r := base(day)
			r.gap, r.weight = 0.12+0.25*math.Exp(-day/2), 2080+2.5*day
			return r
		}), 2},
		{"the last reading is the first within the limit", held(row{0, 46, 0.6, none, none}, row{1, 47, 0.3, none, none}, row{2, 46, 0.08, none, none}), 2},
		{"within the limit since yesterday", held(row{0, 46, 0.6, none, none}, row{1, 47, 0.3, none, none}, row{2, 46, 0.08, none, none}, row{3, 47, 0.05, none, none}), 1},
		{"a weight that rises", daily(6, func(day float64) row { r := base(day); r.weight = 2080 + 2.5*day; return r }), 1},
		{"a weight that rises quickly", daily(6, func(day float64) row { r := base(day); r.weight = 2080 + 5*day; return r }), 2},
		{"air that is right since yesterday", daily(6, func(day float64) row {
			r := base(day)
			if day < 5 {
				r.rh = 40
			}
			return r
		}), 1},
		{"air that is not right", daily(6, func(day float64) row { r := base(day); r.rh = 40 + day/2; return r }), 2},
		{"trusted since yesterday", trustedFrom(closed(6), 5), 1},
		{"never trusted", trustedFrom(closed(6), 99), 2},
		{"no air", daily(6, func(day float64) row { r := base(day); r.rh = none; return r }), 2},
	} {
		j := newJudge(c.in, false)
		near(t, c.name, j.earliest()-j.now, c.after, 1e-9)
		w := j.judgement().Ready
		if first := dayOf(j.now + c.after); w.Known && (w.P10.Before(first) || w.P90.Sub(first) < 0) {
			t.Errorf("%s: the window %v begins before %v", c.name, w, first)
		}
	}
}

// The bound holds for the rule itself: whoever adds any one reading before it does
// not make the hold steady.
func TestNothingIsSteadyBeforeTheEarliestMoment(t *testing.T) {
	in := daily(6, func(day float64) row {
		return row{rh: restless(day), gap: 0.12 + 0.25*math.Exp(-day/2), weight: 2080 + 2.5*day, arch: 1}
	})
	first := newJudge(in, false).earliest()
	steady := false
	for hour := 1.; hour <= 24*6; hour += 6 {
		day := 6 + hour/24
		in.Now = dayOf(day)
		in.Readings = append(in.Readings, row{day, restless(day), 0.08, 2095, 1}.reading())
		if Judge(in).Verdict == Steady {
			steady = true
			if day < first*lenient {
				t.Errorf("steady on day %.2f, before %.2f", day, first)
			}
		}
	}
	if !steady {
		t.Error("it never became steady: the test says nothing")
	}
}

// What is printed is what was tested.
func TestTheFiguresSaidAreThoseTested(t *testing.T) {
	for _, c := range []struct {
		in  Input
		why string
	}{
		{held(row{0, 46, 0.22, none, none}, row{1, 47, 0.16, none, none}, row{2, 46, 0.10, none, none}), "The crack is 0.16 mm wide as the mean of 48 hours: it counts as closed at 0.1 mm."},
		{held(row{0, 46, 0.1, none, none}, row{1, 47, 0.1, none, none}, row{2, 46, 0.11, none, none}), "The crack is 0.103 mm wide as the mean"},
		{held(row{0, 46, none, none, 0.46}, row{2, 47, none, none, 0.46}), "The arch is at +0.46 mm: it must be back to +0.5."},
	} {
		if got := says(Judge(c.in)); !strings.Contains(got, c.why) {
			t.Errorf("got %q, want %q", got, c.why)
		}
	}
	for v, want := range map[float64]string{0.16: "0.16", 0.1: "0.10", 0.1000001: "0.100000", 0.104: "0.104", 0.098: "0.098", 0: "0.00"} {
		if got := told("%.*f", v, 0.1, 2); got != want {
			t.Errorf("%v beside 0.1: got %s, want %s", v, got, want)
		}
	}
}

// A reading of days ago is not one of the last 48 hours.
func TestOldAirIsSaidToBeOld(t *testing.T) {
	in := held(row{0, 40, none, none, none}, row{4, none, 0.05, none, none})
	j := Judge(in)
	got := says(j)
	if strings.Contains(got, "last 48 hours") {
		t.Errorf("got %q of a reading that is four days old", got)
	}
	for _, want := range []string{"The air was last read 4 days ago: read it again.", "The air in the body was at 40 %, read 4 days ago"} {
		if !strings.Contains(got, want) {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	for days, want := range map[float64]string{0: "just now", 1. / 24: "1 hour ago", 1.1: "26 hours ago", 3.4: "3 days ago"} {
		if got := ago(days); got != want {
			t.Errorf("%g days: got %s, want %s", days, got, want)
		}
	}
	for span, want := range map[float64]string{1: "one day", 2: "two days", 4: "four days", 0.5: "12 hours", 5: "120 hours"} {
		if got := days(span); got != want {
			t.Errorf("%g: got %s, want %s", span, got, want)
		}
	}
}

// A crack that grows follows no curve of closing.
func TestACrackThatGrowsHasNoCurve(t *testing.T) {
	in := daily(8, func(day float64) row { return row{rh: restless(day), gap: 0.3 + 0.1*day, weight: 2080 + day, arch: 1} })
	j := Judge(in)
	if j.Verdict != StillDrinking || !strings.HasPrefix(j.Why[0], "The crack is getting worse: 0.30 mm at first, 1.10 mm now. Look:") {
		t.Errorf("got %s: %q", j.Verdict, j.Why)
	}
	if j.Level != (Span{}) || j.TauDays != (Span{}) || j.Signal != "" || j.Ready.Known {
		t.Errorf("got level %v, time constant %v, signal %q, window %v; want none", j.Level, j.TauDays, j.Signal, j.Ready)
	}
	if _, ok := j.Curve(monday.Add(time.Hour)); ok {
		t.Error("a curve of a crack that grows")
	}
	late := daily(6, func(day float64) row {
		return row{rh: restless(day), gap: map[float64]float64{5: 0.09, 6: 0.13}[day], weight: none, arch: none}
	})
	late.Readings[4].Gap = late.Readings[5].Gap
	if j := Judge(late); j.Verdict == Steady {
		t.Error("a crack that grows is never steady")
	}
}
