package billing

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// CreditNote takes an issued invoice back, in whole or by line and quantity. Its
// amounts are above 0 and are what the customer no longer owes. It is never changed.
type CreditNote struct {
	ID       domain.CreditNoteID
	Number   int // from a gapless series of its own
	Invoice  domain.InvoiceID
	Job      domain.JobID // 0 of a sale over the counter
	Date     domain.Date
	Reason   string
	Lines    []CreditLine
	Totals   money.Totals // Lines as in Lines, after the invoice's discount
	IssuedBy string
	IssuedAt time.Time
}

// CreditLine is a line of a credit note: so much of a line of the invoice.
type CreditLine struct {
	Place int             // of the line on the invoice, from 1
	Count decimal.Decimal // of the line's count; above 0
	Net   money.Amount    // after its share of the invoice's discount
}

// Wanted is how much of a line of an invoice is to be credited.
type Wanted struct {
	Place int
	Count decimal.Decimal
}

// Credited is how much of each line of the invoice its credit notes took back.
func (inv *Invoice) Credited() []decimal.Decimal {
	out := make([]decimal.Decimal, len(inv.Lines))
	for _, c := range inv.Credits {
		for _, l := range c.Lines {
			if l.Place >= 1 && l.Place <= len(out) {
				out[l.Place-1] = out[l.Place-1].Add(l.Count)
			}
		}
	}
	return out
}

// Left is how much of each line of the invoice can still be credited.
func (inv *Invoice) Left() []decimal.Decimal {
	out := inv.Credited()
	for i, l := range inv.Lines {
		out[i] = l.Count.Sub(out[i])
	}
	return out
}

// WholeLeft asks for all of the invoice that was not credited yet.
func (inv *Invoice) WholeLeft() []Wanted {
	var out []Wanted
	for i, left := range inv.Left() {
		if left.Sign() > 0 {
			out = append(out, Wanted{Place: i + 1, Count: left})
		}
	}
	return out
}

// maxCreditPlaces is how fine a quantity may be credited.
const maxCreditPlaces = 6

// Credit draws up the credit note for what is wanted of an invoice, at the invoice's
// own rates whatever they are today. It gives no number and no date.
//
// What a note takes back is what the invoice comes to for all that is credited after
// it, less what it came to before it. So notes that together take back every line add
// up to the invoice, to the last minor unit, in each tax and in the total, in
// whatever pieces and order.
//
// It returns an Invalid error that names each wrong field, such as
// lines[2].count, and one that says how much is left of a line when more is wanted.
//
// Source: ledger example L08; that parts sum to the whole is a rule of our own.
func Credit(inv *Invoice, wanted []Wanted, reason string) (CreditNote, error) {
	c := CreditNote{Invoice: inv.ID, Job: inv.Job}
	f := domain.Fields{}
	c.Reason = domain.Line(f, "reason", reason, 200, true)
	after := inv.checkWanted(f, wanted)
	if err := f.Err(); err != nil {
		return c, err
	}
	old, err := inv.totalsAt(inv.Credited())
	if err != nil {
		return c, err
	}
	sum, err := inv.totalsAt(after)
	if err != nil {
		return c, err
	}
	for i := range inv.Lines {
		for _, w := range wanted {
			if w.Place == i+1 {
				c.Lines = append(c.Lines, CreditLine{Place: w.Place, Count: w.Count, Net: sum.Lines[i].Net - old.Lines[i].Net})
			}
		}
	}
	c.Totals = difference(sum, old, c.Lines)
	return c, nil
}

