package store_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
	"winterbench/templates"
)

// fullTotals has a value in every field; its figures need not add up: the store
// keeps what it is given.
func fullTotals(total money.Amount) money.Totals {
	return money.Totals{
		Lines: []money.LineTotal{{Gross: 100, Discount: 1, Charge: 2, Net: 3, Share: 4, Taxes: []string{"Tax"}}, {}},
		Sum:   5, Discount: 6, Net: 7,
		Taxes:  []money.TaxTotal{{Name: "Tax", Number: "N", Percent: dec("9.975"), Base: 8, Amount: 9, Exempt: money.ReasonExempt}},
		Groups: []money.TaxGroup{{Taxes: []string{"Tax"}, Sum: 10, Discount: 11, Net: 12}},
		Tax:    13, Total: total, CashTotal: 14, CashDifference: -1, Deposit: 15, Due: -16,
	}
}

var fullTaxes = []money.Tax{{Name: "Tax", Number: "N", Percent: dec("9.975"), On: []money.LineKind{money.Labour}, After: []string{"Other"}, Exempt: "resale"}, {Name: "Other"}}

// fullQuote is a draft with a value in every field that a draft can have.
func fullQuote(id domain.JobID, version int) *quote.Quote {
	return &quote.Quote{
		Job: id, Version: version, Basis: quote.Estimate, Discount: 1000, Reason: "friend", Because: "dry", Missing: "frets", Note: "n",
		Currency: money.Currency{Code: "KWD", Digits: 3}, Rounding: money.Rounding{Mode: money.Down, Level: money.ByLine}, TaxInside: true,
		Taxes: fullTaxes, HourlyRate: 9000, Totals: fullTotals(43210), Low: 40000, High: 50000, Ceiling: 48000, Deposit: 8000,
		Hands: quote.Range{Low: 100, Typical: 150, High: 240}, Days: days("7", "11.5", "21"), Hold: days("6.25", "10", "20"),
		ValidUntil: "2026-12-24", Drafted: start, DraftedBy: "Odo",
		Lines: []quote.Line{
			{
				Template: "RH", Edition: 2, Kind: money.Labour, Name: "Rehumidify", Quantity: 1, Count: dec("1"), Price: dec("60.125"), Typed: true,
				Off: dec("12.5"), OffWhy: "w", ByTime: true, Free: true, Minutes: templates.Range{Low: 20, Typical: 40, High: 70},
				Days: days("7", "11.5", "21"), Hold: true, Because: "b", Net: 5261,
			},
			{For: "RH", Part: "pouch", Kind: money.RetailGoods, Name: "Pouch", Unit: "each", Count: dec("2.125"), Price: dec("-3.5"), Net: -744},
		},
	}
}

func getQuote(t testing.TB, s *store.Store, id domain.QuoteID) *quote.Quote {
	t.Helper()
	q, err := s.QuoteByID(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// say fixes a draft under a number.
func say(q *quote.Quote, number int) {
	q.Number, q.Said, q.SaidBy = number, hours(1), "Odo"
}

func TestADraftComesBackAndIsReplaced(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		j := addJob(t, s, addPeople(t, s).newJob(7))
		q := fullQuote(j.ID, 1)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddQuote(ctx, q) })
		if q.ID == 0 || q.Lock != 1 || q.Lines[0].ID == 0 || q.Lines[1].ID == 0 {
			t.Fatalf("got identities %d, %d, %d and lock %d", q.ID, q.Lines[0].ID, q.Lines[1].ID, q.Lock)
		}
		same(t, "draft", q, getQuote(t, s, q.ID), nil)

		next := fullQuote(j.ID, 1)
		next.ID, next.Lock = q.ID, q.Lock
		next.Lines = append(next.Lines[1:], quote.Line{Kind: money.Fee, Name: "Rush", Count: dec("1"), Price: dec("0")})
		next.Discount, next.Reason, next.Taxes, next.TaxInside = 0, "", nil, false
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.SaveQuote(ctx, next) })
		same(t, "replaced draft", next, getQuote(t, s, q.ID), nil)
		if next.Lock != 2 {
			t.Errorf("got lock %d, want 2", next.Lock)
		}
		save := func(q *quote.Quote) error {
			return s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.SaveQuote(t.Context(), q) })
		}
		wantKind(t, save(q), domain.Conflict)
		same(t, "after a conflict", next, getQuote(t, s, q.ID), nil)
		twin := fullQuote(j.ID, 1)
		wantKind(t, s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.AddQuote(t.Context(), twin) }), domain.Conflict)
	})
}

