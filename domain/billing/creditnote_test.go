package billing

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/money"
)

// issued sums a bill and makes it an invoice whose lines can be credited.
func issued(t interface{ Fatal(...any) }, b money.Bill) *Invoice {
	totals, err := money.Sum(b)
	if err != nil {
		t.Fatal(err)
	}
	inv := &Invoice{ID: 7, Number: 7, Job: 3, Currency: b.Currency, Rounding: b.Rounding, TaxInside: b.PricesIncludeTax, Taxes: b.Taxes, Discount: b.Discount, Totals: totals}
	for i, l := range b.Lines {
		inv.Lines = append(inv.Lines, Line{Kind: l.Kind, Name: "line", Count: l.Quantity, Price: l.UnitPrice, Off: l.DiscountPercent, Net: totals.Lines[i].Net})
	}
	return inv
}

func dollars(t interface{ Fatal(...any) }) money.Currency {
	c, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Labour 180.00 and three parts at 20.00 with HST of 13 %, as in ledger example L03:
// one part comes back, 20.00 and HST 2.60 are credited as in L08, and 22.60 goes back
// in cash as in L09. Sources stand in testdata/ledger_examples.csv.
func TestAReturnedPartIsCreditedAndPaidBack(t *testing.T) {
	worked := workedExamples(t)
	tax := money.Tax{Name: "HST", Percent: decimal.NewFromInt(13), On: []money.LineKind{money.Labour, money.Part}}
	part := priced(money.Part, "20.00")
	part.Quantity = decimal.NewFromInt(3)
	inv := issued(t, money.Bill{Currency: dollars(t), Taxes: []money.Tax{tax}, Lines: []money.Line{priced(money.Labour, "180.00"), part}})
	ps := []Payment{{Kind: Settle, Invoice: 7, Tender: "card", Amount: inv.Totals.Total}}
	coin := Coin{Step: 5, Mode: money.HalfUp}

	if _, err := GiveBack(Payment{Tender: Cash, Amount: 2260}, BalanceOf(inv, ps, coin), coin); domain.KindOf(err) != domain.Conflict {
		t.Errorf("money goes back without a credit note: %v", err)
	}
	c, err := Credit(inv, []Wanted{{Place: 2, Count: decimal.NewFromInt(1)}}, "one too many")
	if err != nil {
		t.Fatal(err)
	}
	if c.Totals.Net != 2000 || c.Totals.Tax != 260 || c.Totals.Total != 2260 {
		t.Errorf("credited %d + %d = %d, want 2000 + 260 = 2260", c.Totals.Net, c.Totals.Tax, c.Totals.Total)
	}
	posts, err := PostCredit(inv, &c)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(worked["L08"], lines(posts)); diff != "" {
		t.Errorf("L08 (-worked +ours)\n%s", diff)
	}
	inv.Credits = append(inv.Credits, c)
	b := BalanceOf(inv, ps, coin)
	if b.Due != -2260 || b.Credited != 2260 {
		t.Errorf("after the credit %+v, want 2260 to give back", b)
	}
	back, err := GiveBack(Payment{Tender: Cash, Amount: 2260}, b, coin)
	if err != nil {
		t.Fatal(err)
	}
	s := Standing{Owed: -2260}
	if diff := cmp.Diff(worked["L09"], lines(entryOf(t, &s, back).Postings)); diff != "" || s.Owed != 0 {
		t.Errorf("L09 (-worked +ours), %d left on the receivable\n%s", s.Owed, diff)
	}
	_, err = GiveBack(Payment{Tender: Cash, Amount: 5}, BalanceOf(inv, append(ps, back), coin), coin)
	if domain.KindOf(err) != domain.Conflict {
		t.Errorf("more than was credited goes back: %v", err)
	}
}

func TestWhatCannotBeCredited(t *testing.T) {
	inv := issued(t, money.Bill{Currency: dollars(t), Lines: []money.Line{priced(money.Labour, "10.00"), priced(money.Part, "5.00")}})
	one := decimal.NewFromInt(1)
	inv.Credits = []CreditNote{{Lines: []CreditLine{{Place: 2, Count: one}}}}
	for field, w := range map[string][]Wanted{
		"lines":          nil,
		"lines[0].place": {{Place: 3, Count: one}},
		"lines[0].count": {{Place: 1, Count: decimal.RequireFromString("1.01")}},
		"lines[1].place": {{Place: 1, Count: one}, {Place: 1, Count: one}},
		"lines[1].count": {{Place: 1, Count: one}, {Place: 2, Count: one}},
	} {
		_, err := Credit(inv, w, "a reason")
		if domain.KindOf(err) != domain.Invalid || domain.FieldsOf(err)[field] == "" {
			t.Errorf("%v gives %v %v, want a note on %s", w, err, domain.FieldsOf(err), field)
		}
	}
	for _, count := range []string{"0", "-1", "0.0000001"} {
		if _, err := Credit(inv, []Wanted{{Place: 1, Count: decimal.RequireFromString(count)}}, "a reason"); domain.FieldsOf(err)["lines[0].count"] == "" {
			t.Errorf("a quantity of %s is credited: %v", count, err)
		}
	}
	if _, err := Credit(inv, inv.WholeLeft(), " "); domain.FieldsOf(err)["reason"] == "" {
		t.Errorf("a credit without a reason: %v", err)
	}
}

// drawnBill is any bill of a shop: discounts, taxes on some kinds, one on top of
// another, inside or not, rounded on the document or on each line.
func drawnBill(r *rapid.T) money.Bill {
	kinds := money.LineKinds()
	first := money.Tax{Name: "A", Percent: decimal.New(rapid.Int64Range(0, 25000).Draw(r, "a"), -3), On: kinds[:5]}
	second := money.Tax{Name: "B", Percent: decimal.New(rapid.Int64Range(0, 12000).Draw(r, "b"), -3), On: kinds[1:7]}
	if rapid.Bool().Draw(r, "after") {
		second.After = []string{"A"}
	}
	b := money.Bill{
		Currency: dollars(r), PricesIncludeTax: rapid.Bool().Draw(r, "inside"), Taxes: []money.Tax{first, second},
		Rounding: money.Rounding{Mode: rapid.SampledFrom(money.Modes()).Draw(r, "mode"), Level: rapid.SampledFrom([]money.Level{money.ByDocument, money.ByLine}).Draw(r, "level")},
	}
	var sum money.Amount
	for range rapid.IntRange(1, 6).Draw(r, "lines") {
		b.Lines = append(b.Lines, money.Line{
			Kind: rapid.SampledFrom(kinds).Draw(r, "kind"), Quantity: decimal.New(rapid.Int64Range(1, 9000).Draw(r, "count"), -3),
			UnitPrice: decimal.New(rapid.Int64Range(0, 99999).Draw(r, "price"), -2), DiscountPercent: decimal.NewFromInt(rapid.Int64Range(0, 100).Draw(r, "off")),
		})
	}
	if t, err := money.Sum(b); err == nil {
		sum = t.Sum
	}
	b.Discount = money.Amount(rapid.Int64Range(0, int64(sum)).Draw(r, "discount"))
	return b
}

// Credited in any pieces, an invoice is taken back to the last minor unit: in total,
// in net, in each tax and on each account; and no piece is below zero.
func TestPiecesOfCreditSumToTheWhole(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		inv := issued(r, drawnBill(r))
		entries := []Entry{}
		whole, err := PostInvoice(inv)
		if err != nil {
			r.Fatal(err)
		}
		entries = append(entries, Entry{Postings: whole})
		taxes := make([]money.Amount, len(inv.Totals.Taxes))
		for n := 0; len(inv.WholeLeft()) > 0; n++ {
			want := inv.WholeLeft()
			for i := range want {
				if n < 4 && rapid.Bool().Draw(r, "some") {
					want[i].Count = decimal.New(rapid.Int64Range(1, want[i].Count.Shift(3).IntPart()).Draw(r, "piece"), -3)
				}
			}
			if n < 4 {
				want = want[:rapid.IntRange(1, len(want)).Draw(r, "of")]
			}
			c, err := Credit(inv, want, "piece by piece")
			if err != nil {
				r.Fatalf("%v %v", err, domain.FieldsOf(err))
			}
			if c.Totals.Net < 0 || c.Totals.Tax < 0 || c.Totals.Net+c.Totals.Tax != c.Totals.Total {
				r.Fatalf("net %d, tax %d, total %d", c.Totals.Net, c.Totals.Tax, c.Totals.Total)
			}
			for i, x := range c.Totals.Taxes {
				taxes[i] += x.Amount
			}
			ps, err := PostCredit(inv, &c)
			if err != nil {
				r.Fatal(err)
			}
			if len(ps) > 0 {
				e := Entry{Date: "2027-01-15", Postings: ps}
				if err := e.Check(); err != nil {
					r.Fatalf("%v %v", err, domain.FieldsOf(err))
				}
				entries = append(entries, e)
			}
			inv.Credits = append(inv.Credits, c)
		}
		if got := inv.CreditedTotal(); got != inv.Totals.Total {
			r.Fatalf("the pieces sum to %d, the invoice to %d", got, inv.Totals.Total)
		}
		for i, x := range inv.Totals.Taxes {
			if taxes[i] != x.Amount {
				r.Fatalf("tax %s: the pieces sum to %d, the invoice to %d", x.Name, taxes[i], x.Amount)
			}
		}
		left := Balances(entries)
		if left[Receivables] != 0 || left[OutputTax] != 0 {
			r.Fatalf("left on the accounts: %v", left)
		}
	})
}
