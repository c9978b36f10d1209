package money

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// InvoiceInput is what the calculation named invoice is given. Decimals are text
// in major units of the currency. It is a sum on its own: nothing is stored.
type InvoiceInput struct {
	Currency         string        `json:"currency" doc:"Currency code of ISO 4217, such as CAD"`
	Rounding         string        `json:"rounding,omitempty" doc:"Where taxes are rounded: document (once per tax, the default) or line"`
	Mode             string        `json:"mode,omitempty" doc:"How halves are rounded: half_up (away from zero, the default), half_even, half_down, or down for every fraction"`
	PricesIncludeTax bool          `json:"prices_include_tax,omitempty" doc:"Whether the unit prices contain their taxes"`
	Taxes            []InvoiceTax  `json:"taxes,omitempty" doc:"The taxes, in order; at most 10"`
	Lines            []InvoiceLine `json:"lines" doc:"The lines; 1 to 2000"`
	Discount         string        `json:"discount,omitempty" doc:"Discount on the whole, before tax on top; default 0"`
	Deposit          string        `json:"deposit,omitempty" doc:"Paid before; default 0"`
	CashStep         string        `json:"cash_step,omitempty" doc:"Smallest coin, such as 0.05; default 0, cash is not rounded"`
}

// InvoiceTax is one tax of an InvoiceInput.
type InvoiceTax struct {
	Name     string   `json:"name" doc:"Name to print; each tax has its own"`
	Rate     string   `json:"rate" doc:"Per cent, such as 9.975"`
	On       []string `json:"on,omitempty" doc:"Kinds of lines it is on; default every kind"`
	Compound bool     `json:"compound,omitempty" doc:"Whether the taxes before it are part of its base"`
}

// InvoiceLine is one line of an InvoiceInput.
type InvoiceLine struct {
	Kind            string `json:"kind" doc:"labour, part, shop_supplies, retail_goods, storage, surcharge, fee or late_charge"`
	Quantity        string `json:"quantity" doc:"Such as 1.5; negative for a credit"`
	UnitPrice       string `json:"unit_price" doc:"For one, in major units; may have more decimal places than the currency"`
	DiscountPercent string `json:"discount_percent,omitempty" doc:"0 to 100; default 0"`
}

// InvoiceOutput is what the calculation named invoice returns. Its amounts are
// those of Totals, as text in major units.
type InvoiceOutput struct {
	Lines          []InvoiceLineNet  `json:"lines" doc:"As given"`
	Net            string            `json:"net" doc:"Without tax, after the discount"`
	Taxes          []InvoiceTaxTotal `json:"taxes" doc:"As given"`
	Tax            string            `json:"tax"`
	Total          string            `json:"total" doc:"With tax"`
	CashTotal      string            `json:"cash_total" doc:"The total if the balance is paid in cash"`
	CashDifference string            `json:"cash_difference" doc:"Added to the balance when it is paid in cash; no part of a tax"`
	Due            string            `json:"due" doc:"Total less deposit, not rounded for cash"`
}

// InvoiceLineNet is one line of an InvoiceOutput.
type InvoiceLineNet struct {
	Net string `json:"net" doc:"With the tax inside where prices include tax"`
}

// InvoiceTaxTotal is one tax of an InvoiceOutput.
type InvoiceTaxTotal struct {
	Name   string `json:"name"`
	Base   string `json:"base"`
	Amount string `json:"amount"`
}

// CalcInvoiceExample returns an input of CalcInvoice that works: an invented
// bill of labour, a part and shop supplies.
func CalcInvoiceExample() []byte {
	return []byte(`{
  "currency": "CAD",
  "rounding": "document",
  "mode": "half_up",
  "prices_include_tax": false,
  "taxes": [
    {"name": "GST", "rate": "5", "on": ["labour", "part", "shop_supplies"], "compound": false},
    {"name": "PST", "rate": "7", "on": ["labour", "part"], "compound": false}
  ],
  "lines": [
    {"kind": "labour", "quantity": "2.25", "unit_price": "80.00", "discount_percent": "0"},
    {"kind": "part", "quantity": "1", "unit_price": "47.85", "discount_percent": "12.5"},
    {"kind": "shop_supplies", "quantity": "1", "unit_price": "6.50", "discount_percent": "0"}
  ],
  "discount": "15.00",
  "deposit": "50.00",
  "cash_step": "0.05"
}
`)
}

// CalcInvoice works out an invoice from JSON in the shape of InvoiceInput and
// returns JSON in the shape of InvoiceOutput. It returns an Invalid error that
// names all wrong and unknown fields at once. The input has at most 2 MiB.
func CalcInvoice(in []byte) (out []byte, err error) {
	f := domain.Fields{}
	input := readInvoice(f, in)
	output, err := calcInvoice(f, input)
	if err != nil {
		return nil, err
	}
	return json.Marshal(output)
}

// CalcInvoiceOf is CalcInvoice for an input that was read already.
func CalcInvoiceOf(in InvoiceInput) (InvoiceOutput, error) {
	return calcInvoice(domain.Fields{}, in)
}

// calcInvoice works out the input; f holds what was found wrong while reading it.
func calcInvoice(f domain.Fields, in InvoiceInput) (InvoiceOutput, error) {
	b := in.bill(f)
	if err := f.Err(); err != nil {
		return InvoiceOutput{}, err
	}
	t, err := Sum(b)
	if err != nil {
		return InvoiceOutput{}, err
	}
	if t.Deposit < 0 && t.Sum >= 0 {
		f.Add("deposit", "must be %s or more; below that only on a credit", b.Currency.Text(0))
	}
	return outputOf(b.Currency, t), f.Err()
}

