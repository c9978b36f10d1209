package season

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
)

// invented is a history of so many weeks with a winter peak around a level.
func invented(from domain.Date, weeks int, level float64, south bool, kinds ...string) History {
	random := rand.New(rand.NewPCG(7, 7))
	h := History{From: from, Kinds: kinds, Counts: map[string][]int{}}
	for _, kind := range kinds {
		row := make([]int, weeks)
		for i := range row {
			day := from.AddDays(7 * i).Time(time.UTC)
			angle := 2 * math.Pi * float64(day.YearDay()-20) / 365.25
			if south {
				angle += math.Pi
			}
			row[i] = Quantile(level*math.Exp(0.5*math.Cos(angle)), 10, random.Float64())
		}
		h.Counts[kind] = row
	}
	return h
}

func predicted(t *testing.T, h History, o Options) Forecast {
	t.Helper()
	f, err := Predict(h, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range f.Weeks {
		for name, r := range w.ByKind {
			if !(r.P10 <= r.P50 && r.P50 <= r.P90 && r.Mean > 0 && r.Mean < MaxCount) {
				t.Fatalf("%s in the week of %s: got %+v, want a range in order", name, w.Start, r)
			}
		}
	}
	return f
}

func jobsOf(f Forecast) (sum float64) {
	for _, w := range f.Weeks {
		sum += w.All.Mean
	}
	return sum
}

func monthMean(f Forecast, month time.Month) float64 {
	sum, n := 0.0, 0
	for _, w := range f.Weeks {
		if w.Start.AddDays(3).Time(time.UTC).Month() == month {
			sum, n = sum+w.All.Mean, n+1
		}
	}
	return sum / float64(n)
}

func says(t *testing.T, f Forecast, want string) {
	t.Helper()
	if !strings.Contains(f.Model+" "+f.Why, want) {
		t.Errorf("got %q, %q; want it to say %q", f.Model, f.Why, want)
	}
}

func TestPredictIsTheSameForASeed(t *testing.T) {
	h := invented("2022-01-03", 200, 4, false, "crack", "setup")
	a, b := predicted(t, h, Options{Seed: 3}), predicted(t, h, Options{Seed: 3})
	if !reflect.DeepEqual(a, b) {
		t.Error("one seed gave two answers")
	}
	if len(a.Weeks) != 26 || a.Weeks[0].Start != domain.Date("2022-01-03").AddDays(1400) {
		t.Errorf("got %d weeks from %s", len(a.Weeks), a.Weeks[0].Start)
	}
	says(t, a, "same week a year before")
	if !(a.Score.MASE < a.Score.NaiveMASE) {
		t.Errorf("got %+v, want better than last year on a smooth year", a.Score)
	}
}

func TestMissingWeeksAreNotZero(t *testing.T) {
	h := invented("2022-01-03", 156, 5, false, "crack")
	whole := jobsOf(predicted(t, h, Options{}))
	for i := range h.Counts["crack"] {
		if i%3 == 0 {
			h.Counts["crack"][i] = Missing
		}
	}
	f := predicted(t, h, Options{})
	says(t, f, "52 weeks without a count")
	if part := jobsOf(f); math.Abs(part/whole-1) > 0.15 {
		t.Errorf("got %.0f jobs with a third of the weeks missing, want near %.0f", part, whole)
	}
}

func TestOneHugeWeekIsLeftOut(t *testing.T) {
	h := invented("2022-01-03", 156, 5, false, "crack")
	whole := jobsOf(predicted(t, h, Options{}))
	h.Counts["crack"][60] = 4000
	f := predicted(t, h, Options{})
	says(t, f, "with 4000 jobs is left out")
	if got := jobsOf(f); math.Abs(got/whole-1) > 0.05 {
		t.Errorf("got %.0f jobs, want near %.0f", got, whole)
	}
}

func TestShopOpenedInFebruary(t *testing.T) {
	f := predicted(t, invented("2026-02-02", 30, 5, false, "crack", "setup"), Options{})
	says(t, f, "a whole year of your own is not in the books yet")
	if !(monthMean(f, time.January) > monthMean(f, time.September)*1.3) {
		t.Errorf("got %.1f in January, %.1f in September; want the winter above", monthMean(f, time.January), monthMean(f, time.September))
	}
}

func TestAllZeros(t *testing.T) {
	f := predicted(t, History{From: "2024-01-01", Kinds: []string{"crack"}, Counts: map[string][]int{"crack": make([]int, 110)}}, Options{})
	says(t, f, "Not one job came in 110 weeks")
	if got := jobsOf(f); got > 3 {
		t.Errorf("got %.1f jobs in half a year, want nearly none", got)
	}
}

func TestNoHistory(t *testing.T) {
	h := History{From: "2026-10-05", Kinds: []string{"crack", "setup"}, Counts: map[string][]int{}}
	f := predicted(t, h, Options{Guess: 8, Weeks: 52})
	says(t, f, "No week is in the books")
	if mean := jobsOf(f) / 52; math.Abs(mean-8) > 2.5 {
		t.Errorf("got %.1f jobs a week, want near the guess of 8", mean)
	}
	says(t, predicted(t, h, Options{}), "Give how many you expect")
}

// 2020 and 2026 have 53 weeks: each week has its own Monday and January its peak.
func TestLeapWeeks(t *testing.T) {
	f := predicted(t, invented("2019-12-30", 366, 5, false, "crack"), Options{Weeks: 60})
	for i, w := range f.Weeks[1:] {
		if f.Weeks[i].Start.AddDays(7) != w.Start {
			t.Fatalf("after %s comes %s", f.Weeks[i].Start, w.Start)
		}
	}
	if !(monthMean(f, time.January) > monthMean(f, time.July)*1.8) {
		t.Errorf("got %.1f in January, %.1f in July", monthMean(f, time.January), monthMean(f, time.July))
	}
}

func TestSouthernHemisphere(t *testing.T) {
	short := predicted(t, invented("2026-02-02", 20, 5, true, "crack"), Options{South: true, Weeks: 52})
	says(t, short, "southern hemisphere")
	long := predicted(t, invented("2022-01-03", 200, 5, true, "crack"), Options{Weeks: 52})
	for _, f := range []Forecast{short, long} {
		if !(monthMean(f, time.July) > monthMean(f, time.January)*1.3) {
			t.Errorf("got %.1f in July, %.1f in January; want July above", monthMean(f, time.July), monthMean(f, time.January))
		}
	}
}

func TestRareKindBorrowsTheYear(t *testing.T) {
	h := invented("2022-01-03", 156, 6, false, "crack", "neck")
	clear(h.Counts["neck"])
	for i := 4; i < 156; i += 20 {
		h.Counts["neck"][i] = 1
	}
	f := predicted(t, h, Options{Weeks: 52})
	winter, summer := f.Weeks[2].ByKind["neck"].Mean, f.Weeks[28].ByKind["neck"].Mean
	if !(winter > 1.5*summer) {
		t.Errorf("got %.3f in winter, %.3f in summer; want the course of all kinds", winter, summer)
	}
}

func TestBadHistoryIsNamed(t *testing.T) {
	h := History{From: "2026-10-06", Kinds: []string{"crack", "setup"}, Counts: map[string][]int{"crack": {1, -5}, "setup": {1}}}
	_, err := Predict(h, Options{Weeks: 999, Guess: -1, IndoorRH: []float64{120}})
	f := domain.FieldsOf(err)
	for _, field := range []string{"from", "counts.setup", "counts.crack[1]", "horizon", "guess", "indoor_rh", "indoor_rh[0]"} {
		if f[field] == "" {
			t.Errorf("%s is not named in %v", field, err)
		}
	}
}

// Dry air that brings work is let in; air that says nothing is not.
func TestDrynessEarnsItsPlace(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	const weeks = 260
	rh := make([]float64, weeks)
	slow := 0.0
	for i := range rh {
		slow = 0.9*slow + 4*random.NormFloat64()
		rh[i] = min(90, max(5, 42-10*math.Cos(2*math.Pi*float64(i)/52.18)+slow))
	}
	driver := (&air{drynesses(rh), drynesses(rh)}).driver(weeks)
	for name, strength := range map[string]float64{"moved": 1.2, "still": 0} {
		h := invented("2020-01-06", weeks, 10, false, "crack")
		for i := range driver {
			mean := 10 * math.Exp(0.5*math.Cos(2*math.Pi*float64(i)/52.18)+strength*driver[i])
			h.Counts["crack"][i] = Quantile(mean, 20, random.Float64())
		}
		f := predicted(t, h, Options{IndoorRH: rh})
		if got := strings.Contains(f.Model, "how dry"); got != (strength > 0) {
			t.Errorf("%s: got %q", name, f.Model)
		}
		short := h
		short.Counts = map[string][]int{"crack": h.Counts["crack"][:100]}
		if g := predicted(t, short, Options{IndoorRH: rh[:100]}); strings.Contains(g.Model, "how dry") {
			t.Errorf("%s: dryness is let in before two winters", name)
		}
	}
}

func BenchmarkTenWinters(b *testing.B) {
	h := invented("2016-10-03", 520, 1.2, false, "a", "b", "c", "d", "e", "f", "g", "h")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Predict(h, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
