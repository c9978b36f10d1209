package workshop

import (
	"fmt"
	"math"
	"time"

	"winterbench/domain/season"
)

// lastingAnswer says how many repairs came back, of which most, and what it cost.
func lastingAnswer(l Lasting) string {
	a := l.All
	if a.Jobs == 0 {
		return "Nothing that was mended has been handed over yet."
	}
	s := fmt.Sprintf("Of %d repairs handed over since %s", a.Jobs, l.Since.Time(time.UTC).Format("January 2006"))
	if a.Jobs == 1 {
		s = "Of the one repair handed over"
	}
	switch {
	case a.Back == 0:
		s += ", none came back"
	default:
		s += fmt.Sprintf(", %d came back", a.Back)
	}
	if a.Jobs < season.FewCases {
		return s + ": too few to judge."
	}
	s += ": " + percentOf(a.Back, a.Jobs) + "."
	if worst, ok := l.worst(); ok && len(l.Repair) > 1 {
		s += fmt.Sprintf(" The most by the record: %s, %s.", lowerFirst(worst.Name), Share(worst.Back, worst.Jobs))
	}
	switch {
	case a.Ours == 0:
	case l.Shop.CostRate == 0:
		s += fmt.Sprintf(" Ours: %d; what they cost is not known until the settings say what an hour costs the shop.", a.Ours)
	default:
		s += fmt.Sprintf(" Ours: %d, which cost %s.", a.Ours, l.Shop.Currency.Show(a.Cost))
	}
	return s
}

func percentOf(k, n int) string {
	low, high := season.Wilson(k, n)
	return fmt.Sprintf("%.1f %% (%.1f to %.1f)", 100*float64(k)/float64(n), 100*low, 100*high)
}

// worst is the template whose share is surest to be high: that with the highest
// lower limit, when anything of it came back and there are enough jobs.
func (l *Lasting) worst() (worst LastingOf, ok bool) {
	best := 0.0
	for _, t := range l.Repair {
		low, _ := season.Wilson(t.Back, t.Jobs)
		if t.Jobs >= season.FewCases && t.Back > 0 && low > best {
			worst, best, ok = t, low, true
		}
	}
	return worst, ok
}

// BriefText sets the jobs with the care brief beside those without.
func (l *Lasting) BriefText() string {
	with, without := l.All.Brief, l.All.NoBrief
	if with.Jobs == 0 || without.Jobs == 0 {
		return ""
	}
	s := fmt.Sprintf("Where the care brief was given, %s came back; where it was not, %s.", Share(with.Back, with.Jobs), Share(without.Back, without.Jobs))
	if with.Jobs < season.FewCases || without.Jobs < season.FewCases {
		return s
	}
	lowA, highA := season.Wilson(with.Back, with.Jobs)
	lowB, highB := season.Wilson(without.Back, without.Jobs)
	if lowA <= highB && lowB <= highA {
		return s + " The limits overlap: the record does not tell them apart."
	}
	return s + " Who is given the brief is not drawn by lot, so this is no proof."
}

// CompareText says of two templates how much still holds at the last day that both
// curves show.
func CompareText(a, b LastingOf) string {
	if !a.Compares() || !b.Compares() {
		return fmt.Sprintf("Two templates are compared when at least %d of each came back; of these it was %d and %d.", season.FewCases, a.Back, b.Back)
	}
	day := min(a.Watched(), b.Watched())
	lowA, shareA, highA := a.holding(day)
	lowB, shareB, highB := b.holding(day)
	s := fmt.Sprintf("After %d days %.0f %% of %s still hold (%.0f to %.0f), and %.0f %% of %s (%.0f to %.0f).",
		day, 100*shareA, lowerFirst(a.Name), 100*lowA, 100*highA, 100*shareB, lowerFirst(b.Name), 100*lowB, 100*highB)
	if lowA <= highB && lowB <= highA {
		return s + " The limits overlap: the record does not tell them apart."
	}
	return s
}

// holding is the share that still holds after so many days, with its limits.
func (t LastingOf) holding(day int) (low, share, high float64) {
	low, share, high = 1, 1, 1
	for _, s := range t.Steps() {
		if s.Time > float64(day) {
			break
		}
		low, share, high = s.Low, s.Share, s.High
	}
	return low, share, high
}

// HoldingText says what share still holds after so many days; "" when it was not
// watched for as long.
func (t LastingOf) HoldingText(day int) string {
	if t.Jobs < season.FewCases || t.Watched() < day {
		return ""
	}
	low, share, high := t.holding(day)
	if share == 1 {
		return "100 %"
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f)", 100*share, math.Floor(100*low), math.Ceil(100*high))
}
