package workshop

import (
	"fmt"
	"math"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/season"
)

// SeasonOf works the coming weeks out of the facts as they are.
func SeasonOf(f SeasonFacts) (*SeasonAhead, error) {
	if f.Ahead == nil {
		ahead, err := Foretell(SeasonRecords{Shop: f.Shop, Visits: f.Visits, Now: f.Now})
		if err != nil {
			return nil, err
		}
		f.Ahead = ahead
	}
	a := &SeasonAhead{
		Shop: f.Shop, Now: f.Now, Kinds: f.Ahead.Kinds, Model: f.Ahead.Model, Seasons: float64(f.Ahead.Records) / yearOfWeeks,
		Guesses: f.Ahead.Guesses, Dry: f.Ahead.Forecast.Dry, facts: f, from: f.Ahead.From, ahead: f.Ahead,
	}
	a.count()
	a.Before = lastYear(f.Visits, a.from, f.Shop.Location())
	in := inHouse(f.Facts)
	a.House = houseText(in)
	a.Weeks = a.weeks(Change{}, in)
	a.addLast()
	a.Answer = SeasonAnswer(a.Weeks, a.weeks(Change{Places: 2}, in), a.weeks(Change{Days: 1}, in))
	return a, nil
}

const yearOfWeeks = 52

func houseText(in house) string {
	if in.Minutes == 0 && len(in.Holds) == 0 {
		return "Nothing agreed is in the house."
	}
	return fmt.Sprintf("In the house already: %s of agreed work, %s in the cabinet or on the way there. The weeks hold it.",
		Count(int(math.Round(in.Minutes/60)), "bench hour"), Count(len(in.Holds), "instrument"))
}

// count counts the jobs that the forecast goes by and those that were asked only.
func (a *SeasonAhead) count() {
	for _, v := range a.facts.Visits {
		if v.Asked && v.At.After(a.Now.AddDate(-1, 0, 0)) {
			a.Asked++
		}
		if !v.Asked {
			a.Visits++
		}
	}
}

// changed is what comes with a change. Set-ups that are taken out of the heated
// months of a year come in its other months in equal parts.
func (a *SeasonAhead) changed(c Change) season.Forecast {
	out := a.ahead.Forecast
	all := out.Weeks
	out.Weeks = slices.Clone(all[:min(seasonWeeks, len(all))])
	more := 0.0
	if c.SetUpsMoved > 0 {
		more = a.movedOut(c)
	}
	colder := a.ahead.colder(c.Degrees)
	for w := range out.Weeks {
		week := &out.Weeks[w]
		heated := a.heated(w)
		by := make(map[string]season.Range, len(week.ByKind))
		for kind, r := range week.ByKind {
			to := r.Mean * c.times(kind, heated)
			if kind == KindSetUps && !heated {
				to += more
			}
			if colder != nil {
				to *= colder[w]
			}
			if w == 0 {
				to *= a.leftOfWeek()
			}
			by[kind] = inProportion(r, r.Mean, to)
		}
		week.All = inProportion(week.All, meanOf(week.ByKind), meanOf(by))
		week.ByKind = by
	}
	return out
}

// movedOut is how many more set-ups come in each week that is not heated when a share
// of the others is moved there.
func (a *SeasonAhead) movedOut(c Change) float64 {
	moved, free := 0.0, 0
	for w, week := range a.ahead.Forecast.Weeks {
		if a.heated(w) {
			moved += week.ByKind[KindSetUps].Mean * float64(c.SetUpsMoved) / 100
		} else {
			free++
		}
	}
	return moved / float64(max(free, 1))
}

func (a *SeasonAhead) heated(week int) bool { return a.Shop.Heated(a.thursday(week).Month()) }

func (a *SeasonAhead) thursday(week int) time.Time {
	return a.from.AddDays(7*week + 3).Time(time.UTC)
}

// leftOfWeek is the share of the running week that is still to come.
func (a *SeasonAhead) leftOfWeek() float64 {
	end := a.from.AddDays(7).Time(a.Shop.Location())
	return min(1, max(0, end.Sub(a.Now).Hours()/(7*24)))
}

// weeks works the coming weeks out with something changed.
func (a *SeasonAhead) weeks(c Change, in house) []SeasonWeek {
	hours := benchHours(a.facts.Facts, a.from, seasonWeeks)
	more := a.moreHours(c)
	for w := range hours {
		hours[w] += more[w]
		if c.ClosedWeek != "" && mondayOf(c.ClosedWeek) == a.from.AddDays(7*w) {
			hours[w] = 0
		}
	}
	return a.weeksOf(a.changed(c), in, hours, len(a.Shop.Places)+c.Places)
}

