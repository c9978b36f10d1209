package workshop

import (
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
)

// Likely is a figure that is not known: once in ten times it is at most P10, half of
// the time at most P50, nine times in ten at most P90.
type Likely struct{ P10, P50, P90 float64 }

// SeasonWeek is one week ahead: what it wants against what there is.
type SeasonWeek struct {
	Monday      domain.Date
	Arrivals    Likely  // jobs
	Hands       Likely  // bench hours, with what is in the house already
	HandsThere  float64 // bench hours of all people
	Places      Likely  // cabinet places
	PlacesThere int
	OverChance  float64 // that the hands are too few, 0 to 1
	WaitChance  float64 // that a hold finds every place taken, 0 to 1
	Backlog     float64 // bench hours that are left over at the end of the week
	LastHands   float64 // in the same week of last winter; negative when not known
	LastPlaces  float64
	Guessed     int // kinds of which the owner said how many to expect
}

// ShortHands is how many bench hours the week likely lacks.
func (w SeasonWeek) ShortHands() float64 { return max(0, w.Hands.P50-w.HandsThere) }

// ShortPlaces is how many places the week likely lacks. Without a cabinet there
// is nothing to lack: holds are not taken.
func (w SeasonWeek) ShortPlaces() float64 {
	return max(0, w.Places.P50-float64(w.PlacesThere))
}

// Over reports whether the week likely wants more hands or places than there are:
// by half an hour or a quarter of a place at the least.
func (w SeasonWeek) Over() bool { return w.ShortHands() >= 0.5 || w.ShortPlaces() >= 0.25 }

// benchHours are the bench hours of all people who can work there, in each of n
// weeks from a Monday on, from now on. Closed days and days away are taken off.
func benchHours(f Facts, monday domain.Date, n int) []float64 {
	zone := f.Shop.Location()
	out := make([]float64, n)
	for i := range f.Staff {
		who := &f.Staff[i]
		if !who.Active || who.Skilled() < benchSkill {
			continue
		}
		cal, err := who.Calendar(f.Shop, f.Now, 7*(n+1)+1)
		if err != nil { // no hours at all
			continue
		}
		for w := range out {
			from, to := monday.AddDays(7*w).Time(zone), monday.AddDays(7*(w+1)).Time(zone)
			out[w] += hoursOf(cal, later(from, f.Now), to)
		}
	}
	return out
}

// benchSkill is the least skill that the bench asks for.
const benchSkill = 2

func hoursOf(cal *queue.Calendar, from, to time.Time) float64 {
	if !to.After(from) {
		return 0
	}
	return float64(cal.Minutes(from, to)) / 60
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// house is the work that is agreed and not done: bench minutes left, and days
// that running and coming holds still stand in the cabinet.
type house struct {
	Minutes float64
	Holds   []float64 // days left of each, of those that run and those to come
}

// inHouse adds up what is left on the plan that the queue is played from.
func inHouse(f Facts) house {
	var h house
	for _, j := range PlanOf(f).Jobs {
		for _, t := range j.Tasks {
			switch {
			case t.Done:
			case t.Kind == queue.Bench:
				h.Minutes += leftOf(t)
			case t.Kind == queue.Hold:
				h.Holds = append(h.Holds, leftOf(t)/minutesADay)
			}
		}
	}
	return h
}

// WeekJobs is how many jobs were agreed in a week that is over.
type WeekJobs struct {
	Monday domain.Date
	Jobs   int
}

// lastYear counts the jobs of the last 52 weeks, as far as there are records.
func lastYear(visits []Visit, from domain.Date, zone *time.Location) []WeekJobs {
	if len(visits) == 0 {
		return nil
	}
	first := max(from.AddDays(-52*7), mondayOf(domain.DateOf(visits[0].At.In(zone))))
	out := make([]WeekJobs, max(0, weeksBetween(first, from)))
	for w := range out {
		out[w].Monday = first.AddDays(7 * w)
	}
	week := weekSince(first, zone)
	for _, v := range visits {
		if w := week(v.At); !v.Asked && w >= 0 && w < len(out) {
			out[w].Jobs++
		}
	}
	return out
}
