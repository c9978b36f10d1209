package workshop

import (
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
)

// OpenDay is one day of the shop's calendar, or of a person's.
type OpenDay struct {
	Day     domain.Date
	Spans   []Span // by the wall clock, in order; none when closed
	Minutes int    // of work, in real time: a clock change adds or takes away
	Why     string // why there are none; "" on a working day
}

// MostOpenDays is the most days that OpenDays lays out.
const MostOpenDays = 400

// OpenDays lays out the days from one to another, both included: the person's,
// or the shop's when there is none. It returns an Invalid error for days that
// are none, come in the wrong order or are too many.
func OpenDays(shop *Shop, person *Staff, from, to domain.Date) ([]OpenDay, error) {
	if err := (queue.Period{From: from, To: to}).Check(); err != nil {
		return nil, err
	}
	zone := shop.Location()
	days := 1 + from.DaysTo(to)
	if days > MostOpenDays {
		return nil, domain.Invalidf("%s to %s are %d days; ask for at most %d", from, to, days, MostOpenDays)
	}
	if person == nil {
		person = &Staff{}
	}
	week, holidays := person.Week(shop), shop.Holidays(from, to)
	c, err := person.Calendar(shop, from.Time(zone), days+1)
	if err != nil && domain.KindOf(err) != domain.Invalid {
		return nil, err
	}
	out := make([]OpenDay, days)
	for i := range out {
		d := &out[i]
		d.Day = from.AddDays(i)
		if d.Why = closedWhy(shop, person, holidays, week, d.Day); d.Why != "" {
			continue
		}
		d.Spans = spansOf(week[d.Day.Time(time.UTC).Weekday()])
		if c != nil { // nil: not one day is open
			d.Minutes = c.Minutes(d.Day.Time(zone), d.Day.AddDays(1).Time(zone))
		}
	}
	return out, nil
}

// closedWhy says why nobody works on a day, "" when somebody does.
func closedWhy(shop *Shop, person *Staff, holidays []Holiday, week queue.Week, day domain.Date) string {
	holds := func(s DaySpan) bool { return s.Holds(day) }
	if i := slices.IndexFunc(shop.Closed, holds); i >= 0 {
		return wordOr(shop.Closed[i].Why, "closed")
	}
	if i := slices.IndexFunc(holidays, func(h Holiday) bool { return h.Date == day && !h.Open }); i >= 0 {
		return holidays[i].Title()
	}
	if i := slices.IndexFunc(person.Away, holds); i >= 0 {
		if why := person.Away[i].Why; why != "" {
			return "away: " + why
		}
		return "away"
	}
	if weekday := day.Time(time.UTC).Weekday(); len(week[weekday]) == 0 {
		return "no hours on " + weekday.String() + "s"
	}
	return ""
}

// Title names the holiday, and says when the free day stands for another.
func (h Holiday) Title() string {
	if h.Instead {
		return h.Name + ", kept on this day instead"
	}
	return h.Name
}

func wordOr(word, otherwise string) string {
	if word == "" {
		return otherwise
	}
	return word
}

// spansOf writes the spans of a day by the wall clock, in order.
func spansOf(day []queue.Span) []Span {
	var out []Span
	for _, s := range slices.SortedFunc(slices.Values(day), func(a, b queue.Span) int { return a.From - b.From }) {
		out = append(out, Span{From: wall(s.From), To: wall(s.To)})
	}
	return out
}
