package money

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// drawBill draws a bill from a seed, so that a failure is found again.
func drawBill(t *rapid.T) Bill {
	return randomBill(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 7)))
}

// The shown figures add up, whatever the bill.
func TestShownFiguresAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBill(t)
		got := mustSumRapid(t, b)
		var lines, shares, tax, groups, groupNets Amount
		for i, l := range got.Lines {
			if l.Gross-l.Discount+l.Charge != l.Net {
				t.Fatalf("line %d does not add up: %+v", i, l)
			}
			lines, shares = lines+l.Net, shares+l.Share
		}
		for _, x := range got.Taxes {
			tax += x.Amount
		}
		for _, g := range got.Groups {
			if g.Sum-g.Discount != g.Net {
				t.Fatalf("a group does not add up: %+v", g)
			}
			groups, groupNets = groups+g.Sum, groupNets+g.Net
		}
		before := got.Sum - got.Discount
		if b.PricesIncludeTax {
			before -= got.Tax
		}
		for what, ok := range map[string]bool{
			"lines = sum":                    lines == got.Sum && groups == got.Sum,
			"shares = discount":              shares == got.Discount && groupNets == got.Sum-got.Discount,
			"taxes = tax":                    tax == got.Tax,
			"sum - discount (- tax) = net":   before == got.Net,
			"net + tax = total":              got.Net+got.Tax == got.Total,
			"total - deposit = due":          got.Total-got.Deposit == got.Due,
			"total + difference = cash":      got.Total+got.CashDifference == got.CashTotal,
			"the cash balance can be paid":   b.CashStep <= 1 || (got.Due+got.CashDifference)%b.CashStep == 0,
			"cash differs by half a coin":    2*got.CashDifference.Abs() <= max(b.CashStep, 0),
			"the bill's figures are kept":    got.Discount == b.Discount && got.Deposit == b.Deposit,
			"as many lines and taxes as had": len(got.Lines) == len(b.Lines) && len(got.Taxes) == len(b.Taxes),
		} {
			if !ok {
				t.Fatalf("%s does not hold: %+v", what, got)
			}
		}
	})
}

func mustSumRapid(t *rapid.T, b Bill) Totals {
	got, err := Sum(b)
	if err != nil {
		t.Fatalf("Sum: %v", err)
	}
	return got
}

// A bill and the credit note for all of it come to nothing, amount by amount.
func TestRefundOfEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBill(t)
		sum, refund := mustSumRapid(t, b), mustSumRapid(t, b.Negated())
		a, z := summaryOf(sum), summaryOf(refund)
		for _, list := range [][]Amount{z.Lines, z.Shares, z.Bases, z.Taxes} {
			for i := range list {
				list[i] = -list[i]
			}
		}
		z.Sum, z.Net, z.Tax, z.Total, z.Due = -z.Sum, -z.Net, -z.Tax, -z.Total, -z.Due
		if diff := cmp.Diff(a, z); diff != "" {
			t.Fatalf("(-bill +refund turned round):\n%s", diff)
		}
		if sum.CashTotal != -refund.CashTotal {
			t.Fatalf("cash: got %d back for %d", refund.CashTotal, sum.CashTotal)
		}
	})
}

func TestNegatedKeepsGivenNets(t *testing.T) {
	b := Bill{Currency: Currency{"CAD", 2}, Lines: []Line{{Kind: Part, Net: net(55)}}}
	if got := mustSum(t, b.Negated()); got.Total != -55 || *b.Lines[0].Net != 55 {
		t.Errorf("got %d and the bill's line %d, want -55 and 55", got.Total, *b.Lines[0].Net)
	}
}

func TestAllocationLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := Amount(rapid.Int64Range(-int64(MaxAmount), int64(MaxAmount)).Draw(t, "total"))
		weights := rapid.SliceOfN(rapid.Int64Range(0, 1<<50), 1, 40).Draw(t, "weights")
		weights = append(weights, 1)
		shares, err := Allocate(total, weights)
		if err != nil {
			t.Fatal(err)
		}
		mirror, _ := Allocate(-total, weights)
		var sum Amount
		for i, s := range shares {
			sum += s
			if weights[i] == 0 && s != 0 {
				t.Fatalf("a weight of zero got %d", s)
			}
			if mirror[i] != -s {
				t.Fatalf("share %d: got %d for the negative, want %d", i, mirror[i], -s)
			}
		}
		if sum != total {
			t.Fatalf("got %d in all, want %d", sum, total)
		}
	})
}

func TestParsePrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(Currencies()).Draw(t, "currency")
		a := Amount(rapid.Int64Range(-int64(MaxAmount), int64(MaxAmount)).Draw(t, "amount"))
		if got, err := c.Parse(c.Text(a)); err != nil || got != a {
			t.Fatalf("%s: got %d, %v, want %d", c.Text(a), got, err, a)
		}
		if !c.Decimal(a).Equal(dec(c.Text(a))) {
			t.Fatalf("got %s and %s", c.Decimal(a), c.Text(a))
		}
	})
}
