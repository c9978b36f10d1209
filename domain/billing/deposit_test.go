package billing

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// entryOf is the entry of a payment that must be one.
func entryOf(t *testing.T, s *Standing, p Payment, tax ...TaxPart) Entry {
	t.Helper()
	e, err := s.Paid(p, "2027-01-15", tax...)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// agreedAt sums labour that was agreed.
func agreedAt(t *testing.T, inside bool, price string, taxes ...money.Tax) money.Totals {
	t.Helper()
	totals, err := money.Sum(money.Bill{Currency: money.Currency{Code: "GBP", Digits: 2}, PricesIncludeTax: inside, Taxes: taxes, Lines: []money.Line{priced(money.Labour, price)}})
	if err != nil {
		t.Fatal(err)
	}
	return totals
}

func at(name, percent string) money.Tax {
	return money.Tax{Name: name, Percent: decimal.RequireFromString(percent), On: money.LineKinds()}
}

// A quote of 240.00 with 20 % inside has 40.00 of it, one of 100.00 at 5 and 9.975 %
// 5.00 and 9.98. The parts of 50.00 are 43.49, 2.17 and 4.34: 50 x 100 / 114.98 =
// 43.4859, 50 x 5 / 114.98 = 2.1743, 50 x 9.98 / 114.98 = 4.3399. Reckoned by hand.
func TestTaxInADeposit(t *testing.T) {
	british := agreedAt(t, true, "240.00", at("VAT", "20"))
	quebec := agreedAt(t, false, "100.00", at("GST", "5"), at("QST", "9.975"))
	free := money.Totals{Net: 10000, Total: 10000, Taxes: []money.TaxTotal{{Name: "GST"}}}
	for name, c := range map[string]struct {
		deposit money.Amount
		agreed  money.Totals
		want    []TaxPart
	}{
		"half, as L02":     {12000, british, []TaxPart{{"VAT", 2000}}},
		"all, tax inside":  {24000, british, []TaxPart{{"VAT", 4000}}},
		"all, tax on top":  {11498, quebec, []TaxPart{{"GST", 500}, {"QST", 998}}},
		"two taxes":        {5000, quebec, []TaxPart{{"GST", 217}, {"QST", 434}}},
		"a cent":           {1, quebec, nil},
		"an exempt buyer":  {5000, free, nil},
		"nothing agreed":   {5000, money.Totals{}, nil},
		"nothing to share": {0, british, nil},
		"more than agreed": {26400, british, []TaxPart{{"VAT", 4400}}},
	} {
		got, err := DepositTax(c.deposit, c.agreed)
		if diff := cmp.Diff(c.want, got, cmpopts.EquateEmpty()); diff != "" || err != nil {
			t.Errorf("%s: %v (-want +got)\n%s", name, err, diff)
		}
	}
	if _, err := DepositTax(money.MaxAmount+1, british); domain.KindOf(err) != domain.Invalid {
		t.Errorf("an amount beyond all bounds: %v", err)
	}
}

// L02 with its neighbours: 120.00 by transfer with 20.00 of it tax. Of it 30.00 are given
// back with 5.00, 60.00 used for an invoice of 60.00 with 10.00, and the last 30.00
// returned with what is left, 5.00.
func TestADepositThatIsTaxedWhenTaken(t *testing.T) {
	var s Standing
	bank := func(kind PaymentKind, a money.Amount) Payment {
		return Payment{Job: 4, Kind: kind, Tender: "bank transfer", Amount: a}
	}
	vat := func(a money.Amount) []TaxPart { return []TaxPart{{"VAT", a}} }
	check := func(what string, e Entry, event Event, want []Posting) {
		t.Helper()
		if err := e.Check(); err != nil && e.Date != "" {
			t.Errorf("%s: %v", what, err)
		}
		if diff := cmp.Diff(lines(want), lines(e.Postings)); diff != "" || e.Event != event {
			t.Errorf("%s: %s (-want +got)\n%s", what, e.Event, diff)
		}
	}
	taken := entryOf(t, &s, bank(Deposit, 12000), vat(2000)...)
	if diff := cmp.Diff(workedExamples(t)["L02"], lines(taken.Postings)); diff != "" || s.Held != 12000 {
		t.Errorf("%d held; L02 (-worked +ours)\n%s", s.Held, diff)
	}
	check("given back", entryOf(t, &s, bank(Refund, -3000)), DepositReturned, PostDepositReturned("bank transfer", 3000, vat(500)...))
	check("given back", Entry{Event: DepositReturned, Postings: PostDepositReturned("bank transfer", 3000, vat(500)...)}, DepositReturned,
		[]Posting{{Account: CustomerDeposits, Debit: 2500}, {Account: OutputTax, Detail: "VAT", Debit: 500}, {Account: Bank, Credit: 3000}})

	inv := billed(t, true, priced(money.Fee, "60.00"))
	inv.Taxes, inv.Totals = []money.Tax{at("VAT", "20")}, agreedAt(t, true, "60.00", at("VAT", "20"))
	inv.Date = "2027-01-20"
	entries, err := s.Issued(inv)
	if err != nil || len(entries) != 2 {
		t.Fatalf("%d entries, %v", len(entries), err)
	}
	check("used", entries[1], DepositApplied, []Posting{{Account: CustomerDeposits, Debit: 5000}, {Account: OutputTax, Detail: "VAT", Debit: 1000}, {Account: Receivables, Credit: 6000}})
	if diff := cmp.Diff(Standing{Held: 3000, Tax: vat(500)}, s); diff != "" {
		t.Errorf("after the invoice (-want +got)\n%s", diff)
	}
	last := entryOf(t, &s, bank(Refund, -3000))
	check("the rest", last, DepositReturned, PostDepositReturned("bank transfer", 3000, vat(500)...))
	if diff := cmp.Diff(Standing{}, s, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("at the end (-want +got)\n%s", diff)
	}
	all := append(entries, taken, last, Entry{Event: DepositReturned, Postings: PostDepositReturned("bank transfer", 3000, vat(500)...)})
	if got := Balances(all); got[OutputTax] != 1000 || got[CustomerDeposits] != 0 || len(TaxOnDeposits(all...)) != 0 {
		t.Errorf("output tax %d, want that of the invoice, 10.00; deposits %d", got[OutputTax], got[CustomerDeposits])
	}
}

// Each part of what is held goes whole with the last of it, whatever was taken between.
func TestAThirdOfADepositGoesBackThreeTimes(t *testing.T) {
	s := Standing{Held: 10000, Tax: []TaxPart{{"GST", 435}, {"QST", 867}}}
	var back []TaxPart
	for _, a := range []money.Amount{3333, 3333, 3334} {
		e := entryOf(t, &s, Payment{Kind: Refund, Tender: Cash, Amount: -a})
		back = append(back, TaxOnDeposits(e)...)
	}
	if diff := cmp.Diff([]TaxPart{{"GST", -435}, {"QST", -867}}, addedUp(back)); diff != "" || s.Held != 0 || len(s.Tax) != 0 {
		t.Errorf("%+v left (-want +got)\n%s", s, diff)
	}
	if e := entryOf(t, &s, Payment{Kind: Settle, Tender: Cash, Amount: 500}, TaxPart{"VAT", 100}); len(e.Postings) != 2 || len(s.Tax) != 0 {
		t.Errorf("a payment on an invoice is taxed: %+v", e.Postings)
	}
	s = Standing{Held: money.MaxAmount + 2, Tax: []TaxPart{{"VAT", 1}}}
	if _, err := s.Paid(Payment{Kind: Refund, Tender: Cash, Amount: -money.MaxAmount - 1}, "2027-01-15"); domain.KindOf(err) != domain.Invalid {
		t.Errorf("an amount beyond all bounds: %v", err)
	}
	s.Held++
	if _, err := s.Issued(&Invoice{Totals: money.Totals{Total: money.MaxAmount + 1}}); domain.KindOf(err) != domain.Invalid {
		t.Errorf("an amount beyond all bounds: %v", err)
	}
}

// A deposit of 120.00 in October, of a job billed at 240.00 with 40.00 in November and
// paid in December: 20.00 are due in October, nothing in November, and 20.00 in December.
// By invoice date 20.00 are due in October and 20.00 in November.
func TestTaxByPaymentCountsADepositOnce(t *testing.T) {
	vat := func(a money.Amount) []TaxPart { return []TaxPart{{"VAT", a}} }
	moves := []InvoiceMove{
		{Entry: 1, Date: "2026-10-30", Event: DepositTaken, Held: vat(2000)},
		{Entry: 5, Date: "2026-10-31", Event: DepositReturned, Held: vat(-1)},
		{Invoice: 5, Number: 31, Entry: 2, Date: "2026-11-02", Event: InvoiceIssued, Billed: 24000, Taxes: vat(4000)},
	}
	applied := InvoiceMove{Invoice: 5, Number: 31, Entry: 3, Date: "2026-11-02", Event: DepositApplied}
	for _, p := range PostDepositApplied(12000, vat(2000)...) {
		applied.Take(p.Account, p.Detail, p.Credit-p.Debit)
	}
	moves = append(moves, applied, InvoiceMove{Invoice: 5, Number: 31, Entry: 4, Date: "2026-12-01", Event: PaymentTaken, Paid: 12000})
	got := TaxPaidLines(moves)
	if diff := cmp.Diff([]TaxPaidRow{{"2026-10", "VAT", 1999}, {"2026-12", "VAT", 2000}}, TaxPaid(got, "2026-01-01", "2026-12-31")); diff != "" {
		t.Errorf("(-reckoned +got)\n%s", diff)
	}
	table := TaxPaidLineTable(got, Lines{From: "2026-10-01", To: "2026-10-31", Detail: "VAT"})
	if len(table.Rows) != 2 || table.Rows[0].Cells[1].Text != "" || table.Total[6].Amount != 1999 {
		t.Errorf("behind October stand %+v", table.Rows)
	}

	rows := SalesTax([]MonthSum{
		{"2026-10", OutputTax, "VAT", DepositTaken, 0, 2000}, {"2026-11", OutputTax, "VAT", InvoiceIssued, 0, 4000}, {"2026-11", OutputTax, "VAT", DepositApplied, 2000, 0},
	})
	if len(rows) != 2 || rows[0].Owed() != 2000 || rows[1].Invoiced != 4000 || rows[1].Other != -2000 || rows[1].Owed() != 2000 {
		t.Errorf("by invoice date: %+v", rows)
	}
}

// A customer sees what they paid, with its tax, and its use changes nothing.
func TestAStatementShowsDepositsWithTheirTax(t *testing.T) {
	var all []JournalLine
	for i, e := range []Entry{
		{Event: DepositTaken, Postings: PostDeposit(Payment{Tender: "card", Amount: 12000}, TaxPart{"VAT", 2000})},
		{Event: InvoiceIssued, Postings: []Posting{{Account: Receivables, Debit: 24000}, {Account: LabourRevenue, Credit: 20000}, {Account: OutputTax, Detail: "VAT", Credit: 4000}}},
		{Event: DepositApplied, Postings: PostDepositApplied(12000, TaxPart{"VAT", 2000})},
	} {
		e.ID, e.Date = int64(i+1), "2026-11-02"
		for _, p := range e.Postings {
			for _, a := range StatementAccounts() {
				if p.Account == a {
					all = append(all, JournalLine{Posting: p, Entry: e})
				}
			}
		}
	}
	table := StatementTable("M. Oduya", 0, all, "2026-11-01", "2026-11-30", cad())
	if n := len(table.Rows); n != 3 || table.Rows[1].Cells[4].Amount != 12000 || table.Rows[2].Cells[3].Amount != 24000 || table.Total[5].Amount != 12000 {
		t.Errorf("%d rows, %+v", n, table.Rows)
	}
}
