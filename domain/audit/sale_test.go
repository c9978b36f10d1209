package audit

import (
	"testing"

	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/stock"
)

func TestWhatSalesTookOffTheShelf(t *testing.T) {
	right := Sold{Move: 9, Part: 7, Kind: stock.Sold, Quantity: -2000, Back: 1000, Line: 3, Invoice: 12, LinePart: 7, Count: "2"}
	change := func(how func(s *Sold)) Sold { s := right; how(&s); return s }
	for name, c := range map[string]struct {
		sold Sold
		want []string
	}{
		"as its line says":       {right, nil},
		"written in full":        {change(func(s *Sold) { s.Count = "2.000" }), nil},
		"all of it came back":    {change(func(s *Sold) { s.Back = 2000 }), nil},
		"no line":                {change(func(s *Sold) { s.Line = 0 }), []string{"sold: part 7, move 9 sold 2, and no invoice says so"}},
		"used, not sold":         {change(func(s *Sold) { s.Kind = stock.Used }), []string{`sold: invoice 12 names move 9 of part 7 as sold; it is "used"`}},
		"another part":           {change(func(s *Sold) { s.LinePart = 8 }), []string{"sold: invoice 12 sells part 8 with move 9, which is of part 7"}},
		"another quantity":       {change(func(s *Sold) { s.Count = "3" }), []string{"sold: invoice 12 sells 3 of part 7; move 9 took 2 off the shelf"}},
		"no quantity":            {change(func(s *Sold) { s.Count = "" }), []string{"sold: invoice 12 sells  of part 7"}},
		"more came back than it": {change(func(s *Sold) { s.Back = 2001 }), []string{"sold: invoice 12: move 9 sold 2 of part 7, and 2.001 of it were put back"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			a.Sold(c.sold)
			wantBreaks(t, a.Done(), c.want...)
		})
	}
	a := New(terms(t))
	a.Misplaced(Misplaced{Payment: 5, Receipt: 8, Number: 12})
	wantBreaks(t, a.Done(), "belongs: receipt 8 (payment 5) is kept as of a sale over the counter, but invoice 12 is of a job")
}

// A sale is held against the rules of money, and named as one.
func TestSalesAndTheirMoney(t *testing.T) {
	of := func() *Facts {
		f := right(t)
		return &Facts{Job: &job.Job{}, Invoice: f.Invoice, InvoiceTotal: f.InvoiceTotal}
	}
	f := of()
	f.Invoice.Credits = nil
	entries, err := (&billing.Standing{}).Issued(f.Invoice)
	if err != nil {
		t.Fatal(err)
	}
	f.Entries = entries
	a := New(terms(t))
	a.Sale(f)
	wantBreaks(t, a.Done())
	f.InvoiceTotal++
	f.Entries = nil
	a = New(terms(t))
	a.Sale(f)
	wantBreaks(t, a.Done(), "totals: sale over the counter, invoice ", "posted: sale over the counter, invoice ", "receivables: sale over the counter: the journal says 0.00 CAD are owed")
}
