package money

import (
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
)

// oracle works a bill out a second time, in exact fractions and line by line,
// from the definitions alone. It shares no code with Sum: no masks, no cells, no
// integer division.
type oracle struct {
	b                Bill
	gross, net, part []*big.Rat // of each line, in minor units; part is its share of the discount
}

func rat(n int64) *big.Rat { return new(big.Rat).SetInt64(n) }

// round rounds a fraction to a whole number by looking at what is cut off.
func (o *oracle) round(x *big.Rat) *big.Rat {
	size := new(big.Rat).Abs(x)
	floor := new(big.Int).Quo(size.Num(), size.Denom())
	cut := new(big.Rat).Sub(size, new(big.Rat).SetInt(floor))
	half := cut.Cmp(big.NewRat(1, 2))
	raise := false
	switch o.b.Rounding.Mode {
	case HalfUp, "":
		raise = half >= 0
	case HalfDown:
		raise = half > 0
	case HalfEven:
		raise = half > 0 || half == 0 && new(big.Int).Rem(floor, big.NewInt(2)).Sign() != 0
	}
	out := new(big.Rat).SetInt(floor)
	if raise {
		out.Add(out, rat(1))
	}
	if x.Sign() < 0 {
		out.Neg(out)
	}
	return out
}

// carries reports whether tax t is on line i.
func (o *oracle) carries(t, i int) bool {
	tax, l := o.b.Taxes[t], o.b.Lines[i]
	if l.Untaxed || tax.Exempt != "" && len(tax.On) == 0 {
		return false
	}
	if len(l.Taxes) > 0 {
		return slices.Contains(l.Taxes, tax.Name)
	}
	return slices.Contains(tax.On, l.Kind)
}

func (o *oracle) lines() {
	unit := rat(o.b.Currency.unit())
	for _, l := range o.b.Lines {
		gross := new(big.Rat).Mul(l.Quantity.Rat(), l.UnitPrice.Rat())
		if !l.PricePer.IsZero() {
			gross.Quo(gross, l.PricePer.Rat())
		}
		gross = o.round(gross.Mul(gross, unit))
		off := new(big.Rat).Mul(gross, l.DiscountPercent.Rat())
		off = o.round(off.Quo(off, rat(100)))
		net := new(big.Rat).Sub(gross, off)
		net.Sub(net, rat(int64(l.Discount))).Add(net, rat(int64(l.Charge)))
		o.gross, o.net, o.part = append(o.gross, gross), append(o.net, net), append(o.part, rat(0))
	}
}

// key names the taxes on a line.
func (o *oracle) key(i int) string {
	var names []string
	for t := range o.b.Taxes {
		if o.carries(t, i) {
			names = append(names, o.b.Taxes[t].Name)
		}
	}
	return strings.Join(names, "+")
}

// share gives whole parts first and then one unit at a time to whoever is
// furthest below the exact share.
func share(off *big.Rat, sizes []*big.Rat) []*big.Rat {
	sum := rat(0)
	for _, s := range sizes {
		if s.Sign() == off.Sign() {
			sum.Add(sum, s)
		}
	}
	shares, short, left := make([]*big.Rat, len(sizes)), make([]*big.Rat, len(sizes)), new(big.Rat).Abs(off)
	for i, s := range sizes {
		shares[i], short[i] = rat(0), rat(0)
		if off.Sign() == 0 || s.Sign() != off.Sign() {
			continue
		}
		exact := new(big.Rat).Mul(new(big.Rat).Abs(off), new(big.Rat).Quo(s, sum))
		shares[i].SetInt(new(big.Int).Quo(exact.Num(), exact.Denom()))
		short[i].Sub(exact, shares[i])
		left.Sub(left, shares[i])
	}
	for ; left.Sign() > 0; left.Sub(left, rat(1)) {
		best := 0
		for i := range short {
			if short[i].Cmp(short[best]) > 0 {
				best = i
			}
		}
		shares[best].Add(shares[best], rat(1))
		short[best] = rat(-1)
	}
	for _, s := range shares {
		s.Mul(s, rat(int64(off.Sign())))
	}
	return shares
}

