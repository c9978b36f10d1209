package money

import (
	"fmt"
	"math/big"

	"winterbench/domain"
)

// Sum works out a bill.
//
// Each line's product, each discount and each tax is rounded once, with the
// bill's mode; after that amounts are only added. Taxes are rounded on the
// document, once per tax, or on each line. The document's discount is shared
// over the groups of lines with the same taxes, and within a group over its
// lines, by the largest remainder. A tax that builds on others is taken of the
// net and of their rounded amounts on the same lines.
//
// It returns an Invalid error that names every wrong field, such as
// lines[2].quantity.
//
// Source: EN 16931, rules BR-CO-10 to BR-CO-17, once per tax.
func Sum(b Bill) (Totals, error) {
	f := domain.Fields{}
	b.check(f)
	if err := f.Err(); err != nil {
		return Totals{}, err
	}
	s := newSums(b)
	s.lines(f)
	if err := f.Err(); err != nil {
		return Totals{}, err
	}
	if err := s.discount(); err != nil {
		return Totals{}, err
	}
	s.taxes()
	return s.close()
}

// sums is a bill on its way to its totals.
type sums struct {
	bill   Bill
	taxSet taxSet
	masks  []mask // the taxes on each line
	cells  []cell // the lines by their taxes, in order of first appearance
	out    Totals
}

// cell is an amount that carries the taxes of a mask.
type cell struct {
	on     mask
	amount Amount // after the document's discount
}

func newSums(b Bill) *sums {
	s := &sums{bill: b, taxSet: newTaxSet(b)}
	s.out.Lines = make([]LineTotal, len(b.Lines))
	s.out.Groups = []TaxGroup{}
	s.masks = make([]mask, len(b.Lines))
	return s
}

// lines works out every line, the groups and their sum.
func (s *sums) lines(f domain.Fields) {
	var size Amount // of all lines without their signs
	for i, l := range s.bill.Lines {
		t, field, err := s.line(l)
		if err != nil {
			f.AddErr(fmt.Sprintf("lines[%d].%s", i, field), err)
			continue
		}
		s.masks[i] = s.taxSet.on(l)
		t.Taxes = s.taxSet.named(s.masks[i])
		s.out.Lines[i] = t
		s.out.Sum += t.Net
		size += t.Net.Abs()
		g := s.group(s.masks[i])
		s.out.Groups[g].Sum += t.Net
	}
	f.AddErr("lines", size.Check())
}

// group returns the index of the group with those taxes, and opens it if needed.
func (s *sums) group(on mask) int {
	for i := range s.cells {
		if s.cells[i].on == on {
			return i
		}
	}
	s.cells = append(s.cells, cell{on: on})
	s.out.Groups = append(s.out.Groups, TaxGroup{Taxes: s.taxSet.named(on)})
	return len(s.cells) - 1
}

// line works out one line. On an error it returns the name of the wrong field.
func (s *sums) line(l Line) (LineTotal, string, error) {
	if l.Net != nil {
		return LineTotal{Gross: *l.Net, Net: *l.Net}, "", nil
	}
	gross, err := s.gross(l)
	if err != nil {
		return LineTotal{}, "unit_price", err
	}
	mode := s.bill.Rounding.Mode
	off := mulDiv(gross, parts(l.DiscountPercent), whole, mode) + l.Discount
	if !covers(gross, off) {
		return LineTotal{}, "discount", s.notCovered(gross, "the line")
	}
	net := gross - off + l.Charge
	if err := net.Check(); err != nil {
		return LineTotal{}, "charge", err
	}
	return LineTotal{Gross: gross, Discount: off, Charge: l.Charge, Net: net}, "", nil
}

// gross is quantity x unit price / price per, in minor units, rounded once.
func (s *sums) gross(l Line) (Amount, error) {
	qn, qm := ratio(l.Quantity)
	un, um := ratio(l.UnitPrice)
	n := qn.Mul(qn, un)
	n.Mul(n, big.NewInt(s.bill.Currency.unit()))
	m := qm.Mul(qm, um)
	if !l.PricePer.IsZero() {
		pn, pm := ratio(l.PricePer)
		n.Mul(n, pm)
		m.Mul(m, pn)
	}
	return amountOf(quo(n, m, s.bill.Rounding.Mode))
}

