package money

import (
	"fmt"
	"slices"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Bill is what Sum works out: the lines of a quote, an invoice or a credit note
// with the taxes that are in force.
type Bill struct {
	Currency         Currency `json:"currency"`
	Rounding         Rounding `json:"rounding"`
	PricesIncludeTax bool     `json:"prices_include_tax"`
	Taxes            []Tax    `json:"taxes"` // at most MaxTaxes; names are unique
	Lines            []Line   `json:"lines"` // at most MaxLines
	Discount         Amount   `json:"discount"`
	Deposit          Amount   `json:"deposit"`   // paid before; taken off the total
	CashStep         Amount   `json:"cash_step"` // smallest coin in minor units; 0 or 1: cash is not rounded
	CashMode         Mode     `json:"cash_mode"`
}

// Line is one line of a bill. Its net is quantity x unit price, less the
// discounts, plus the charge; the product and each percentage are rounded once.
// A negative quantity makes a credit; its discount and charge are negative too.
type Line struct {
	Kind            LineKind        `json:"kind"`
	Quantity        decimal.Decimal `json:"quantity"`         // at most 12 decimal places, up to a thousand million either way
	UnitPrice       decimal.Decimal `json:"unit_price"`       // major units, at most 12 decimal places
	PricePer        decimal.Decimal `json:"price_per"`        // the price is for that many (12 for a dozen); 0 is 1
	DiscountPercent decimal.Decimal `json:"discount_percent"` // 0 to 100, of quantity x price
	Discount        Amount          `json:"discount"`         // besides the percentage; not more than the line
	Charge          Amount          `json:"charge"`           // added to this line after its discounts
	Net             *Amount         `json:"net,omitempty"`    // the line's net as given: quantity, price, discounts and charge are then not used
	Taxes           []string        `json:"taxes,omitempty"`  // names of the taxes on this line; none: by its kind
	Untaxed         bool            `json:"untaxed"`          // no tax is on this line, whatever its kind
}

// Negated returns the bill with every quantity and amount turned round, as a
// credit note for all of it needs. Its totals are those of b, turned round.
func (b Bill) Negated() Bill {
	n := b
	n.Discount, n.Deposit = -b.Discount, -b.Deposit
	n.Lines = slices.Clone(b.Lines)
	for i := range n.Lines {
		l := &n.Lines[i]
		l.Quantity, l.Discount, l.Charge = l.Quantity.Neg(), -l.Discount, -l.Charge
		if l.Net != nil {
			net := -*l.Net
			l.Net = &net
		}
	}
	return n
}

// check notes every field that is wrong in itself.
func (b Bill) check(f domain.Fields) {
	if c, err := CurrencyOf(b.Currency.Code); err != nil || c != b.Currency {
		f.Add("currency", "%q with %d decimals is no currency of ISO 4217", clip(b.Currency.Code), b.Currency.Digits)
	}
	b.Rounding.check(f, "rounding")
	checkCash(f, b.CashStep, b.CashMode)
	f.AddErr("discount", b.Discount.Check())
	f.AddErr("deposit", b.Deposit.Check())
	b.checkTaxes(f)
	if len(b.Lines) > MaxLines {
		f.Add("lines", "are too many; at most %d", MaxLines)
		return
	}
	names, wrong := b.taxNames(), domain.Fields{}
	for i, l := range b.Lines {
		if l.check(wrong, names); len(wrong) > 0 {
			f.AddErr(fmt.Sprintf("lines[%d]", i), wrong.Err())
			wrong = domain.Fields{}
		}
	}
}

func (b Bill) taxNames() []string {
	names := make([]string, len(b.Taxes))
	for i, t := range b.Taxes {
		names[i] = t.Name
	}
	return names
}

func (b Bill) checkTaxes(f domain.Fields) {
	if len(b.Taxes) > MaxTaxes {
		f.Add("taxes", "are too many; at most %d", MaxTaxes)
		return
	}
	names := b.taxNames()
	for i, t := range b.Taxes {
		at := fmt.Sprintf("taxes[%d].", i)
		checkName(f, at+"name", t.Name, names[:i])
		domain.Line(f, at+"number", t.Number, maxName, false)
		checkPercent(f, at+"percent", t.Percent)
		checkKinds(f, at+"on", t.On)
		checkAfter(f, at+"after", t.After, names[:i])
	}
}

// check notes what is wrong with the line, by the names of its own fields.
func (l Line) check(f domain.Fields, names []string) {
	if !l.Kind.Valid() {
		domain.OneOf(f, "kind", l.Kind, LineKinds())
	}
	for i, name := range l.Taxes {
		if !slices.Contains(names, name) || slices.Contains(l.Taxes[:i], name) {
			f.Add(fmt.Sprintf("taxes[%d]", i), "%q is no tax of this bill, or named twice", clip(name))
		}
	}
	if l.Untaxed && len(l.Taxes) > 0 {
		f.Add("untaxed", "must not be set together with taxes")
	}
	if l.Net != nil {
		f.AddErr("net", l.Net.Check())
		return
	}
	checkNumber(f, "quantity", l.Quantity, maxQuantity)
	checkNumber(f, "unit_price", l.UnitPrice, int64(MaxAmount))
	checkNumber(f, "price_per", l.PricePer, maxQuantity)
	if l.PricePer.Sign() < 0 {
		f.Add("price_per", "must be above zero")
	}
	checkPercent(f, "discount_percent", l.DiscountPercent)
	f.AddErr("discount", l.Discount.Check())
	f.AddErr("charge", l.Charge.Check())
}

// checkNumber notes a decimal that is beyond limit either way or too fine.
func checkNumber(f domain.Fields, field string, d decimal.Decimal, limit int64) {
	if !tame(d) || d.Abs().GreaterThan(decimal.New(limit, 0)) || finer(d, maxPlaces) {
		f.Add(field, "must be from -%d to %d with at most %d decimal places", limit, limit, maxPlaces)
	}
}