// bill turns the texts into a bill and notes every field that is wrong.
func (in InvoiceInput) bill(f domain.Fields) Bill {
	c, err := CurrencyOf(in.Currency)
	f.AddErr("currency", err)
	b := Bill{
		Currency:         c,
		Rounding:         in.rounding(f),
		PricesIncludeTax: in.PricesIncludeTax,
		Taxes:            in.taxes(f),
		Lines:            in.lines(f),
		Discount:         in.amount(f, c, "discount", in.Discount),
		Deposit:          in.amount(f, c, "deposit", in.Deposit),
		CashStep:         in.amount(f, c, "cash_step", in.CashStep),
	}
	if b.CashStep < 0 || b.CashStep > maxStep {
		f.Add("cash_step", "must be from %s to %s", c.Text(0), c.Text(maxStep))
	}
	return b
}

func (in InvoiceInput) rounding(f domain.Fields) Rounding {
	r := Rounding{Mode(in.Mode), Level(in.Rounding)}
	if !r.Mode.Valid() {
		domain.OneOf(f, "mode", r.Mode, Modes())
	}
	if !r.Level.Valid() {
		domain.OneOf(f, "rounding", r.Level, []Level{ByDocument, ByLine})
	}
	return r
}

// amount reads an optional amount. Without a currency nothing can be said of it.
func (in InvoiceInput) amount(f domain.Fields, c Currency, field, typed string) Amount {
	if typed == "" || c.Code == "" {
		return 0
	}
	a, err := c.Parse(typed)
	f.AddErr(field, err)
	return a
}

func (in InvoiceInput) taxes(f domain.Fields) []Tax {
	if len(in.Taxes) > MaxTaxes {
		f.Add("taxes", "are too many; at most %d", MaxTaxes)
		return nil
	}
	taxes := make([]Tax, len(in.Taxes))
	names := make([]string, len(in.Taxes))
	for i, t := range in.Taxes {
		at := fmt.Sprintf("taxes[%d].", i)
		names[i] = t.Name
		checkName(f, at+"name", t.Name, names[:i])
		rate := number(f, at+"rate", t.Rate, true)
		checkPercent(f, at+"rate", rate)
		taxes[i] = Tax{Name: t.Name, Percent: rate, On: t.kinds(f, at+"on")}
		if t.Compound {
			taxes[i].After = slices.Clone(names[:i])
		}
	}
	return taxes
}

// kinds returns what the tax is on; nothing said is every kind.
func (t InvoiceTax) kinds(f domain.Fields, field string) []LineKind {
	if t.On == nil {
		return LineKinds()
	}
	kinds := make([]LineKind, len(t.On))
	for i, k := range t.On {
		kinds[i] = LineKind(k)
	}
	checkKinds(f, field, kinds)
	return kinds
}

func (in InvoiceInput) lines(f domain.Fields) []Line {
	if len(in.Lines) == 0 || len(in.Lines) > MaxLines {
		f.Add("lines", "must be from 1 to %d", MaxLines)
		return nil
	}
	lines := make([]Line, len(in.Lines))
	for i, l := range in.Lines {
		wrong := domain.Fields{}
		lines[i] = Line{
			Kind:            LineKind(l.Kind),
			Quantity:        number(wrong, "quantity", l.Quantity, true),
			UnitPrice:       number(wrong, "unit_price", l.UnitPrice, true),
			DiscountPercent: number(wrong, "discount_percent", l.DiscountPercent, false),
		}
		lines[i].check(wrong, nil)
		f.AddErr(fmt.Sprintf("lines[%d]", i), wrong.Err())
	}
	return lines
}

// number reads a decimal: an optional minus, digits and at most one point. Text
// such as 1e9, 1,000 or +5 is refused.
func number(f domain.Fields, field, typed string, required bool) decimal.Decimal {
	bare := strings.TrimPrefix(typed, "-")
	head, tail, point := strings.Cut(bare, ".")
	switch {
	case typed == "" && !required:
	case typed == "":
		f.Add(field, `is needed, as a decimal in quotes such as "1.5"`)
	case len(typed) > 40:
		f.Add(field, "has too many digits")
	case !isDigits(head) || point && !isDigits(tail):
		f.Add(field, `%q is no decimal; write digits with at most one point, such as "1.5"`, clip(typed))
	default:
		return decimal.RequireFromString(typed)
	}
	return decimal.Decimal{}
}

// isDigits reports whether s is one or more of the digits 0 to 9.
func isDigits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

func outputOf(c Currency, t Totals) InvoiceOutput {
	out := InvoiceOutput{
		Lines:          make([]InvoiceLineNet, len(t.Lines)),
		Net:            c.Text(t.Net),
		Taxes:          make([]InvoiceTaxTotal, len(t.Taxes)),
		Tax:            c.Text(t.Tax),
		Total:          c.Text(t.Total),
		CashTotal:      c.Text(t.CashTotal),
		CashDifference: c.Text(t.CashDifference),
		Due:            c.Text(t.Due),
	}
	for i, l := range t.Lines {
		out.Lines[i].Net = c.Text(l.Net)
	}
	for i, x := range t.Taxes {
		out.Taxes[i] = InvoiceTaxTotal{x.Name, c.Text(x.Base), c.Text(x.Amount)}
	}
	return out
}
