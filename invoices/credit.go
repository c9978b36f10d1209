package invoices

import (
	"fmt"
	"io"
	"strings"

	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// CreditDoc is what a credit note is printed from.
type CreditDoc struct {
	Shop       workshop.Shop
	Customer   customer.Customer
	Instrument customer.Instrument
	Job        *job.Job         // nil of a sale over the counter: then there is no instrument
	Invoice    *billing.Invoice // that it takes back
	Note       *billing.CreditNote
}

// Credit writes a credit note as PDF: which invoice it takes back and why, by line and
// quantity, with each tax at the invoice's own rate. It returns an error when the
// writer or the PDF library fails.
func Credit(w io.Writer, d CreditDoc) error {
	about := about{title: d.Note.Label(), at: d.Note.IssuedAt, tag: tagNumber(d.Job)}
	return write(w, &d.Shop, about, d.draw)
}

func (d CreditDoc) draw(s *sheet) {
	inv, n := d.Invoice, d.Note
	s.letterhead(civil(n.Date))
	to := inv.BilledTo
	if to == "" {
		to = nameAndAddress(d.Customer)
	}
	s.parties("Credited to", to, d.Instrument, d.Job)
	s.answer(
		fmt.Sprintf("Credited: %s of %s of %s.", show(inv.Currency, n.Totals.Total), inv.Label(), civil(inv.Date)),
		"Because: "+strings.TrimSuffix(n.Reason, ".")+".",
	)
	s.together(gap(3))
	t := s.newTable(column{head: "what is credited"}, column{head: "how much", width: 34}, column{head: "amount " + inv.Currency.Code, width: 29, right: true})
	for _, l := range n.Lines {
		of := inv.Lines[l.Place-1]
		t.row(nil, of.Name, counted(l.Count, of.Unit), amount(inv.Currency, l.Net))
	}
	b := s.newSums(inv.Currency)
	b.totals(n.Totals, inv.TaxInside, "", d.Customer.Exempt)
	b.done()
	s.prose("How it counts", "It lowers what is owed on the invoice. What was paid beyond that is given back, and a receipt says so.")
	s.closing()
}
