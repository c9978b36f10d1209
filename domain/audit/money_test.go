package audit

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
)

// The rules held here are the project's own (docs/books.md); each case plants one
// fault into facts that are right.

func cad(t *testing.T) money.Currency {
	t.Helper()
	c, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// says wants words in what was said of a fault, or that nothing was said for "".
func says(t *testing.T, got, want string) {
	t.Helper()
	if want == "" && got != "" || !strings.Contains(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestWhatIsWrongWithAPayment(t *testing.T) {
	pay := billing.Payment{Kind: billing.Settle, Invoice: 1, Amount: 1000}
	back := billing.Payment{Kind: billing.Refund, Invoice: 1, Amount: -300}
	for name, c := range map[string]struct {
		p          billing.Payment
		paid, owed money.Amount
		want       string
	}{
		"all that is owed":        {pay, 1000, 1000, ""},
		"a cent more":             {pay, 1001, 1000, "10.01"},
		"without an invoice":      {billing.Payment{Kind: billing.Settle, Amount: 5}, 5, 5, "without an invoice"},
		"below nothing":           {billing.Payment{Kind: billing.Deposit, Amount: -5}, -5, 0, "must not be below 0"},
		"deposit on an invoice":   {billing.Payment{Kind: billing.Deposit, Invoice: 1, Amount: 5}, 5, 0, "deposits come before an invoice"},
		"a deposit":               {billing.Payment{Kind: billing.Deposit, Amount: 5}, 5, 0, ""},
		"refund of the rest":      {back, 700, 700, ""},
		"refund of a cent more":   {back, 699, 700, "gives back more than was paid too much"},
		"refund above nothing":    {billing.Payment{Kind: billing.Refund, Invoice: 1, Amount: 300}, 1000, 700, "must be below 0"},
		"change":                  {billing.Payment{Kind: billing.Settle, Invoice: 1, Amount: 1000, Tip: 100, Given: 2000, Change: 900}, 1000, 1000, ""},
		"change without the tip":  {billing.Payment{Kind: billing.Settle, Invoice: 1, Amount: 1000, Tip: 100, Given: 2000, Change: 1000}, 1000, 1000, "kept as change"},
		"change without the kept": {billing.Payment{Kind: billing.Settle, Invoice: 1, Amount: 1000, Kept: 50, Given: 1050, Change: 50}, 1000, 1000, "kept as change"},
	} {
		t.Run(name, func(t *testing.T) { says(t, wrongPayment(cad(t), c.p, c.paid, c.owed), c.want) })
	}
}

func TestWhatIsWrongWithTheRoundingOfCash(t *testing.T) {
	coin := billing.Coin{Step: 5}
	for name, c := range map[string]struct {
		p    billing.Payment
		coin billing.Coin
		want string
	}{
		"none":             {billing.Payment{Tender: "card"}, coin, ""},
		"two cents of 5":   {billing.Payment{Tender: billing.Cash, Rounding: -2}, coin, ""},
		"a whole coin":     {billing.Payment{Tender: billing.Cash, Rounding: 5}, coin, "smallest coin"},
		"a coin the other": {billing.Payment{Tender: billing.Cash, Rounding: -5}, coin, "smallest coin"},
		"by card":          {billing.Payment{Tender: "card", Rounding: 1}, coin, "paid by card"},
		"no coins set":     {billing.Payment{Tender: billing.Cash, Rounding: 1}, billing.Coin{}, "smallest coin"},

		"coins that were larger once":  {billing.Payment{Tender: billing.Cash, Rounding: 2, Coin: 5}, billing.Coin{Step: 1}, ""},
		"coins that were smaller once": {billing.Payment{Tender: billing.Cash, Rounding: 2, Coin: 1}, coin, "the smallest coin was 0.01"},
		"a whole coin of its day":      {billing.Payment{Tender: billing.Cash, Rounding: -5, Coin: 5}, billing.Coin{Step: 10}, "the smallest coin was 0.05"},
	} {
		t.Run(name, func(t *testing.T) { says(t, wrongRounding(cad(t), c.p, c.coin), c.want) })
	}
}

func TestWhatEachOwesWhenAPaymentIsTaken(t *testing.T) {
	at := time.Date(2026, 11, 2, 10, 0, 0, 0, time.UTC)
	p := billing.Payment{Invoice: 1, At: at}
	note := func(sum money.Amount, at time.Time) billing.CreditNote {
		return billing.CreditNote{Totals: money.Totals{Total: sum}, IssuedAt: at}
	}
	bill := func(change func(v *billing.Invoice)) *billing.Invoice {
		v := &billing.Invoice{Totals: money.Totals{Total: 10000}}
		change(v)
		return v
	}
	for name, c := range map[string]struct {
		inv  *billing.Invoice
		p    billing.Payment
		want sharesOf
	}{
		"no invoice":                 {nil, p, sharesOf{}},
		"a deposit":                  {bill(func(*billing.Invoice) {}), billing.Payment{At: at}, sharesOf{}},
		"the whole":                  {bill(func(*billing.Invoice) {}), p, sharesOf{own: 10000}},
		"credited at that moment":    {bill(func(v *billing.Invoice) { v.Credits = []billing.CreditNote{note(400, at)} }), p, sharesOf{own: 9600}},
		"credited later":             {bill(func(v *billing.Invoice) { v.Credits = []billing.CreditNote{note(400, at.Add(time.Second))} }), p, sharesOf{own: 10000}},
		"given up":                   {bill(func(v *billing.Invoice) { v.WriteOff = &billing.WriteOff{Amount: 9000, At: at} }), p, sharesOf{own: 1000}},
		"given up, and yet it comes": {bill(func(v *billing.Invoice) { v.WriteOff = &billing.WriteOff{Amount: 9000, At: at} }), billing.Payment{Invoice: 1, At: at, Kind: billing.Settle}, sharesOf{own: 10000}},
		"given up later":             {bill(func(v *billing.Invoice) { v.WriteOff = &billing.WriteOff{Amount: 9000, At: at.Add(time.Second)} }), p, sharesOf{own: 10000}},
		"another pays":               {bill(func(v *billing.Invoice) { v.Payer, v.OwnPart = 7, 2500 }), p, sharesOf{own: 2500, payer: 7500}},
		"credited to who pays first": {bill(func(v *billing.Invoice) {
			v.Payer, v.OwnPart, v.Credits = 7, 2500, []billing.CreditNote{note(8000, at)}
		}), p, sharesOf{own: 2000}},
	} {
		t.Run(name, func(t *testing.T) {
			if got := owedAt(c.inv, c.p); got != c.want {
				t.Errorf("got %+v, want %+v", got, c.want)
			}
		})
	}
}

func posting(debit, credit billing.Account, sum money.Amount) []billing.Posting {
	return []billing.Posting{{Account: debit, Debit: sum}, {Account: credit, Credit: sum}}
}

// sold is a job with an invoice, a credit note, a debt given up and a payment, all of
// them posted.
func sold() *Facts {
	return &Facts{
		Job: &job.Job{ID: 4, Tag: 9},
		Invoice: &billing.Invoice{
			ID: 1, Number: 31, Totals: money.Totals{Total: 10000},
			Credits:  []billing.CreditNote{{ID: 2, Number: 1, Totals: money.Totals{Total: 2000}}},
			WriteOff: &billing.WriteOff{Invoice: 1, Amount: 3000},
		},
		Payments: []billing.Payment{{ID: 5, Receipt: 12, Invoice: 1, Kind: billing.Settle, Tender: "card", Amount: 5000}},
		Entries: []billing.Entry{
			{ID: 1, Date: "2026-11-02", Job: 4, Invoice: 1, Event: billing.InvoiceIssued, Postings: posting(billing.Receivables, billing.CardClearing, 10000)},
			{ID: 2, Date: "2026-11-03", Job: 4, Invoice: 1, Payment: 5, Event: "payment taken", Postings: posting(billing.CardClearing, billing.Receivables, 5000)},
			{ID: 3, Date: "2026-11-04", Job: 4, Invoice: 1, Event: billing.CreditIssued, Postings: posting(billing.CardClearing, billing.Receivables, 2000)},
			{ID: 4, Date: "2026-11-05", Job: 4, Invoice: 1, Event: billing.DebtWrittenOff, Postings: posting(billing.CardClearing, billing.Receivables, 3000)},
		},
	}
}

// without leaves an entry out.
func without(id int64) func(f *Facts) {
	return func(f *Facts) {
		f.Entries = having(f.Entries, func(e *billing.Entry) bool { return e.ID != id })
	}
}

// cameIn takes money on the debt that was given up, put back by so much.
func cameIn(sum, back money.Amount) func(f *Facts) {
	return func(f *Facts) {
		f.Payments = append(f.Payments, billing.Payment{ID: 6, Receipt: 13, Invoice: 1, Kind: billing.Settle, Tender: "card", Amount: sum})
		f.Entries = append(f.Entries,
			billing.Entry{ID: 11, Date: "2026-11-07", Job: 4, Invoice: 1, Event: billing.DebtRecovered, Postings: posting(billing.Receivables, billing.BadDebts, back)},
			billing.Entry{ID: 12, Date: "2026-11-07", Job: 4, Invoice: 1, Payment: 6, Event: billing.PaymentTaken, Postings: posting(billing.CardClearing, billing.Receivables, sum)})
	}
}

func TestDocumentsThatAreNotInTheJournal(t *testing.T) {
	const owed = "by invoice and payments"
	for name, c := range map[string]struct {
		plant func(f *Facts)
		want  []string
	}{
		"all posted":              {func(*Facts) {}, nil},
		"no invoice":              {without(1), []string{"invoice 31: it has no entry, want 1", owed}},
		"no payment":              {without(2), []string{"receipt 12 (payment 5): it has no entry, want 1", owed}},
		"no credit note":          {without(3), []string{"the credit notes for invoice 31: it has no entry, want 1", owed}},
		"debt given up, not told": {without(4), []string{"what was given up of invoice 31: it has no entry, want 1", owed}},
		"a credit note twice": {func(f *Facts) {
			e := f.Entries[2]
			e.ID = 8
			f.Entries = append(f.Entries, e)
		}, []string{"it has 2 entries, 3, 8, want 1", owed}},
		"twice, one taken back": {func(f *Facts) {
			e := f.Entries[2]
			e.ID = 8
			f.Entries = append(f.Entries, e, billing.Entry{ID: 9, Date: "2026-11-06", Job: 4, Invoice: 1, Event: billing.CreditIssued, Reverses: 8, Postings: posting(billing.Receivables, billing.CardClearing, 2000)})
		}, nil},
		"a cent off": {func(f *Facts) {
			f.Entries[3].Postings = posting(billing.CardClearing, billing.Receivables, 2999)
		}, []string{"-29.99", owed}},
		"paid into another till": {func(f *Facts) {
			f.Entries[1].Postings = posting(billing.CashBox, billing.Receivables, 5000)
		}, []string{"by card"}},
		"a debt given up that nobody noted": {func(f *Facts) { f.Invoice.WriteOff = nil }, []string{"it has entry 4, want 0", owed}},
		"came in after all":                 {cameIn(1000, 1000), nil},
		"came in after all, not put back": {func(f *Facts) {
			cameIn(1000, 1000)(f)
			without(11)(f)
		}, []string{"what came in after invoice 31 was given up: it has no entry, want 1", owed}},
		"came in, and less was put back":   {cameIn(1000, 900), []string{"with 9.00 CAD on the receivables, want 10.00 CAD", owed}},
		"came in beyond what was given up": {cameIn(3001, 3001), []string{"by invoice and payments -0.01 CAD are due"}},
	} {
		t.Run(name, func(t *testing.T) {
			f := sold()
			c.plant(f)
			a := New(Terms{Currency: cad(t)})
			f.Invoice.Currency = cad(t)
			a.books(f)
			wantText(t, a.Done(), c.want...)
		})
	}
}

func TestEntriesThatDoNotBalance(t *testing.T) {
	e := billing.Entry{ID: 3, Date: "2026-11-02", Postings: posting(billing.CashBox, billing.Receivables, 100)}
	a := New(Terms{Currency: cad(t)})
	a.Entry(&e)
	e.Postings[0].Debit = 99
	a.Entry(&e)
	wantText(t, a.Done(), "entry 3 of 2026-11-02")
}

func TestMovesOfKeptMoney(t *testing.T) {
	first := Kept{What: "tips", Place: 1, Amount: 500, Balance: 500}
	for name, c := range map[string]struct {
		m    Kept
		want []string
	}{
		"paid out":       {Kept{"tips", 2, -500, 0}, nil},
		"of another":     {Kept{"store credit of customer 5", 1, 70, 70}, nil},
		"a place left":   {Kept{"tips", 3, -100, 400}, []string{"move 3 comes after move 1"}},
		"another sum":    {Kept{"tips", 2, -100, 401}, []string{"leaves"}},
		"below nothing":  {Kept{"tips", 2, -501, -1}, []string{"leaves"}},
		"another's sums": {Kept{"store credit of customer 5", 1, 70, 570}, []string{"leaves"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(Terms{Currency: cad(t)})
			a.Kept(Kept{}, first)
			a.Kept(first, c.m)
			wantText(t, a.Done(), c.want...)
		})
	}
}

func TestMonthsAndAccounts(t *testing.T) {
	a := New(Terms{Currency: cad(t)})
	a.Month(Month{Month: "2026-10", Entries: 4, HasEntries: 4, Debits: 900, Sums: 900})
	a.KeptAccount(Account{Account: billing.StoreCredit, Stands: 70, Sum: 70})
	a.ShelfAccount(Account{Account: billing.CashBox, Stands: 70, Sum: 70})
	if r := a.Done(); !r.Clean() {
		t.Fatalf("got %+v, want no break", r.Breaks)
	}
	a.Month(Month{Month: "2026-09", Entries: 4, HasEntries: 5, Debits: 900, Sums: 900})
	a.Month(Month{Month: "2026-08", Entries: 4, HasEntries: 4, Debits: 900, Sums: 901})
	a.Late(Late{Entry: 77, Date: "2026-08-30", Month: "2026-08", Made: "2026-09-04"})
	a.KeptAccount(Account{Account: billing.StoreCredit, Stands: 70, Of: "what is kept", Sum: 71})
	a.ShelfAccount(Account{Account: billing.CashBox, Stands: 70, Of: "the shelf", Sum: 69})
	wantText(t, a.Done(), "the shelf comes to", "what is kept comes to", "2026-09 was closed", "2026-08 was closed", "entry 77")
}
