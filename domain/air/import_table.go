package air

import (
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"
)

// table is where a file keeps what.
type table struct {
	delimiter            rune
	head                 int // line of the names, from 0
	width                int // cells of that line
	date, clock, rh, air int // columns; -1 for none. date may hold the clock too
	fahrenheit, utc      bool
}

// names that a column may have, in plain words.
var (
	isHumidity = regexp.MustCompile(`\bhumid|\brh\b|\br\.h\.|%rh|^rh|\bhum\b`)
	notRH      = regexp.MustCompile(`\babs|\bdew|g/m|g/kg|\bmin\b|\bmax\b|\bavg\b|alarm|limit`)
	isWarmth   = regexp.MustCompile(`\btemp|[°º]\s*[cf]\b|\bcelsius\b|\bfahrenheit\b`)
	isBoth     = regexp.MustCompile(`date\s*[-/_&+]?\s*(and\s+)?time|time\s*[-_ ]?stamp|\bmoment\b`)
	isDate     = regexp.MustCompile(`\bdate\b|\bday\b`)
	isClock    = regexp.MustCompile(`\btime\b|\bclock\b|\bhour\b`)
	inF        = regexp.MustCompile(`[°º]\s*f\b|\bfahrenheit\b|[\[(]\s*f\s*[\])]|\bdeg\.?\s*f\b| f$`)
	inUTC      = regexp.MustCompile(`\butc\b|\bgmt\b`)
)

// findColumns looks for the line of names, among the first 50 lines.
func findColumns(lines []string) (table, error) {
	for i, line := range lines[:min(len(lines), 50)] {
		for _, d := range []rune{';', '\t', ','} {
			if t, ok := columnsOf(split(strings.ToLower(line), d)); ok {
				t.delimiter, t.head = d, i
				return t, nil
			}
		}
	}
	return table{}, wrongFile("file", `must have a line with the names of its columns: a time, and a humidity such as "RH %"`)
}

func columnsOf(names []string) (table, bool) {
	t := table{width: len(names), date: -1, clock: -1, rh: -1, air: -1}
	set := func(column *int, i int) {
		if *column < 0 {
			*column = i
		}
	}
	both := -1
	for i, name := range names {
		name = strings.ReplaceAll(name, "_", " ")
		names[i] = name
		switch {
		case isHumidity.MatchString(name) && !notRH.MatchString(name):
			set(&t.rh, i)
		case isWarmth.MatchString(name) && !notRH.MatchString(name):
			set(&t.air, i)
		case isBoth.MatchString(name):
			set(&both, i)
		case isDate.MatchString(name):
			set(&t.date, i)
		case isClock.MatchString(name):
			set(&t.clock, i)
		}
	}
	switch {
	case both >= 0:
		t.date, t.clock = both, -1
	case t.date < 0:
		t.date, t.clock = t.clock, -1
	}
	if t.rh < 0 || t.date < 0 {
		return t, false
	}
	t.utc = inUTC.MatchString(names[t.date]) || t.clock >= 0 && inUTC.MatchString(names[t.clock])
	t.fahrenheit = t.air >= 0 && inF.MatchString(names[t.air])
	return t, true
}

// words says how the file was read, for people.
func (t table) words(order DateOrder, zone *time.Location) string {
	parts := []string{map[rune]string{',': "commas", ';': "semicolons", '\t': "tabs"}[t.delimiter] + " between the columns"}
	if order != AnyOrder {
		parts = append(parts, "dates "+string(order))
	}
	parts = append(parts, "times of "+zone.String())
	switch {
	case t.air < 0:
		parts = append(parts, "no temperature")
	case t.fahrenheit:
		parts = append(parts, "temperature in Fahrenheit, turned into °C")
	default:
		parts = append(parts, "temperature in °C")
	}
	return strings.Join(parts, ", ")
}

// written is a line with its values read and its time still as written.
type written struct {
	line int
	when stamp
	rh   decimal.Decimal
	air  *decimal.Decimal
}

// read takes the lines below the names; those that make no sense go to out.
func (t table) read(lines []string, out *File) []written {
	var rows []written
	for i := t.head + 1; i < len(lines) && len(rows) <= MaxRows; i++ {
		if strings.Trim(lines[i], " \t\x00,;\"") == "" {
			continue
		}
		if w, text := t.row(split(lines[i], t.delimiter)); text != "" {
			out.wrong(i+1, "%s", text)
		} else {
			w.line = i + 1
			rows = append(rows, w)
		}
	}
	return rows
}

// row reads one line; text says what is wrong, "" for nothing.
func (t table) row(cells []string) (w written, text string) {
	if last := max(t.date, t.clock, t.rh, t.air); len(cells) <= last {
		return w, "has fewer columns than the names above"
	}
	if extra := cells[min(t.width, len(cells)):]; slices.ContainsFunc(extra, func(c string) bool { return c != "" }) {
		return w, "has more columns than the names above: a decimal comma between commas, perhaps"
	}
	when := cells[t.date]
	if t.clock >= 0 {
		when += " " + cells[t.clock]
	}
	var ok bool
	if w.when, ok = readStamp(when); !ok {
		return w, "has no date and time that can be read: " + short(when)
	}
	if w.rh, ok = readNumber(cells[t.rh], "%rh", "%", "rh"); !ok {
		return w, "has no number as humidity: " + short(cells[t.rh])
	}
	if w.rh.IsNegative() || w.rh.GreaterThan(percent(100)) {
		return w, "has a humidity that is not from 0 to 100 %: " + short(cells[t.rh])
	}
	if t.air < 0 || cells[t.air] == "" {
		return w, ""
	}
	return t.warmth(w, cells[t.air])
}

func (t table) warmth(w written, cell string) (written, string) {
	lower := strings.ToLower(cell)
	c, ok := readNumber(lower, "°c", "ºc", "°f", "ºf", "c", "f", "°")
	if !ok {
		return w, "has no number as temperature: " + short(cell)
	}
	if t.fahrenheit && !strings.HasSuffix(lower, "c") || strings.HasSuffix(lower, "f") {
		c = c.Sub(percent(32)).Mul(percent(5)).DivRound(percent(9), 2)
	}
	if !warmth(c) {
		return w, "has a temperature that is not from -50 to 60 C: " + short(cell)
	}
	w.air = &c
	return w, ""
}

// short cuts and quotes what a file said.
func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return "“" + strings.Map(func(r rune) rune {
		if r < ' ' {
			return ' '
		}
		return r
	}, s) + "”"
}

var plainNumber = regexp.MustCompile(`^[+-]?\d{1,9}([.,]\d{1,9})?$`)

// readNumber reads a number with decimal point or comma and one of the units or
// none behind it.
func readNumber(cell string, units ...string) (decimal.Decimal, bool) {
	s := strings.ToLower(cell)
	for _, u := range units {
		if strings.HasSuffix(s, u) {
			s = strings.TrimSpace(strings.TrimSuffix(s, u))
			break
		}
	}
	s = strings.TrimSpace(s)
	if !plainNumber.MatchString(s) {
		return decimal.Zero, false
	}
	d, err := decimal.NewFromString(strings.TrimPrefix(strings.Replace(s, ",", ".", 1), "+"))
	return d, err == nil
}
