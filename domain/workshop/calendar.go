package workshop

import (
	"cmp"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
)

// Said is how sure the day is that a customer is told: the share of plays of the
// queue in which the job is done by then.
type Said string

// The choices. "" is the usual one, SaidLate.
const (
	SaidEven Said = "p50" // half the jobs are late
	SaidLate Said = "p80" // one in five is late
	SaidSafe Said = "p95" // one in twenty is late
)

// SaidChoices lists them, the earliest day first.
func SaidChoices() []Said { return []Said{SaidEven, SaidLate, SaidSafe} }

// OrUsual is the choice, SaidLate when the shop made none.
func (s Said) OrUsual() Said { return cmp.Or(s, SaidLate) }

// Share is the choice as a part of 1: 0.8 for p80.
func (s Said) Share() float64 {
	switch s.OrUsual() {
	case SaidEven:
		return 0.5
	case SaidSafe:
		return 0.95
	}
	return 0.8
}

// checkCalendar checks when the shop works.
func (s *Shop) checkCalendar(f domain.Fields) {
	if s.Region != "" && !slices.Contains(queue.Regions(), s.Region) {
		f.Add("region", "no holidays are known for %q; choose one of the list, or none", s.Region)
	}
	if s.Said != "" && !slices.Contains(SaidChoices(), s.Said) {
		f.Add("said", "must be p50, p80 or p95, not %q", s.Said)
	}
	if !s.Hemisphere.known() {
		f.Add("hemisphere", "must be north, south or empty for the time zone's, not %q", s.Hemisphere)
	}
	if s.Expected < 0 || s.Expected > 1000 {
		f.Add("expected", "must be from 0 to 1000 jobs a week")
	}
	if len(s.OpenOn) > 400 {
		f.Add("open_on", "must be at most 400 days")
		return
	}
	for _, d := range s.OpenOn {
		_, err := domain.ParseDate(string(d))
		f.AddErr("open_on", err)
	}
	if len(s.OpenOn) > 0 {
		s.OpenOn = slices.Compact(slices.Sorted(slices.Values(s.OpenOn)))
	}
	s.Closed = checkDaySpans(f, "closed", s.Closed)
}

// Week is the shop's opening hours as the queue takes them.
func (s *Shop) Week() queue.Week {
	var out queue.Week
	for i, h := range s.Hours {
		out[(i+1)%7] = minutesOfDay([]Span{{From: h.Open, To: h.Close}})
	}
	return out
}

// Week is the person's own hours as the queue takes them, the shop's when they
// have none. Own hours may reach beyond the shop's: a bench works behind a
// closed door.
func (s *Staff) Week(shop *Shop) queue.Week {
	if s.Hours.Empty() {
		return shop.Week()
	}
	var out queue.Week
	for i, day := range s.Hours {
		out[(i+1)%7] = minutesOfDay(day)
	}
	return out
}

// Holiday is a public holiday of the shop's region.
type Holiday struct {
	queue.Holiday
	Open bool // the shop works all the same
}

// Holidays lists the public holidays of the shop's region from one day to
// another, both included; nil without a region.
func (s *Shop) Holidays(from, to domain.Date) []Holiday {
	var out []Holiday
	if s.Region == "" {
		return nil
	}
	for year := yearOf(from); year <= yearOf(to); year++ {
		list, err := queue.Holidays(s.Region, year)
		if err != nil {
			continue // a region of an older program, or a year that no table knows
		}
		for _, h := range list {
			if from <= h.Date && h.Date <= to {
				out = append(out, Holiday{Holiday: h, Open: slices.Contains(s.OpenOn, h.Date)})
			}
		}
	}
	return out
}

func yearOf(d domain.Date) int { return d.Time(time.UTC).Year() }

// ClosedPeriods lists the days from one to another on which the whole shop is
// closed: its own closed days, and the holidays that it keeps.
func (s *Shop) ClosedPeriods(from, to domain.Date) []queue.Period {
	out := periods(s.Closed)
	for _, h := range s.Holidays(from, to) {
		if !h.Open {
			out = append(out, queue.Day(h.Date))
		}
	}
	return out
}

func periods(spans []DaySpan) []queue.Period {
	out := make([]queue.Period, len(spans))
	for i, d := range spans {
		out[i] = queue.Period{From: d.From, To: d.To}
	}
	return out
}

// Calendar is the shop's working time from a moment for so many days, in the
// shop's zone. It returns an Invalid error when it has none in that time.
func (s *Shop) Calendar(from time.Time, days int) (*queue.Calendar, error) {
	from = from.In(s.Location())
	first := domain.DateOf(from)
	return queue.NewCalendar(from, days, s.Week(), s.ClosedPeriods(first, first.AddDays(days))...)
}

// Calendar is the person's working time: their hours, less the days on which
// they are away or the shop is closed.
func (s *Staff) Calendar(shop *Shop, from time.Time, days int) (*queue.Calendar, error) {
	from = from.In(shop.Location())
	first := domain.DateOf(from)
	closed := append(shop.ClosedPeriods(first, first.AddDays(days)), periods(s.Away)...)
	return queue.NewCalendar(from, days, s.Week(shop), closed...)
}
