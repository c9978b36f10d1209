package money

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
)

// fretJob is an invented bill: labour, a part and supplies, two taxes.
func fretJob() Bill {
	return Bill{
		Currency: Currency{"CAD", 2},
		Taxes: []Tax{
			{Name: "GST", Number: "R1", Percent: dec("5"), On: services()},
			{Name: "PST", Percent: dec("7"), On: []LineKind{Labour, Part}},
		},
		Lines: []Line{
			{Kind: Labour, Quantity: dec("2.25"), UnitPrice: dec("80")},
			{Kind: Part, Quantity: dec("1"), UnitPrice: dec("47.85"), DiscountPercent: dec("12.5")},
			{Kind: ShopSupplies, Quantity: dec("1"), UnitPrice: dec("6.50")},
		},
	}
}

// Worked by hand: 180.00 + 41.87 + 6.50 = 228.37; the discount of 15.00 falls on
// 221.87 and 6.50 as 14.573 and 0.427, so 14.57 and 0.43; GST 5 % of 213.37 =
// 10.6685, PST 7 % of 207.30 = 14.511.
func TestSum(t *testing.T) {
	b := fretJob()
	b.Discount, b.Deposit, b.CashStep = 1500, 5000, 5
	want := Totals{
		Lines: []LineTotal{
			{Gross: 18000, Net: 18000, Share: 1182, Taxes: []string{"GST", "PST"}},
			{Gross: 4785, Discount: 598, Net: 4187, Share: 275, Taxes: []string{"GST", "PST"}},
			{Gross: 650, Net: 650, Share: 43, Taxes: []string{"GST"}},
		},
		Sum: 22837, Discount: 1500, Net: 21337,
		Taxes: []TaxTotal{
			{Name: "GST", Number: "R1", Percent: dec("5"), Base: 21337, Amount: 1067},
			{Name: "PST", Percent: dec("7"), Base: 20730, Amount: 1451},
		},
		Groups: []TaxGroup{
			{Taxes: []string{"GST", "PST"}, Sum: 22187, Discount: 1457, Net: 20730},
			{Taxes: []string{"GST"}, Sum: 650, Discount: 43, Net: 607},
		},
		Tax: 2518, Total: 23855, CashTotal: 23855, Deposit: 5000, Due: 18855,
	}
	if diff := cmp.Diff(want, mustSum(t, b), equalDecimals); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestEmptyBill(t *testing.T) {
	got := mustSum(t, Bill{Currency: Currency{"JPY", 0}})
	if diff := cmp.Diff(Totals{Lines: []LineTotal{}, Taxes: []TaxTotal{}, Groups: []TaxGroup{}}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// An exempt tax stays in the list with its reason and comes to nothing, even on
// a line that names it; the other tax stays.
func TestExemptBill(t *testing.T) {
	taxes, err := sampleNamed(t, "CA-BC: GST and PST").TaxesOn("2026-11-25",
		&Exemption{Reason: ReasonResale, Certificate: "R-77", Components: []string{"PST"}})
	if err != nil {
		t.Fatal(err)
	}
	b := fretJob()
	b.Taxes = taxes
	b.Lines[1].Taxes = []string{"GST", "PST"}
	got := mustSum(t, b)
	if x := got.Taxes[1]; x.Exempt != ReasonResale || x.Base != 0 || x.Amount != 0 {
		t.Errorf("got %+v, want an exempt tax of nothing", x)
	}
	same(t, b.Currency, "GST", got.Taxes[0].Amount, 1142)
}

// Goods for resale alone are exempt: the tax on the labour stays, with the reason
// noted.
func TestPartlyExemptBill(t *testing.T) {
	b := fretJob()
	b.Taxes[0].On, b.Taxes[0].Exempt = []LineKind{Labour}, ReasonResale
	got := mustSum(t, b)
	same(t, b.Currency, "base", got.Taxes[0].Base, 18000)
	if got.Taxes[0].Exempt != ReasonResale {
		t.Errorf("the reason is lost: %+v", got.Taxes[0])
	}
}

// Price per dozen; more decimal places than the currency; a charge on the line.
// Derived: 7 x 15.24 / 12 = 8.89; 3 x 0.3333 = 0.9999, so 1.00, plus 0.25.
func TestLineForms(t *testing.T) {
	b := Bill{Currency: Currency{"CAD", 2}, Lines: []Line{
		{Kind: Part, Quantity: dec("7"), UnitPrice: dec("15.24"), PricePer: dec("12")},
		{Kind: Part, Quantity: dec("3"), UnitPrice: dec("0.3333"), Charge: 25},
		{Kind: Part, Quantity: dec("2e1"), UnitPrice: dec("1"), Discount: 500, DiscountPercent: dec("25")},
	}}
	got := mustSum(t, b)
	for i, want := range []Amount{889, 125, 1000} {
		same(t, b.Currency, "line", got.Lines[i].Net, want)
	}
}

// The discount falls on the lines with its own sign; the credit in the bill keeps
// what it is.
func TestDiscountBesideCredit(t *testing.T) {
	b := Bill{Currency: Currency{"CAD", 2}, Discount: 80, Lines: []Line{
		{Kind: Part, Net: net(100)}, {Kind: Labour, Net: net(-20), Untaxed: true}, {Kind: Labour, Net: net(0)}},
		Taxes: []Tax{{Name: "GST", Percent: dec("5"), On: LineKinds()}}}
	got := mustSum(t, b)
	if got.Total != got.Net+got.Tax || got.Net != 0 || got.Lines[0].Share != 80 || got.Lines[1].Share != 0 {
		t.Errorf("got %+v, want the whole discount on the first line", got)
	}
}

func TestSumRefuses(t *testing.T) {
	many := make([]Line, MaxLines+1)
	big := decimal.New(1, 999)
	for _, c := range []struct {
		fields string
		change func(*Bill)
	}{
		{"currency", func(b *Bill) { b.Currency.Digits = 3 }},
		{"currency", func(b *Bill) { b.Currency = Currency{} }},
		{"rounding.mode", func(b *Bill) { b.Rounding.Mode = "up" }},
		{"rounding.level", func(b *Bill) { b.Rounding.Level = "page" }},
		{"cash_step", func(b *Bill) { b.CashStep = maxStep + 1 }},
		{"cash_mode", func(b *Bill) { b.CashMode = "up" }},
		{"discount", func(b *Bill) { b.Discount = MaxAmount + 1 }},
		{"discount", func(b *Bill) { b.Discount = 22838 }},
		{"discount", func(b *Bill) { b.Discount = -1 }},
		{"deposit", func(b *Bill) { b.Deposit = -MaxAmount - 1 }},
		{"deposit", func(b *Bill) { b.Deposit = -MaxAmount }},
		{"taxes", func(b *Bill) { b.Taxes = make([]Tax, MaxTaxes+1) }},
		{"taxes[1].name", func(b *Bill) { b.Taxes[1].Name = "GST" }},
		{"taxes[0].number", func(b *Bill) { b.Taxes[0].Number = strings.Repeat("9", 99) }},
		{"taxes[0].percent", func(b *Bill) { b.Taxes[0].Percent = dec("100.1") }},
		{"taxes[0].on[0]", func(b *Bill) { b.Taxes[0].On = []LineKind{"work"} }},
		{"taxes[0].after[0]", func(b *Bill) { b.Taxes[0].After = []string{"PST"} }},
		{"lines", func(b *Bill) { b.Lines = many }},
		{"lines[0].kind", func(b *Bill) { b.Lines[0].Kind = "resale_goods" }},
		{"lines[0].quantity", func(b *Bill) { b.Lines[0].Quantity = big }},
		{"lines[0].quantity", func(b *Bill) { b.Lines[0].Quantity = dec("1000000001") }},
		{"lines[0].quantity", func(b *Bill) { b.Lines[0].Quantity = dec("0.0000000000001") }},
		{"lines[0].unit_price", func(b *Bill) { b.Lines[0].UnitPrice = decimal.New(1, -999) }},
		{"lines[0].unit_price", func(b *Bill) { b.Lines[0].UnitPrice = dec("5000000000000") }},
		{"lines[0].unit_price", func(b *Bill) { b.Lines[0].UnitPrice, b.Lines[0].Quantity = dec("1e15"), dec("1e9") }},
		{"lines[0].price_per", func(b *Bill) { b.Lines[0].PricePer = dec("-12") }},
		{"lines[2].discount_percent", func(b *Bill) { b.Lines[2].DiscountPercent = dec("-5") }},
		{"lines[2].discount", func(b *Bill) { b.Lines[2].Discount = 651 }},
		{"lines[2].discount", func(b *Bill) { b.Lines[2].Discount = -1 }},
		{"lines[2].discount", func(b *Bill) { b.Lines[2].Quantity = dec("-1"); b.Lines[2].Discount = 1 }},
		{"lines[2].discount", func(b *Bill) { b.Lines[2].Discount = 1 << 62 }},
		{"lines[2].charge", func(b *Bill) { b.Lines[2].Charge = MaxAmount }},
		{"lines[2].net", func(b *Bill) { b.Lines[2].Net = net(MaxAmount + 1) }},
		{"lines[2].taxes[0]", func(b *Bill) { b.Lines[2].Taxes = []string{"VAT"} }},
		{"lines[2].taxes[1]", func(b *Bill) { b.Lines[2].Taxes = []string{"GST", "GST"} }},
		{"lines[2].untaxed", func(b *Bill) { b.Lines[2].Taxes, b.Lines[2].Untaxed = []string{"GST"}, true }},
		{"lines", func(b *Bill) { b.Lines[0].Net, b.Lines[1].Net = net(MaxAmount), net(-MaxAmount) }},
		{"lines", func(b *Bill) { b.Lines = []Line{{Kind: Labour, Net: net(MaxAmount)}} }},
		{"lines[0].kind lines[2].quantity rounding.mode", func(b *Bill) {
			b.Lines[0].Kind, b.Lines[2].Quantity, b.Rounding.Mode = "", big, "up"
		}},
	} {
		b := fretJob()
		c.change(&b)
		_, err := Sum(b)
		wants(t, err, strings.Fields(c.fields)...)
	}
}

// At the limits nothing overflows: ten taxes of 100 %, each on top of all before
// it, on the largest bill they allow.
func TestLargestBill(t *testing.T) {
	b := Bill{Currency: Currency{"CAD", 2}, Lines: []Line{{Kind: Labour, Net: net(MaxAmount >> 10)}}}
	for i := range MaxTaxes {
		b.Taxes = append(b.Taxes, Tax{Name: string(rune('A' + i)), Percent: dec("100"), On: LineKinds(), After: b.taxNames()})
	}
	for _, level := range []Level{ByDocument, ByLine} {
		b.Rounding.Level = level
		same(t, b.Currency, string(level), mustSum(t, b).Total, (MaxAmount>>10)<<10)
	}
	b.Lines[0].Net = net(MaxAmount)
	_, err := Sum(b)
	wants(t, err, "lines")
}

func TestManyLines(t *testing.T) {
	b := fretJob()
	b.Lines = make([]Line, MaxLines)
	for i := range b.Lines {
		b.Lines[i] = Line{Kind: LineKinds()[i%8], Quantity: dec("1"), UnitPrice: dec("0.10")}
	}
	b.Rounding.Level = ByLine
	got := mustSum(t, b)
	same(t, b.Currency, "sum", got.Sum, 20000)
	same(t, b.Currency, "GST", got.Taxes[0].Amount, 1750)
}

func BenchmarkSum(b *testing.B) {
	for _, level := range []Level{ByDocument, ByLine} {
		for _, inside := range []bool{false, true} {
			bill := fretJob()
			bill.Rounding.Level, bill.PricesIncludeTax, bill.Discount = level, inside, 1500
			for len(bill.Lines) < 10 {
				bill.Lines = append(bill.Lines, bill.Lines[len(bill.Lines)%3])
			}
			b.Run(string(level)+map[bool]string{false: "/without_tax", true: "/with_tax"}[inside], func(b *testing.B) {
				for b.Loop() {
					mustSum(b, bill)
				}
			})
		}
	}
}
