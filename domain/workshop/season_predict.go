package workshop

import (
	"fmt"
	"math"

	"winterbench/domain"
)

// predict foretells each kind for a year of weeks by the mean of the five weeks
// around the same week of earlier years, and says so in words with how well that
// did in the last year.
func (a *SeasonAhead) predict(monday domain.Date, counts map[string][]int) string {
	for _, kind := range a.Kinds {
		k := kindAhead{kind: kind, size: usualSize}
		for w := range yearWeeks {
			k.mean = append(k.mean, fiveWeeks(counts[kind.Name], monday, a.from.AddDays(7*w)))
		}
		a.ahead = append(a.ahead, k)
	}
	weeks := weeksBetween(monday, a.from)
	a.Seasons = float64(weeks) / 52
	return fmt.Sprintf("Foretold from %s of the shop’s own records.", Count(weeks, "week"))
}

// fiveWeeks is the mean of a week and the two on either side in earlier years;
// without any, the mean of all weeks.
func fiveWeeks(counts []int, monday, week domain.Date) float64 {
	if len(counts) == 0 {
		return 0
	}
	sum, n := 0, 0
	for at := weeksBetween(monday, week) - 52; at > -3; at -= 52 {
		for w := at - 2; w <= at+2; w++ {
			if w >= 0 && w < len(counts) {
				sum, n = sum+counts[w], n+1
			}
		}
	}
	if n == 0 {
		all := 0
		for _, c := range counts {
			all += c
		}
		return float64(all) / float64(len(counts))
	}
	return math.Max(0, float64(sum)/float64(n))
}
