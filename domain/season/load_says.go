package season

import (
	"fmt"
	"math"
	"time"

	"winterbench/domain"
)

// LoadText says which weeks ask for more bench hours than there are, the longest run
// first named, and by how much a week on average.
func LoadText(weeks []WeekLoad) string {
	from, to := longestRun(weeks)
	if from == to {
		return "No week wants more bench hours than you have."
	}
	sum, others := 0.0, 0
	for i, w := range weeks {
		if i >= from && i < to {
			sum += w.Short
		} else if w.Overloaded {
			others++
		}
	}
	hours := int(math.Round(sum / 60 / float64(to-from)))
	amount := fmt.Sprintf("%d bench hours", hours)
	switch hours {
	case 0:
		amount = "up to half a bench hour"
	case 1:
		amount = "1 bench hour"
	}
	if to-from > 1 {
		amount += " a week"
	}
	text := fmt.Sprintf("%s %s more than you have.", runText(weeks[from].Start, weeks[to-1].Start), amount)
	switch {
	case others == 1:
		text += " One other week goes over too."
	case others > 1:
		text += fmt.Sprintf(" %d other weeks go over too.", others)
	}
	return text
}

// longestRun is the longest run of overloaded weeks, the end left out.
func longestRun(weeks []WeekLoad) (from, to int) {
	for i := 0; i < len(weeks); i++ {
		k := i
		for k < len(weeks) && weeks[k].Overloaded {
			k++
		}
		if k-i > to-from {
			from, to = i, k
		}
		i = max(i, k)
	}
	return from, to
}

// runText names weeks by the month of their Thursday, as ISO weeks are put in years.
func runText(first, last domain.Date) string {
	n1, m1 := weekOfMonth(first)
	n2, m2 := weekOfMonth(last)
	switch {
	case first == last:
		return fmt.Sprintf("Week %d of %s wants", n1, m1)
	case m1 == m2 && last < first.AddDays(40):
		return fmt.Sprintf("Weeks %d to %d of %s want", n1, n2, m1)
	}
	return fmt.Sprintf("The weeks from week %d of %s to week %d of %s want", n1, m1, n2, m2)
}

func weekOfMonth(monday domain.Date) (int, time.Month) {
	day := monday.AddDays(3).Time(time.UTC)
	return (day.Day()-1)/7 + 1, day.Month()
}
