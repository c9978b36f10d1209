package air

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"winterbench/domain"
)

// stamp is a date and a time as a file writes them. Of a date in figures the
// first two numbers may be day and month or month and day.
type stamp struct {
	year, first, second  int // iso: month and day
	iso, dots            bool
	hour, min, sec, nano int
	offset               *time.Location // nil when none is written
}

var (
	yearFirst = regexp.MustCompile(`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]\s*(.+))$`)
	yearLast  = regexp.MustCompile(`^(\d{1,2})([-/.])(\d{1,2})[-/.](\d{4}|\d{2})(?:,?\s+|T)(.+)$`)
	clockText = regexp.MustCompile(`(?i)^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?\s*(am|pm|a\.m\.|p\.m\.)?\s*(z|utc|gmt|[+-]\d{2}:?\d{2})?$`)
)

// readStamp reads a moment as written; the order of day and month stays open.
func readStamp(text string) (stamp, bool) {
	text = strings.TrimSpace(text)
	var s stamp
	clock := ""
	if p := yearFirst.FindStringSubmatch(text); p != nil {
		s.year, s.first, s.second, s.iso, clock = number(p[1]), number(p[2]), number(p[3]), true, p[4]
	} else if p := yearLast.FindStringSubmatch(text); p != nil {
		s.first, s.second, s.year, s.dots, clock = number(p[1]), number(p[3]), number(p[4]), p[2] == ".", p[5]
		if len(p[4]) == 2 {
			s.year += 2000
		}
	} else {
		return s, false
	}
	return s, s.readClock(strings.TrimSpace(clock)) && s.first > 0 && s.second > 0 && min(s.first, s.second) <= 12 && max(s.first, s.second) <= 31
}

func number(digits string) int {
	n, _ := strconv.Atoi(digits) // the pattern lets through few digits and nothing else
	return n
}

func (s *stamp) readClock(text string) bool {
	p := clockText.FindStringSubmatch(text)
	if p == nil {
		return false
	}
	s.hour, s.min, s.sec = number(p[1]), number(p[2]), number(p[3])
	if p[4] != "" {
		s.nano = number((p[4] + "00000000")[:9])
	}
	switch half := strings.ToLower(strings.ReplaceAll(p[5], ".", "")); {
	case half != "" && (s.hour < 1 || s.hour > 12):
		return false
	case half == "pm" && s.hour < 12:
		s.hour += 12
	case half == "am" && s.hour == 12:
		s.hour = 0
	}
	switch zone := strings.ToLower(p[6]); {
	case zone == "":
	case strings.ContainsAny(zone, "+-"):
		d := strings.Replace(zone[1:], ":", "", 1)
		seconds := (number(d[:2])*60 + number(d[2:])) * 60
		if zone[0] == '-' {
			seconds = -seconds
		}
		s.offset = time.FixedZone("", seconds)
	default:
		s.offset = time.UTC
	}
	return s.hour < 24 && s.min < 60 && s.sec < 60
}

// orderOf finds out how the file orders its dates, or refuses to guess.
func orderOf(rows []written, chosen DateOrder) (DateOrder, error) {
	if !slices.Contains(DateOrders(), chosen) {
		return "", wrongFile("order", "has dates that are day first or month first: choose one")
	}
	open, day, month := false, false, false
	for _, w := range rows {
		s := w.when
		if s.iso {
			continue
		}
		open = true
		day = day || s.first > 12 || s.dots
		month = month || s.second > 12 && !s.dots
	}
	switch {
	case !open:
		return AnyOrder, nil
	case chosen != AnyOrder:
		return chosen, nil
	case day && month:
		return "", wrongFile("order", "has dates that are day first and others that are month first: choose one, and the others are named")
	case day:
		return DayFirst, nil
	case month:
		return MonthFirst, nil
	}
	return "", &domain.Error{
		Kind: domain.Invalid, Text: "the dates of the file can be read two ways: say whether day or month comes first",
		Fields: domain.Fields{"order": "is needed: no date in the file tells day from month"},
	}
}

// wall is the moment as on a clock that knows no zone; false when there is no
// such day.
func (s stamp) wall(order DateOrder) (time.Time, bool) {
	month, day := s.first, s.second
	if !s.iso && order == DayFirst {
		month, day = day, month
	}
	t := time.Date(s.year, time.Month(month), day, s.hour, s.min, s.sec, s.nano, time.UTC)
	return t, t.Day() == day && int(t.Month()) == month
}

// date gives the rows their moments. Where the clocks went back, an hour comes
// twice: the rows' order tells which is meant.
func (f *File) date(rows []written, order DateOrder, zone *time.Location, now time.Time) {
	if n := len(rows); n > 1 {
		a, _ := rows[0].when.wall(order)
		if b, _ := rows[n-1].when.wall(order); b.Before(a) {
			slices.Reverse(rows) // newest first
		}
	}
	var last time.Time
	seen := map[int64]bool{}
	for _, w := range rows {
		wall, ok := w.when.wall(order)
		if !ok {
			f.wrong(w.line, "has a date that does not exist")
			continue
		}
		at, ok := onWall(wall, w.when.offset, zone, last)
		switch {
		case !ok:
			f.wrong(w.line, "has a time that did not exist in %s: the clocks went forward", zone)
			continue
		case at.After(now):
			f.wrong(w.line, "lies in the future")
			continue
		case at.Before(now.AddDate(-10, 0, 0)):
			f.wrong(w.line, "lies more than ten years back")
			continue
		case seen[at.UnixMicro()]:
			f.Twice++
			continue
		}
		seen[at.UnixMicro()], last = true, at
		f.Rows = append(f.Rows, Row{Line: w.line, At: at, RH: w.rh, Celsius: w.air})
	}
	slices.SortStableFunc(f.Rows, func(a, b Row) int { return a.At.Compare(b.At) })
}

// onWall is the moment at which the clocks of a zone show wall. Of two such
// moments it takes the later when the earlier does not come after last; it is
// false when the clocks never showed it.
func onWall(wall time.Time, offset, zone *time.Location, last time.Time) (time.Time, bool) {
	if offset != nil {
		zone = offset
	}
	var found []time.Time
	for _, probe := range []time.Duration{-24 * time.Hour, 24 * time.Hour} {
		_, seconds := wall.Add(probe).In(zone).Zone()
		at := wall.Add(-time.Duration(seconds) * time.Second)
		local := at.In(zone)
		if local.Hour() == wall.Hour() && local.Minute() == wall.Minute() && local.Day() == wall.Day() {
			found = append(found, at)
		}
	}
	if len(found) == 0 {
		return time.Time{}, false
	}
	slices.SortFunc(found, time.Time.Compare)
	if at := found[0]; last.IsZero() || at.After(last) {
		return domain.Moment(at), true
	}
	if end := found[len(found)-1]; end.After(last) {
		return domain.Moment(end), true
	}
	return domain.Moment(found[0]), true
}