// checkWanted notes what is wrong, and returns how much of each line is credited
// afterwards.
func (inv *Invoice) checkWanted(f domain.Fields, wanted []Wanted) []decimal.Decimal {
	after, left := inv.Credited(), inv.Left()
	if len(wanted) == 0 {
		f.Add("lines", "say what is credited: at least one line with its quantity")
	}
	seen := map[int]bool{}
	for i, w := range wanted {
		at := fmt.Sprintf("lines[%d].", i)
		switch {
		case w.Place < 1 || w.Place > len(inv.Lines):
			f.Add(at+"place", "%d is no line of the invoice; it has lines 1 to %d", w.Place, len(inv.Lines))
		case seen[w.Place]:
			f.Add(at+"place", "line %d stands twice", w.Place)
		case w.Count.Sign() <= 0:
			f.Add(at+"count", "must be more than 0")
		case w.Count.Exponent() < -maxCreditPlaces && !w.Count.Equal(w.Count.Round(maxCreditPlaces)) && !w.Count.Equal(left[w.Place-1]):
			f.Add(at+"count", "must have at most %d decimals", maxCreditPlaces)
		case left[w.Place-1].Sign() <= 0:
			f.Add(at+"count", "nothing is left of %s: all of it was credited", inv.Lines[w.Place-1].Name)
		case w.Count.GreaterThan(left[w.Place-1]):
			f.Add(at+"count", "must be at most %s, what is left of %s", left[w.Place-1], inv.Lines[w.Place-1].Name)
		default:
			after[w.Place-1] = after[w.Place-1].Add(w.Count)
		}
		seen[w.Place] = true
	}
	return after
}

// totalsAt is what the invoice comes to if only so much of each line is on it. The
// discount is in the lines, by their shares.
func (inv *Invoice) totalsAt(counts []decimal.Decimal) (money.Totals, error) {
	b := inv.Bill()
	b.Discount = 0
	for i, l := range inv.Totals.Lines {
		net, err := part(l.Net-l.Share, counts[i], inv.Lines[i].Count, inv.Rounding.Mode)
		if err != nil {
			return money.Totals{}, fmt.Errorf("credit line %d: %w", i+1, err)
		}
		b.Lines[i].Net = &net
	}
	t, err := money.Sum(b)
	if err != nil {
		return t, fmt.Errorf("credit invoice %d: %w", inv.Number, err)
	}
	return t, nil
}

// part is the share of an amount that a count has of a whole, rounded once.
func part(a money.Amount, count, whole decimal.Decimal, mode money.Mode) (money.Amount, error) {
	if count.Equal(whole) {
		return a, nil
	}
	exact := decimal.NewFromInt(int64(a)).Mul(count).DivRound(whole, 12)
	out := money.Amount(money.Round(exact, 0, mode).IntPart())
	return out, out.Check()
}

// difference is what is in one sum and not in another of the same bill. Only the
// lines of the note stay.
func difference(after, before money.Totals, lines []CreditLine) money.Totals {
	d := money.Totals{
		Sum: after.Sum - before.Sum, Net: after.Net - before.Net, Tax: after.Tax - before.Tax,
		Total: after.Total - before.Total, Groups: []money.TaxGroup{},
	}
	d.Due, d.CashTotal = d.Total, d.Total
	for i, x := range after.Taxes {
		x.Base -= before.Taxes[i].Base
		x.Amount -= before.Taxes[i].Amount
		d.Taxes = append(d.Taxes, x)
	}
	for i, g := range after.Groups {
		g.Sum -= before.Groups[i].Sum
		g.Net -= before.Groups[i].Net
		if g.Sum != 0 || g.Net != 0 {
			d.Groups = append(d.Groups, g)
		}
	}
	for _, l := range lines {
		t := after.Lines[l.Place-1]
		d.Lines = append(d.Lines, money.LineTotal{Gross: l.Net, Net: l.Net, Taxes: t.Taxes})
	}
	return d
}

// CreditedTotal is what the credit notes of an invoice come to.
func (inv *Invoice) CreditedTotal() money.Amount {
	var sum money.Amount
	for _, c := range inv.Credits {
		sum += c.Totals.Total
	}
	return sum
}

// PostCredit posts a credit note: what each kind of line earned and each tax are
// taken back from the receivable. L08.
func PostCredit(inv *Invoice, c *CreditNote) ([]Posting, error) {
	back := Invoice{TaxInside: inv.TaxInside, Totals: money.Totals{Total: -c.Totals.Total}}
	for i, l := range c.Lines {
		back.Lines = append(back.Lines, Line{Kind: inv.Lines[l.Place-1].Kind})
		back.Totals.Lines = append(back.Totals.Lines, money.LineTotal{Net: -l.Net, Taxes: c.Totals.Lines[i].Taxes})
	}
	for _, x := range c.Totals.Taxes {
		x.Amount = -x.Amount
		back.Totals.Taxes = append(back.Totals.Taxes, x)
	}
	return PostInvoice(&back)
}

// Label names the note.
func (c *CreditNote) Label() string { return fmt.Sprintf("Credit note %06d", c.Number) }
