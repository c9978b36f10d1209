package audit

import (
	"testing"

	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

func TestTotalsOfAQuote(t *testing.T) {
	const of = "totals: tag 9 (job 4), version 1 of the quote (quote 61): "
	totals := func(change func(k *money.Totals)) func(f *Facts) {
		return func(f *Facts) { change(&f.Quotes[0].Totals) }
	}
	planted(t, false, map[string]plant{
		"another sum in lists": {func(f *Facts) { f.Totals[61] = 12391 }, []string{of + "its total stands as 123.91 CAD for lists and as 123.90 CAD on the paper"}},
		"another total": {func(f *Facts) { f.Quotes[0].Totals.Total, f.Totals[61] = 12391, 12391 },
			[]string{of + "its total is kept as 123.91 CAD; its lines come to 123.90 CAD"}},
		"another net":      {totals(func(k *money.Totals) { k.Net++ }), []string{of + "its net is kept as 118.01 CAD; its lines come to 118.00 CAD"}},
		"another tax":      {totals(func(k *money.Totals) { k.Tax-- }), []string{of + "its tax is kept as 5.89 CAD"}},
		"another sum":      {totals(func(k *money.Totals) { k.Sum++ }), []string{of + "its sum of the lines is kept as 118.01 CAD"}},
		"another discount": {totals(func(k *money.Totals) { k.Discount = 100 }), []string{of + "its discount is kept as 1.00 CAD; its lines come to 0.00 CAD"}},
		"a line less":      {totals(func(k *money.Totals) { k.Lines = k.Lines[:1] }), []string{of + "totals are kept of 1 lines and 1 taxes; it has 2 and 1"}},
		"no taxes":         {totals(func(k *money.Totals) { k.Taxes = nil }), []string{of + "totals are kept of 2 lines and 0 taxes; it has 2 and 1"}},
		"a line's net": {totals(func(k *money.Totals) { k.Lines[1].Net = 1801 }),
			[]string{of + "line 2 is kept as 18.01 CAD less 0.00 CAD; it comes to 18.00 CAD less 0.00 CAD"}},
		"a line's share":        {totals(func(k *money.Totals) { k.Lines[0].Share = 5 }), []string{of + "line 1 is kept as 100.00 CAD less 0.05 CAD"}},
		"a tax's name":          {totals(func(k *money.Totals) { k.Taxes[0].Name = "PST" }), []string{of + "tax 1 is kept as PST 5.90 CAD on 118.00 CAD; it is GST 5.90 CAD on 118.00 CAD"}},
		"a tax's amount":        {totals(func(k *money.Totals) { k.Taxes[0].Amount = 589 }), []string{of + "tax 1 is kept as GST 5.89 CAD on 118.00 CAD"}},
		"a tax's base":          {totals(func(k *money.Totals) { k.Taxes[0].Base = 1 }), []string{of + "tax 1 is kept as GST 5.90 CAD on 0.01 CAD; it is GST 5.90 CAD on 118.00 CAD"}},
		"the line itself":       {func(f *Facts) { f.Quotes[0].Lines[0].Net = 9999 }, []string{of + "line 1 holds 99.99 CAD; it comes to 100.00 CAD"}},
		"a price changed since": {func(f *Facts) { f.Quotes[0].Lines[1].Price = dec("19") }, []string{of + "its total is kept as 123.90 CAD; its lines come to 124.95 CAD"}},
		"lines without a sum":   {func(f *Facts) { f.Quotes[0].Lines[1].Kind = "" }, []string{of + "its lines cannot be added up"}},
	})
}

func TestWhatWasAgreed(t *testing.T) {
	const of = "agreed: tag 9 (job 4), version 1 of the quote (quote 61): "
	// answered changes the answer; the invoice follows it, so that only the quote is wrong.
	answered := func(o quote.Outcome, total, limit money.Amount) func(f *Facts) {
		return func(f *Facts) {
			q := f.Quotes[0]
			q.Answer.Outcome, q.YesTotal, q.YesLimit = o, total, limit
			f.Invoice.Agreed, f.Invoice.Limit = total, limit
			if limit < f.Invoice.Totals.Total {
				f.Invoice.Quote = 0
			}
		}
	}
	planted(t, false, map[string]plant{
		"no answer yet":          {func(f *Facts) { f.Quotes[0].Answer = nil }, nil},
		"the whole":              {answered(quote.Whole, 12390, 13629), nil},
		"the whole, a cent off":  {answered(quote.Whole, 12391, 13629), []string{of + "123.91 CAD are kept as agreed; the whole comes to 123.90 CAD"}},
		"above the ceiling":      {answered(quote.Whole, 12390, 13630), []string{of + "136.30 CAD are kept as the limit; the ceiling that was said is 136.29 CAD"}},
		"all lines as a part":    {answered(quote.Part, 12390, 12390), nil},
		"a part, a cent off":     {answered(quote.Part, 12389, 13629), []string{of + "123.89 CAD are kept as agreed; the agreed lines come to 123.90 CAD"}},
		"a part below its limit": {answered(quote.Part, 12390, 12389), []string{of + "the limit, 123.89 CAD, is below what was agreed, 123.90 CAD"}},
		"one line of two": {func(f *Facts) {
			f.Quotes[0].Lines[1].Agreed = false
			answered(quote.Part, 10500, 13629)(f)
		}, nil},
		"declined":              {answered(quote.Denied, 0, 0), nil},
		"declined, with a sum":  {answered(quote.Denied, 12390, 0), []string{of + "it was declined, but 123.90 CAD are kept as agreed"}},
		"declined, with limits": {answered(quote.Denied, 0, 13629), []string{of + "it was declined, but 0.00 CAD are kept as agreed"}},
	})
}

func TestTotalsOfAnInvoice(t *testing.T) {
	const of = "tag 9 (job 4), invoice 31: "
	planted(t, false, map[string]plant{
		"another sum in lists": {func(f *Facts) { f.InvoiceTotal = 1 }, []string{"totals: " + of + "its total stands as 0.01 CAD for lists and as 123.90 CAD on the paper"}},
		"the line itself":      {func(f *Facts) { f.Invoice.Lines[1].Net = 1799 }, []string{"totals: " + of + "line 2 holds 17.99 CAD; it comes to 18.00 CAD"}},
		"above the limit": {func(f *Facts) { f.Invoice.Limit, f.Quotes[0].YesLimit, f.Quotes[0].Ceiling = 12389, 12389, 12389 },
			[]string{"agreed: " + of + "123.90 CAD are billed; no more than 123.89 CAD was agreed"}},
		"another agreement": {func(f *Facts) { f.Invoice.Agreed = 12400 },
			[]string{"agreed: " + of + "it names 124.00 CAD as agreed and 136.29 CAD as the limit; quote 61 says 123.90 CAD and 136.29 CAD"}},
		"another limit": {func(f *Facts) { f.Invoice.Limit = 13630 }, []string{"agreed: " + of + "it names 123.90 CAD as agreed and 136.30 CAD as the limit"}},
	})
}

func TestCreditNotesThatDoNotFit(t *testing.T) {
	const of = "totals: tag 9 (job 4), credit note 7 for invoice 31: "
	note := func(f *Facts) *billing.CreditNote { return &f.Invoice.Credits[0] }
	planted(t, false, map[string]plant{
		"a tax off":            {func(f *Facts) { note(f).Totals.Taxes[0].Amount = 89 }, []string{of + "tax 1 is kept as GST 0.89 CAD on 18.00 CAD; it is GST 0.90 CAD on 18.00 CAD"}},
		"a line that is none":  {func(f *Facts) { note(f).Lines[0].Place = 3 }, []string{of + "it cannot be drawn up"}},
		"more than there is":   {func(f *Facts) { note(f).Lines[0].Count = dec("2") }, []string{of + "it cannot be drawn up"}},
		"no reason":            {func(f *Facts) { note(f).Reason = "" }, []string{of + "it cannot be drawn up"}},
		"the net of the line":  {func(f *Facts) { note(f).Lines[0].Net = 1799 }, []string{of + "line 1 holds 17.99 CAD; it comes to 18.00 CAD"}},
		"a total for lists":    {func(f *Facts) { f.Credited[2] = 1891 }, []string{of + "its total stands as 18.91 CAD for lists and as 18.90 CAD on the paper"}},
		"another line's count": {func(f *Facts) { note(f).Lines[0].Place = 1 }, []string{of + "its total is kept as 18.90 CAD; its lines come to 52.50 CAD"}},
	})
	// A second note for what the first took back already.
	f := right(t)
	again := f.Invoice.Credits[0]
	again.ID, again.Number = 3, 8
	f.Credited[3] = 1890
	f.Invoice.Credits = append(f.Invoice.Credits, again)
	a := New(terms(t))
	a.credits(f)
	wantBreaks(t, a.Done(), "totals: credit note 8 for invoice 31: it cannot be drawn up")
}

func TestPaymentsOfAJob(t *testing.T) {
	const of = "tag 9 (job 4), receipt 13 (payment 72): "
	for name, c := range map[string]plant{
		"all that is owed": {func(*Facts) {}, nil},
		"a cent more": {func(f *Facts) {
			f.Payments[1].Tender, f.Payments[1].Amount, f.Payments[1].Given, f.Payments[1].Change = "card", 7501, 0, 0
		},
			[]string{"payments: " + of + "with it 105.01 CAD are paid of 105.00 CAD that are owed"}},
		"rounded by card": {func(f *Facts) {
			f.Payments[1].Tender, f.Payments[1].Rounding, f.Payments[1].Amount, f.Payments[1].Change = "card", 1, 7499, 501
		},
			[]string{"cash rounding: " + of + "0.01 CAD are rounded, but it was paid by card"}},
		"change of another sum": {func(f *Facts) { f.Payments[1].Change = 501 }, []string{"payments: " + of + "80.00 CAD were given for 75.00 CAD, but 5.01 CAD are kept as change"}},
		"another pays its part": {func(f *Facts) {
			f.Invoice.Payer, f.Invoice.OwnPart, f.Payments[1].ByPayer = 7, 3000, true
		}, nil},
		"another pays the customer's": {func(f *Facts) {
			f.Invoice.Payer, f.Invoice.OwnPart, f.Payments[1].ByPayer = 7, 3001, true
		}, []string{"payments: " + of + "with it 75.00 CAD are paid of 74.99 CAD that are owed"}},
		"more is given back": {func(f *Facts) {
			f.Payments = append(f.Payments, billing.Payment{ID: 73, Invoice: 1, Kind: billing.Refund, Tender: "card", Amount: -1, Receipt: 14, At: hour(151)})
		}, []string{"payments: tag 9 (job 4), receipt 14 (payment 73): it gives back more than was paid too much: 104.99 CAD are left of 105.00 CAD that are owed"}},
	} {
		t.Run(name, func(t *testing.T) {
			f := right(t)
			c.fault(f)
			a := New(terms(t))
			a.payments(f)
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}