func TestAQuoteThatWasSaidStaysAsItWasSaid(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j := p.newJob(7)
		j.Tasks = []job.Task{holdTask()}
		addJob(t, s, j)
		q := fullQuote(j.ID, 1)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddQuote(ctx, q) })
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			got, err := tx.Quote(ctx, q.ID)
			if err != nil {
				return err
			}
			say(got, 5)
			q = got
			return tx.SaveQuote(ctx, q)
		})
		same(t, "said", q, getQuote(t, s, q.ID), nil)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			q.Answer = &quote.Answer{Outcome: quote.Part, Who: "Ada", Channel: "phone", At: hours(2), Note: "only this", RecordedBy: "Odo"}
			q.YesTotal, q.YesLimit, q.Replaced = 5261, 6000, hours(3)
			q.Lines[0].Task, q.Lines[0].Agreed = j.Tasks[0].ID, true
			return tx.SaveQuote(ctx, q)
		})
		want := getQuote(t, s, q.ID)
		same(t, "answered", q, want, nil)

		other := *q
		other.Lines = append([]quote.Line{}, q.Lines...)
		other.Note, other.Totals.Total, other.Lines[1].Price = "changed", 1, dec("99")
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.SaveQuote(ctx, &other) })
		want.Lock++
		same(t, "after a try to change it", want, getQuote(t, s, q.ID), nil)

		save := func(q quote.Quote) error {
			return s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.SaveQuote(t.Context(), &q) })
		}
		back := other
		back.Said, back.SaidBy, back.Number, back.Answer = time.Time{}, "", 0, nil
		wantKind(t, save(back), domain.Conflict) // it is no draft any more
		fewer := other
		fewer.Lines = other.Lines[:1]
		if save(fewer) == nil {
			t.Error("a line of a quote that was said was left out")
		}
		same(t, "in the end", want, getQuote(t, s, q.ID), nil)
	})
}

func TestVersionsOfAJob(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j, other := addJob(t, s, p.newJob(7)), addJob(t, s, p.newJob(8))
		first, second, foreign := fullQuote(j.ID, 1), fullQuote(j.ID, 2), fullQuote(other.ID, 1)
		second.Lines = nil
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for _, q := range []*quote.Quote{second, foreign, first} {
				if err := tx.AddQuote(ctx, q); err != nil {
					return err
				}
			}
			all, err := tx.QuotesOf(ctx, j.ID)
			same(t, "oldest first", []*quote.Quote{first, second}, all, err)
			_, err = tx.Quote(ctx, 4711)
			wantKind(t, err, domain.NotFound)
			return nil
		})
		all, err := s.QuotesOfJob(t.Context(), j.ID)
		same(t, "newest first", []quote.Quote{*second, *first}, all, err)
		_, err = s.QuoteByID(t.Context(), 4711)
		wantKind(t, err, domain.NotFound)
	})
}

// fullInvoice has a value in every field.
func fullInvoice(j *job.Job, number int) *billing.Invoice {
	return &billing.Invoice{
		Number: number, Job: j.ID, Customer: j.Customer, Date: "2026-11-25", BilledTo: "Ada Lind\nRow 1", Discount: 5, Reason: "r",
		Currency: euro, Rounding: money.Rounding{Mode: money.HalfEven}, TaxInside: true, Taxes: fullTaxes, Totals: fullTotals(12345),
		Agreed: 12000, Limit: 13000, Note: "n", IssuedBy: "Odo", IssuedAt: hours(9),
		Lines: []billing.Line{
			{Kind: money.Labour, Name: "Glue", Detail: "120 mm", Count: dec("1.75"), Unit: "h", Price: dec("90.005"), Off: dec("2.5"), Minutes: 105, Net: 15357},
			{Kind: money.Part, Name: "Cleat", Count: dec("3"), Price: dec("0"), Net: 0},
		},
	}
}

func TestInvoicesAndPaymentsComeBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		p := addPeople(t, s)
		jobWithTask := p.newJob(7)
		jobWithTask.Tasks = []job.Task{crackTask()}
		j, other := addJob(t, s, jobWithTask), addJob(t, s, p.newJob(8))
		_, err := s.InvoiceOfJob(ctx, j.ID)
		wantKind(t, err, domain.NotFound)
		q := fullQuote(j.ID, 1)
		v, later := fullInvoice(j, 1), fullInvoice(other, 2)
		v.Lines[0].Task = j.Tasks[0].ID
		later.Lines, later.Taxes, later.Totals = nil, nil, money.Totals{Total: 100}
		payments := []billing.Payment{
			{Job: j.ID, Kind: billing.Deposit, Tender: "card", Amount: 5000, Reference: "ref", Receipt: 1, At: hours(1), By: "Odo", Coin: 5},
			{Job: j.ID, Kind: billing.Settle, Tender: billing.Cash, Amount: 7350, Rounding: -5, Given: 8000, Change: 650, Receipt: 2, At: hours(10), By: "Odo"},
			{Job: j.ID, Kind: billing.Refund, Tender: billing.Cash, Amount: -100, Receipt: 3, At: hours(11), By: "Odo"},
		}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddQuote(ctx, q); err != nil {
				return err
			}
			v.Quote = q.ID
			if err := tx.AddInvoice(ctx, v); err != nil {
				return err
			}
			if err := tx.AddInvoice(ctx, later); err != nil {
				return err
			}
			for i := range payments {
				if i > 0 {
					payments[i].Invoice = v.ID
				}
				if err := tx.AddPayment(ctx, &payments[i]); err != nil {
					return err
				}
			}
			got, err := tx.InvoiceOf(ctx, j.ID)
			same(t, "invoice in a transaction", v, got, err)
			paid, err := tx.PaymentsOf(ctx, j.ID)
			same(t, "payments in a transaction", payments, paid, err)
			return nil
		})
		got, err := s.InvoiceByID(ctx, v.ID)
		same(t, "invoice", v, got, err)
		got, err = s.InvoiceOfJob(ctx, other.ID)
		same(t, "invoice without lines", later, got, err)
		paid, err := s.PaymentsOfJob(ctx, j.ID)
		same(t, "payments", payments, paid, err)
		one, err := s.PaymentByID(ctx, payments[1].ID)
		same(t, "payment", &payments[1], one, err)
		rows, total, err := s.Invoices(ctx, workshop.Page{Limit: 10})
		want := []workshop.InvoiceRow{
			{ID: later.ID, Number: 2, Date: "2026-11-25", Job: other.ID, Tag: 8, Name: "Ada Lind", Total: 100},
			{ID: v.ID, Number: 1, Date: "2026-11-25", Job: j.ID, Tag: 7, Name: "Ada Lind", Total: 12345, Paid: 12245},
		}
		same(t, "list", want, rows, err)
		rows, total2, err := s.Invoices(ctx, workshop.Page{Offset: 1, Limit: 1})
		same(t, "second page", want[1:], rows, err)
		if total != 2 || total2 != 2 {
			t.Errorf("got %d and %d in all, want 2", total, total2)
		}
	})
}

