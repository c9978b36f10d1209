package queue

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"winterbench/domain"
)

// Span is a stretch of a day in minutes after midnight by the wall clock, From
// included, To not: 0 <= From < To <= 1440.
type Span struct{ From, To int }

// Week is the working hours by time.Weekday, Sunday first. A day may have
// several spans, such as before and after lunch; none is a free day.
type Week [7][]Span

// Minutes returns the minutes of a week without clock changes.
func (w Week) Minutes() int {
	sum := 0
	for _, day := range w {
		for _, s := range day {
			sum += s.To - s.From
		}
	}
	return sum
}

// Check refuses spans that end before they begin, leave the day or overlap.
func (w Week) Check() error {
	for day, spans := range w {
		sorted := slices.SortedFunc(slices.Values(spans), func(a, b Span) int { return a.From - b.From })
		for i, s := range sorted {
			name := time.Weekday(day)
			if s.From < 0 || s.To > dayMinutes || s.From >= s.To {
				return domain.Invalidf("%v: %s to %s is no stretch of a day; it must begin before it ends, from 00:00 to 24:00", name, wall(s.From), wall(s.To))
			}
			if i > 0 && sorted[i-1].To > s.From {
				return domain.Invalidf("%v: the hours from %s and from %s overlap", name, wall(sorted[i-1].From), wall(s.From))
			}
		}
	}
	return nil
}

