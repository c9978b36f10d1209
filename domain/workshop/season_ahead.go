package workshop

import (
	"context"
	"math"
	"slices"
	"sync"
	"time"

	"winterbench/domain"
	"winterbench/domain/season"
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
	Answer  string         // in a sentence
	Guesses []ArrivalGuess // of the weeks ahead, by week and kind
	Dry     season.Dry     // what the dryness of the town's air said
	Before  []WeekJobs     // of the last year, oldest first
	facts   SeasonFacts
	from    domain.Date // Monday of the running week
	ahead   *SeasonForecast
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
	mu    sync.Mutex
	ahead *SeasonAhead
}

// Season works out the coming weeks, or gives what was worked out a moment ago as
// long as no day, job, setting, climate or guess is new.
func (o *Outlook) Season(ctx context.Context) (*SeasonAhead, error) {
	base, err := o.now(ctx)
	if err != nil {
		return nil, err
	}
	o.season.mu.Lock()
	defer o.season.mu.Unlock()
	if kept := o.season.ahead; kept != nil && kept.serves(base) {
		return kept, nil
	}
	f, err := o.seasonFacts(ctx, base)
	if err != nil {
		return nil, err
	}
	o.season.ahead, err = SeasonOf(f)
	return o.season.ahead, err
}

// serves reports whether the season still stands on the facts as they are now.
func (a *SeasonAhead) serves(now Facts) bool {
	old := now.Now.Sub(a.Now)
	return old >= 0 && old < seasonKept && a.ahead.of == now.Ahead.of && len(a.facts.Jobs) == len(now.Jobs) && slices.Equal(a.Guesses, now.Ahead.Guesses)
}

// ForgetSeason makes the next question read everything anew: after something that the
// season depends on was changed.
func (o *Outlook) ForgetSeason() {
	if o == nil {
		return
	}
	o.season.mu.Lock()
	o.season.ahead = nil
	o.season.mu.Unlock()
	o.mu.Lock()
	o.readAt = time.Time{}
	o.mu.Unlock()
}

// changed makes the season be asked anew after something that it depends on was
// changed, and passes the error of the change on.
func (w *Workshop) changed(err error) error {
	if err == nil {
		w.outlook.ForgetSeason()
	}
	return err
}

// seasonFacts adds to the queue's facts what was decided before this week and what
// customers agreed to.
func (o *Outlook) seasonFacts(ctx context.Context, base Facts) (SeasonFacts, error) {
	f := SeasonFacts{Facts: base}
	o.mu.Lock()
	f.Visits = o.ahead.visits
	o.mu.Unlock()
	var err error
	f.Money, err = o.read.AgreedMoney(ctx, f.Now.AddDate(-1, 0, 0), f.Now)
	return f, err
}

// foretoldCache keeps what is foretold as long as nothing that it hangs on changes.
type foretoldCache struct {
	visits []Visit
	plain  *SeasonForecast // without guesses
}

// foretoldOf is what a forecast hangs on.
type foretoldOf struct {
	day  domain.Date // of the shop
	shop int         // version of its settings
	SeasonMark
}

// SeasonMark tells whether records that the season is foretold from have changed.
type SeasonMark struct {
	Decided int // jobs with a yes or a no before a moment
	Climate int // version of the town's climate; 0 for none
}

// foretold is the season's forecast as it stands, worked out anew on a new day, after
// other settings and after jobs that came into the books of a week that is over. The
// caller holds the lock.
func (o *Outlook) foretold(ctx context.Context, shop *Shop, now time.Time) (*SeasonForecast, error) {
	today := shop.Today(now)
	monday := mondayOf(today)
	mark, err := o.read.SeasonMark(ctx, monday.Time(shop.Location()))
	if err != nil {
		return nil, err
	}
	if of := (foretoldOf{today, shop.Version, mark}); o.ahead.plain == nil || o.ahead.plain.of != of {
		visits, err := o.read.Visits(ctx, now.AddDate(-seasonYears, 0, 0), monday.Time(shop.Location()))
		if err != nil {
			return nil, err
		}
		r := SeasonRecords{Shop: shop, Visits: visits, Now: now}
		if mark.Climate > 0 {
			if r.Climate, err = o.read.TownClimate(ctx); err != nil {
				return nil, err
			}
		}
		plain, err := Foretell(r)
		if err != nil {
			return nil, err
		}
		plain.of = of
		o.ahead = foretoldCache{visits: visits, plain: plain}
	}
	guesses, err := o.read.ArrivalGuesses(ctx, monday)
	if err != nil {
		return nil, err
	}
	return o.ahead.plain.lay(guesses), nil
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
	week := weekSince(monday, zone)
	for _, v := range visits {
		if w := week(v.At); !v.Asked && w >= 0 && w < weeks {
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

// weekSince tells in which week after a Monday a moment lies in a zone, 0 for the first
// and negative before. It goes without dates in words, for it is asked of thousands.
func weekSince(monday domain.Date, zone *time.Location) func(time.Time) int {
	const day = 24 * 60 * 60
	first := monday.Time(time.UTC).Unix() / day
	return func(at time.Time) int {
		y, m, d := at.In(zone).Date()
		days := time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix()/day - first
		if days < 0 {
			return int((days - 6) / 7)
		}
		return int(days / 7)
	}
}
