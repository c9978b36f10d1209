package web

import (
	"bytes"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// icsType is the media type of a calendar, RFC 5545 section 8.1.
const icsType = "text/calendar; charset=utf-8"

// icsLine is the most octets of a line without its end, RFC 5545 section 3.1.
const icsLine = 75

// ics writes an agenda as an iCalendar object (RFC 5545). host makes the UIDs
// its own, origin leads to the pages. Every event lasts whole days, so no zone
// is named: a day is that day wherever the calendar is read.
func ics(a *workshop.Agenda, host, origin string) []byte {
	w := &icsWriter{}
	w.line("BEGIN", "VCALENDAR")
	w.line("VERSION", "2.0")
	w.line("PRODID", "-//Winterbench//Calendar of a repair shop//EN")
	w.line("CALSCALE", "GREGORIAN")
	w.line("METHOD", "PUBLISH")
	w.text("X-WR-CALNAME", a.Name) // no part of the standard; many programs show it
	w.line("REFRESH-INTERVAL;VALUE=DURATION", "PT1H")
	for _, e := range a.Events {
		w.event(e, a.At, host, origin)
	}
	w.line("END", "VCALENDAR")
	return w.out.Bytes()
}

type icsWriter struct{ out bytes.Buffer }

func (w *icsWriter) event(e workshop.Event, at time.Time, host, origin string) {
	w.line("BEGIN", "VEVENT")
	w.line("UID", e.UID+"@"+host)
	w.line("DTSTAMP", at.UTC().Format("20060102T150405Z"))
	w.line("SEQUENCE", strconv.Itoa(e.Sequence))
	w.line("DTSTART;VALUE=DATE", icsDay(e.Day))
	w.line("DTEND;VALUE=DATE", icsDay(e.Last.AddDays(1))) // the first day after it
	w.text("SUMMARY", e.Title)
	if e.Text != "" {
		w.text("DESCRIPTION", e.Text)
	}
	if e.Path != "" {
		w.line("URL", origin+e.Path)
	}
	w.line("TRANSP", "TRANSPARENT") // it fills nobody's day
	w.line("END", "VEVENT")
}

func icsDay(d domain.Date) string { return strings.ReplaceAll(string(d), "-", "") }

// icsEscape escapes a TEXT value, RFC 5545 section 3.3.11.
var icsEscape = strings.NewReplacer("\\", "\\\\", ";", "\\;", ",", "\\,", "\r\n", "\\n", "\n", "\\n", "\r", "\\n")

func (w *icsWriter) text(name, value string) {
	value = strings.ToValidUTF8(value, "\uFFFD")
	w.line(name, icsEscape.Replace(strings.Map(icsRune, value)))
}

// icsRune drops the control characters that a TEXT value must not hold.
func icsRune(r rune) rune {
	if (r < ' ' && r != '\n' && r != '\r' && r != '\t') || r == 0x7f {
		return -1
	}
	return r
}

// line writes a content line, folded so that no line is longer than 75 octets
// and no letter is torn apart.
func (w *icsWriter) line(name, value string) {
	rest, room := name+":"+value, icsLine
	for len(rest) > room {
		cut := room
		for !utf8.RuneStart(rest[cut]) {
			cut--
		}
		w.out.WriteString(rest[:cut] + "\r\n ")
		rest, room = rest[cut:], icsLine-1 // the space that marks the fold counts
	}
	w.out.WriteString(rest + "\r\n")
}
