package billing

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// givenUp is an invoice over 113.00 with HST of 13.00 in it, all of which was given up.
func givenUp(t *testing.T, takeTax bool) *Invoice {
	t.Helper()
	tax := money.Tax{Name: "HST", Percent: decimal.NewFromInt(13), On: []money.LineKind{money.Labour}}
	inv := issued(t, money.Bill{Currency: dollars(t), Taxes: []money.Tax{tax}, Lines: []money.Line{priced(money.Labour, "100.00")}})
	o, _, err := GiveUp(inv, BalanceOf(inv, nil, Coin{}), takeTax, "moved away")
	if err != nil {
		t.Fatal(err)
	}
	inv.WriteOff = &o
	return inv
}

// Of 113.00 that was given up 50.00 comes in, then 63.00: of the 13.00 of tax
// 50 × 13 ÷ 113 = 5.75 is owed again, then the other 7.25. Reckoned by hand.
func TestADebtComesInAfterAll(t *testing.T) {
	inv := givenUp(t, true)
	var ps []Payment
	for _, c := range []struct {
		pay  money.Amount
		want []Posting
		left Balance
	}{
		{5000, []Posting{{Account: Receivables, Debit: 5000}, {Account: OutputTax, Detail: "HST", Credit: 575}, {Account: BadDebts, Credit: 4425}}, Balance{Total: 11300, Paid: 5000, WrittenOff: 6300, Recovered: 5000}},
		{6300, []Posting{{Account: Receivables, Debit: 6300}, {Account: OutputTax, Detail: "HST", Credit: 725}, {Account: BadDebts, Credit: 5575}}, Balance{Total: 11300, Paid: 11300, Recovered: 11300}},
	} {
		b := BalanceOf(inv, ps, Coin{})
		if _, err := Take(Payment{Tender: "card", Amount: b.WrittenOff + 1}, b, true, 0, Coin{}); domain.KindOf(err) != domain.Conflict {
			t.Errorf("a cent more than is missing is taken: %v", err)
		}
		p, err := Take(Payment{Tender: "card", Amount: c.pay}, b, true, 0, Coin{})
		if err != nil || p.Kind != Settle {
			t.Fatalf("took %+v, %v", p, err)
		}
		got, err := Recovery(inv, b.Recovered, c.pay)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(lines(c.want), lines(got)); diff != "" {
			t.Errorf("%d came in (-want +got)\n%s", c.pay, diff)
		}
		p.Invoice = 1
		ps = append(ps, p)
		if diff := cmp.Diff(c.left, BalanceOf(inv, ps, Coin{})); diff != "" {
			t.Errorf("after %d (-want +got)\n%s", c.pay, diff)
		}
	}
	if _, err := Take(Payment{Tender: "card", Amount: 1}, BalanceOf(inv, ps, Coin{}), true, 0, Coin{}); domain.KindOf(err) != domain.Conflict {
		t.Errorf("more than was ever owed is taken: %v", err)
	}
	if _, err := GiveBack(Payment{Tender: "card", Amount: 1}, BalanceOf(inv, ps[:1], Coin{}), Coin{}); domain.KindOf(err) != domain.Conflict {
		t.Errorf("what came in goes back though nothing was paid too much: %v", err)
	}
}

func TestNoTaxComesBackWhereNoneWasTaken(t *testing.T) {
	got, err := Recovery(givenUp(t, false), 0, 5000)
	want := []Posting{{Account: Receivables, Debit: 5000}, {Account: BadDebts, Credit: 5000}}
	if diff := cmp.Diff(lines(want), lines(got)); diff != "" || err != nil {
		t.Errorf("%v (-want +got)\n%s", err, diff)
	}
}

// 113.02 is given up; in coins of 0.05 that is 113.00, and the rest is above it.
func TestADebtComesInInCash(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	b := Balance{Total: 11302, WrittenOff: 11302}
	p, err := Take(Payment{Tender: Cash, Amount: 12000, KeepOver: true}, b, true, 0, coin)
	if err != nil || p.Amount != 11300 || p.Rounding != 2 || p.Kept != 700 {
		t.Errorf("took %+v, %v; want 113.00, 0.02 of rounding and 7.00 kept", p, err)
	}
}

