package season

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"winterbench/domain"
)

// MaxClimateFile is the most bytes of a file of months that are read.
const MaxClimateFile = 1 << 20

// ClimateFile is what a file of months holds.
type ClimateFile struct {
	Climate Climate
	Usual   int       // months of a usual year in it
	Past    int       // months of certain years in it
	Bad     []BadLine // lines that could not be taken
	Columns string    // how it was read, in words
	given   [12]bool
}

// BadLine is a line that could not be taken, and why.
type BadLine struct {
	Line int // from 1, the names of the columns being the first
	Text string
}

// Whole reports whether the file has all twelve months of a usual year.
func (c ClimateFile) Whole() bool { return c.Usual == 12 }

// Absent lists the months of the usual year that the file does not have.
func (c ClimateFile) Absent() []time.Month {
	var out []time.Month
	for i, ok := range c.given {
		if !ok {
			out = append(out, time.Month(i+1))
		}
	}
	return out
}

// ReadClimate reads months out of CSV: a line of column names, among them month,
// celsius (or temperature) and rh (or humidity), and if wanted year; a line without a
// year is of the usual year. Columns are parted by comma, semicolon or tab; with a
// semicolon or a tab decimals may have a comma. Months are 1 to 12 or English names.
//
// Lines that make no sense are listed and left out. It returns an Invalid error on the
// field file when nothing can be read.
func ReadClimate(in []byte) (ClimateFile, error) {
	out := ClimateFile{Climate: Climate{Past: map[YearMonth]Month{}}}
	if len(in) > MaxClimateFile {
		return out, badFile("must have at most 1 MiB, not %d bytes", len(in))
	}
	in = bytes.TrimPrefix(in, []byte("\xef\xbb\xbf"))
	head, _, _ := bytes.Cut(in, []byte("\n"))
	r := csv.NewReader(bytes.NewReader(in))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = commaOf(string(head)), -1, true
	names, err := r.Read()
	if err != nil {
		return out, badFile("has no line of column names; the first line must name month, celsius and rh")
	}
	cols, missing := climateColumns(names)
	if len(missing) > 0 {
		return out, badFile("has no column %s; the first line must name month, celsius and rh, and may name year", strings.Join(missing, ", "))
	}
	out.Columns = fmt.Sprintf("month in column %d, temperature in %d, humidity in %d", cols["month"]+1, cols["celsius"]+1, cols["rh"]+1)
	if at, ok := cols["year"]; ok {
		out.Columns += fmt.Sprintf(", year in %d", at+1)
	}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return out, badFile("breaks off: %v", err)
		}
		line, _ := r.FieldPos(0)
		if why := out.add(row, cols); why != "" {
			out.Bad = append(out.Bad, BadLine{line, why})
		}
	}
	if out.Usual+out.Past+len(out.Bad) == 0 {
		return out, badFile("has no line under its column names; want one for each month")
	}
	return out, nil
}

func badFile(text string, args ...any) error {
	text = fmt.Sprintf(text, args...)
	return &domain.Error{Kind: domain.Invalid, Text: "the file " + text, Fields: domain.Fields{"file": text}}
}

// commaOf is what parts the columns: what the first line has most of.
func commaOf(head string) rune {
	best := ','
	for _, c := range ";\t" {
		if strings.Count(head, string(c)) > strings.Count(head, string(best)) {
			best = c
		}
	}
	return best
}

// climateNames are the columns' names and what else they may be called.
var climateNames = map[string][]string{
	"year": {"year"}, "month": {"month"}, "celsius": {"celsius", "temperature", "mean_t_c", "c", "°c"}, "rh": {"rh", "humidity", "mean_rh_pct", "%"},
}

func climateColumns(names []string) (cols map[string]int, missing []string) {
	cols = map[string]int{}
	for i, n := range names {
		n = strings.ToLower(strings.TrimSpace(n))
		for name, called := range climateNames {
			if _, ok := cols[name]; !ok && slices.Contains(called, n) {
				cols[name] = i
			}
		}
	}
	for _, name := range []string{"month", "celsius", "rh"} {
		if _, ok := cols[name]; !ok {
			missing = append(missing, name)
		}
	}
	return cols, missing
}

// add takes one line and returns why not, "" when it was taken.
func (c *ClimateFile) add(row []string, cols map[string]int) string {
	cell := func(name string) string {
		at, ok := cols[name]
		if !ok || at >= len(row) {
			return ""
		}
		return strings.TrimSpace(row[at])
	}
	month, ok := monthOf(cell("month"))
	if !ok {
		return fmt.Sprintf("%q is no month; write 1 to 12 or an English name", clip(cell("month")))
	}
	m := Month{}
	for _, x := range []struct {
		name string
		into *float64
	}{{"celsius", &m.Celsius}, {"rh", &m.RH}} {
		v, err := strconv.ParseFloat(strings.Replace(cell(x.name), ",", ".", 1), 64)
		if err != nil {
			return fmt.Sprintf("%q is no number of %s", clip(cell(x.name)), x.name)
		}
		*x.into = v
	}
	f := domain.Fields{}
	m.check(f, month, "")
	for _, field := range []string{"celsius_", "rh_"} {
		if text := f[field+itoa(month)]; text != "" {
			return strings.TrimSuffix(field, "_") + " " + text
		}
	}
	return c.put(cell("year"), month, m)
}

func (c *ClimateFile) put(year string, month int, m Month) string {
	if year == "" {
		if c.given[month-1] {
			return fmt.Sprintf("%s of the usual year is there twice", time.Month(month))
		}
		c.Climate.Usual[month-1], c.given[month-1] = m, true
		c.Usual++
		return ""
	}
	y, err := strconv.Atoi(year)
	if err != nil || y < 1900 || y > 2200 {
		return fmt.Sprintf("%q is no year from 1900 to 2200; leave it empty for the usual year", clip(year))
	}
	at := YearMonth{y, month}
	if _, twice := c.Climate.Past[at]; twice {
		return at.text() + " is there twice"
	}
	c.Climate.Past[at] = m
	c.Past++
	return ""
}

func monthOf(text string) (int, bool) {
	if n, err := strconv.Atoi(text); err == nil {
		return n, n >= 1 && n <= 12
	}
	for m := time.January; m <= time.December; m++ {
		name := strings.ToLower(m.String())
		if t := strings.ToLower(text); len(t) >= 3 && strings.HasPrefix(name, t) {
			return int(m), true
		}
	}
	return 0, false
}

func clip(text string) string {
	if r := []rune(text); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return text
}
