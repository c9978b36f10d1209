package season

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/strict"
)

// CalcInput is what the calculation named season is given. It is a sum on its own:
// nothing is stored.
type CalcInput struct {
	Weeks    []CalcWeek          `json:"weeks" doc:"Weeks in order; one that is left out is missing, not 0. At most 1100"`
	Horizon  int64               `json:"horizon,omitempty" doc:"Weeks to foretell, 1 to 106; default 26"`
	Guess    float64             `json:"guess,omitempty" doc:"Jobs a week that you expect, for a shop without records"`
	South    bool                `json:"south,omitempty" doc:"In the southern hemisphere"`
	Load     map[string]CalcLoad `json:"load" doc:"What a job of each kind asks for; 1 to 60 kinds"`
	Capacity CalcCapacity        `json:"capacity" doc:"What the shop has in each week"`
}

// CalcWeek is a week that was counted.
type CalcWeek struct {
	Week     string           `json:"week" doc:"ISO 8601 week such as 2026-W40"`
	Arrivals map[string]int64 `json:"arrivals" doc:"Jobs of each kind that came; a kind left out is 0"`
}

// CalcLoad is what one job of a kind asks for.
type CalcLoad struct {
	Minutes  float64 `json:"minutes" doc:"Mean bench minutes"`
	HoldDays float64 `json:"hold_days,omitempty" doc:"Mean days in the cabinet; default none"`
}

// CalcCapacity is what the shop has in each week.
type CalcCapacity struct {
	Minutes float64 `json:"minutes" doc:"Bench minutes a week"`
	Places  int64   `json:"places" doc:"Places in the cabinet"`
}

// CalcOutput is what the calculation named season returns.
type CalcOutput struct {
	Answer string       `json:"answer" doc:"Which weeks want more than there is"`
	Model  string       `json:"model" doc:"What the forecast went by"`
	Why    string       `json:"why" doc:"What was odd, and how well the model does"`
	Weeks  []CalcResult `json:"weeks"`
}

// CalcResult is one week ahead.
type CalcResult struct {
	Week       string                `json:"week"`
	Arrivals   map[string]CalcCounts `json:"arrivals"`
	Minutes    CalcRange             `json:"minutes"`
	Places     CalcRange             `json:"places"`
	Overloaded bool                  `json:"overloaded" doc:"The mean of the minutes is above what there is"`
}

// CalcCounts is the jobs of a kind in one week.
type CalcCounts struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

