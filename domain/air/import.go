package air

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// The most that one file of a logger may hold.
const (
	MaxFile    = 5 << 20 // bytes
	MaxRows    = 100_000
	mostErrors = 100 // told one by one; the rest is counted
)

// DateOrder says how a file writes a date in figures.
type DateOrder string

// The orders. AnyOrder finds it out: year first is plain, otherwise a day above
// 12 anywhere in the file tells; dates with dots are day first.
const (
	AnyOrder   DateOrder = ""
	DayFirst   DateOrder = "day first"
	MonthFirst DateOrder = "month first"
)

// DateOrders lists the orders that can be chosen.
func DateOrders() []DateOrder { return []DateOrder{AnyOrder, DayFirst, MonthFirst} }

// Row is one line of a logger's file.
type Row struct {
	Line    int // from 1
	At      time.Time
	RH      decimal.Decimal  // %, as logged
	Celsius *decimal.Decimal // nil when there is none
}

// LineError is a line that could not be taken.
type LineError struct {
	Line int
	Text string
}

// File is what a logger's file says.
type File struct {
	Rows    []Row       // by time; no moment twice
	Twice   int         // lines left out because their moment stood before
	Wrong   int         // lines that could not be taken
	Errors  []LineError // the first of those
	Columns string      // how the file was read, in words
}

// ReadFile reads the CSV file of any logger: a line of column names with a time
// (or a date and a time), a humidity and perhaps a temperature, then a line for
// each reading. It finds out the delimiter (comma, semicolon, tab), decimal point
// or comma, the order of dates, and Fahrenheit by the column's name; times
// without an offset are those of the zone, or UTC when the column says so. A
// line that makes no sense is named and left out; a file that cannot be
// understood as a whole is an Invalid error of field "file", one whose dates may
// be read two ways of field "order". No reading may lie after now.
func ReadFile(file []byte, zone *time.Location, order DateOrder, now time.Time) (*File, error) {
	if len(file) > MaxFile {
		return nil, wrongFile("file", "must have at most 5 MB; cut it into pieces")
	}
	lines := strings.Split(plainText(file), "\n")
	t, err := findColumns(lines)
	if err != nil {
		return nil, err
	}
	if t.utc {
		zone = time.UTC
	}
	out := &File{}
	raw := t.read(lines, out)
	if len(raw) > MaxRows {
		return nil, wrongFile("file", "must have at most 100,000 readings; cut it into pieces")
	}
	if order, err = orderOf(raw, order); err != nil {
		return nil, err
	}
	out.Columns = t.words(order, zone)
	out.date(raw, order, zone, now)
	if err := out.unlikely(); err != nil {
		return nil, err
	}
	slices.SortFunc(out.Errors, func(a, b LineError) int { return a.Line - b.Line })
	out.Errors = out.Errors[:min(len(out.Errors), mostErrors)]
	return out, nil
}

func wrongFile(field, text string) error {
	return &domain.Error{Kind: domain.Invalid, Text: "the file " + text, Fields: domain.Fields{field: text}}
}

func (f *File) wrong(line int, format string, args ...any) {
	f.Wrong++
	f.Errors = append(f.Errors, LineError{Line: line, Text: fmt.Sprintf(format, args...)})
}

// unlikely refuses a file whose humidity is no percentage: all of several
// readings at or below 1.
func (f *File) unlikely() error {
	if len(f.Rows) == 0 && f.Wrong == 0 {
		return wrongFile("file", "holds no readings below the names of its columns")
	}
	for _, r := range f.Rows {
		if r.RH.GreaterThan(percent(1)) {
			return nil
		}
	}
	if len(f.Rows) > 1 {
		return wrongFile("file", "has a humidity of 1 or less throughout: it seems to hold fractions; export it in %")
	}
	return nil
}

// plainText decodes the file (UTF-8, UTF-16 with its mark, else Latin-1) and makes every
// line end alike.
func plainText(file []byte) string {
	text := ""
	switch {
	case bytes.HasPrefix(file, []byte{0xff, 0xfe}):
		text = wide(file[2:], 0)
	case bytes.HasPrefix(file, []byte{0xfe, 0xff}):
		text = wide(file[2:], 1)
	case utf8.Valid(file):
		text = strings.TrimPrefix(string(file), "\ufeff")
	default:
		runes := make([]rune, len(file))
		for i, b := range file {
			runes[i] = rune(b)
		}
		text = string(runes)
	}
	return strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
}

// wide decodes UTF-16; low says which byte of a pair is the low one.
func wide(b []byte, low int) string {
	units := make([]uint16, len(b)/2)
	for i := range units {
		units[i] = uint16(b[2*i+low]) | uint16(b[2*i+1-low])<<8
	}
	return string(utf16.Decode(units))
}

// split cuts a line into its cells; a cell in quotes may hold the delimiter.
func split(line string, delimiter rune) []string {
	var out []string
	var cell strings.Builder
	quoted := false
	for _, r := range line {
		switch {
		case r == '"':
			quoted = !quoted
		case r == delimiter && !quoted:
			out = append(out, strings.TrimSpace(cell.String()))
			cell.Reset()
		default:
			cell.WriteRune(r)
		}
	}
	return append(out, strings.TrimSpace(cell.String()))
}
