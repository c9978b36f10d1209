package stock

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"winterbench/domain"
)

// The most that one file of parts or counts may hold.
const (
	MaxFile     = 1 << 20 // bytes
	MaxFileRows = 5000
)

// RowError is a row of a file that could not be taken, with the reason.
type RowError struct {
	Line int // of the file, from 1
	Text string
}

// table is a CSV file with a line of column names.
type table struct {
	names []string
	rows  []row
	wrong []RowError
}

type row struct {
	line  int
	cells []string
	of    *table
}

// has reports whether the file has a column.
func (t *table) has(name string) bool { return slices.Contains(t.names, name) }

// cell is the trimmed value of a column, "" when the row or the file has none.
func (r row) cell(name string) string {
	i := slices.Index(r.of.names, name)
	if i < 0 || i >= len(r.cells) {
		return ""
	}
	return strings.TrimSpace(r.cells[i])
}

func wrongFile(format string, args ...any) error {
	text := fmt.Sprintf(format, args...)
	return &domain.Error{Kind: domain.Invalid, Text: "the file " + text, Fields: domain.Fields{"file": text}}
}

// readTable reads a file with the columns that are known; need must be among those it
// has. A row that is broken is named and left out. A file in another encoding, or with
// an unknown column, is an Invalid error of field "file".
func readTable(file []byte, known []string, need ...string) (*table, error) {
	text, err := plain(file)
	if err != nil {
		return nil, err
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord = delimiterOf(text), -1
	head, err := r.Read()
	if err != nil {
		return nil, wrongFile("must begin with a line of column names: %s", strings.Join(known, ", "))
	}
	t := &table{}
	for _, name := range head {
		name = strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), " ", "_"))
		if name != "" && !slices.Contains(known, name) {
			return nil, wrongFile("has a column %q that is not known; the columns are %s", name, strings.Join(known, ", "))
		}
		if name != "" && t.has(name) {
			return nil, wrongFile("has the column %q twice", name)
		}
		t.names = append(t.names, name)
	}
	for _, name := range need {
		if !t.has(name) {
			return nil, wrongFile("needs a column %q", name)
		}
	}
	return t, t.read(r)
}

func (t *table) read(r *csv.Reader) error {
	for {
		cells, err := r.Read()
		var broken *csv.ParseError
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.As(err, &broken):
			t.wrong = append(t.wrong, RowError{Line: broken.StartLine, Text: brokenText(broken)})
			continue
		case err != nil:
			return wrongFile("cannot be read")
		}
		line, _ := r.FieldPos(0)
		if len(cells) > len(t.names) {
			t.wrong = append(t.wrong, RowError{Line: line, Text: fmt.Sprintf("has %d values for %d columns; a value that holds the delimiter stands in double quotes", len(cells), len(t.names))})
			continue
		}
		if t.rows = append(t.rows, row{line: line, cells: cells, of: t}); len(t.rows) > MaxFileRows {
			return wrongFile("has more than %d rows; cut it into pieces", MaxFileRows)
		}
	}
}

func brokenText(e *csv.ParseError) string {
	switch {
	case errors.Is(e.Err, csv.ErrBareQuote):
		return `has a double quote inside a value; put the whole value into double quotes and write each one inside twice ("")`
	case errors.Is(e.Err, csv.ErrQuote) && e.Line > e.StartLine:
		return fmt.Sprintf("opens a double quote that is not closed; lines %d to %d were lost by it", e.StartLine, e.Line)
	case errors.Is(e.Err, csv.ErrQuote):
		return "has a double quote that does not stand at the end of its value, or is not closed"
	}
	return "is no row of a CSV file"
}

// plain returns the text of a file in UTF-8 without its mark, and names any other
// encoding.
func plain(file []byte) (string, error) {
	switch {
	case len(file) > MaxFile:
		return "", wrongFile("must have at most 1 MB")
	case len(file) >= 2 && (file[0] == 0xFF && file[1] == 0xFE || file[0] == 0xFE && file[1] == 0xFF), slices.Contains(file[:min(len(file), 200)], 0):
		return "", wrongFile("is in UTF-16, or no text at all; save it as CSV in UTF-8")
	}
	file = []byte(strings.TrimPrefix(string(file), "\uFEFF"))
	if !utf8.Valid(file) {
		line, b := firstForeign(file)
		return "", wrongFile("is not in UTF-8: line %d has the byte %02X, as in Windows-1252 or ISO 8859-1; save it as CSV in UTF-8", line, b)
	}
	return string(file), nil
}

// firstForeign finds the first byte that is not UTF-8.
func firstForeign(file []byte) (line int, b byte) {
	line = 1
	for i := 0; i < len(file); {
		r, n := utf8.DecodeRune(file[i:])
		if r == utf8.RuneError && n <= 1 {
			return line, file[i]
		}
		if r == '\n' {
			line++
		}
		i += n
	}
	return line, 0
}

// delimiterOf is the comma, semicolon or tab that the first line has most of.
func delimiterOf(text string) rune {
	first, _, _ := strings.Cut(text, "\n")
	best := ','
	for _, d := range ";\t" {
		if strings.Count(first, string(d)) > strings.Count(first, string(best)) {
			best = d
		}
	}
	return best
}

// sortErrors brings errors into the order of the file.
func sortErrors(all []RowError) {
	slices.SortStableFunc(all, func(a, b RowError) int { return a.Line - b.Line })
}
