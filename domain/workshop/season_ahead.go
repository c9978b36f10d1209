package workshop

import (
	"context"
	"math"
	"slices"
	"sync"
	"time"

	"winterbench/domain"
)

// SeasonAhead is what the coming weeks will ask of the shop.
type SeasonAhead struct {
	Shop    *Shop
	Now     time.Time
	Weeks   []SeasonWeek // from the running one on
	Kinds   []SeasonKind
	Model   string // what it was foretold with and how well that did, in words
	House   string // what is in the house already, in words
	Asked   int    // jobs of the last year that were declined: asked only
	Visits  int    // jobs that the forecast goes by
	Seasons float64
	Answer  string // in a sentence
	facts   SeasonFacts
	from    domain.Date // Monday of the running week
	ahead   []kindAhead
}

// SeasonKind is what a kind of repair takes, learned from the shop's own jobs.
type SeasonKind struct {
	Name     string
	Jobs     int     // that it was learned from
	Minutes  float64 // mean of what was agreed
	Spread   float64 // standard deviation of the logarithm of the minutes
	Held     float64 // share that went into the cabinet, 0 to 1
	HoldDays float64 // mean of those
	HoldVar  float64 // squared coefficient of variation of the days
}

// SeasonFacts are what the season is worked out from.
type SeasonFacts struct {
	Facts
	Visits []Visit
	Money  AgreedMoney // of the last year
}

// Coming weeks are asked for by people who look at one page and then try things
// out: the season is kept this long.
const seasonKept = 5 * time.Minute

// seasonCache keeps the facts of the season beside those of the queue.
type seasonCache struct {
	mu     sync.Mutex
	ahead  *SeasonAhead
	readAt time.Time
	visits []Visit
	day    domain.Date
}

// Season works out the coming weeks, or gives what was worked out a moment ago.
func (o *Outlook) Season(ctx context.Context) (*SeasonAhead, error) {
	now := domain.Moment(o.clock.Now())
	o.season.mu.Lock()
	defer o.season.mu.Unlock()
	if kept := o.season.ahead; kept != nil && now.Sub(o.season.readAt) < seasonKept && !now.Before(o.season.readAt) {
		return kept, nil
	}
	f, err := o.seasonFacts(ctx)
	if err != nil {
		return nil, err
	}
	ahead, err := SeasonOf(f)
	if err != nil {
		return nil, err
	}
	o.season.ahead, o.season.readAt = ahead, now
	return ahead, nil
}

// ForgetSeason makes the next question read everything anew: after a setting that
// the season depends on was changed.
func (o *Outlook) ForgetSeason() {
	if o == nil {
		return
	}
	o.season.mu.Lock()
	defer o.season.mu.Unlock()
	o.season.ahead = nil
}

// seasonFacts reads what the season is worked out from. What was decided before
// today is read once a day.
func (o *Outlook) seasonFacts(ctx context.Context) (SeasonFacts, error) {
	base, err := o.now(ctx)
	if err != nil {
		return SeasonFacts{}, err
	}
	f := SeasonFacts{Facts: base}
	today := f.Shop.Today(f.Now)
	if o.season.day != today {
		first := f.Now.AddDate(-seasonYears, 0, 0)
		if o.season.visits, err = o.read.Visits(ctx, first, mondayOf(today).Time(f.Shop.Location())); err != nil {
			return f, err
		}
		o.season.day = today
	}
	f.Visits = o.season.visits
	f.Money, err = o.read.AgreedMoney(ctx, f.Now.AddDate(-1, 0, 0), f.Now)
	return f, err
}

// seasonYears is how much history the season looks at.
const seasonYears = 10

// seasonKinds learns what each kind of repair takes.
func seasonKinds(visits []Visit) []SeasonKind {
	var out []SeasonKind
	for _, name := range RepairKinds() {
		k := SeasonKind{Name: name}
		var logs, days []float64
		for _, v := range visits {
			if v.Asked || v.Kind() != name || v.Minutes == 0 {
				continue
			}
			k.Minutes += float64(v.Minutes)
			logs = append(logs, math.Log(float64(v.Minutes)))
			if v.HoldDays > 0 {
				days = append(days, v.HoldDays)
			}
		}
		if k.Jobs = len(logs); k.Jobs == 0 {
			continue
		}
		k.Minutes /= float64(k.Jobs)
		_, k.Spread = meanAndDeviation(logs)
		k.Held = float64(len(days)) / float64(k.Jobs)
		if mean, sd := meanAndDeviation(days); mean > 0 {
			k.HoldDays, k.HoldVar = mean, sd*sd/(mean*mean)
		}
		out = append(out, k)
	}
	return out
}

// meanAndDeviation of nothing are 0; one value deviates by 0.
func meanAndDeviation(xs []float64) (mean, sd float64) {
	if len(xs) == 0 {
		return 0, 0
	}
	for _, x := range xs {
		mean += x
	}
	mean /= float64(len(xs))
	if len(xs) == 1 {
		return mean, 0
	}
	for _, x := range xs {
		sd += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(sd / float64(len(xs)-1))
}

// weekCounts counts the visits of each kind in each full week, from the week
// after the first visit to the one before the running week.
func weekCounts(visits []Visit, now time.Time, zone *time.Location) (monday domain.Date, counts map[string][]int) {
	this := mondayOf(domain.DateOf(now.In(zone)))
	if len(visits) == 0 {
		return this, nil
	}
	monday = mondayOf(domain.DateOf(visits[0].At.In(zone))).AddDays(7)
	weeks := weeksBetween(monday, this)
	if weeks <= 0 {
		return this, nil
	}
	counts = map[string][]int{}
	for _, k := range RepairKinds() {
		counts[k] = make([]int, weeks)
	}
	for _, v := range visits {
		w := weeksBetween(monday, mondayOf(domain.DateOf(v.At.In(zone))))
		if !v.Asked && w >= 0 && w < weeks {
			counts[v.Kind()][w]++
		}
	}
	for k, c := range counts {
		if !slices.ContainsFunc(c, func(n int) bool { return n > 0 }) {
			delete(counts, k)
		}
	}
	return monday, counts
}

func weeksBetween(from, to domain.Date) int {
	return int(math.Round(to.Time(time.UTC).Sub(from.Time(time.UTC)).Hours() / (7 * 24)))
}
