package billing

import (
	"encoding/csv"
	"io"
	"strings"

	"winterbench/domain/money"
)

// Text is a cell as JSON and CSV hold it: amounts with a point and the digits of the
// currency, such as 1204.50.
func (t *Table) Text(column int, c Cell, cur money.Currency) string {
	if t.Columns[column].Money && !c.Blank {
		return cur.Text(c.Amount)
	}
	return c.Text
}

// WriteCSV writes the report as CSV by RFC 4180 with a row of column names first and
// the currency as the last column. Texts that a spreadsheet would take for a formula
// get an apostrophe before them.
func (t *Table) WriteCSV(w io.Writer, cur money.Currency) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	line := make([]string, 0, len(t.Columns)+1)
	for _, c := range t.Columns {
		line = append(line, c.Name)
	}
	if err := out.Write(append(line, "currency")); err != nil {
		return err
	}
	for _, r := range t.Rows {
		line = line[:0]
		for i, c := range r.Cells {
			text := t.Text(i, c, cur)
			if !t.Columns[i].Money {
				text = plainText(text)
			}
			line = append(line, text)
		}
		if err := out.Write(append(line, cur.Code)); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// plainText keeps a spreadsheet from running a text as a formula.
func plainText(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
