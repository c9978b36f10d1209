package workshop

import (
	"winterbench/domain"
	"winterbench/domain/season"
)

// houseWeeks are the weeks over which the work in the house is spread; common
// practice, no source: about what a promise says.
const houseWeeks = 3

// weeksOf sets what comes and what is in the house against hands and places, week by
// week, by the rule of [season.LoadOf]. Hours of a kind that is held fall due when its
// holds are over.
func (a *SeasonAhead) weeksOf(f season.Forecast, in house, hours []float64, places int) []SeasonWeek {
	there := season.Capacity{Places: places}
	for _, h := range hours {
		there.Minutes = append(there.Minutes, 60*h)
	}
	gone := a.Now.Sub(a.from.Time(a.Shop.Location())).Hours() / 24 // of the running week
	house := season.House{Minutes: in.Minutes, Weeks: houseWeeks}
	for _, left := range in.Holds {
		house.HoldsLeft = append(house.HoldsLeft, left+gone)
	}
	out := make([]SeasonWeek, len(f.Weeks))
	for w, l := range season.LoadOf(f, a.ahead.loads(), there, house) {
		out[w] = SeasonWeek{
			Monday: l.Start, Arrivals: likelyOf(f.Weeks[w].All, 1), Hands: likelyOf(l.Minutes, 60), HandsThere: hours[w], Places: likelyOf(l.Places, 1), PlacesThere: places,
			OverChance: l.OverChance, WaitChance: l.FullChance, Backlog: l.Backlog / 60, LastHands: -1, LastPlaces: -1, Guessed: a.guessed(l.Start),
		}
		if places == 0 { // a shop without a cabinet takes no holds
			out[w].WaitChance = 0
		}
	}
	return out
}

// guessed is how many guesses of the owner are in a week.
func (a *SeasonAhead) guessed(monday domain.Date) int {
	n := 0
	for _, g := range a.Guesses {
		if g.Monday == monday {
			n++
		}
	}
	return n
}

// likelyOf reads a range in units of per.
func likelyOf(r season.Range, per float64) Likely {
	return Likely{P10: r.P10 / per, P50: r.P50 / per, P90: r.P90 / per}
}