// covers reports whether off can be taken from a: same sign and not more.
func covers(a, off Amount) bool {
	if a < 0 {
		a, off = -a, -off
	}
	return off >= 0 && off <= a
}

func (s *sums) notCovered(a Amount, what string) error {
	zero, all := s.bill.Currency.Text(0), s.bill.Currency.Text(a)
	if a < 0 {
		return domain.Invalidf("must be from %s to %s, because %s is a credit", all, zero, what)
	}
	return domain.Invalidf("must be from %s to %s, not more than %s", zero, all, what)
}

// discount shares the document's discount over groups and lines.
func (s *sums) discount() error {
	off, sum := s.bill.Discount, s.out.Sum
	if !covers(sum, off) {
		f := domain.Fields{}
		f.AddErr("discount", s.notCovered(sum, "the sum of the lines"))
		return f.Err()
	}
	s.out.Discount = off
	sizes := make([]Amount, len(s.out.Groups))
	for i, g := range s.out.Groups {
		sizes[i] = g.Sum
	}
	for i, share := range s.share(off, sizes) {
		g := &s.out.Groups[i]
		g.Discount, g.Net = share, g.Sum-share
		s.cells[i].amount = g.Net
		s.shareLines(s.cells[i].on, share)
	}
	return nil
}

// shareLines shares a group's discount over its lines.
func (s *sums) shareLines(on mask, off Amount) {
	if off == 0 {
		return
	}
	sizes := make([]Amount, len(s.masks))
	for i, m := range s.masks {
		if m == on {
			sizes[i] = s.out.Lines[i].Net
		}
	}
	for i, share := range s.share(off, sizes) {
		s.out.Lines[i].Share += share
	}
}

// share splits off by the sizes that have its sign; the others get nothing. The
// callers have seen to it that those sizes together are at least off.
func (s *sums) share(off Amount, sizes []Amount) []Amount {
	if off == 0 {
		return make([]Amount, len(sizes))
	}
	weights := make([]int64, len(sizes))
	for i, a := range sizes {
		weights[i] = max(0, int64(a)*int64(off.Sign()))
	}
	shares, err := Allocate(off, weights)
	if err != nil {
		panic("money: a discount that was checked cannot be shared: " + err.Error())
	}
	return shares
}

// taxes works out every tax, on the document or line by line.
func (s *sums) taxes() {
	s.out.Taxes = make([]TaxTotal, len(s.bill.Taxes))
	for i, t := range s.bill.Taxes {
		s.out.Taxes[i] = TaxTotal{Name: t.Name, Number: t.Number, Percent: t.Percent, Exempt: t.Exempt}
	}
	if s.bill.Rounding.Level != ByLine {
		s.addTaxes(s.cells)
		return
	}
	for i, m := range s.masks {
		l := s.out.Lines[i]
		s.addTaxes([]cell{{m, l.Net - l.Share}})
	}
}

// addTaxes adds the taxes on the cells to the totals.
func (s *sums) addTaxes(cells []cell) {
	for i := range s.out.Taxes {
		base, tax := s.taxSet.of(i, cells)
		s.out.Taxes[i].Base += base
		s.out.Taxes[i].Amount += tax
		s.out.Tax += tax
	}
}

// close works out what is left: net, total, balance and cash.
func (s *sums) close() (Totals, error) {
	t := &s.out
	t.Net = t.Sum - t.Discount
	t.Total = t.Net + t.Tax
	if s.bill.PricesIncludeTax {
		t.Total = t.Net
		t.Net = t.Total - t.Tax
	}
	t.Deposit = s.bill.Deposit
	t.Due = t.Total - t.Deposit
	f := domain.Fields{}
	if f.AddErr("lines", t.Total.Check()); len(f) == 0 {
		f.AddErr("deposit", t.Due.Check())
	}
	if err := f.Err(); err != nil {
		return Totals{}, err
	}
	t.CashDifference = RoundStep(t.Due, s.bill.CashStep, s.bill.CashMode) - t.Due
	t.CashTotal = t.Total + t.CashDifference
	return *t, nil
}
