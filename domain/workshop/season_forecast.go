package workshop

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/season"
)

// SeasonRecords are what the arrivals are foretold from.
type SeasonRecords struct {
	Shop    *Shop
	Visits  []Visit
	Climate *Climate // of the town; nil while nobody gave it
	Now     time.Time
	NoScore bool // only the numbers: how well it does is not worked out
}

// SeasonForecast is what is foretold to come, from the running week on.
type SeasonForecast struct {
	From     domain.Date // Monday of the running week
	Kinds    []SeasonKind
	Plain    season.Forecast // as it was foretold
	Forecast season.Forecast // with the owner's guesses laid over it
	Guesses  []ArrivalGuess  // those that are laid over it
	Climate  *Climate        // that a colder winter is reckoned with; nil without
	Records  int             // weeks of records, the missing among them
	Closed   int             // of those: closed all week, so not counted
	Model    string          // what it was foretold with and how well that did, in words
	of       foretoldOf
}

// yearWeeks is how far each kind is foretold: what is moved to summer must come from
// somewhere.
const yearWeeks = 53

// Foretell works out what is to come of each kind in a year of weeks. The method and
// its evidence stand in package season.
func Foretell(r SeasonRecords) (*SeasonForecast, error) {
	zone := r.Shop.Location()
	monday, counts := weekCounts(r.Visits, r.Now, zone)
	out := &SeasonForecast{From: mondayOf(r.Shop.Today(r.Now)), Kinds: seasonKinds(r.Visits), Climate: r.Climate}
	h := season.History{From: monday, Counts: counts}
	for _, k := range out.Kinds {
		if len(counts[k.Name]) > 0 {
			h.Kinds = append(h.Kinds, k.Name)
			out.Records = len(counts[k.Name])
		}
	}
	if len(h.Kinds) == 0 {
		h = season.History{From: out.From, Kinds: RepairKinds(), Counts: map[string][]int{}}
		out.Kinds = usualKinds(out.Kinds)
	}
	out.Closed = closedWeeks(r.Shop, monday, out.Records, counts)
	o := season.Options{Weeks: yearWeeks, Seed: queueSeed, South: r.Shop.South(), Guess: float64(r.Shop.Expected), NoScore: r.NoScore}
	if r.Climate != nil {
		o.Climate = &r.Climate.Months
	}
	f, err := season.Predict(h, o)
	if err != nil {
		return nil, fmt.Errorf("foretell the season: %w", err)
	}
	out.Plain, out.Forecast = f, f
	out.Model = strings.Join(strings.Fields(f.Model+" "+f.Why+" "+out.closedText()+" "+r.Shop.SouthText()), " ")
	return out, nil
}

func (f *SeasonForecast) closedText() string {
	switch f.Closed {
	case 0:
		return ""
	case 1:
		return "In one of the weeks without a count the shop was closed."
	}
	return fmt.Sprintf("In %d of the weeks without a count the shop was closed.", f.Closed)
}

// closedWeeks marks the weeks in which the shop was closed on every day as not
// counted, and returns how many. A week of which only a part was closed stays.
func closedWeeks(shop *Shop, monday domain.Date, weeks int, counts map[string][]int) int {
	if weeks == 0 {
		return 0
	}
	closed := shop.ClosedPeriods(monday, monday.AddDays(7*weeks-1))
	if len(closed) == 0 {
		return 0
	}
	off := map[domain.Date]bool{}
	last := monday.AddDays(7 * weeks)
	for _, p := range closed {
		for d := max(p.From, monday); d <= p.To && d < last; d = d.AddDays(1) {
			off[d] = true
		}
	}
	n := 0
	for w := range weeks {
		if shop.allOff(monday.AddDays(7*w), off) {
			n++
			for _, row := range counts {
				row[w] = season.Missing
			}
		}
	}
	return n
}

// allOff reports whether each day of a week on which the shop is usually open was
// off. A shop that is never open has no such week.
func (s *Shop) allOff(monday domain.Date, off map[domain.Date]bool) bool {
	open := false
	for d, h := range s.Hours {
		if h.Open == "" {
			continue
		}
		if open = true; !off[monday.AddDays(d)] {
			return false
		}
	}
	return open
}

