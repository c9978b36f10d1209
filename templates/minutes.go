package templates

import (
	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// MaxQuantity is the greatest quantity of a task: ten metres of crack.
const MaxQuantity = 10000

// Minutes returns the hands-on minutes for a quantity in the template's unit:
// the set-up once, and the labour in proportion, each figure rounded half up to
// a whole minute. A hold's daily checks are not in it; see [Template.HoldMinutes].
// The quantity must be 1 to [MaxQuantity].
func (t Template) Minutes(quantity int) (Range, error) {
	if quantity < 1 || quantity > MaxQuantity {
		return Range{}, domain.Invalidf("%s: quantity is %d, must be 1 to %d", t.Code, quantity, MaxQuantity)
	}
	part := func(setup, labour int) int {
		per := max(t.PerUnit, 1)
		return setup + (2*labour*quantity+per)/(2*per)
	}
	return Range{
		Low:     part(t.Setup.Low, t.Labour.Low),
		Typical: part(t.Setup.Typical, t.Labour.Typical),
		High:    part(t.Setup.High, t.Labour.High),
	}, nil
}

// HoldMinutes returns the hands-on minutes of a hold that lasts so many days
// with one check a day. Days below 0 count as 0.
func (t Template) HoldMinutes(days int) Range {
	checks := max(days, 0) * t.PerCheck
	return t.Setup.Plus(t.Labour).Plus(Range{checks, checks, checks})
}

// Item is a task planned for one instrument.
type Item struct {
	Template Template
	Quantity int  // in the template's unit
	HoldLow  *int // the shortest hold in days that the case's RH allows, see [HoldLowDays]; nil for the template's
}

// Minutes returns the hands-on minutes of the item, a hold's daily checks
// included: the shortest hold's in Low, the usual in Typical, the longest in High.
func (it Item) Minutes() (Range, error) {
	r, err := it.Template.Minutes(it.Quantity)
	if err != nil || it.Template.PerCheck == 0 {
		return r, err
	}
	low, typical, high := it.waitDays()
	checks := func(days decimal.Decimal) int { return int(days.Ceil().IntPart()) * it.Template.PerCheck }
	return r.Plus(Range{checks(low), checks(typical), checks(high)}), nil
}

// HandsOn returns the minutes of all items together.
func HandsOn(items []Item) (Range, error) {
	var sum Range
	for _, it := range items {
		r, err := it.Minutes()
		if err != nil {
			return Range{}, err
		}
		sum = sum.Plus(r)
	}
	return sum, nil
}

// CrackMinutes returns the built-in minutes to clean, glue and clamp a crack of
// so many mm; none for a length below 1 or above [MaxQuantity].
func CrackMinutes(length int) Range {
	ts, err := Builtin()
	if err != nil {
		panic("templates: " + err.Error()) // a test reads every built-in file
	}
	r, err := Get(ts, "CG").Minutes(length)
	if err != nil {
		return Range{}
	}
	return r
}

// MaterialsFor returns what a quantity of the task uses, amounts worked out.
func (t Template) MaterialsFor(quantity int) []Material {
	out := make([]Material, len(t.Materials))
	for i, m := range t.Materials {
		if m.Per == PerUnit {
			per := decimal.NewFromInt(int64(max(t.PerUnit, 1)))
			m.Quantity = m.Quantity.Mul(decimal.NewFromInt(int64(quantity))).DivRound(per, 3)
		}
		out[i] = m
	}
	return out
}
