package billing

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// 300.00 on 271.20 by transfer: 28.80 is kept, as in ledger example L29.
func TestOverpaymentIsKeptAsStoreCredit(t *testing.T) {
	b := Balance{Total: 27120, Due: 27120, CashDue: 27120}
	p, err := Take(Payment{Tender: "bank transfer", Amount: 30000, KeepOver: true}, b, true, 0, Coin{})
	if err != nil || p.Amount != 27120 || p.Kept != 2880 || p.Laid() != 30000 {
		t.Fatalf("took %+v, %v", p, err)
	}
	s := Standing{Owed: 27120}
	e := entryOf(t, &s, p)
	if diff := cmp.Diff(workedExamples(t)["L29"], lines(e.Postings)); diff != "" || s.Owed != 0 {
		t.Errorf("%d stays owed; L29 (-worked +ours)\n%s", s.Owed, diff)
	}
	if _, err := Take(Payment{Tender: "bank transfer", Amount: 30000}, b, true, 0, Coin{}); domain.KindOf(err) != domain.Conflict {
		t.Errorf("more than is owed is taken without being asked to keep it: %v", err)
	}
	for _, bad := range []Payment{{Tender: FromCredit, Amount: 1, KeepOver: true}, {Tender: "card", Amount: 1, KeepOver: true, ByPayer: true}} {
		if _, err := Take(bad, b, true, 0, Coin{}); domain.FieldsOf(err)["keep_over"] == "" {
			t.Errorf("%+v is taken: %v", bad, err)
		}
	}
}

// 50.03 is due, in coins of 0.05 that is 50.05. From 60.00, with a tip of 2.00 and
// the rest kept: 50.05 + 2.00 + 7.95. Reckoned by hand.
func TestCashWithATipAndTheRestKept(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	b := Balance{Total: 5003, Due: 5003, CashDue: 5005}
	p, err := Take(Payment{Tender: Cash, Amount: 5800, Tip: 200, Given: 6000, KeepOver: true}, b, true, 0, coin)
	if err != nil || p.Amount != 5005 || p.Rounding != -2 || p.Kept != 795 || p.Change != 0 || p.Laid() != 6000 {
		t.Fatalf("took %+v, %v", p, err)
	}
	s := Standing{Owed: 5003}
	want := lines([]Posting{{Account: CashBox, Debit: 6000}, {Account: CashRounding, Credit: 2}, {Account: StoreCredit, Credit: 795}, {Account: TipsHeld, Credit: 200}, {Account: Receivables, Credit: 5003}})
	got := lines(entryOf(t, &s, p).Postings)
	if diff := cmp.Diff(want, got); diff != "" || s.Owed != 0 {
		t.Errorf("%d stays owed; (-want +got)\n%s", s.Owed, diff)
	}
}

func TestTipsThatCannotBe(t *testing.T) {
	b := Balance{Total: 5000, Due: 5000, CashDue: 5000}
	for _, p := range []Payment{
		{Tender: "card", Amount: 5000, Tip: -1}, {Tender: FromCredit, Amount: 5000, Tip: 100}, {Tender: Cash, Amount: 5000, Tip: 3}, {Tender: "card", Amount: 5000, Tip: 100, ByPayer: true},
	} {
		if _, err := Take(p, b, true, 0, Coin{Step: 5, Mode: money.HalfUp}); domain.FieldsOf(err)["tip"] == "" {
			t.Errorf("%+v is taken: %v", p, err)
		}
	}
	if _, err := GiveBack(Payment{Tender: "card", Amount: 1, Tip: 1}, Balance{Due: -1}, Coin{}); domain.FieldsOf(err)["tip"] == "" {
		t.Errorf("a tip goes back: %v", err)
	}
}

