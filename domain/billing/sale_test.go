package billing

import (
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
)

// saleTerms tax retail goods with 5 % and fitted parts with 12 %, in steps of 5 cents.
func saleTerms(t *testing.T) quote.Terms {
	t.Helper()
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	rate := func(percent string) []money.Rate { return []money.Rate{{From: "2008-01-01", Percent: dec(percent)}} }
	return quote.Terms{Currency: cad, Today: "2026-11-25", Profile: money.Profile{
		Name: "test", Currency: "CAD", DepositTax: "on_application", Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument},
		Components: []money.Component{
			{Name: "GST", On: []money.LineKind{money.RetailGoods}, Rates: rate("5")}, {Name: "PST", On: []money.LineKind{money.Part}, Rates: rate("12")},
		},
	}}
}

// By hand: two sets at 18.03 less 10 % are 32.45 (32.454), a capo at 12.37; 44.82 less
// 1.00 are 43.82, with 5 % (2.191) 46.01.
func TestDrawSale(t *testing.T) {
	parts := map[domain.PartID]*stock.Part{3: {ID: 3, Name: "Strings", Unit: "set", Kind: money.Part, Price: 1803, Protected: true, Species: "ebony", Papers: "permit 7"}}
	capo := money.Amount(1237)
	inv, err := DrawSale(Sale{
		Lines:    []SaleLine{{Part: 3, Count: dec("2"), Off: dec("10")}, {Name: " Old capo ", Count: dec("1"), Price: &capo}},
		Discount: 100, Reason: "scratched",
	}, parts, saleTerms(t))
	if err != nil {
		t.Fatal(err)
	}
	if inv.Totals.Total != 4601 || inv.Totals.Tax != 219 || inv.Lines[0].Net != 3245 || inv.Lines[1].Name != "Old capo" || inv.Job != 0 {
		t.Errorf("the sale comes to %+v of %+v, want 46.01 with 2.19 of tax", inv.Totals, inv.Lines)
	}
	if got := inv.Lines[0]; got.Kind != money.RetailGoods || got.Part != 3 || got.Detail != "2 set, ebony: permit 7" {
		t.Errorf("the line is %+v, want retail goods with the papers of the wood", got)
	}
	coin := Coin{Step: 5, Mode: money.HalfUp}
	done, b, err := inv.Settle([]Payment{{Tender: "card", Amount: 2000}, {Tender: Cash, Given: 3000}}, coin)
	if err != nil || b.Due != 0 || done[1].Amount != 2600 || done[1].Rounding != 1 || done[1].Change != 400 {
		t.Errorf("settled with %+v, %+v and %v; want 20.00 by card, 26.00 in cash for 26.01 and 4.00 back", done, b, err)
	}
	_, _, err = inv.Settle([]Payment{{Tender: "card", Amount: 2000}, {Tender: "card", Amount: 2602}}, coin)
	if text := domain.FieldsOf(err)["payments[1].amount"]; !strings.Contains(text, "at most 26.01 CAD") {
		t.Errorf("one cent too much gives %v", err)
	}
}

func TestDrawSaleNamesWhatIsWrong(t *testing.T) {
	parts := map[domain.PartID]*stock.Part{1: {ID: 1, Name: "Saddle", Unit: "each", Price: 1400}, 2: {ID: 2, Name: "Old saddle", Retired: true}, 3: {ID: 3, Name: "Pins"}}
	low, below := money.Amount(1399), money.Amount(-1)
	_, err := DrawSale(Sale{Discount: -1, Lines: []SaleLine{
		{Part: 9, Count: dec("1")}, {Part: 2, Count: dec("1")}, {Part: 3, Count: dec("1")}, {Part: 1, Count: dec("0.0001"), Price: &low}, {Count: dec("1"), Price: &below}, {Name: "x", Count: dec("1"), Off: dec("101")},
	}}, parts, saleTerms(t))
	got := domain.FieldsOf(err)
	for field, words := range map[string]string{
		"lines[0].part": "there is no part 9", "lines[1].part": "not on the list any more", "lines[2].price": "no price on the list", "lines[3].count": "three decimals",
		"lines[4].name": "is needed", "lines[4].price": "must not be negative", "lines[5].off": "from 0 to 100", "lines[5].price": "is needed", "discount": "must not be negative", "reason": "is needed",
	} {
		if !strings.Contains(got[field], words) {
			t.Errorf("%s: got %q, want %q in it", field, got[field], words)
		}
	}
	if len(got) != 10 {
		t.Errorf("%d fields are wrong: %v", len(got), got)
	}
	for _, n := range []int{0, MostSaleLines + 1} {
		if _, err := DrawSale(Sale{Lines: make([]SaleLine, n)}, parts, saleTerms(t)); domain.FieldsOf(err)["lines"] == "" {
			t.Errorf("%d lines are let pass: %v", n, err)
		}
	}
}