func TestWhatWasIssuedIsNeverChanged(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		j := addJob(t, s, addPeople(t, s).newJob(7))
		v := fullInvoice(j, 1)
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddInvoice(ctx, v); err != nil {
				return err
			}
			return tx.AddPayment(ctx, &billing.Payment{Job: j.ID, Invoice: v.ID, Kind: billing.Settle, Tender: "card", Amount: 1, Receipt: 1, At: start, By: "Odo"})
		})
		for _, statement := range []string{
			"UPDATE invoices SET total = 1", "DELETE FROM invoices", "UPDATE invoice_lines SET net = 1", "DELETE FROM invoice_lines",
			"UPDATE payments SET amount = 1", "DELETE FROM payments",
		} {
			if err := s.DB().Exec(statement).Error; err == nil {
				t.Errorf("%s: the database did it", statement)
			}
		}
		got, err := s.InvoiceByID(t.Context(), v.ID)
		same(t, "invoice", v, got, err)
	})
}

// Two people issue the invoice of a job at once, and each is too quick to see
// the other's: one of them gets a conflict, and its number goes to the next.
func TestOneInvoiceForAJob(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j, next := addJob(t, s, p.newJob(7)), addJob(t, s, p.newJob(8))
		issue := func(j *job.Job) error {
			return s.InTx(t.Context(), func(tx workshop.Tx) error {
				number, err := tx.Next(t.Context(), workshop.Invoices)
				if err != nil {
					return err
				}
				return tx.AddInvoice(t.Context(), fullInvoice(j, number))
			})
		}
		var mu sync.Mutex
		kept := 0
		var wg sync.WaitGroup
		for range 6 {
			wg.Go(func() {
				err := issue(j)
				mu.Lock()
				defer mu.Unlock()
				if err == nil {
					kept++
				} else if domain.KindOf(err) != domain.Conflict {
					t.Errorf("got %v, want a conflict", err)
				}
			})
		}
		wg.Wait()
		if err := issue(next); err != nil {
			t.Fatal(err)
		}
		v, err := s.InvoiceOfJob(t.Context(), next.ID)
		if err != nil || kept != 1 || v.Number != 2 {
			t.Errorf("got %d invoices for the job and then number %d, want 1 and number 2 (%v)", kept, v.Number, err)
		}
	})
}

