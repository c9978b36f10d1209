package money

import (
	"math/big"
	"slices"
)

// mask is a set of taxes of one bill, a bit for each.
type mask uint16

// taxSet is the taxes of a bill, ready to be worked out.
type taxSet struct {
	bill  Bill
	rates []uint64            // in millionths of a per cent
	after []mask              // the earlier taxes each builds on
	parts map[mask][]*big.Rat // see fractions; by the taxes on a price
}

func newTaxSet(b Bill) taxSet {
	s := taxSet{bill: b, rates: make([]uint64, len(b.Taxes)), after: make([]mask, len(b.Taxes)), parts: map[mask][]*big.Rat{}}
	names := b.taxNames()
	for i, t := range b.Taxes {
		s.rates[i] = parts(t.Percent)
		for _, name := range t.After {
			s.after[i] |= 1 << slices.Index(names, name)
		}
	}
	return s
}

// on returns the taxes on a line: those it names, else those of its kind. A tax
// from which the customer is wholly exempt is on no line.
func (s taxSet) on(l Line) mask {
	var m mask
	for i, t := range s.bill.Taxes {
		lifted := t.Exempt != "" && len(t.On) == 0
		named := slices.Contains(l.Taxes, t.Name)
		byKind := len(l.Taxes) == 0 && slices.Contains(t.On, l.Kind)
		if !l.Untaxed && !lifted && (named || byKind) {
			m |= 1 << i
		}
	}
	return m
}

// named returns the names of the taxes in m.
func (s taxSet) named(m mask) []string {
	names := []string{}
	for i, t := range s.bill.Taxes {
		if m&(1<<i) != 0 {
			names = append(names, t.Name)
		}
	}
	return names
}

// of returns tax i on the cells that carry it, and its base.
func (s taxSet) of(i int, cells []cell) (base, tax Amount) {
	if s.bill.PricesIncludeTax {
		return s.inside(i, cells)
	}
	return s.onTop(i, 1<<i, cells)
}

// total adds up the cells that carry all taxes of need.
func total(need mask, cells []cell) Amount {
	var sum Amount
	for _, c := range cells {
		if c.on&need == need {
			sum += c.amount
		}
	}
	return sum
}

// onTop works out tax i on top of the cells that carry all taxes of need, i
// among them. An earlier tax it builds on counts with its rounded amount on the
// same cells.
func (s taxSet) onTop(i int, need mask, cells []cell) (base, tax Amount) {
	base = total(need, cells)
	for e := range i {
		if s.after[i]&(1<<e) != 0 {
			_, below := s.onTop(e, need|1<<e, cells)
			base += below
		}
	}
	return base, mulDiv(base, s.rates[i], whole, s.bill.Rounding.Mode)
}

// inside works out tax i inside the cells that carry it. The base is what the
// cells hold less the tax itself and less the other taxes on them, except those
// it builds on.
func (s taxSet) inside(i int, cells []cell) (base, tax Amount) {
	need := mask(1) << i
	tax = s.insideOf(i, need, cells)
	base = total(need, cells) - tax
	for e := range s.rates {
		if e != i && s.after[i]&(1<<e) == 0 {
			base -= s.insideOf(e, need|1<<e, cells)
		}
	}
	return base, tax
}

// insideOf returns tax i inside the cells that carry all taxes of need, i among
// them: the exact parts are added up and rounded once.
func (s taxSet) insideOf(i int, need mask, cells []cell) Amount {
	if alone(need, cells) {
		return mulDiv(total(need, cells), s.rates[i], whole+s.rates[i], s.bill.Rounding.Mode)
	}
	exact := new(big.Rat)
	for _, c := range cells {
		if c.on&need == need {
			part := new(big.Rat).SetInt64(int64(c.amount))
			exact.Add(exact, part.Mul(part, s.fractions(c.on)[i]))
		}
	}
	return Amount(quo(exact.Num(), exact.Denom(), s.bill.Rounding.Mode).Int64())
}

// alone reports whether need is one tax and no cell with it carries another.
func alone(need mask, cells []cell) bool {
	for _, c := range cells {
		if c.on&need == need && c.on != need {
			return false
		}
	}
	return need&(need-1) == 0
}

// fractions returns which part of a price each tax is, when the price contains
// the taxes of on: the tax on a net of one, over one and all taxes.
func (s taxSet) fractions(on mask) []*big.Rat {
	if known, ok := s.parts[on]; ok {
		return known
	}
	sum := big.NewRat(1, 1)
	parts := make([]*big.Rat, len(s.rates))
	for t, rate := range s.rates {
		parts[t] = new(big.Rat)
		if on&(1<<t) == 0 {
			continue
		}
		base := big.NewRat(1, 1)
		for e := range t {
			if s.after[t]&(1<<e) != 0 {
				base.Add(base, parts[e])
			}
		}
		parts[t].Mul(base, new(big.Rat).SetFrac64(int64(rate), whole))
		sum.Add(sum, parts[t])
	}
	for _, p := range parts {
		p.Quo(p, sum)
	}
	s.parts[on] = parts
	return parts
}
