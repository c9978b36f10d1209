package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// PayCreditOut gives a customer store credit back in money, out of what there is, and
// returns the identity of the move. Whether and when a shop must do so, and whether it
// may keep credit that nobody asks for, is the law of the place.
func (w *Workshop) PayCreditOut(ctx context.Context, by domain.Actor, id domain.CustomerID, p billing.PayOut) (int64, error) {
	return w.do(ctx, by, ActPayCredit, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		last, err := tx.StoreCredit(ctx, id)
		if err != nil {
			return 0, err
		}
		if err := p.Check(last.Balance, shop.Coin(), shop.Currency); err != nil {
			return 0, err
		}
		m := last.next(-p.Amount, at, by.Name)
		m.Tender, m.To = p.Tender, p.To
		if err := tx.AddCreditMove(ctx, &m); err != nil {
			return 0, err
		}
		what := fmt.Sprintf("store credit of customer %d", id) // the name would outlast an erasure
		err = w.post(ctx, tx, billing.Entry{
			Date: shop.Today(at), Event: billing.CreditPaidOut, Text: what, Customer: id,
			Postings: billing.PostCreditPaidOut(p.Tender, p.Amount), At: at, By: by.Name,
		})
		if err != nil {
			return 0, err
		}
		show := shop.Currency.Show
		return m.ID, note(ctx, tx, 0, by, at, fmt.Sprintf("paid %s of the %s out, %s", show(p.Amount), what, p.Tender), show(last.Balance), show(m.Balance))
	})
}

// next is the move of an amount that follows m.
func (m CreditMove) next(amount money.Amount, at time.Time, by string) CreditMove {
	return CreditMove{Customer: m.Customer, Place: m.Place + 1, Amount: amount, Balance: m.Balance + amount, At: at, By: by}
}