// An insurer pays 100.00 of 113.00, the customer 13.00; a part for 22.60 is credited,
// which is no longer the insurer's to pay. Reckoned by hand.
func TestAnInsurerPaysAndTheCustomerTheRest(t *testing.T) {
	tax := money.Tax{Name: "HST", Percent: decimal.NewFromInt(13), On: []money.LineKind{money.Labour, money.Part}}
	inv := issued(t, money.Bill{Currency: dollars(t), Taxes: []money.Tax{tax}, Lines: []money.Line{priced(money.Labour, "80.00"), priced(money.Part, "20.00")}})
	inv.Payer, inv.OwnPart = 9, 1300
	b := BalanceOf(inv, nil, Coin{})
	if b.Due != 11300 || b.PayerDue != 10000 || b.OwnDue() != 1300 {
		t.Fatalf("%+v, want 100.00 by the payer and 13.00 by the customer", b)
	}
	if _, err := Take(Payment{Tender: "card", Amount: 1301}, b, true, 0, Coin{}); domain.KindOf(err) != domain.Conflict {
		t.Errorf("the customer pays the insurer's part: %v", err)
	}
	own, err := Take(Payment{Tender: "card", Amount: 1300}, b, true, 0, Coin{})
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := Take(Payment{Tender: "bank transfer", Amount: 10000, ByPayer: true}, BalanceOf(inv, []Payment{own}, Coin{}), true, 0, Coin{})
	if err != nil {
		t.Fatal(err)
	}
	ps := []Payment{own, theirs}
	if b := BalanceOf(inv, ps, Coin{}); b.Due != 0 || b.PayerDue != 0 {
		t.Errorf("%+v, want all paid", b)
	}
	c, err := Credit(inv, []Wanted{{Place: 2, Count: decimal.NewFromInt(1)}}, "not fitted")
	if err != nil {
		t.Fatal(err)
	}
	inv.Credits = append(inv.Credits, c)
	b = BalanceOf(inv, ps, Coin{})
	if b.Due != -2260 || b.PayerDue != -2260 || b.OwnDue() != 0 {
		t.Errorf("%+v, want 22.60 to give back to the insurer", b)
	}
	if _, err := GiveBack(Payment{Tender: "card", Amount: 2260}, b, Coin{}); domain.KindOf(err) != domain.Conflict {
		t.Errorf("the insurer's money goes back to the customer: %v", err)
	}
	if _, err := GiveBack(Payment{Tender: FromCredit, Amount: 2260, ByPayer: true}, b, Coin{}); domain.FieldsOf(err)["tender"] == "" {
		t.Errorf("the insurer's money becomes the customer's credit: %v", err)
	}
	if p, err := GiveBack(Payment{Tender: "bank transfer", Amount: 2260, ByPayer: true}, b, Coin{}); err != nil || p.Amount != -2260 {
		t.Errorf("gave back %+v, %v", p, err)
	}
}

// 113.00 with HST of 13.00 in it is given up, as in ledger example L11.
func TestADebtIsGivenUp(t *testing.T) {
	tax := money.Tax{Name: "HST", Percent: decimal.NewFromInt(13), On: []money.LineKind{money.Labour}}
	inv := issued(t, money.Bill{Currency: dollars(t), Taxes: []money.Tax{tax}, Lines: []money.Line{priced(money.Labour, "100.00")}})
	o, taxes, err := GiveUp(inv, BalanceOf(inv, nil, Coin{}), true, "moved away, no address")
	if err != nil || o.Amount != 11300 || o.Tax != 1300 {
		t.Fatalf("%+v, %v", o, err)
	}
	if diff := cmp.Diff(workedExamples(t)["L11"], lines(PostWriteOff(o.Amount, taxes...))); diff != "" {
		t.Errorf("L11 (-worked +ours)\n%s", diff)
	}
	if o, taxes, err := GiveUp(inv, BalanceOf(inv, nil, Coin{}), false, "moved away"); err != nil || o.Tax != 0 || taxes != nil {
		t.Errorf("without the tax: %+v %v %v", o, taxes, err)
	}
	inv.WriteOff = &o
	b := BalanceOf(inv, nil, Coin{})
	if b.Due != 0 || b.WrittenOff != 11300 {
		t.Errorf("%+v, want nothing owed", b)
	}
	if _, _, err := GiveUp(inv, b, true, "again"); domain.KindOf(err) != domain.Conflict {
		t.Errorf("given up twice: %v", err)
	}
	if _, _, err := GiveUp(inv, b, true, ""); domain.FieldsOf(err)["reason"] == "" {
		t.Errorf("given up without a reason: %v", err)
	}
}

func TestTipsPaidOut(t *testing.T) {
	want := lines([]Posting{{Account: TipsHeld, Debit: 500}, {Account: CashBox, Credit: 500}})
	if diff := cmp.Diff(want, lines(PostTipsPaidOut(Cash, 500))); diff != "" {
		t.Error(diff)
	}
}
