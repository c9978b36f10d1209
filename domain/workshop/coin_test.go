package workshop_test

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/store"
	"winterbench/store/storetest"
)

// 56.77 is left, in coins of 0.05 that is 56.75. The owner changes the coins to 0.01 and
// back: each payment stays right by the coins of its day.
func TestTheAuditGoesByTheCoinsOfTheDay(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		step := func(a money.Amount) {
			t.Helper()
			shop, err := h.store.ShopSettings(h.ctx)
			h.must(err)
			shop.Profile.CashStep = a
			h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
		}
		pay := func(id domain.JobID, p billing.Payment, rounding, coin money.Amount) {
			t.Helper()
			pid, err := h.work.TakePayment(h.ctx, h.counter, id, p)
			h.must(err)
			got, err := h.store.PaymentByID(h.ctx, pid)
			h.must(err)
			if got.Rounding != rounding || got.Coin != coin {
				t.Errorf("took %+v, want %d rounded by coins of %d", got, rounding, coin)
			}
		}
		first, second := h.billed(billing.Options{}), h.billed(billing.Options{})
		pay(first, billing.Payment{Tender: "card", Amount: 10003}, 0, 5)
		pay(first, billing.Payment{Tender: billing.Cash, Amount: 5675}, 2, 5)
		h.audited()
		step(1)
		h.audited()
		pay(second, billing.Payment{Tender: billing.Cash, Amount: 15680 - 3}, 0, 1)
		pay(second, billing.Payment{Tender: billing.Cash, Amount: 3}, 0, 1)
		h.audited()
		step(5)
		h.audited()
	})
}
