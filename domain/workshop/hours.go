package workshop

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
)

// Span is a stretch of a day by the wall clock, as "09:00" and "12:30"; From is
// before To, which may be "24:00".
type Span struct {
	From string `json:"from"`
	To   string `json:"to"`
}

// Week is a person's hours by weekday, Monday first. A day without spans is free.
type Week [7][]Span

// Empty reports whether no day has hours.
func (w Week) Empty() bool {
	return !slices.ContainsFunc(w[:], func(day []Span) bool { return len(day) > 0 })
}

// check notes under hours[n] what is wrong with a weekday and sorts its spans.
func (w *Week) check(f domain.Fields) {
	for i, day := range w {
		if len(day) == 0 {
			w[i] = nil
			continue
		}
		if len(day) > 8 {
			f.Add(fmt.Sprintf("hours[%d]", i), "%s may have at most 8 stretches, not %d", Weekdays[i], len(day))
			continue
		}
		if wrong := checkDay(day); wrong != "" {
			f.Add(fmt.Sprintf("hours[%d]", i), "%s: %s", Weekdays[i], wrong)
			continue
		}
		w[i] = spansOf(minutesOfDay(day)) // in order, and 9:00 as 09:00
	}
}

// checkDay says what is wrong with the spans of a day, "" when they are right.
func checkDay(day []Span) string {
	for _, s := range day {
		from, okFrom := minuteOf(s.From)
		to, okTo := minuteOf(s.To)
		if !okFrom || !okTo {
			return fmt.Sprintf("%q is no stretch of a day; write it like 09:00-12:30, 13:00-17:00", s.From+"-"+s.To)
		}
		if from >= to {
			return fmt.Sprintf("%s-%s must begin before it ends", s.From, s.To)
		}
	}
	sure := minutesOfDay(day)
	slices.SortFunc(sure, func(a, b queue.Span) int { return a.From - b.From })
	for i := 1; i < len(sure); i++ {
		if sure[i-1].To > sure[i].From {
			return fmt.Sprintf("the stretches that begin at %s and %s overlap", wall(sure[i-1].From), wall(sure[i].From))
		}
	}
	return ""
}

// minutesOfDay is the spans as the queue takes them; those that are none are
// left out.
func minutesOfDay(day []Span) []queue.Span {
	var out []queue.Span
	for _, s := range day {
		from, okFrom := minuteOf(s.From)
		to, okTo := minuteOf(s.To)
		if okFrom && okTo && from < to {
			out = append(out, queue.Span{From: from, To: to})
		}
	}
	return out
}

func wall(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// minuteOf reads "09:00", or "9:00", as minutes after midnight, up to "24:00".
func minuteOf(text string) (int, bool) {
	if text == "24:00" {
		return 24 * 60, true
	}
	t, err := time.Parse("15:04", text)
	return t.Hour()*60 + t.Minute(), err == nil
}

// ParseSpans reads "09:00-12:30, 13:00-17:00"; "" is none. "9-17" and a dash of
// another length are understood. What it cannot read it gives back unchanged, so
// that the check of the week names the day.
func ParseSpans(text string) []Span {
	var out []Span
	clean := strings.NewReplacer("\u2013", "-", "\u2014", "-", "\u2212", "-", ";", ",").Replace(text)
	for part := range strings.SplitSeq(clean, ",") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		from, to, _ := strings.Cut(part, "-")
		out = append(out, Span{From: wholeTime(from), To: wholeTime(to)})
	}
	return out
}

// wholeTime writes "9" and "9:30" as 09:00 and 09:30; all else stays.
func wholeTime(text string) string {
	text = strings.TrimSpace(text)
	for _, layout := range []string{"15:04", "15.04", "15"} {
		if t, err := time.Parse(layout, text); err == nil {
			return t.Format("15:04")
		}
	}
	if text == "24" {
		return "24:00"
	}
	return text
}

// SpansText writes spans as ParseSpans reads them.
func SpansText(spans []Span) string {
	words := make([]string, len(spans))
	for i, s := range spans {
		words[i] = s.From + "-" + s.To
	}
	return strings.Join(words, ", ")
}

// DaySpan is a run of whole days, both ends included, on which the shop is
// closed or a person is away.
type DaySpan struct {
	From domain.Date `json:"from"`
	To   domain.Date `json:"to"`
	Why  string      `json:"why"` // may be empty
}

// Holds reports whether the day is within the span.
func (s DaySpan) Holds(day domain.Date) bool { return s.From <= day && day <= s.To }

const (
	maxDaySpans = 200
	maxAbsence  = 366 // days; a longer one is a slip of the pen, or the end of the shop
)

// checkDaySpans notes under field[n] what is wrong; right spans are put in order
// and each is kept once.
func checkDaySpans(f domain.Fields, field string, spans []DaySpan) []DaySpan {
	if len(spans) > maxDaySpans {
		f.Add(field, "must be at most %d", maxDaySpans)
		return spans
	}
	right := len(f)
	for i := range spans {
		s, at := &spans[i], fmt.Sprintf("%s[%d].", field, i)
		s.Why = domain.Line(f, at+"why", s.Why, 80, false)
		_, errFrom := domain.ParseDate(string(s.From))
		_, errTo := domain.ParseDate(string(s.To))
		f.AddErr(at+"from", errFrom)
		f.AddErr(at+"to", errTo)
		switch {
		case errFrom != nil || errTo != nil:
		case s.To < s.From:
			f.Add(at+"to", "%s is before the first day, %s", s.To, s.From)
		case s.To > s.From.AddDays(maxAbsence-1):
			f.Add(at+"to", "%s to %s is longer than %d days; write the years apart", s.From, s.To, maxAbsence)
		}
	}
	if len(f) > right || len(spans) == 0 {
		return spans
	}
	slices.SortStableFunc(spans, func(a, b DaySpan) int { return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To)) })
	return slices.Compact(spans)
}