func wall(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// Period is a run of whole civil days, both ends included.
type Period struct{ From, To domain.Date }

// Day is the period of one day.
func Day(d domain.Date) Period { return Period{d, d} }

// Check refuses dates that are none, and an end before the beginning.
func (p Period) Check() error {
	for _, d := range []domain.Date{p.From, p.To} {
		if _, err := domain.ParseDate(string(d)); err != nil {
			return err
		}
	}
	if p.To < p.From {
		return domain.Invalidf("%s to %s ends before it begins", p.From, p.To)
	}
	return nil
}

const (
	dayMinutes = 24 * 60
	never      = math.MaxInt64 >> 2 // minutes; later than any event
)

// Calendar is the working time of one person or of the shop: from its start for
// a number of days, in whole real minutes. Its zone's clock changes are in it, so
// a night shift on the day of a change has an hour more or less. A Calendar does
// not change and may be shared.
type Calendar struct {
	origin time.Time // minute 0, in its zone
	start  []int64   // of each open span, in minutes after origin, ascending
	end    []int64   // of each open span; spans neither touch nor overlap
	before []int64   // working minutes before each span
}

// NewCalendar lays out the hours from a moment for whole civil days, leaving out
// closed days. The zone is that of from; its seconds are rounded up to a whole
// minute. It returns an Invalid error when hours or closed days are wrong or when
// not one minute is left open.
func NewCalendar(from time.Time, days int, hours Week, closed ...Period) (*Calendar, error) {
	if err := hours.Check(); err != nil {
		return nil, err
	}
	if days < 1 || days > MaxDays {
		return nil, domain.Invalidf("a calendar has 1 to %d days, not %d", MaxDays, days)
	}
	for _, p := range closed {
		if err := p.Check(); err != nil {
			return nil, err
		}
	}
	c := layOut(wholeMinute(from), days, hours, closed)
	if len(c.start) == 0 {
		return nil, domain.Invalidf("not one minute is open in the %d days from %s; check hours, closed days and days away", days, domain.DateOf(from))
	}
	return c, nil
}

// MaxDays is the longest calendar, ten years.
const MaxDays = 3653

// wholeMinute rounds up to a whole minute: work cannot begin in the past.
func wholeMinute(t time.Time) time.Time {
	if down := t.Truncate(time.Minute); !down.Equal(t) {
		return down.Add(time.Minute)
	}
	return t
}

// layOut makes the spans of each day, cut at the origin and merged where they touch.
func layOut(origin time.Time, days int, hours Week, closed []Period) *Calendar {
	c := &Calendar{origin: origin}
	z := offsetsOf(origin, days)
	sorted := hours
	for d := range sorted {
		sorted[d] = slices.SortedFunc(slices.Values(hours[d]), func(a, b Span) int { return a.From - b.From })
	}
	y, m, d := origin.Date()
	first := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	shut := closedDays(first, days, closed)
	weekday := int(first.Weekday())
	for i := range days {
		if shut == nil || !shut[i] {
			midnight := first.Unix()/60 + int64(i)*dayMinutes
			for _, s := range sorted[(weekday+i)%7] {
				c.add(z.minute(midnight+int64(s.From)), z.minute(midnight+int64(s.To)))
			}
		}
	}
	return c
}

// closedDays marks the days that are closed, nil when none is.
func closedDays(first time.Time, days int, closed []Period) []bool {
	var shut []bool
	for _, p := range closed {
		from := int(p.From.Time(time.UTC).Sub(first).Hours() / 24)
		to := int(p.To.Time(time.UTC).Sub(first).Hours() / 24)
		for i := max(from, 0); i <= min(to, days-1); i++ {
			if shut == nil {
				shut = make([]bool, days)
			}
			shut[i] = true
		}
	}
	return shut
}

// add appends an open span; the part before the origin is lost.
func (c *Calendar) add(start, end int64) {
	start = max(start, 0)
	if end <= start {
		return
	}
	n := len(c.end)
	if n > 0 && start <= c.end[n-1] {
		c.end[n-1] = max(c.end[n-1], end)
		return
	}
	sum := int64(0)
	if n > 0 {
		sum = c.before[n-1] + c.end[n-1] - c.start[n-1]
	}
	c.start = append(c.start, start)
	c.end = append(c.end, end)
	c.before = append(c.before, sum)
}

// always is a calendar that never closes.
func always(origin time.Time) *Calendar {
	return &Calendar{origin: origin, start: []int64{0}, end: []int64{never}, before: []int64{0}}
}

// union returns when any of the calendars is open. They share their origin.
func union(calendars []*Calendar) *Calendar {
	type edge struct{ start, end int64 }
	var all []edge
	for _, c := range calendars {
		for i := range c.start {
			all = append(all, edge{c.start[i], c.end[i]})
		}
	}
	slices.SortFunc(all, func(a, b edge) int { return int(a.start - b.start) })
	out := &Calendar{origin: calendars[0].origin}
	for _, e := range all {
		out.add(e.start, e.end)
	}
	return out
}

// Open reports whether the minute that begins at t is working time.
func (c *Calendar) Open(t time.Time) bool {
	next, ok := c.NextOpen(t)
	return ok && !next.After(t)
}

// NextOpen returns t when it is open, else the next opening; false when the
// calendar ends before.
func (c *Calendar) NextOpen(t time.Time) (time.Time, bool) {
	m := c.minute(t)
	i := c.span(m)
	if i == len(c.start) {
		return time.Time{}, false
	}
	return c.at(max(m, c.start[i])), true
}

// Finish returns when that many working minutes from t are done. It is the left
// limit: work that fills the day ends at closing, not at the next opening. No
// minutes end at t. False means that the calendar ends before.
func (c *Calendar) Finish(t time.Time, minutes int) (time.Time, bool) {
	m := c.minute(t)
	if minutes <= 0 {
		return c.at(m), true
	}
	end, _ := c.finish(c.span(m), m, int64(minutes))
	return c.at(end), end < never
}

// Minutes returns the working minutes from a to b, 0 when b is not after a.
func (c *Calendar) Minutes(a, b time.Time) int {
	return int(max(0, c.worked(c.minute(b))-c.worked(c.minute(a))))
}

// OpenDay returns the civil day of t when some of it, at t or later, is open,
// or the next day that is; "" when the calendar ends before. A moment at closing
// counts as its own day: what is done then can be fetched then.
func (c *Calendar) OpenDay(t time.Time) domain.Date {
	m := c.minute(t)
	if i := c.span(m - 1); i < len(c.start) {
		return domain.DateOf(c.at(max(m, c.start[i])))
	}
	return ""
}

// minute returns t in minutes after the origin, rounded up, at least 0.
func (c *Calendar) minute(t time.Time) int64 {
	return max(0, int64(wholeMinute(t).Sub(c.origin)/time.Minute))
}

func (c *Calendar) at(minute int64) time.Time {
	return c.origin.Add(time.Duration(min(minute, never>>20)) * time.Minute)
}

// span returns the first span that ends after minute m.
func (c *Calendar) span(m int64) int {
	return sort.Search(len(c.end), func(i int) bool { return c.end[i] > m })
}

// worked returns the working minutes before minute m.
func (c *Calendar) worked(m int64) int64 {
	i := c.span(m)
	if i == len(c.start) {
		i--
		return c.before[i] + c.end[i] - c.start[i]
	}
	return c.before[i] + max(0, m-c.start[i])
}

// seek returns the first span from i on that ends after minute m. Most are near;
// when it is far, the search halves what is left, so that odd hours cost no more.
func (c *Calendar) seek(i int, m int64) int {
	for near := i + 8; i < min(near, len(c.end)); i++ {
		if c.end[i] > m {
			return i
		}
	}
	return i + sort.Search(len(c.end)-i, func(k int) bool { return c.end[i+k] > m })
}

// finish returns the end of work that begins at minute m or the next opening,
// where i is the first span that ends after m, and the span it ends in; never
// when the calendar is too short. work is above 0.
func (c *Calendar) finish(i int, m, work int64) (end int64, in int) {
	if i >= len(c.start) {
		return never, i
	}
	goal := c.before[i] + max(0, m-c.start[i]) + work
	for near := i + 8; c.before[i]+c.end[i]-c.start[i] < goal; {
		if i++; i == near {
			from := i
			i += sort.Search(len(c.end)-i, func(k int) bool { return c.before[from+k]+c.end[from+k]-c.start[from+k] >= goal })
		}
		if i >= len(c.start) {
			return never, len(c.start)
		}
	}
	return c.start[i] + goal - c.before[i], i
}

// offsets turns wall clock minutes into minutes after an origin. The map never
// goes back: of a wall time that comes twice it gives the first, and one that the
// clocks skip becomes the moment of the change. So spans that touch on the wall
// touch in real time, and no minute is lost or counted twice.
type offsets struct {
	origin int64 // minutes since 1970 in UTC
	until  []int64
	ahead  []int64 // of UTC, in minutes
	begin  []int64
	at     int // the last one used: days come in order
}

func offsetsOf(origin time.Time, days int) *offsets {
	z := &offsets{origin: origin.Unix() / 60}
	last := origin.AddDate(0, 0, days+2)
	for t := origin.AddDate(0, 0, -2); ; {
		begin, end := t.ZoneBounds()
		_, seconds := t.Zone()
		z.ahead = append(z.ahead, int64(seconds)/60)
		z.begin = append(z.begin, zoneEdge(begin, math.MinInt64))
		z.until = append(z.until, zoneEdge(end, math.MaxInt64))
		if end.IsZero() || end.After(last) {
			return z
		}
		t = end
	}
}

func zoneEdge(t time.Time, otherwise int64) int64 {
	if t.IsZero() {
		return otherwise
	}
	return t.Unix() / 60
}

// minute turns minutes since 1970 by the wall clock into minutes after the origin.
func (z *offsets) minute(wallMinute int64) int64 {
	for z.at > 0 && wallMinute-z.ahead[z.at-1] < z.until[z.at-1] {
		z.at--
	}
	for z.at < len(z.until)-1 && wallMinute-z.ahead[z.at] >= z.until[z.at] {
		z.at++
	}
	return max(wallMinute-z.ahead[z.at], z.begin[z.at]) - z.origin
}
