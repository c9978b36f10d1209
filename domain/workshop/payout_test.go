package workshop_test

import (
	"errors"
	"strings"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// named is the customer's name.
func (h *house) named() string {
	h.t.Helper()
	c, err := h.store.CustomerByID(h.ctx, h.customer)
	h.must(err)
	return c.Name
}

// 43.20 of store credit in coins of 0.05; 43.17 would need smaller ones.
func TestStoreCreditIsPaidOutInMoney(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, err := h.work.TakePayment(h.ctx, h.counter, h.billed(billing.Options{}), billing.Payment{Tender: "card", Amount: 20000, KeepOver: true})
		h.must(err)
		out := func(a money.Amount, t billing.Tender) billing.PayOut {
			return billing.PayOut{Amount: a, Tender: t, To: " Mara Lind "}
		}
		_, err = h.work.PayCreditOut(h.ctx, h.counter, h.customer, out(1000, billing.Cash))
		h.refused(err, domain.Denied, "may not pay store credit out")
		_, err = h.work.PayCreditOut(h.ctx, h.owner, h.customer+1, out(1000, billing.Cash))
		h.refused(err, domain.NotFound, "")
		_, err = h.work.PayCreditOut(h.ctx, h.owner, h.customer, out(4317, billing.Cash))
		if text := domain.FieldsOf(err)["amount"]; !strings.Contains(text, "at most 43.20 CAD goes out in cash") {
			t.Errorf("coins that there are not: %v", err)
		}
		_, err = h.work.PayCreditOut(h.ctx, h.owner, h.customer, out(4321, "card"))
		h.refused(err, domain.Conflict, "has 43.20 CAD of store credit")

		key := workshop.WithKey(h.ctx, "out-1", "x")
		first, err := h.work.PayCreditOut(key, h.owner, h.customer, out(1305, billing.Cash))
		h.must(err)
		again, err := h.work.PayCreditOut(key, h.owner, h.customer, out(1305, billing.Cash))
		h.must(err)
		moves, err := h.store.StoreCreditOf(h.ctx, h.customer)
		h.must(err)
		if m := moves[0]; again != first || len(moves) != 2 || m.ID != first || m.Amount != -1305 || m.Balance != 3015 || m.Payment != 0 || m.To != "Mara Lind" || m.Tender != billing.Cash || m.By != h.owner.Name {
			t.Errorf("moves %+v, want one of -13.05 by move %d", moves, first)
		}
		if m := moves[1]; m.Payment == 0 || m.To != "" || m.Tender != "" {
			t.Errorf("what came in: %+v", m)
		}
		h.stands(billing.StoreCredit, 3015)
		h.stands(billing.CashBox, -1305)
		h.audited()

		_, err = h.work.Erase(h.ctx, h.owner, h.customer, h.named(), "asked")
		h.refused(err, domain.Conflict, "30.15 CAD of store credit")
		_, err = h.work.PayCreditOut(h.ctx, h.owner, h.customer, out(3015, "bank transfer"))
		h.must(err)
		_, err = h.work.PayCreditOut(h.ctx, h.owner, h.customer, out(5, billing.Cash))
		h.refused(err, domain.Conflict, "has 0.00 CAD")
		h.stands(billing.StoreCredit, 0)
		h.audited()
	})
}

// Two who pay 30.00 of the 43.20 out at once, and one who spends it: it goes once.
func TestStoreCreditIsPaidOutOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		_, err := h.work.TakePayment(h.ctx, h.counter, h.billed(billing.Options{}), billing.Payment{Tender: "card", Amount: 20000, KeepOver: true})
		h.must(err)
		next := h.billed(billing.Options{})
		out := func() error {
			_, err := h.work.PayCreditOut(h.ctx, h.owner, h.customer, billing.PayOut{Amount: 3000, Tender: billing.Cash, To: "Mara"})
			return err
		}
		spend := func() error {
			_, err := h.work.TakePayment(h.ctx, h.counter, next, billing.Payment{Tender: billing.FromCredit, Amount: 3000})
			return err
		}
		var wg sync.WaitGroup
		errs := make([]error, 3)
		for i, do := range []func() error{out, out, spend} {
			wg.Go(func() { errs[i] = do() })
		}
		wg.Wait()
		done := 0
		for _, err := range errs {
			switch {
			case err == nil:
				done++
			case domain.KindOf(err) != domain.Conflict:
				t.Errorf("got %v, want a conflict", err)
			}
		}
		if done != 1 {
			t.Errorf("%d of 3 went through: %v", done, errors.Join(errs...))
		}
		h.stands(billing.StoreCredit, 1320)
		h.audited()
	})
}