// The database keeps the rules of money for itself, whatever the program does.
func TestMoneyRulesOfTheDatabase(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		j, other := addJob(t, s, p.newJob(7)), addJob(t, s, p.newJob(8))
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddInvoice(ctx, fullInvoice(j, 1)) })
		said := func(change func(q *quote.Quote)) func(ctx context.Context, tx workshop.Tx) error {
			return func(ctx context.Context, tx workshop.Tx) error {
				q := fullQuote(j.ID, 1)
				change(q)
				return tx.AddQuote(ctx, q)
			}
		}
		pay := func(change func(p *billing.Payment)) func(ctx context.Context, tx workshop.Tx) error {
			return func(ctx context.Context, tx workshop.Tx) error {
				p := billing.Payment{Job: j.ID, Kind: billing.Deposit, Tender: "card", Amount: 1, Receipt: 1, At: start, By: "Odo"}
				change(&p)
				return tx.AddPayment(ctx, &p)
			}
		}
		in := workshop.CreditMove{Customer: j.Customer, Place: 1, Amount: 300, Balance: 300, At: start, By: "Odo"}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			p := billing.Payment{Job: j.ID, Kind: billing.Deposit, Tender: "card", Amount: 1, Kept: 300, Receipt: 99, At: start, By: "Odo"}
			if err := tx.AddPayment(ctx, &p); err != nil {
				return err
			}
			in.Payment = p.ID
			return tx.AddCreditMove(ctx, &in)
		})
		credit := func(m workshop.CreditMove) func(ctx context.Context, tx workshop.Tx) error {
			m.Customer, m.Place, m.At, m.By = j.Customer, 2, start, "Odo"
			return func(ctx context.Context, tx workshop.Tx) error { return tx.AddCreditMove(ctx, &m) }
		}
		for name, tt := range map[string]struct {
			want domain.Kind
			try  func(ctx context.Context, tx workshop.Tx) error
		}{
			"a number twice": {domain.Conflict, func(ctx context.Context, tx workshop.Tx) error { return tx.AddInvoice(ctx, fullInvoice(other, 1)) }},
			"number 0":       {domain.Invalid, func(ctx context.Context, tx workshop.Tx) error { return tx.AddInvoice(ctx, fullInvoice(other, 0)) }},
			"no date": {domain.Invalid, func(ctx context.Context, tx workshop.Tx) error {
				v := fullInvoice(other, 2)
				v.Date = "2026-02-30"
				return tx.AddInvoice(ctx, v)
			}},
			"coins below 0":           {domain.Invalid, pay(func(p *billing.Payment) { p.Coin = -1 })},
			"a job that is not there": {domain.Conflict, pay(func(p *billing.Payment) { p.Job = 4711 })},
			"an unknown kind":         {domain.Invalid, pay(func(p *billing.Payment) { p.Kind = "gift" })},
			"receipt 0":               {domain.Invalid, pay(func(p *billing.Payment) { p.Receipt = 0 })},
			"said without a number":   {domain.Invalid, said(func(q *quote.Quote) { q.Said = start })},
			"answered and not said": {domain.Invalid, said(func(q *quote.Quote) {
				q.Answer = &quote.Answer{Outcome: quote.Whole, At: start}
			})},
			"credit out to nobody":     {domain.Invalid, credit(workshop.CreditMove{Amount: -100, Balance: 200, Tender: "card"})},
			"credit out of no box":     {domain.Invalid, credit(workshop.CreditMove{Amount: -100, Balance: 200, To: "Mara"})},
			"credit out that comes":    {domain.Invalid, credit(workshop.CreditMove{Amount: 100, Balance: 400, Tender: "card", To: "Mara"})},
			"credit out and spent":     {domain.Invalid, credit(workshop.CreditMove{Amount: -100, Balance: 200, Tender: "card", To: "Mara", Payment: in.Payment})},
			"more credit than is":      {domain.Invalid, credit(workshop.CreditMove{Amount: -400, Balance: -100, Tender: "card", To: "Mara"})},
			"credit from nowhere":      {domain.Invalid, credit(workshop.CreditMove{Amount: -100, Balance: 300, Tender: "card", To: "Mara"})},
			"a task that is not there": {domain.Conflict, said(func(q *quote.Quote) { q.Lines[0].Task = 4711 })},
		} {
			err := s.InTx(t.Context(), func(tx workshop.Tx) error { return tt.try(t.Context(), tx) })
			if err == nil || domain.KindOf(err) != tt.want {
				t.Errorf("%s: got %v of kind %d, want kind %d", name, err, domain.KindOf(err), tt.want)
			}
		}
	})
}

// What was paid out comes back as it was written, and is never changed.
func TestStoreCreditPaidOutComesBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		j := addJob(t, s, addPeople(t, s).newJob(7))
		moves := []workshop.CreditMove{
			{Customer: j.Customer, Place: 1, Amount: 300, Balance: 300, At: start, By: "Odo"},
			{Customer: j.Customer, Place: 2, Amount: -120, Balance: 180, Tender: billing.Cash, To: "Ada Lind", At: hours(1), By: "Odo"},
		}
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			p := billing.Payment{Job: j.ID, Kind: billing.Deposit, Tender: "card", Amount: 1, Kept: 300, Receipt: 1, At: start, By: "Odo"}
			if err := tx.AddPayment(ctx, &p); err != nil {
				return err
			}
			moves[0].Payment = p.ID
			for i := range moves {
				if err := tx.AddCreditMove(ctx, &moves[i]); err != nil {
					return err
				}
			}
			last, err := tx.StoreCredit(ctx, j.Customer)
			same(t, "the last move", moves[1], last, err)
			return nil
		})
		got, err := s.StoreCreditOf(t.Context(), j.Customer)
		same(t, "moves", []workshop.CreditMove{moves[1], moves[0]}, got, err)
		for _, statement := range []string{"UPDATE store_credit_moves SET paid_to = 'x'", "DELETE FROM store_credit_moves"} {
			if err := s.DB().Exec(statement).Error; err == nil {
				t.Errorf("%s: the database did it", statement)
			}
		}
	})
}
