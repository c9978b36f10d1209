package invoices

import (
	"fmt"
	"io"

	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// ReceiptDoc is what a receipt is printed from.
type ReceiptDoc struct {
	Shop       workshop.Shop
	Customer   customer.Customer
	Instrument customer.Instrument
	Job        *job.Job // nil of a sale over the counter: then there is no instrument
	Payment    billing.Payment
	Invoice    *billing.Invoice // nil for a deposit before there is one
	Balance    billing.Balance  // after the payment
}

// Receipt writes a receipt as PDF: what was taken or given back, with what, the
// change, and what is due after it. It returns an error when the writer or the
// PDF library fails.
func Receipt(w io.Writer, d ReceiptDoc) error {
	about := about{title: d.Payment.Label(), at: d.Payment.At, tag: tagNumber(d.Job)}
	return write(w, &d.Shop, about, d.draw)
}

func (d ReceiptDoc) draw(s *sheet) {
	s.letterhead(s.dayHour(d.Payment.At))
	s.parties(d.word(), nameAndAddress(d.Customer), d.Instrument, d.Job)
	s.answer(d.sentence())
	d.money(s)
	s.closing()
}

func (d ReceiptDoc) word() string {
	if d.Payment.Amount < 0 {
		return "Given back to"
	}
	return "Received from"
}

// currency is the invoice's, and the shop's before there is one.
func (d ReceiptDoc) currency() money.Currency {
	if d.Invoice != nil {
		return d.Invoice.Currency
	}
	return d.Shop.Currency
}

func (d ReceiptDoc) sentence() string {
	p, c := d.Payment, d.currency()
	what := ""
	switch {
	case d.Invoice != nil && p.Invoice != 0:
		what = "on " + d.Invoice.Label()
	case d.Job != nil:
		what = fmt.Sprintf("for tag %d", d.Job.Tag)
	}
	if p.Amount < 0 {
		return fmt.Sprintf("Given back: %s, %s, %s.", show(c, -p.Amount), p.Tender, what)
	}
	if p.Kind == billing.Deposit {
		return fmt.Sprintf("Received as a deposit: %s, %s, %s.", show(c, p.Amount), p.Tender, what)
	}
	return fmt.Sprintf("Received: %s, %s, %s.", show(c, p.Amount), p.Tender, what)
}

func (d ReceiptDoc) money(s *sheet) {
	p, c := d.Payment, d.currency()
	b := s.newSums(c)
	b.lines = append([]line{gap(3)}, b.lines...)
	if p.Given != 0 {
		b.amount("Given", p.Given)
		b.amount("Change", p.Change)
	}
	b.total(fmt.Sprintf("%s by %s, %s", p.Kind, p.Tender, c.Code), p.Amount)
	if p.Reference != "" {
		b.note("reference " + p.Reference)
	}
	if p.Rounding != 0 {
		b.amount("Settled besides by cash rounding", p.Rounding)
	}
	if p.Kept != 0 {
		b.amount("Kept for you as store credit", p.Kept)
	}
	if p.Tip != 0 {
		b.amount("For the staff, with thanks", p.Tip)
	}
	if p.Laid() != p.Amount {
		b.amount("Laid down in all", p.Laid())
	}
	b.lines = append(b.lines, gap(2))
	if d.Invoice != nil {
		b.amount(d.Invoice.Label()+", total", d.Balance.Total)
		if d.Balance.Credited != 0 {
			b.amount("Credited", d.Balance.Credited)
		}
		if d.Balance.WrittenOff != 0 {
			b.amount("No longer asked for", d.Balance.WrittenOff)
		}
		b.amount("Paid in all, with cash rounding", d.Balance.Paid)
		b.put(dueWord(d.Balance), amount(c, d.Balance.Due.Abs()), bold, body)
	} else {
		b.amount("Deposits so far, to come off the invoice", d.Balance.Paid)
	}
	if p.By != "" {
		b.note("taken by " + p.By)
	}
	b.done()
}

func dueWord(b billing.Balance) string {
	if b.Due < 0 {
		return "To be given back after it"
	}
	return "Due after it"
}
