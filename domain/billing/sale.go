package billing

import (
	"fmt"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
)

// Sale is what is sold over the counter without a job.
type Sale struct {
	Customer domain.CustomerID // 0 when who buys gives no name
	Lines    []SaleLine
	Discount money.Amount // off the whole
	Reason   string       // of a discount, or of a price below the list
	Note     string
	PayBy    Tender // as the buyer chose after being told of its surcharge, if there is one; "" adds none
}

// SaleLine is one thing that is sold: a part of the list, or what has only a name.
type SaleLine struct {
	Part  domain.PartID // 0 for what is not on the list
	Name  string        // of what is not on the list; a part has its own
	Count decimal.Decimal
	Price *money.Amount   // for one; nil takes that of the list
	Off   decimal.Decimal // percent
}

// MostSaleLines is how many lines a sale has at most.
const MostSaleLines = 100

// DrawSale draws up the bill of a sale: retail goods at the list price or at one that
// was typed, with the taxes of the day. A price below the list, like every discount,
// needs a reason. parts are those that the lines name. It gives no number and no date,
// and returns an Invalid error that names each wrong field, such as lines[2].count.
//
// A part that is sold over the counter is taxed as retail goods, whatever it is taxed
// as when it is fitted.
func DrawSale(s Sale, parts map[domain.PartID]*stock.Part, terms quote.Terms) (Invoice, error) {
	f := domain.Fields{}
	inv := Invoice{
		Customer: s.Customer, Discount: s.Discount, Limit: money.MaxAmount,
		Currency: terms.Currency, Rounding: terms.Profile.Rounding, TaxInside: terms.Profile.PricesIncludeTax,
	}
	less := s.Discount > 0
	for i, l := range s.Lines {
		at := fmt.Sprintf("lines[%d].", i)
		line, below := l.draw(f, at, parts[l.Part], terms.Currency)
		inv.Lines, less = append(inv.Lines, line), less || below
	}
	if len(s.Lines) == 0 || len(s.Lines) > MostSaleLines {
		f.Add("lines", "must be 1 to %d: say what is sold", MostSaleLines)
	}
	if s.Discount < 0 {
		f.Add("discount", "must not be negative")
	}
	inv.Reason = domain.Line(f, "reason", s.Reason, 120, less)
	inv.Note = domain.Paragraph(f, "note", s.Note, 1000, false)
	if err := f.Err(); err != nil {
		return inv, err
	}
	var err error
	if inv.Taxes, err = terms.Profile.TaxesOn(terms.Today, terms.Exempt); err != nil {
		return inv, err
	}
	return inv, inv.total(false)
}

// draw makes the line of a bill and reports whether it asks for less than the list.
func (l SaleLine) draw(f domain.Fields, at string, p *stock.Part, c money.Currency) (Line, bool) {
	out := Line{Kind: money.RetailGoods, Count: l.Count, Off: l.Off, Unit: "each", Part: l.Part}
	if err := stock.CheckQuantity(l.Count); err != nil {
		f.AddErr(at+"count", err)
	}
	if l.Off.Sign() < 0 || l.Off.GreaterThan(decimal.NewFromInt(100)) || !l.Off.Equal(l.Off.Round(3)) {
		f.Add(at+"off", "must be from 0 to 100 percent, with at most three decimals")
	}
	below := l.Off.Sign() > 0
	switch {
	case l.Part != 0 && p == nil:
		f.Add(at+"part", "there is no part %d", l.Part)
	case l.Part != 0 && p.Retired:
		f.Add(at+"part", "%s is not on the list any more", p.Name)
	case l.Part != 0:
		out.Name, out.Unit, out.Price = p.Name, p.Unit, c.Decimal(p.Price)
		if p.Protected && p.Papers != "" {
			out.Detail = fmt.Sprintf("%s %s, %s: %s", l.Count, p.Unit, p.Species, p.Papers)
		}
		below = below || l.Price != nil && *l.Price < p.Price
		if p.Price == 0 && l.Price == nil {
			f.Add(at+"price", "%s has no price on the list; say what one costs", p.Name)
		}
	default:
		out.Name = domain.Line(f, at+"name", l.Name, 120, true)
		if l.Price == nil {
			f.Add(at+"price", "is needed for what is not on the parts list")
		}
	}
	if l.Price == nil {
		return out, below
	}
	if *l.Price < 0 || l.Price.Check() != nil {
		f.Add(at+"price", "must not be negative, nor too large")
	}
	out.Price = c.Decimal(*l.Price)
	return out, below
}

// Settle completes payments that are laid down for a bill one after the other: an
// amount of 0 is all that is left then. It returns them with what is owed after them,
// and an error whose fields begin with payments[n] when one is wrong.
func (inv *Invoice) Settle(laid []Payment, coin Coin) ([]Payment, Balance, error) {
	var done []Payment
	b := BalanceOf(inv, nil, coin)
	for i, p := range laid {
		if p.Amount == 0 {
			p.Amount = b.Due
			if p.Tender == Cash {
				p.Amount = b.CashDue
			}
		}
		p, err := Take(p, b, true, 0, coin)
		if err != nil {
			return nil, b, atPayment(i, err, inv.Currency)
		}
		done = append(done, p)
		b = BalanceOf(inv, done, coin)
	}
	return done, b, nil
}

// atPayment names the fields of a payment by its place.
func atPayment(i int, err error, c money.Currency) error {
	f := domain.Fields{}
	at := fmt.Sprintf("payments[%d]", i)
	if over, ok := err.(*OverpaidError); ok {
		over.Currency = c
		f.Add(at+".amount", "%s", over.Error())
		return f.Err()
	}
	f.AddErr(at, err)
	return f.Err()
}