// CalcRange is an amount of one week.
type CalcRange struct {
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

// What the calculation takes for every kind. Source: as the study behind
// docs/season.md.
const (
	calcSpread  = 0.35 // deviation of the logarithm of the minutes
	calcHoldVar = 0.28 // squared coefficient of variation of the days, a lognormal of 0.5
)

// CalcSeason foretells from JSON in the shape of CalcInput and returns JSON in the
// shape of CalcOutput. It returns an Invalid error that names all wrong and unknown
// fields at once. The input has at most 1 MiB.
func CalcSeason(in []byte) ([]byte, error) {
	f := domain.Fields{}
	input := readCalc(f, in)
	if err := f.Err(); err != nil {
		return nil, err
	}
	h := input.history(f)
	if err := f.Err(); err != nil {
		return nil, err
	}
	out, err := Predict(h, Options{Weeks: int(input.Horizon), Guess: input.Guess, South: input.South})
	if err != nil {
		return nil, err
	}
	return json.Marshal(input.output(out))
}

// history lays the weeks on the calendar and notes every field that is wrong.
func (in CalcInput) history(f domain.Fields) History {
	h := History{Kinds: slices.Sorted(maps.Keys(in.Load)), Counts: map[string][]int{}}
	in.check(f)
	var starts []domain.Date
	for i, w := range in.Weeks {
		start, ok := mondayOf(w.Week)
		switch {
		case !ok:
			f.Add(fmt.Sprintf("weeks[%d].week", i), "%q is no week; write it such as 2026-W40", strict.Clip(w.Week))
			return h
		case i > 0 && start <= starts[i-1]:
			f.Add(fmt.Sprintf("weeks[%d].week", i), "must come after %s", in.Weeks[i-1].Week)
			return h
		}
		starts = append(starts, start)
		in.checkArrivals(f, i)
	}
	h.From = starts[0]
	weeks := h.From.DaysTo(starts[len(starts)-1])/7 + 1
	if weeks > MaxWeeks {
		f.Add("weeks", "span %d weeks; at most %d", weeks, MaxWeeks)
		return h
	}
	for _, kind := range h.Kinds {
		row := slices.Repeat([]int{Missing}, weeks)
		for i, w := range in.Weeks {
			row[h.From.DaysTo(starts[i])/7] = int(w.Arrivals[kind])
		}
		h.Counts[kind] = row
	}
	return h
}

func (in CalcInput) check(f domain.Fields) {
	if n := len(in.Load); n == 0 || n > MaxKinds {
		f.Add("load", "must have 1 to %d kinds", MaxKinds)
	}
	for kind, l := range in.Load {
		within(f, "load."+strict.Clip(kind)+".minutes", l.Minutes, 100000)
		within(f, "load."+strict.Clip(kind)+".hold_days", l.HoldDays, 1000)
	}
	within(f, "capacity.minutes", in.Capacity.Minutes, 1e7)
	within(f, "capacity.places", float64(in.Capacity.Places), 10000)
}

func within(f domain.Fields, field string, v, most float64) {
	if !(v >= 0 && v <= most) {
		f.Add(field, "must be 0 to %.0f", most)
	}
}

func (in CalcInput) checkArrivals(f domain.Fields, week int) {
	for kind, n := range in.Weeks[week].Arrivals {
		field := fmt.Sprintf("weeks[%d].arrivals.%s", week, strict.Clip(kind))
		if _, known := in.Load[kind]; !known {
			f.Add(field, "has no entry in load")
		}
		if n < 0 || n > MaxCount {
			f.Add(field, "must be 0 to %d", MaxCount)
		}
	}
}

var isoWeek = regexp.MustCompile(`^([0-9]{4})-W([0-9]{2})$`)

// mondayOf is the first day of an ISO week: the week that holds 4 January is the
// first of its year. A 53rd week that the year has not is none.
func mondayOf(week string) (domain.Date, bool) {
	m := isoWeek.FindStringSubmatch(week)
	if m == nil {
		return "", false
	}
	year, _ := strconv.Atoi(m[1])
	n, _ := strconv.Atoi(m[2])
	fourth := time.Date(year, 1, 4, 0, 0, 0, 0, time.UTC)
	monday := fourth.AddDate(0, 0, 7*(n-1)-(int(fourth.Weekday())+6)%7)
	if y, w := monday.ISOWeek(); y != year || w != n || year < 1900 {
		return "", false
	}
	return domain.DateOf(monday), true
}

func weekOf(monday domain.Date) string {
	y, w := monday.Time(time.UTC).ISOWeek()
	return fmt.Sprintf("%04d-W%02d", y, w)
}

func (in CalcInput) output(f Forecast) CalcOutput {
	loads := map[string]Load{}
	for kind, l := range in.Load {
		held := 0.0
		if l.HoldDays > 0 {
			held = 1
		}
		loads[kind] = Load{Minutes: l.Minutes, Spread: calcSpread, Held: held, HoldDays: l.HoldDays, HoldVar: calcHoldVar}
	}
	weeks := LoadOf(f, loads, Capacity{Minutes: []float64{in.Capacity.Minutes}, Places: int(in.Capacity.Places)}, House{})
	out := CalcOutput{Answer: LoadText(weeks), Model: f.Model, Why: f.Why}
	for i, w := range weeks {
		r := CalcResult{Week: weekOf(w.Start), Arrivals: map[string]CalcCounts{}, Overloaded: w.Overloaded}
		for kind, a := range f.Weeks[i].ByKind {
			r.Arrivals[kind] = CalcCounts{a.P10, a.P50, a.P90}
		}
		r.Minutes = CalcRange{math.Round(w.Minutes.P50), math.Round(w.Minutes.P90)}
		r.Places = CalcRange{w.Places.P50, w.Places.P90}
		out.Weeks = append(out.Weeks, r)
	}
	return out
}

// CalcSeasonExample returns an input of CalcSeason that works: an invented shop's
// first two winters with two weeks missing.
func CalcSeasonExample() []byte {
	monday, _ := mondayOf("2024-W40")
	var rows []string
	for i := range 106 {
		if i == 12 || i == 64 { // the shop was closed
			continue
		}
		cold := math.Cos(2 * math.Pi * float64(i-16) / 52.18)
		crack := int(math.Round(2.2 + 1.8*cold + float64(i*7%5-2)/2))
		setup := int(math.Round(4 + cold + float64(i*3%7-3)/2))
		rows = append(rows, fmt.Sprintf(`    {"week": %q, "arrivals": {"crack": %d, "set-up": %d}}`, weekOf(monday.AddDays(7*i)), max(0, crack), setup))
	}
	return []byte("{\n  \"weeks\": [\n" + strings.Join(rows, ",\n") + `
  ],
  "horizon": 26,
  "load": {"crack": {"minutes": 180, "hold_days": 12}, "set-up": {"minutes": 75}},
  "capacity": {"minutes": 900, "places": 6}
}
`)
}
