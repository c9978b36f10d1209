package invoices

import (
	"fmt"

	"github.com/shopspring/decimal"

	"winterbench/domain/customer"
	"winterbench/domain/money"
)

// column is a column of a table. Numbers are set right.
type column struct {
	head  string
	width float64 // mm
	right bool
	x     float64 // where it starts, or ends when set right; filled by newTable
}

// table sets rows under a head that is repeated on every page.
type table struct {
	sheet   *sheet
	columns []column
	head    []line
	rows    int
}

// columnGap is the space between columns, in mm.
const columnGap = 3.0

// newTable gives the first column what the others leave.
func (s *sheet) newTable(columns ...column) *table {
	rest := s.width
	for _, c := range columns[1:] {
		rest -= c.width + columnGap
	}
	columns[0].width = rest
	x := 0.0
	var l line
	for i := range columns {
		c := &columns[i]
		c.x = x
		if c.right {
			c.x += c.width
		}
		x += c.width + columnGap
		l.add(c.x, c.head, bold, small, c.right)
	}
	return &table{sheet: s, columns: columns, head: []line{l, ruleLine(0, s.width, 0.8, 1.4)}}
}

// row adds a row of one text for each column, and below it notes under the
// first column. Everything is wrapped into its column; a row stays together.
func (t *table) row(notes []string, texts ...string) {
	cells := make([][]line, len(t.columns))
	for i, c := range t.columns {
		for _, part := range wrap(clean(texts[i]), plain, body, c.width, 6) {
			var l line
			l.add(c.x, part, plain, body, c.right)
			cells[i] = append(cells[i], l)
		}
	}
	for _, n := range notes {
		for _, part := range wrap(clean(n), plain, small, t.columns[0].width+t.columns[1].width, 4) {
			cells[0] = append(cells[0], greyed(textLine(0, part, plain, small))...)
		}
	}
	lines := []line{beside(cells...), gap(1.2)}
	if t.rows == 0 {
		lines = append(t.head[:len(t.head):len(t.head)], lines...)
	}
	t.rows++
	t.sheet.blocks = append(t.sheet.blocks, block{lines: lines, head: t.head})
}

// sums collects the lines under a table that stay together: labels with
// amounts on the right.
type sums struct {
	sheet    *sheet
	currency money.Currency
	lines    []line
}

func (s *sheet) newSums(c money.Currency) *sums {
	return &sums{sheet: s, currency: c, lines: []line{ruleLine(0, s.width, 0.6, 1.4)}}
}

// sumWidth is the room for a label, in mm; amounts take the rest to the right.
const sumWidth = 88.0

// amountWidth is the room kept for an amount, in mm.
const amountWidth = 34.0

func (b *sums) put(label, figure string, w weight, size float64) {
	x := b.sheet.width - amountWidth - sumWidth
	parts := wrap(clean(label), w, size, sumWidth, 4)
	for i, part := range parts {
		l := textLine(x, part, w, size)
		if i == len(parts)-1 {
			l.add(b.sheet.width, figure, w, size, true)
		}
		b.lines = append(b.lines, l)
	}
}

func (b *sums) amount(label string, a money.Amount) {
	b.put(label, amount(b.currency, a), plain, body)
}

func (b *sums) total(label string, a money.Amount) {
	x := b.sheet.width - amountWidth - sumWidth
	b.lines = append(b.lines, ruleLine(x, b.sheet.width-x, 0.8, 1))
	b.put(label, amount(b.currency, a), bold, head)
}

func (b *sums) note(text string) {
	x := b.sheet.width - amountWidth - sumWidth
	b.lines = append(b.lines, greyed(paragraph(x, sumWidth+amountWidth, text, plain, small)...)...)
}

// done puts the lines on the sheet.
func (b *sums) done() { b.sheet.together(b.lines...) }

// totals sets what a bill comes to: lines, discount, taxes, total.
func (b *sums) totals(t money.Totals, inside bool, reason string, ex *money.Exemption) {
	if t.Discount != 0 {
		b.amount("Lines", t.Sum)
		b.amount(joinFilled(", ", "Discount", reason), -t.Discount)
	}
	if inside {
		b.total("Total "+b.currency.Code, t.Total)
		b.taxes(t, "of it ", ex)
		b.amount("without tax", t.Net)
		return
	}
	if len(t.Taxes) > 0 {
		b.amount("Without tax", t.Net)
		b.taxes(t, "", ex)
	}
	b.total("Total "+b.currency.Code, t.Total)
}

// taxes sets each tax with its rate, base and number, and why one is not charged.
func (b *sums) taxes(t money.Totals, word string, ex *money.Exemption) {
	for _, tax := range t.Taxes {
		b.amount(fmt.Sprintf("%s%s %s on %s", word, tax.Name, percent(tax.Percent), amount(b.currency, tax.Base)), tax.Amount)
		if tax.Number != "" {
			b.note("number " + tax.Number)
		}
		if tax.Exempt != "" {
			b.note(exempted(tax.Exempt, ex))
		}
	}
}

// exempted says why a tax is not charged, with the certificate when the
// customer still has it.
func exempted(reason string, ex *money.Exemption) string {
	text := "not charged, in whole or in part: " + reason
	if ex != nil && ex.Reason == reason && ex.Certificate != "" {
		text += ", certificate " + ex.Certificate
	}
	return text
}

// off says a discount on a line.
func off(percentOff decimal.Decimal, why string) string {
	if percentOff.Sign() <= 0 {
		return ""
	}
	return joinFilled(", ", percent(percentOff)+" off", why)
}

// nameAndAddress is a customer as they stand on paper.
func nameAndAddress(c customer.Customer) string {
	return clean(c.Name) + "\n" + c.Address
}