// usualKinds are what jobs take in a shop that has no records of its own, beside what
// it knows already. Common practice, no source.
func usualKinds(known []SeasonKind) []SeasonKind {
	out := []SeasonKind{
		{Name: KindCracks, Minutes: 180, Spread: 0.4, Held: 0.5, HoldDays: 9, HoldVar: 0.25},
		{Name: KindJoints, Minutes: 150, Spread: 0.4, Held: 0.2, HoldDays: 9, HoldVar: 0.25},
		{Name: KindFrets, Minutes: 150, Spread: 0.4},
		{Name: KindSetUps, Minutes: 75, Spread: 0.3},
		{Name: KindOther, Minutes: 60, Spread: 0.6},
	}
	for i, k := range out {
		if at := slices.IndexFunc(known, func(x SeasonKind) bool { return x.Name == k.Name }); at >= 0 {
			out[i] = known[at]
		}
	}
	return out
}

// loads are what a job of each kind asks for.
func (f *SeasonForecast) loads() map[string]season.Load {
	out := make(map[string]season.Load, len(f.Kinds))
	for _, k := range f.Kinds {
		out[k.Name] = season.Load{
			Minutes: k.Minutes, Spread: k.Spread, Held: k.Held, HoldDays: k.HoldDays, HoldVar: k.HoldVar, DueAfter: int(math.Round(k.HoldDays / 7)),
		}
	}
	return out
}

// lay returns the forecast with the owner's guesses in place of what was foretold of
// a kind in a week. Guesses for weeks that are over or not looked at are left out.
func (f *SeasonForecast) lay(guesses []ArrivalGuess) *SeasonForecast {
	out := *f
	out.Forecast, out.Guesses = f.Plain, nil
	out.Forecast.Weeks = slices.Clone(f.Plain.Weeks)
	for _, g := range guesses {
		w := weeksBetween(f.From, g.Monday)
		if w < 0 || w >= len(out.Forecast.Weeks) {
			continue
		}
		out.Guesses = append(out.Guesses, g)
		size := out.Forecast.Sizes[g.Kind]
		setKind(&out.Forecast.Weeks[w], g.Kind, guessRange(float64(g.Jobs), size))
	}
	return &out
}

// guessRange is what a guess may well come to: the weeks vary as they always do.
func guessRange(jobs, size float64) season.Range {
	if jobs <= 0 {
		return season.Range{}
	}
	if size <= 0 {
		size = usualSize
	}
	q := func(p float64) float64 { return float64(season.Quantile(jobs, size, p)) }
	return season.Range{Mean: jobs, P10: q(0.1), P50: q(0.5), P90: q(0.9)}
}

// setKind replaces what is foretold of a kind in a week; all kinds together keep their
// range in proportion.
func setKind(week *season.ForecastWeek, kind string, r season.Range) {
	by := make(map[string]season.Range, len(week.ByKind)+1)
	for k, v := range week.ByKind {
		by[k] = v
	}
	by[kind] = r
	week.All = inProportion(week.All, meanOf(week.ByKind), meanOf(by))
	week.ByKind = by
}

func meanOf(by map[string]season.Range) (sum float64) {
	for _, kind := range RepairKinds() {
		sum += by[kind].Mean
	}
	return sum
}

// inProportion stretches a range as its mean changes from one figure to another.
func inProportion(r season.Range, from, to float64) season.Range {
	if from <= 0 {
		return guessRange(to, usualSize)
	}
	x := to / from
	return season.Range{Mean: r.Mean * x, P10: r.P10 * x, P50: r.P50 * x, P90: r.P90 * x}
}

// colder is by what factor more comes in each week ahead when it is so many degrees
// colder; 1 in all without a climate.
func (f *SeasonForecast) colder(degrees int) []float64 {
	if f == nil || f.Climate == nil || degrees == 0 {
		return nil
	}
	return f.Climate.Months.Colder(f.Plain, float64(degrees))
}