// moreHours are the added bench hours of each week, closed days taken off.
func (a *SeasonAhead) moreHours(c Change) []float64 {
	out := make([]float64, seasonWeeks)
	week := c.moreHours(a.Shop)
	if week.Minutes() == 0 {
		return out
	}
	zone := a.Shop.Location()
	cal, err := queue.NewCalendar(a.Now.In(zone), 7*(seasonWeeks+1)+1, week, a.Shop.ClosedPeriods(a.from, a.from.AddDays(7*seasonWeeks+7))...)
	if err != nil {
		return out
	}
	for w := range out {
		out[w] = hoursOf(cal, later(a.from.AddDays(7*w).Time(zone), a.Now), a.from.AddDays(7*w+7).Time(zone))
	}
	return out
}

// addLast puts what the same weeks of last winter took beside the weeks: hours of
// what was agreed in them, and places by the days that its holds stood.
func (a *SeasonAhead) addLast() {
	visits, zone := a.facts.Visits, a.Shop.Location()
	if len(visits) == 0 {
		return
	}
	first := mondayOf(domain.DateOf(visits[0].At.In(zone)))
	for i := range a.Weeks {
		w := &a.Weeks[i]
		then := w.Monday.AddDays(-52 * 7)
		if then < first || then >= a.from {
			continue
		}
		w.LastHands, w.LastPlaces = 0, 0
		from, to := then.Time(zone), then.AddDays(7).Time(zone)
		for _, v := range visits {
			if !v.Asked && !v.At.Before(from) && v.At.Before(to) {
				w.LastHands += float64(v.Minutes) / 60
				w.LastPlaces += v.HoldDays / 7
			}
		}
	}
}

// Try works the coming weeks out with something changed. It returns an Invalid
// error for a change that cannot be.
func (a *SeasonAhead) Try(c Change) (*Tried, error) {
	if err := a.CheckChange(c); err != nil {
		return nil, err
	}
	in := inHouse(a.facts.Facts)
	t := &Tried{What: c, Weeks: a.weeks(c, in)}
	if c.None() {
		t.Weeks = slices.Clone(a.Weeks)
	}
	for i := range t.Weeks {
		t.Weeks[i].LastHands, t.Weeks[i].LastPlaces = a.Weeks[i].LastHands, a.Weeks[i].LastPlaces
	}
	t.total(shortOf(t.Weeks))
	t.Jobs = a.jobsDone(a.changed(c), in, t.Weeks)
	var err error
	t.Window, err = usualJob(a.facts.Facts, c, a.fullestDay())
	return t, err
}

// CheckChange is [Change.Check] in this shop, which must know its town's climate before
// degrees mean anything.
func (a *SeasonAhead) CheckChange(c Change) error {
	f := domain.Fields{}
	for field, text := range domain.FieldsOf(c.Check(a.Shop.Today(a.Now))) {
		f.Add(field, "%s", text)
	}
	if c.Degrees > 0 && !a.KnowsClimate() {
		f.Add("degrees", "needs the climate of your town; give it first, or say how many percent more work comes")
	}
	return f.Err()
}

// KnowsClimate reports whether the climate of the town was given.
func (a *SeasonAhead) KnowsClimate() bool { return a.ahead.Climate != nil }

// jobsDone is how many jobs the hands get through: all the hours that come and
// are in the house, less what is behind at the end, at the hours of a mean job.
func (a *SeasonAhead) jobsDone(f season.Forecast, in house, weeks []SeasonWeek) float64 {
	jobs, hours := 0.0, 0.0
	loads := a.ahead.loads()
	for _, kind := range RepairKinds() {
		for w := range weeks {
			jobs += f.Weeks[w].ByKind[kind].Mean
			hours += season.DueMinutes(f, kind, loads[kind], w) / 60
		}
	}
	if jobs == 0 || hours == 0 {
		return 0
	}
	return (hours + in.Minutes/60 - weeks[len(weeks)-1].Backlog) / (hours / jobs)
}

// fullestDay is the Monday of the week that is fullest as things are, within the
// weeks for which the queue knows what comes.
func (a *SeasonAhead) fullestDay() domain.Date {
	at, most := a.Shop.Today(a.Now), -math.MaxFloat64
	for _, w := range a.Weeks[:min(len(a.Weeks), comingWeeks-4)] {
		if gap := w.Hands.P50 - w.HandsThere; gap > most {
			at, most = w.Monday, gap
		}
	}
	return at
}
