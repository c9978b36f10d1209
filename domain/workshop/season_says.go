package workshop

import (
	"fmt"
	"math"
	"strings"
	"time"

	"winterbench/domain"
)

// SeasonAnswer says which weeks want more than there is, by how much, and what
// two more places or one more bench day would do. more holds the same weeks with
// two places and with one day more, both worked out anew.
func SeasonAnswer(weeks []SeasonWeek, places, days []SeasonWeek) string {
	over := overWeeks(weeks)
	switch {
	case len(weeks) == 0:
		return "Nobody can say what the season brings: there is nothing to go by yet."
	case len(over) == 0:
		return fmt.Sprintf("The next %d weeks want no more than you have. %s", len(weeks), fullest(weeks))
	}
	before := shortOf(weeks)
	return overText(weeks, over) + " " + triesText(before, shortOf(places), shortOf(days))
}

// overWeeks are the weeks that likely want more than there is.
func overWeeks(weeks []SeasonWeek) []int {
	var out []int
	for i, w := range weeks {
		if w.Over() {
			out = append(out, i)
		}
	}
	return out
}

// overText names the weeks and what they want too much of: the longest run of
// weeks in full, the others by number.
func overText(weeks []SeasonWeek, over []int) string {
	from, to := longestRun(over)
	hands, places := 0.0, 0.0
	for _, w := range weeks[from : to+1] {
		hands, places = hands+w.ShortHands(), places+w.ShortPlaces()
	}
	n := float64(to - from + 1)
	var much []string
	if h := int(math.Round(hands / n)); h > 0 {
		much = append(much, Count(h, "bench hour"))
	}
	if p := int(math.Ceil(places/n - 0.25)); p > 0 {
		much = append(much, Count(p, "cabinet place"))
	}
	if len(much) == 0 {
		much = []string{"a little"}
	}
	verb, each := "want", " a week"
	if from == to {
		verb, each = "wants", ""
	}
	text := fmt.Sprintf("%s %s %s%s more than you have.", weeksName(weeks[from].Monday, weeks[to].Monday), verb, strings.Join(much, " and "), each)
	switch rest := len(over) - (to - from + 1); {
	case rest == 1:
		text += " So does one other week."
	case rest > 1:
		text += fmt.Sprintf(" So do %d other weeks.", rest)
	}
	return text
}

// Count writes a number with its noun.
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// longestRun is the first and the last of the longest stretch of weeks without a
// gap, the earliest of equals.
func longestRun(at []int) (from, to int) {
	from, to = at[0], at[0]
	start := at[0]
	for i, w := range at {
		if i > 0 && w != at[i-1]+1 {
			start = w
		}
		if w-start > to-from {
			from, to = start, w
		}
	}
	return from, to
}

// weeksName names a run of weeks by month: "Weeks 3 to 6 of January".
func weeksName(first, last domain.Date) string {
	a, am := weekOfMonth(first)
	b, bm := weekOfMonth(last)
	switch {
	case first == last:
		return fmt.Sprintf("Week %d of %s", a, am)
	case am == bm && b == a+1:
		return fmt.Sprintf("Weeks %d and %d of %s", a, b, am)
	case am == bm:
		return fmt.Sprintf("Weeks %d to %d of %s", a, b, am)
	}
	return fmt.Sprintf("The weeks from week %d of %s to week %d of %s", a, am, b, bm)
}

// weekOfMonth counts a week in the month that holds its Thursday, as ISO 8601
// counts weeks in a year.
func weekOfMonth(monday domain.Date) (int, time.Month) {
	thursday := monday.AddDays(3).Time(time.UTC)
	return (thursday.Day()-1)/7 + 1, thursday.Month()
}

// WeekName names one week: "week 3 of January".
func WeekName(monday domain.Date) string {
	n, month := weekOfMonth(monday)
	return fmt.Sprintf("week %d of %s", n, month)
}

// short is how much a run of weeks lacks.
type short struct {
	weeks         int
	hands, places float64 // hours, and place-weeks
}

func shortOf(weeks []SeasonWeek) short {
	var s short
	for _, w := range weeks {
		if w.Over() {
			s.weeks++
		}
		s.hands += w.ShortHands()
		s.places += w.ShortPlaces()
	}
	return s
}

// helps says what a change does: it is enough when no week wants too much any
// more, it helps when it takes away a tenth of what is lacking or a week.
func (s short) helps(after short) string {
	switch {
	case after.weeks == 0:
		return "would be enough"
	case after.weeks < s.weeks || after.hands < 0.9*s.hands || after.places < 0.9*s.places:
		return fmt.Sprintf("would leave %s", Count(after.weeks, "such week"))
	}
	return "would not help"
}

// triesText sets the two tries side by side.
func triesText(before, places, days short) string {
	p, d := before.helps(places), before.helps(days)
	if p == d && p == "would not help" {
		return "Neither two more cabinet places nor one more bench day a week would help."
	}
	return fmt.Sprintf("Two more cabinet places %s; one more bench day a week %s.", p, d)
}

// fullest names the week with the least room.
func fullest(weeks []SeasonWeek) string {
	most, at, of := 0.0, 0, "bench hours"
	for i, w := range weeks {
		if share := w.Hands.P50 / w.HandsThere; w.HandsThere > 0 && share > most {
			most, at, of = share, i, "bench hours"
		}
		if share := w.Places.P50 / float64(w.PlacesThere); w.PlacesThere > 0 && share > most {
			most, at, of = share, i, "cabinet places"
		}
	}
	text := fmt.Sprintf("The fullest, %s, takes %.0f of 100 %s", WeekName(weeks[at].Monday), 100*most, of)
	if risk := int(math.Round(10 * weeks[at].OverChance)); risk > 0 {
		text += fmt.Sprintf(", and %d times in 10 more than there are", risk)
	}
	return text + "."
}
