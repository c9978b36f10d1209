package workshop

import (
	"fmt"
	"math"

	"winterbench/domain"
)

// predict foretells each kind for a year of weeks by the five weeks around the
// same week of earlier years, at the level of the last year. It says in words
// what it went by and how well that would have done in the last year.
//
// Source of the five-point seasonal mean, and of its standing beside other
// methods on open count series: the comparison in docs/queue.md.
func (a *SeasonAhead) predict(monday domain.Date, counts map[string][]int) string {
	total := make([]int, weeksBetween(monday, a.from))
	for _, kind := range a.Kinds {
		k := kindAhead{kind: kind, size: usualSize}
		seen := counts[kind.Name]
		for w, n := range seen {
			total[w] += n
		}
		for w := range yearWeeks {
			k.mean = append(k.mean, fiveWeeks(seen, len(seen)+w))
		}
		a.ahead = append(a.ahead, k)
	}
	grown := growth(total)
	for i := range a.ahead {
		for w := range a.ahead[i].mean {
			a.ahead[i].mean[w] *= grown
		}
	}
	a.Seasons = float64(len(total)) / yearOfWeeks
	return modelText(total, grown)
}

const yearOfWeeks = 52

// fiveWeeks is the mean of the week one, two and more years before a week and of
// the two on either side of each; the mean of all weeks when there is no such
// week. Counts end where the forecast begins or later.
func fiveWeeks(counts []int, week int) float64 {
	sum, n := 0, 0
	for at := week - yearOfWeeks; at > -3; at -= yearOfWeeks {
		for w := at - 2; w <= at+2; w++ {
			if w >= 0 && w < len(counts) {
				sum, n = sum+counts[w], n+1
			}
		}
	}
	if n == 0 {
		return meanOf(counts)
	}
	return float64(sum) / float64(n)
}

func meanOf(counts []int) float64 {
	if len(counts) == 0 {
		return 0
	}
	sum := 0
	for _, c := range counts {
		sum += c
	}
	return float64(sum) / float64(len(counts))
}

// growth is the last year against what the years before it foretold, held half
// way back to no change and within a fifth: one year is little evidence. 1 with
// less than two years. Source: our choice.
func growth(total []int) float64 {
	if len(total) < 2*yearOfWeeks {
		return 1
	}
	was, told := 0.0, 0.0
	for w := len(total) - yearOfWeeks; w < len(total); w++ {
		was, told = was+float64(total[w]), told+fiveWeeks(total[:len(total)-yearOfWeeks], w)
	}
	if was == 0 || told == 0 {
		return 1
	}
	return min(1.2, max(0.8, math.Sqrt(was/told)))
}

// scored plays the last year: the mean miss of the five-week mean and of the same
// week a year before, in jobs a week, both foretold from the years before alone.
func scored(total []int) (five, same float64) {
	for w := len(total) - yearOfWeeks; w < len(total); w++ {
		known := total[:len(total)-yearOfWeeks]
		five += math.Abs(fiveWeeks(known, w) - float64(total[w]))
		same += math.Abs(float64(total[w-yearOfWeeks] - total[w]))
	}
	return five / yearOfWeeks, same / yearOfWeeks
}

func modelText(total []int, grown float64) string {
	switch {
	case len(total) == 0:
		return "Nothing is foretold: no full week of agreed work is in the books yet. The weeks hold what is in the house."
	case len(total) < yearOfWeeks:
		return fmt.Sprintf("Foretold as the mean of the %s in the books; the shape of the year shows after a whole one.", Count(len(total), "week"))
	}
	text := fmt.Sprintf("Foretold from %s of the shop’s own records: the mean of the five weeks around the same week of earlier years", Count(len(total), "week"))
	if percent := int(math.Round(100 * (grown - 1))); percent != 0 {
		word := "more"
		if percent < 0 {
			word, percent = "less", -percent
		}
		text += fmt.Sprintf(", %d percent %s after the level of the last year", percent, word)
	}
	text += "."
	if len(total) < 2*yearOfWeeks {
		return text + " How well that does shows after a second year."
	}
	five, same := scored(total)
	text += fmt.Sprintf(" In the last year that mean would have missed by %.1f jobs a week; the same week a year before, by %.1f.", five, same)
	if five >= same {
		text += " It did no better: trust it little."
	}
	return text
}
