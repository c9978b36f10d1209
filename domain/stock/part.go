// Package stock knows the parts and supplies on the shelf: what they cost, why their
// number changed, who has reserved them, and what is to be ordered.
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

	Kept      bool // stock is kept of it, from the first receipt or count on
	Supplier  domain.SupplierID
	OrderCode string           // the supplier's number of it
	Shelf     string           // where it lies
	ReorderAt Quantity         // it is to be ordered when no more than this is free; 0 never
	ReorderTo Quantity         // and up to this
	Markup    *decimal.Decimal // percent on Cost that makes Price; nil when the price is typed
	OpenedOn  domain.Date      // of glue: the day the bottle in use was opened; "" for none
	ExpiresOn domain.Date      // the last good day; "" for none
	Batch     string           // lot of glue, board of wood
	Species   string           // of wood or bone
	Origin    string           // where it grew
	Protected bool             // trade in it needs papers
	Papers    string           // the certificate behind it, in words
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
	p.checkShelf(f)
	return f.Err()
}

// MaxMarkup is the highest percentage on the cost.
const MaxMarkup = 1000

func (p *Part) checkShelf(f domain.Fields) {
	for _, one := range []struct {
		field string
		text  *string
		max   int
	}{
		{"order_code", &p.OrderCode, 60}, {"shelf", &p.Shelf, 40}, {"batch", &p.Batch, 60}, {"species", &p.Species, 80}, {"origin", &p.Origin, 80}, {"papers", &p.Papers, 200},
	} {
		*one.text = domain.Line(f, one.field, *one.text, one.max, false)
	}
	if p.ReorderAt < 0 || p.ReorderAt > MaxQuantity {
		f.Add("reorder_at", "must be from 0 to %s", MaxQuantity.Units())
	}
	if p.ReorderTo < 0 || p.ReorderTo > MaxQuantity || p.ReorderTo > 0 && p.ReorderTo <= p.ReorderAt {
		f.Add("reorder_to", "must be more than the mark at which it is ordered, at most %s", MaxQuantity.Units())
	}
	if m := p.Markup; m != nil && (m.Sign() < 0 || m.GreaterThan(decimal.NewFromInt(MaxMarkup)) || !m.Equal(m.Round(2))) {
		f.Add("markup", "must be from 0 to %d percent, with at most two decimals", MaxMarkup)
	}
	for field, day := range map[string]domain.Date{"opened_on": p.OpenedOn, "expires_on": p.ExpiresOn} {
		if _, err := domain.ParseDate(string(day)); err != nil && day != "" {
			f.AddErr(field, err)
		}
	}
	if p.Protected && p.Species == "" {
		f.Add("species", "is needed for what is protected, as the papers name it")
	}
}

// SetCost notes what a unit cost last and lets the price follow by the markup, rounded
// half away from zero.
func (p *Part) SetCost(cost money.Amount) {
	p.Cost = cost
	p.Follow()
}

// Follow computes the price by the markup, when there is one.
func (p *Part) Follow() {
	if p.Markup == nil {
		return
	}
	hundred := decimal.NewFromInt(100)
	p.Price = money.Amount(decimal.NewFromInt(int64(p.Cost)).Mul(hundred.Add(*p.Markup)).DivRound(hundred, 0).IntPart())
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