// discount shares the document's discount over the groups, then over the lines.
func (o *oracle) discount() {
	var keys []string
	sums := map[string]*big.Rat{}
	for i := range o.b.Lines {
		k := o.key(i)
		if sums[k] == nil {
			keys, sums[k] = append(keys, k), rat(0)
		}
		sums[k].Add(sums[k], o.net[i])
	}
	var sizes []*big.Rat
	for _, k := range keys {
		sizes = append(sizes, sums[k])
	}
	for g, of := range share(rat(int64(o.b.Discount)), sizes) {
		inGroup := make([]*big.Rat, len(o.b.Lines))
		for i := range inGroup {
			inGroup[i] = rat(0)
			if o.key(i) == keys[g] {
				inGroup[i] = o.net[i]
			}
		}
		for i, s := range share(of, inGroup) {
			o.part[i].Add(o.part[i], s)
		}
	}
}

// among returns those of the lines that carry tax t.
func (o *oracle) among(t int, lines []int) (with []int) {
	for _, i := range lines {
		if o.carries(t, i) {
			with = append(with, i)
		}
	}
	return with
}

func (o *oracle) worth(lines []int) *big.Rat {
	sum := rat(0)
	for _, i := range lines {
		sum.Add(sum, o.net[i]).Sub(sum, o.part[i])
	}
	return sum
}

// buildsOn reports whether tax t has tax e in its base.
func (o *oracle) buildsOn(t, e int) bool {
	return slices.Contains(o.b.Taxes[t].After, o.b.Taxes[e].Name)
}

// onTop returns base and tax of t on those of the lines that carry it.
func (o *oracle) onTop(t int, lines []int) (base, tax *big.Rat) {
	with := o.among(t, lines)
	base = o.worth(with)
	for e := range o.b.Taxes {
		if o.buildsOn(t, e) {
			_, below := o.onTop(e, with)
			base.Add(base, below)
		}
	}
	tax = new(big.Rat).Mul(base, o.b.Taxes[t].Percent.Rat())
	return base, o.round(tax.Quo(tax, rat(100)))
}

// weight is the tax t on a net of one, on line i.
func (o *oracle) weight(t, i int) *big.Rat {
	if !o.carries(t, i) {
		return rat(0)
	}
	base := rat(1)
	for e := range o.b.Taxes {
		if o.buildsOn(t, e) {
			base.Add(base, o.weight(e, i))
		}
	}
	return base.Mul(base, new(big.Rat).Quo(o.b.Taxes[t].Percent.Rat(), rat(100)))
}

// contained returns tax t inside those of the lines that carry it.
func (o *oracle) contained(t int, lines []int) *big.Rat {
	sum := rat(0)
	for _, i := range o.among(t, lines) {
		all := rat(1)
		for e := range o.b.Taxes {
			all.Add(all, o.weight(e, i))
		}
		x := new(big.Rat).Mul(o.worth([]int{i}), o.weight(t, i))
		sum.Add(sum, x.Quo(x, all))
	}
	return o.round(sum)
}

func (o *oracle) inside(t int, lines []int) (base, tax *big.Rat) {
	with := o.among(t, lines)
	tax = o.contained(t, with)
	base = new(big.Rat).Sub(o.worth(with), tax)
	for e := range o.b.Taxes {
		if e != t && !o.buildsOn(t, e) {
			base.Sub(base, o.contained(e, with))
		}
	}
	return base, tax
}

func whole64(x *big.Rat) Amount {
	if !x.IsInt() {
		panic("not whole: " + x.String())
	}
	return Amount(x.Num().Int64())
}

// summary is what the oracle and Sum are compared by.
type summary struct {
	Lines, Shares, Bases, Taxes []Amount
	Sum, Net, Tax, Total, Due   Amount
}

func (o *oracle) summary() (s summary) {
	o.lines()
	o.discount()
	sets := [][]int{{}}
	for i := range o.b.Lines {
		s.Lines, s.Shares = append(s.Lines, whole64(o.net[i])), append(s.Shares, whole64(o.part[i]))
		s.Sum += whole64(o.net[i])
		sets[0] = append(sets[0], i)
	}
	if o.b.Rounding.Level == ByLine {
		sets = nil
		for i := range o.b.Lines {
			sets = append(sets, []int{i})
		}
	}
	for t := range o.b.Taxes {
		var base, tax Amount
		for _, set := range sets {
			of := o.onTop
			if o.b.PricesIncludeTax {
				of = o.inside
			}
			b, x := of(t, set)
			base, tax = base+whole64(b), tax+whole64(x)
		}
		s.Bases, s.Taxes, s.Tax = append(s.Bases, base), append(s.Taxes, tax), s.Tax+tax
	}
	s.Net = s.Sum - o.b.Discount
	s.Total = s.Net + s.Tax
	if o.b.PricesIncludeTax {
		s.Net, s.Total = s.Net-s.Tax, s.Net
	}
	s.Due = s.Total - o.b.Deposit
	return s
}

