package quote

import (
	"slices"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/templates"
)

// Bill returns the lines of q as a bill. Free lines stand in it at 0.
func (q *Quote) Bill() money.Bill {
	b := money.Bill{Currency: q.Currency, Rounding: q.Rounding, PricesIncludeTax: q.TaxInside, Taxes: q.Taxes, Discount: q.Discount}
	for _, l := range q.Lines {
		b.Lines = append(b.Lines, money.Line{Kind: l.Kind, Quantity: l.Count, UnitPrice: l.Price, DiscountPercent: l.Off})
	}
	return b
}

// price computes the totals, the low and high totals and the ceiling.
func (q *Quote) price(terms Terms) error {
	bill := q.Bill()
	totals, err := money.Sum(bill)
	if err != nil {
		return err
	}
	q.Totals = totals
	for i := range q.Lines {
		q.Lines[i].Net = totals.Lines[i].Net
	}
	if q.Low, err = q.totalAt(bill, terms, func(r templates.Range) int { return r.Low }); err != nil {
		return err
	}
	if q.High, err = q.totalAt(bill, terms, func(r templates.Range) int { return r.High }); err != nil {
		return err
	}
	q.Ceiling = totals.Total
	if q.Basis == Estimate {
		q.Ceiling = money.Ceiling(totals.Total, terms.Guard)
	}
	return nil
}

// totalAt is the total if each line billed by time took the minutes that pick
// chooses. Lines with a typed or flat price keep it; a discount that would be
// larger than the cheaper lines is cut down to them.
func (q *Quote) totalAt(bill money.Bill, terms Terms, pick func(templates.Range) int) (money.Amount, error) {
	bill.Lines = slices.Clone(bill.Lines)
	if q.Basis == Estimate {
		for i, l := range q.Lines {
			if l.ByTime && !l.Typed && !l.Free {
				bill.Lines[i].UnitPrice = TimePrice(terms.HourlyRate, pick(l.Minutes), terms.Currency, terms.Profile.Rounding.Mode)
			}
		}
	}
	discount := bill.Discount
	bill.Discount = 0
	plain, err := money.Sum(bill)
	if err != nil {
		return 0, err
	}
	bill.Discount = min(discount, max(plain.Sum, 0))
	t, err := money.Sum(bill)
	return t.Total, err
}

// plan sums hands-on minutes and elapsed days. Days come from the waits of the
// templates alone; the queue in front of the bench is not in them.
func (q *Quote) plan(shelf Shelf, caseRH decimal.Decimal) {
	var items []templates.Item
	for _, l := range q.Lines {
		if l.Template == "" {
			continue
		}
		t, _ := shelf.Find(l.Template, l.Edition)
		items = append(items, itemOf(t, l.Quantity, caseRH))
		q.Hands = q.Hands.Plus(l.Minutes)
		if l.Hold {
			q.Hold = l.Days
		}
	}
	q.Days = templates.Window(items)
}

// deposit is what was typed, or what the rule asks.
func deposit(f domain.Fields, typed string, terms Terms, total money.Amount) money.Amount {
	if typed != "" {
		d := amount(f, "deposit", typed, terms.Currency)
		if d > total {
			f.Add("deposit", "must not be more than the total, %s", terms.Currency.Text(total))
		}
		return d
	}
	return terms.DepositRule.Ask(total, terms.HourlyRate, terms.Profile.Rounding.Mode)
}

// Ask returns the deposit to ask for on a total.
func (r DepositRule) Ask(total, hourly money.Amount, mode money.Mode) money.Amount {
	share := decimal.Zero
	if above(total, hourly, r.Above) {
		share = r.Percent
	}
	if above(total, hourly, r.HighAbove) {
		share = r.HighPercent
	}
	d, err := money.MulRound(total, share.Shift(-2), mode)
	if err != nil || d < 0 {
		return 0
	}
	return d
}

// above reports whether total is more than times x hourly; times 0 is never.
func above(total, hourly money.Amount, times decimal.Decimal) bool {
	return times.Sign() > 0 && decimal.NewFromInt(int64(total)).GreaterThan(times.Mul(decimal.NewFromInt(int64(hourly))))
}

// TimePrice is minutes at an hourly rate, rounded once to the currency.
func TimePrice(hourly money.Amount, minutes int, c money.Currency, mode money.Mode) decimal.Decimal {
	exact := c.Decimal(hourly).Mul(decimal.NewFromInt(int64(minutes))).DivRound(decimal.NewFromInt(60), 12)
	return money.Round(exact, int32(c.Digits), mode)
}
