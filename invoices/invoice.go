package invoices

import (
	"fmt"
	"io"
	"strings"

	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// InvoiceDoc is what an invoice is printed from.
type InvoiceDoc struct {
	Shop       workshop.Shop
	Customer   customer.Customer
	Instrument customer.Instrument
	Job        *job.Job // nil of a sale over the counter: then there is no instrument
	Invoice    *billing.Invoice
	Payments   []billing.Payment // oldest first
	Balance    billing.Balance   // after them
}

// Invoice writes an invoice as PDF: what was done, the taxes by name, number,
// rate and base, what was agreed, what was paid and what is due. It returns an
// error when the writer or the PDF library fails.
func Invoice(w io.Writer, d InvoiceDoc) error {
	about := about{title: d.Invoice.Label(), at: d.Invoice.IssuedAt, tag: tagNumber(d.Job)}
	return write(w, &d.Shop, about, d.draw)
}

func (d InvoiceDoc) draw(s *sheet) {
	inv := d.Invoice
	s.letterhead(civil(inv.Date))
	to := inv.BilledTo
	if to == "" {
		to = nameAndAddress(d.Customer)
	}
	s.parties("Billed to", to, d.Instrument, d.Job)
	s.answer(dueSentence(inv.Currency, d.Balance), d.until(), d.agreed())
	s.together(gap(3))
	d.table(s)
	b := s.newSums(inv.Currency)
	b.totals(inv.Totals, inv.TaxInside, inv.Reason, d.Customer.Exempt)
	b.done()
	d.paid(s)
	s.prose("Note", inv.Note)
	s.list("Please note", []string{d.Instrument.Protected()})
	s.closing()
}

// dueSentence says what is owed, and by whom.
func dueSentence(c money.Currency, b billing.Balance) string {
	switch {
	case b.PayerDue != 0:
		return fmt.Sprintf("To pay by you: %s. To pay by who is billed: %s.", show(c, b.OwnDue()), show(c, b.PayerDue))
	case b.Due > 0 && b.CashDue != b.Due:
		return fmt.Sprintf("To pay: %s, in cash %s.", show(c, b.Due), show(c, b.CashDue))
	case b.Due > 0:
		return fmt.Sprintf("To pay: %s.", show(c, b.Due))
	case b.Due < 0:
		return fmt.Sprintf("To be given back to you: %s.", show(c, -b.Due))
	}
	return "Paid. Nothing is due."
}

// until says on what terms it is to be paid; "" for at once.
func (d InvoiceDoc) until() string {
	text := ""
	if d.Invoice.DueOn != "" {
		text = "To pay by " + civil(d.Invoice.DueOn) + ". "
	}
	if d.Invoice.PayerRef != "" {
		text += "Reference: " + d.Invoice.PayerRef + "."
	}
	return strings.TrimSpace(text)
}

// agreed says what the customer had agreed to; "" when no total was agreed.
func (d InvoiceDoc) agreed() string {
	inv := d.Invoice
	switch {
	case inv.Agreed <= 0:
		return ""
	case inv.Limit > inv.Agreed && inv.Limit < money.MaxAmount:
		return fmt.Sprintf("Agreed: about %s, not above %s.", show(inv.Currency, inv.Agreed), show(inv.Currency, inv.Limit))
	}
	return fmt.Sprintf("Agreed: %s.", show(inv.Currency, inv.Agreed))
}

func (d InvoiceDoc) table(s *sheet) {
	inv := d.Invoice
	t := s.newTable(column{head: "what was done or fitted"}, column{head: "how much", width: 34},
		column{head: "price each", width: 27, right: true}, column{head: "amount " + inv.Currency.Code, width: 29, right: true})
	for _, l := range inv.Lines {
		much, each := l.Detail, ""
		if much == "" {
			much = counted(l.Count, l.Unit)
		}
		if !l.Count.Equal(one) || l.Off.Sign() > 0 {
			each = price(inv.Currency, l.Price)
		}
		var notes []string
		if l.Off.Sign() > 0 {
			notes = append(notes, off(l.Off, ""))
		}
		t.row(notes, l.Name, much, each, amount(inv.Currency, l.Net))
	}
}

// paid lists the payments and what is due after them, kept together when they
// fit on half a page.
func (d InvoiceDoc) paid(s *sheet) {
	c := d.Invoice.Currency
	b := &sums{sheet: s, currency: c, lines: []line{gap(2)}}
	for _, p := range d.Payments {
		b.amount(joinFilled(" · ", string(p.Kind), string(p.Tender), s.day(p.At), p.Label()), p.Amount)
		if p.Rounding != 0 {
			b.amount("cash rounding", p.Rounding)
		}
	}
	for _, n := range d.Invoice.Credits {
		b.amount(joinFilled(" · ", n.Label(), civil(n.Date)), n.Totals.Total)
	}
	if d.Balance.WrittenOff != 0 {
		b.amount("No longer asked for", d.Balance.WrittenOff)
	}
	if len(d.Payments) > 0 {
		b.amount("Paid in all, with cash rounding", d.Balance.Paid)
		if d.Balance.Deposits != 0 && d.Balance.Deposits != d.Balance.Paid {
			b.note("deposits in it: " + amount(c, d.Balance.Deposits))
		}
	}
	word, due := "Due ", d.Balance.Due
	if due < 0 {
		word, due = "To be given back ", -due
	}
	b.total(word+c.Code, due)
	if d.Balance.PayerDue == 0 && d.Balance.CashDue != d.Balance.Due {
		b.note("in cash, rounded to the smallest coin: " + amount(c, d.Balance.CashDue.Abs()))
	}
	b.done()
}
