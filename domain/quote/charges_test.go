package quote

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

func dollars(t *testing.T) money.Currency {
	t.Helper()
	c, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Labour 100.00 and a part 20.00: supplies at 5 % are 5.00, capped 4.00; rush at 25 %
// is 25.00; up to a minimum of 150.00 lack 30.00. Reckoned by hand.
func TestExtraRows(t *testing.T) {
	q := &Quote{Currency: dollars(t), Lines: []Line{{Kind: money.Labour, Net: 10000}, {Kind: money.Part, Net: 2000}}}
	q.Totals.Sum = 12000
	c := Charges{Rush: decimal.NewFromInt(25), Supplies: decimal.NewFromInt(5), Minimum: 15000}
	if err := c.Check(); err != nil {
		t.Fatal(err)
	}
	want := map[Extra]Row{
		Supplies: {Name: "Shop supplies", Kind: money.ShopSupplies, Price: "5.00"}, Rush: {Name: "Rush surcharge", Kind: money.Surcharge, Price: "25.00"},
		Minimum: {Name: "Up to the minimum charge", Kind: money.Labour, Price: "30.00"},
	}
	for _, x := range Extras() {
		got, err := ExtraRow(x, q, c, money.HalfUp)
		if err != nil || got != want[x] {
			t.Errorf("%s: %+v, %v; want %+v", x, got, err, want[x])
		}
		if _, err := ExtraRow(x, q, Charges{}, money.HalfUp); domain.FieldsOf(err)["add"] == "" {
			t.Errorf("%s without a rule: %v", x, err)
		}
		had := &Quote{Currency: q.Currency, Lines: append(q.Lines, Line{Name: got.Name, Kind: got.Kind, Net: 1})}
		if _, err := ExtraRow(x, had, c, money.HalfUp); domain.FieldsOf(err)["add"] == "" {
			t.Errorf("%s twice: %v", x, err)
		}
	}
	c.SuppliesCap = 400
	if got, err := ExtraRow(Supplies, q, c, money.HalfUp); err != nil || got.Price != "4.00" {
		t.Errorf("capped %+v, %v", got, err)
	}
	if _, err := ExtraRow("luck", q, c, money.HalfUp); domain.FieldsOf(err)["add"] == "" {
		t.Errorf("an unknown line: %v", err)
	}
}

func TestChargesThatCannotBe(t *testing.T) {
	err := Charges{Rush: decimal.NewFromInt(101), Supplies: decimal.NewFromInt(-1), SuppliesCap: -1, Minimum: -1}.Check()
	for _, f := range []string{"rush", "supplies", "supplies_cap", "minimum"} {
		if domain.FieldsOf(err)[f] == "" {
			t.Errorf("nothing said of %s in %v", f, domain.FieldsOf(err))
		}
	}
}

// A rush line changes the price alone: hands, days, the hold and every line of work
// stay as they are.
func TestRushShortensNoWait(t *testing.T) {
	shelf, terms := shelf(t), terms()
	terms.Charges.Rush = decimal.NewFromInt(50)
	sheet := Sheet{Basis: Estimate, Rows: []Row{{Task: "RH"}, {Task: "CG", Quantity: "60"}}}
	plain, err := Build(sheet, shelf, terms)
	if err != nil {
		t.Fatal(err)
	}
	row, err := ExtraRow(Rush, &plain, terms.Charges, money.HalfUp)
	if err != nil {
		t.Fatal(err)
	}
	sheet.Rows = append(sheet.Rows, row)
	rushed, err := Build(sheet, shelf, terms)
	if err != nil {
		t.Fatal(err)
	}
	if plain.Days.High.Sign() <= 0 || plain.Hold.High.Sign() <= 0 {
		t.Fatal("the quote has no wait that could be shortened")
	}
	if rushed.Totals.Total <= plain.Totals.Total {
		t.Error("the rush line costs nothing")
	}
	same := [][2]any{{plain.Days, rushed.Days}, {plain.Hold, rushed.Hold}, {plain.Hands, rushed.Hands}, {plain.Lines, rushed.Lines[:len(plain.Lines)]}}
	for _, s := range same {
		if diff := cmp.Diff(s[0], s[1]); diff != "" {
			t.Errorf("the rush line changes more than the price:\n%s", diff)
		}
	}
}
