package audit

import (
	"testing"

	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// entry is an entry of job 4 that balances.
func entry(id int64, debit, credit billing.Account, sum money.Amount) billing.Entry {
	return billing.Entry{ID: id, Date: "2026-11-03", Job: 4, Postings: posting(debit, credit, sum)}
}

func TestPaymentsAndTheJournal(t *testing.T) {
	const of = "tag 9 (job 4), receipt 12 (payment 71): "
	by := func(tender billing.Tender, p billing.Payment, e billing.Entry) func(f *Facts) {
		return func(f *Facts) {
			p.ID, p.Receipt, p.Kind, p.Tender, e.Payment = 71, 12, billing.Deposit, tender, 71
			*f = Facts{Job: f.Job, Payments: []billing.Payment{p}, Entries: []billing.Entry{e}}
		}
	}
	kept := billing.Entry{ID: 1, Date: "2026-11-03", Postings: []billing.Posting{{Account: billing.CashBox, Debit: 3500}, {Account: billing.CustomerDeposits, Credit: 3000}, {Account: billing.StoreCredit, Credit: 500}}}
	for name, c := range map[string]plant{
		"in cash":              {by(billing.Cash, billing.Payment{Amount: 3000}, entry(1, billing.CashBox, billing.CustomerDeposits, 3000)), nil},
		"cash to the bank":     {by(billing.Cash, billing.Payment{Amount: 3000}, entry(1, billing.Bank, billing.CustomerDeposits, 3000)), []string{"posted: " + of + "it has entry 1, which puts 0.00 CAD on cash; it was 30.00 CAD by cash"}},
		"with some kept":       {by(billing.Cash, billing.Payment{Amount: 3000, Kept: 500}, kept), nil},
		"kept and not put in":  {by(billing.Cash, billing.Payment{Amount: 3000, Kept: 500}, entry(1, billing.CashBox, billing.CustomerDeposits, 3000)), []string{"posted: " + of + "it has entry 1, which puts 30.00 CAD on cash; it was 35.00 CAD by cash"}},
		"out of store credit":  {by(billing.FromCredit, billing.Payment{Amount: 3000}, entry(1, billing.StoreCredit, billing.CustomerDeposits, 3000)), nil},
		"store credit in cash": {by(billing.FromCredit, billing.Payment{Amount: 3000}, entry(1, billing.CashBox, billing.CustomerDeposits, 3000)), []string{"posted: " + of + "it has entry 1, which puts 0.00 CAD on contract liability: store credit; it was 30.00 CAD by store credit"}},
		"another sum": {by(billing.Cash, billing.Payment{Amount: 3000}, entry(1, billing.CashBox, billing.CustomerDeposits, 2999)),
			[]string{"posted: " + of + "it has entry 1, which takes 29.99 CAD off what is owed; the payment is 30.00 CAD", "receivables: tag 9 (job 4): the journal says 0.00 CAD are owed and 29.99 CAD held as deposits, together -29.99 CAD; by invoice and payments -30.00 CAD are due"}},
		"nothing, and no entry": {func(f *Facts) {
			*f = Facts{Job: f.Job, Payments: []billing.Payment{{ID: 71, Receipt: 12, Kind: billing.Deposit, Tender: "card"}}}
		}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			f := right(t)
			c.fault(f)
			a := New(terms(t))
			a.books(f)
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

func TestDepositsAreUsedBeforeAnythingIsOwed(t *testing.T) {
	for name, c := range map[string]plant{
		"used": {func(*Facts) {}, nil},
		// The entry that uses the deposit is missing: 30.00 stay held, 30.00 stay owed.
		"not used": {func(f *Facts) {
			f.Entries = having(f.Entries, func(e *billing.Entry) bool { return e.Event != billing.DepositApplied })
		}, []string{"receivables: tag 9 (job 4): the journal says 30.00 CAD are owed while it holds 30.00 CAD as deposits; they must be used first"}},
		"used twice": {func(f *Facts) {
			f.Entries = append(f.Entries, entry(199, billing.CustomerDeposits, billing.Receivables, 3000))
		}, []string{"receivables: tag 9 (job 4): the journal says -30.00 CAD are owed while it holds -30.00 CAD as deposits; they must be used first"}},
		"an entry of nowhere": {func(f *Facts) {
			f.Entries = append(f.Entries, entry(199, billing.Receivables, billing.LabourRevenue, 1))
		}, []string{"receivables: tag 9 (job 4): the journal says 0.01 CAD are owed and 0.00 CAD held as deposits, together 0.01 CAD; by invoice and payments 0.00 CAD are due"}},
	} {
		t.Run(name, func(t *testing.T) {
			f := right(t)
			c.fault(f)
			a := New(terms(t))
			a.books(f)
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

// The deposit of 30.00 is taxed when it is taken: 1.21 of GST are part of it.
func TestTaxGoesWithItsDeposit(t *testing.T) {
	applied := func(f *Facts) *billing.Entry {
		for i := range f.Entries {
			if f.Entries[i].Event == billing.DepositApplied {
				return &f.Entries[i]
			}
		}
		t.Fatal("no deposit was used")
		return nil
	}
	const tag = "receivables: tag 9 (job 4): the journal "
	for name, c := range map[string]plant{
		"as it should": {func(*Facts) {}, nil},
		"tax that stays": {func(f *Facts) { applied(f).Postings = billing.PostDepositApplied(3000) },
			[]string{tag + "holds 0.00 CAD as deposits, and of them as output tax 1.21 CAD of GST; tax goes with the deposits that are used or given back"}},
		"another tax": {func(f *Facts) {
			applied(f).Postings = billing.PostDepositApplied(3000, billing.TaxPart{Name: "PST", Amount: 121})
		}, []string{tag + "holds 0.00 CAD as deposits, and of them as output tax 1.21 CAD of GST, -1.21 CAD of PST"}},
		"too little taken as a deposit": {func(f *Facts) {
			f.Entries[0].Postings = []billing.Posting{{Account: billing.CardClearing, Debit: 3000}, {Account: billing.CustomerDeposits, Credit: 2879}, {Account: billing.LabourRevenue, Credit: 121}}
		}, []string{"posted: tag 9 (job 4), receipt 12 (payment 71): it has entry 101, which takes 28.79 CAD off what is owed; the payment is 30.00 CAD",
			tag + "says 0.00 CAD are owed and -1.21 CAD held as deposits, together 1.21 CAD"}},
	} {
		t.Run(name, func(t *testing.T) {
			f := right(t)
			f.posted(t, billing.TaxPart{Name: "GST", Amount: 121})
			c.fault(f)
			a := New(terms(t))
			a.books(f)
			wantBreaks(t, a.Done(), c.want...)
		})
	}
}

// A bill of nothing has no entry; one whose lines cancel out may have one.
func TestABillOfNothing(t *testing.T) {
	for name, entries := range map[string][]billing.Entry{
		"without an entry": nil,
		"with one":         {{ID: 1, Date: "2026-11-03", Job: 4, Invoice: 1, Event: billing.InvoiceIssued, Postings: posting(billing.SalesDiscounts, billing.LabourRevenue, 500)}},
	} {
		t.Run(name, func(t *testing.T) {
			f := &Facts{Job: &job.Job{ID: 4, Tag: 9}, Invoice: &billing.Invoice{ID: 1, Number: 31, Currency: cad(t)}, Entries: entries}
			a := New(terms(t))
			a.books(f)
			wantBreaks(t, a.Done())
		})
	}
}

// A part of 9.50 went into the job and one of 3.00 came back out of it: 6.50.
func TestPartsInJobs(t *testing.T) {
	moves := []stock.Move{{ID: 1, Kind: stock.Used, Value: -950}, {ID: 2, Kind: stock.PutBack, Value: 300}}
	into := func(sum money.Amount) []billing.Entry {
		return []billing.Entry{entry(1, billing.WorkInProgress, billing.PartsStock, sum)}
	}
	open, left := job.Job{ID: 4, Tag: 9}, job.Job{ID: 4, Tag: 9, Collected: hour(9)}
	for name, c := range map[string]struct {
		j       job.Job
		moves   []stock.Move
		entries []billing.Entry
		want    []string
	}{
		"as they went in":        {open, moves, into(650), nil},
		"a cent more":            {open, moves, into(651), []string{"work in progress: tag 9 (job 4) holds 6.51 CAD as work in progress; parts for 6.50 CAD went into it"}},
		"not posted":             {open, moves, nil, []string{"work in progress: holds 0.00 CAD as work in progress; parts for 6.50 CAD went into it"}},
		"none, and none posted":  {open, nil, nil, nil},
		"none, and some posted":  {open, nil, into(650), []string{"work in progress: holds 6.50 CAD as work in progress; parts for 0.00 CAD went into it"}},
		"it left with them":      {left, moves, into(650), []string{"work in progress: tag 9 (job 4) has left, but 6.50 CAD of parts stand on it as work in progress"}},
		"it left, and all moved": {left, moves, append(into(650), entry(2, billing.CostOfParts, billing.WorkInProgress, 650)), nil},
	} {
		t.Run(name, func(t *testing.T) {
			a := New(terms(t))
			a.work(&Facts{Job: &c.j, Moves: c.moves, Entries: c.entries})
			wantBreaks(t, a.Done(), c.want...)
		})
	}
	a := New(terms(t)) // billed parts are a cost, whatever went in
	a.work(&Facts{Job: &open, Moves: moves, Invoice: &billing.Invoice{ID: 1}})
	wantBreaks(t, a.Done())
}

func TestKeptMoneyInTheJournal(t *testing.T) {
	a := New(terms(t))
	a.KeptAccount(Account{Account: billing.TipsHeld, Stands: 500, Of: "the last move of tips", Sum: 700})
	a.ShelfAccount(Account{Account: billing.PartsStock, Stands: 9500, Of: "the shelf", Sum: 9400})
	a.Month(Month{Month: "2026-09", Closed: "by Tove", Entries: 4, HasEntries: 5, Debits: 900, Sums: 1000})
	a.Late(Late{Entry: 77, Job: 4, Date: "2026-09-30", Month: "2026-09", Made: "2026-10-04"})
	wantBreaks(t, a.Done(),
		"shelf in the books: inventories: parts stands at 95.00 CAD in the journal; the shelf comes to 94.00 CAD",
		"kept money: tips held for staff stands at 5.00 CAD in the journal; the last move of tips comes to 7.00 CAD",
		"months: 2026-09 was closed by Tove with 4 entries of 9.00 CAD; it has 5 of 10.00 CAD now",
		"months: entry 77 is dated 2026-09-30 but was made on 2026-10-04, after 2026-09 was closed",
	)
}
