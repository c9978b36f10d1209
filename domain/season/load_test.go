package season

import (
	"math"
	"strconv"
	"testing"

	"winterbench/domain"
)

// Source: testdata/capacity.json and cabinet.csv.
func TestLoadAsComputedElsewhere(t *testing.T) {
	var want struct {
		Transient struct {
			M     map[string]float64
			Limit float64
		} `json:"mg_inf_transient"`
		Bench struct {
			Case []struct {
				Kind          string
				Lam, Sigma, R float64
				Mean          float64 `json:"mean_min"`
			}
			Mean float64 `json:"mean_h"`
			SD   float64 `json:"sd_h"`
			Over float64 `json:"P_over_25h_gamma"`
		} `json:"bench_load"`
		Fluid struct {
			Load     []float64 `json:"load_h"`
			Capacity []float64 `json:"capacity_h"`
			Backlog  []float64 `json:"backlog_h"`
			Over     []int     `json:"overload_weeks"`
		} `json:"fluid_backlog"`
	}
	read(t, "capacity.json", &want)
	hold := Load{HoldDays: 8 * math.Exp(0.125), HoldVar: math.Expm1(0.25)}
	for day, m := range want.Transient.M {
		d, err := strconv.ParseFloat(day, 64)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "places on day "+day, hold.stillIn(d), m, 1e-6)
	}
	near(t, "places in the end", hold.stillIn(1e6), want.Transient.Limit, 1e-9)
	mean, variance := 0.0, 0.0
	for _, c := range want.Bench.Case {
		m, v := Load{Minutes: c.Mean, Spread: c.Sigma}.minutes(c.Lam, c.R)
		mean, variance = mean+m, variance+v
	}
	near(t, "bench hours", mean/60, want.Bench.Mean, 1e-9)
	near(t, "their deviation", math.Sqrt(variance)/60, want.Bench.SD, 1e-9)
	near(t, "chance above 25 hours", gammaOver(mean, variance, 1500), want.Bench.Over, 1e-9)
	near(t, "6 places, all wanted", fullChance(5.30*7.20/7, 6), 0.46273828, 1e-8)

	f := Forecast{Sizes: map[string]float64{}}
	c := Capacity{}
	for i, h := range want.Fluid.Load {
		f.Weeks = append(f.Weeks, ForecastWeek{Start: domain.Date("2026-12-14").AddDays(7 * i), ByKind: map[string]Range{"work": {Mean: h}}})
		c.Minutes = append(c.Minutes, want.Fluid.Capacity[i])
	}
	over := map[int]bool{}
	for _, w := range want.Fluid.Over {
		over[w] = true
	}
	for i, l := range LoadOf(f, map[string]Load{"work": {Minutes: 1}}, c, House{}) {
		near(t, "backlog", l.Backlog, want.Fluid.Backlog[i], 1e-9)
		if l.Overloaded != over[i+1] {
			t.Errorf("week %d: got overloaded %v", i+1, l.Overloaded)
		}
	}
}

func TestHouseCounts(t *testing.T) {
	f := Forecast{Weeks: []ForecastWeek{{Start: "2027-01-04"}, {Start: "2027-01-11"}}}
	got := LoadOf(f, nil, Capacity{Minutes: []float64{600}, Places: 1}, House{Minutes: 900, HoldsLeft: []float64{2, 5, 20}})
	near(t, "backlog after a week", got[0].Backlog, 300, 0)
	near(t, "backlog after two", got[1].Backlog, 0, 0)
	near(t, "places in the first week", got[0].Places.Mean, 2, 0)
	near(t, "places in the second", got[1].Places.Mean, 1, 0)
}

func TestLoadText(t *testing.T) {
	weeks := func(start domain.Date, short ...float64) (out []WeekLoad) {
		for i, s := range short {
			out = append(out, WeekLoad{Start: start.AddDays(7 * i), Short: 60 * s, Overloaded: s > 0})
		}
		return out
	}
	for want, w := range map[string][]WeekLoad{
		"No week wants more bench hours than you have.":                                                        weeks("2027-01-04", 0, 0),
		"Weeks 2 to 4 of January want 19 bench hours a week more than you have.":                               weeks("2027-01-11", 18, 19, 20, 0),
		"Week 1 of January wants 1 bench hour more than you have.":                                             weeks("2027-01-04", 1, 0),
		"The weeks from week 5 of January to week 1 of February want 4 bench hours a week more than you have.": weeks("2026-01-26", 4, 4),
	} {
		if got := LoadText(w); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := LoadText(weeks("2027-01-11", 2, 2, 0, 2)); got != "Weeks 2 to 3 of January want 2 bench hours a week more than you have. One other week goes over too." {
		t.Error(got)
	}
}