func summaryOf(t Totals) (s summary) {
	for _, l := range t.Lines {
		s.Lines, s.Shares = append(s.Lines, l.Net), append(s.Shares, l.Share)
	}
	for _, x := range t.Taxes {
		s.Bases, s.Taxes = append(s.Bases, x.Base), append(s.Taxes, x.Amount)
	}
	s.Sum, s.Net, s.Tax, s.Total, s.Due = t.Sum, t.Net, t.Tax, t.Total, t.Due
	return s
}

// randomBill draws a bill with everything that can happen to one.
func randomBill(r *rand.Rand) Bill {
	pick := func(list ...string) string { return list[r.IntN(len(list))] }
	code := pick("CAD", "CAD", "CAD", "JPY", "KWD")
	c, _ := CurrencyOf(code)
	b := Bill{Currency: c, PricesIncludeTax: r.IntN(2) == 0, Deposit: Amount(r.IntN(3) * r.IntN(5000)), CashStep: Amount(5 * r.IntN(3)),
		Rounding: Rounding{Modes()[r.IntN(4)], []Level{ByDocument, ByLine, ""}[r.IntN(3)]}}
	for i := range r.IntN(5) {
		t := Tax{Name: string(rune('A' + i)), Percent: dec(pick("5", "7", "13", "9.975", "20", "4", "0", "6.25", "8.875", "33.333333"))}
		for _, k := range LineKinds() {
			if r.IntN(3) > 0 {
				t.On = append(t.On, k)
			}
		}
		for e := range i {
			if r.IntN(3) == 0 {
				t.After = append(t.After, b.Taxes[e].Name)
			}
		}
		if r.IntN(8) == 0 {
			t.On, t.Exempt = nil, ReasonExempt
		}
		b.Taxes = append(b.Taxes, t)
	}
	for range 1 + r.IntN(8) {
		b.Lines = append(b.Lines, randomLine(r, b))
	}
	sign := int64(1)
	if r.IntN(4) == 0 {
		b = b.Negated()
		sign = -1
	}
	if s, err := Sum(b); err == nil && int64(s.Sum)*sign > 0 && r.IntN(2) == 0 {
		b.Discount = Amount(sign * r.Int64N(int64(s.Sum)*sign+1))
	}
	return b
}

func randomLine(r *rand.Rand, b Bill) Line {
	l := Line{Kind: LineKinds()[r.IntN(8)],
		Quantity:  decimal.New(1+r.Int64N(4000), -int32(r.IntN(4))),
		UnitPrice: decimal.New(r.Int64N(20000), -int32(r.IntN(5)))}
	switch r.IntN(8) {
	case 0:
		l.Quantity = l.Quantity.Neg()
	case 1:
		l.Charge = Amount(r.IntN(300))
	case 2:
		l.PricePer = decimal.New(12, 0)
	case 3:
		l.Untaxed = true
	case 4:
		if len(b.Taxes) > 0 {
			l.Taxes = []string{b.Taxes[r.IntN(len(b.Taxes))].Name}
		}
	}
	if r.IntN(3) == 0 {
		l.DiscountPercent = decimal.New(r.Int64N(1001), -1)
	}
	return l
}

// Source: the definitions in the comments of Sum, worked out in exact fractions.
func TestAgainstExactFractions(t *testing.T) {
	r := rand.New(rand.NewPCG(2026, 11))
	compounded, shared, differ := 0, 0, 0
	for i := range 6000 {
		b := randomBill(r)
		got, err := Sum(b)
		if err != nil {
			t.Fatalf("bill %d: %v", i, err)
		}
		want := (&oracle{b: b}).summary()
		if diff := cmp.Diff(want, summaryOf(got)); diff != "" {
			t.Fatalf("bill %d: %+v\n(-exact +Sum):\n%s", i, b, diff)
		}
		if b.Discount != 0 {
			shared++
		}
		for _, x := range b.Taxes {
			if len(x.After) > 0 {
				compounded++
				break
			}
		}
		b.Rounding.Level = map[Level]Level{ByLine: ByDocument, ByDocument: ByLine, "": ByLine}[b.Rounding.Level]
		if other, _ := Sum(b); other.Tax != got.Tax {
			differ++
		}
	}
	t.Logf("6000 bills: %d with a compounded tax, %d with a discount, %d whose tax depends on the level", compounded, shared, differ)
	if compounded < 1000 || shared < 1000 || differ < 500 {
		t.Errorf("the bills are too tame")
	}
}