// 100.00 was the insurer's to pay and 13.00 the customer's own, who paid 3.00 before
// the rest was given up: each may still pay what was theirs.
func TestEachMayStillPayTheirPart(t *testing.T) {
	inv := issued(t, money.Bill{Currency: dollars(t), Lines: []money.Line{priced(money.Labour, "113.00")}})
	inv.Payer, inv.OwnPart = 9, 1300
	ps := []Payment{{Invoice: 1, Kind: Settle, Amount: 300}}
	o, _, err := GiveUp(inv, BalanceOf(inv, ps, Coin{}), false, "bankrupt")
	if err != nil {
		t.Fatal(err)
	}
	inv.WriteOff = &o
	b := BalanceOf(inv, ps, Coin{})
	if b.WrittenOff != 11000 || b.PayerLost != 10000 || b.Due != 0 || b.PayerDue != 0 {
		t.Fatalf("balance %+v, want 110.00 given up, 100.00 of it the insurer's", b)
	}
	for name, c := range map[string]struct {
		p  Payment
		ok bool
	}{
		"the customer": {Payment{Tender: "card", Amount: 1000}, true}, "the customer, too much": {Payment{Tender: "card", Amount: 1001}, false},
		"the insurer": {Payment{Tender: "card", Amount: 10000, ByPayer: true}, true}, "the insurer, too much": {Payment{Tender: "card", Amount: 10001, ByPayer: true}, false},
	} {
		if _, err := Take(c.p, b, true, 0, Coin{}); (err == nil) != c.ok {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

func TestWhichPaymentsCameInAfterAll(t *testing.T) {
	inv := &Invoice{Totals: money.Totals{Total: 10000}, WriteOff: &WriteOff{Amount: 6000}}
	ids := func(ps []Payment) []domain.PaymentID {
		out := []domain.PaymentID{}
		for _, p := range ps {
			out = append(out, p.ID)
		}
		return out
	}
	before := []Payment{{ID: 1, Kind: Deposit, Amount: 1500}, {ID: 2, Invoice: 1, Kind: Settle, Amount: 2505, Rounding: -5}}
	after := []Payment{{ID: 3, Invoice: 1, Kind: Settle, Amount: 1000}, {ID: 4, Invoice: 1, Kind: Settle, Amount: 198, Rounding: 2}}
	for name, c := range map[string]struct {
		inv  *Invoice
		ps   []Payment
		want []domain.PaymentID
	}{
		"nothing came":    {inv, before, []domain.PaymentID{}},
		"two came":        {inv, append(append([]Payment{}, before...), after...), []domain.PaymentID{3, 4}},
		"not given up":    {&Invoice{Totals: money.Totals{Total: 10000}}, before, []domain.PaymentID{}},
		"no invoice":      {nil, before, []domain.PaymentID{}},
		"all of it came":  {&Invoice{Totals: money.Totals{Total: 1000}, WriteOff: &WriteOff{Amount: 1000}}, after[:1], []domain.PaymentID{3}},
		"none was before": {&Invoice{Totals: money.Totals{Total: 1200}, WriteOff: &WriteOff{Amount: 1200}}, after, []domain.PaymentID{3, 4}},
	} {
		if diff := cmp.Diff(c.want, ids(Recoveries(c.inv, c.ps))); diff != "" {
			t.Errorf("%s (-want +got)\n%s", name, diff)
		}
	}
}

// However a debt comes in, the loss and each tax end at 0 to the cent.
func TestADebtThatComesInWholeLeavesNoLoss(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 7))
	for range 300 {
		gst := money.Tax{Name: "GST", Percent: decimal.NewFromInt(5), On: []money.LineKind{money.Labour}}
		pst := money.Tax{Name: "PST", Percent: decimal.New(9975, -3), On: []money.LineKind{money.Labour}}
		inv := issued(t, money.Bill{Currency: dollars(t), Taxes: []money.Tax{gst, pst}, Lines: []money.Line{priced(money.Labour, decimal.New(1+r.Int64N(20000), -2).String())}})
		o, taxes, err := GiveUp(inv, BalanceOf(inv, nil, Coin{}), true, "gone")
		if err != nil {
			t.Fatal(err)
		}
		inv.WriteOff = &o
		all := []Entry{{Postings: PostWriteOff(o.Amount, taxes...)}}
		for in := money.Amount(0); in < o.Amount; {
			next := min(1+money.Amount(r.Int64N(int64(o.Amount))), o.Amount-in)
			back, err := Recovery(inv, in, next)
			if err != nil {
				t.Fatal(err)
			}
			e := Entry{Date: "2026-11-26", Postings: back}
			if err := e.Check(); err != nil {
				t.Fatalf("%d after %d of %d: %v", next, in, o.Amount, err)
			}
			all, in = append(all, e), in+next
		}
		if b := Balances(all); b[BadDebts] != 0 || b[OutputTax] != 0 || b[Receivables] != 0 {
			t.Fatalf("of %d there are left %+v", o.Amount, b)
		}
	}
}

// Where tax follows payment, what comes in after all is paid: 50.00 of 113.00 makes
// 5.75 of the 13.00 due.
func TestTaxByPaymentCountsWhatComesInAfterAll(t *testing.T) {
	var moves []InvoiceMove
	for i, e := range []struct {
		event Event
		posts []Posting
	}{
		{InvoiceIssued, []Posting{{Account: Receivables, Debit: 11300}, {Account: LabourRevenue, Credit: 10000}, {Account: OutputTax, Detail: "HST", Credit: 1300}}},
		{DebtWrittenOff, PostWriteOff(11300, TaxPart{"HST", 1300})},
		{DebtRecovered, []Posting{{Account: Receivables, Debit: 5000}, {Account: OutputTax, Detail: "HST", Credit: 575}, {Account: BadDebts, Credit: 4425}}},
		{PaymentTaken, []Posting{{Account: CardClearing, Debit: 5000}, {Account: Receivables, Credit: 5000}}},
	} {
		m := InvoiceMove{Invoice: 1, Entry: int64(i + 1), Date: "2026-11-26", Event: e.event}
		for _, p := range e.posts {
			m.Take(p.Account, p.Detail, p.Credit-p.Debit)
		}
		moves = append(moves, m)
	}
	got := TaxPaid(TaxPaidLines(moves), "2026-11-01", "2026-11-30")
	if diff := cmp.Diff([]TaxPaidRow{{Month: "2026-11", Tax: "HST", Due: 575}}, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}
