// Package stock knows the parts and supplies on the shelf.
package stock

import (
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Part is something the shop fits, sells or uses up, with its list price.
type Part struct {
	ID      domain.PartID
	Code    string // short and stable, such as strings-set
	Name    string
	Unit    string // each, mm, ml, g, m, sheet
	Kind    money.LineKind
	Price   money.Amount // per unit, before or with tax as the shop's profile says
	Cost    money.Amount // per unit, before tax
	Retired bool
	Version int
}

// Units lists the stock units.
func Units() []string { return []string{"each", "set", "mm", "m", "ml", "g", "sheet", "half sheet"} }

// Check returns an Invalid error that names each wrong field.
func (p *Part) Check() error {
	f := domain.Fields{}
	p.Code = domain.Line(f, "code", p.Code, 40, true)
	p.Name = domain.Line(f, "name", p.Name, 120, true)
	domain.OneOf(f, "unit", p.Unit, Units())
	domain.OneOf(f, "kind", p.Kind, []money.LineKind{money.Part, money.RetailGoods, money.ShopSupplies})
	if p.Price < 0 {
		f.Add("price", "must not be negative")
	}
	if p.Cost < 0 {
		f.Add("cost", "must not be negative")
	}
	return f.Err()
}

// ParseQuantity reads a quantity of parts: more than 0, at most 100000, at most
// three decimals, as stock counts thousandths of a unit.
func ParseQuantity(typed string) (decimal.Decimal, error) {
	d, err := decimal.NewFromString(typed)
	if err != nil || len(typed) > 12 {
		return d, domain.Invalidf("%q is no quantity; write a number such as 1 or 2.5", typed)
	}
	return d, CheckQuantity(d)
}

// CheckQuantity returns an Invalid error unless 0 < d <= 100000 with at most
// three decimals.
func CheckQuantity(d decimal.Decimal) error {
	if d.Sign() <= 0 || d.GreaterThan(decimal.NewFromInt(100000)) || !d.Equal(d.Round(3)) {
		return domain.Invalidf("must be more than 0, at most 100000, with at most three decimals")
	}
	return nil
}
