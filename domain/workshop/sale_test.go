package workshop_test

import (
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// sells is a sale of whole pieces of one part, paid with one tender.
func sells(part domain.PartID, pieces string, with billing.Tender) workshop.CounterSale {
	return workshop.CounterSale{
		Sale:     billing.Sale{Lines: []billing.SaleLine{{Part: part, Count: dec(pieces)}}},
		Payments: []billing.Payment{{Tender: with}},
	}
}

// audited proves that the books hold together.
func (h *house) audited() {
	h.t.Helper()
	r, err := h.store.AuditBooks(h.ctx)
	h.must(err)
	for _, b := range r.Breaks {
		h.t.Errorf("%s: %s", b.Rule, b.Text)
	}
}

// Three saddles at 14.03 are 42.09; retail goods carry the 5 % alone, so with 2.10 they
// are 44.19, in cash 44.20. They cost 5.20 each. Reckoned by hand.
func TestSaleOverTheCounter(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		part := h.listed("saddle-bone", "Saddle, bone")
		h.received(part, 10, 5200)
		sale, price := sells(part, "3", billing.Cash), money.Amount(1403)
		sale.Payments[0].Given, sale.Lines[0].Price = 5000, &price
		_, err := h.work.Sell(h.ctx, h.bench, sale)
		h.refused(err, domain.Denied, "may not")
		draft, b, err := h.work.DraftSale(h.ctx, h.counter, sale)
		h.must(err)
		if draft.Totals.Total != 4419 || b.Due != 0 || draft.Number != 0 {
			t.Fatalf("draft of %d, %d due; want 44.19 and nothing", draft.Totals.Total, b.Due)
		}
		key := workshop.WithKey(h.ctx, "sale-1", "x")
		id, err := h.work.Sell(key, h.counter, sale)
		h.must(err)
		again, err := h.work.Sell(key, h.counter, sale)
		h.must(err)
		if again != id {
			t.Errorf("the same key sold twice: %d and %d", id, again)
		}
		f, err := workshop.ReadSale(h.ctx, h.store, id)
		h.must(err)
		if len(f.Payments) != 1 || f.Payments[0].Amount != 4420 || f.Payments[0].Rounding != -1 || f.Payments[0].Change != 580 || f.Balance.Due != 0 {
			t.Fatalf("payments %+v, balance %+v; want 44.20 in cash with 5.80 change", f.Payments, f.Balance)
		}
		if f.Invoice.Number != 1 || f.Invoice.Customer != 0 || f.Invoice.Lines[0].Move == 0 || f.Buyer() != "Over the counter" {
			t.Errorf("invoice %+v: want the first, of nobody, with its move", f.Invoice)
		}
		h.level(part, stock.Level{Quantity: 7000, Value: 3640})
		h.stands(billing.CashBox, 4420)
		h.stands(billing.GoodsRevenue, 4209)
		h.stands(billing.OutputTax, 210)
		h.stands(billing.CostOfParts, 1560)
		h.stands(billing.Receivables, 0)
		rows, n, err := h.store.Sales(h.ctx, 0, workshop.Page{Limit: 10})
		h.must(err)
		if n != 1 || rows[0].ID != id || rows[0].Due() != 0 {
			t.Errorf("the list has %d, %+v; want the sale, paid", n, rows)
		}
		h.audited()
	})
}

func TestSaleIsRefusedWithItsReason(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		part := h.listed("saddle-bone", "Saddle, bone")
		h.received(part, 3, 1560)
		price := money.Amount(1000)
		for _, one := range []struct {
			name, field string
			kind        domain.Kind
			change      func(*workshop.CounterSale)
		}{
			{"nothing", "lines", domain.Invalid, func(s *workshop.CounterSale) { s.Lines = nil }},
			{"a part that is not there", "lines[0].part", domain.Invalid, func(s *workshop.CounterSale) { s.Lines[0].Part = 999 }},
			{"a quantity of 0", "lines[0].count", domain.Invalid, func(s *workshop.CounterSale) { s.Lines[0].Count = dec("0") }},
			{"less than nothing", "lines[0].count", domain.Invalid, func(s *workshop.CounterSale) { s.Lines[0].Count = dec("-1") }},
			{"more than there is", "lines[0].count", domain.Conflict, func(s *workshop.CounterSale) { s.Lines[0].Count = dec("4") }},
			{"more than there is in two lines", "lines[1].count", domain.Conflict, func(s *workshop.CounterSale) {
				s.Lines = append(s.Lines, billing.SaleLine{Part: part, Count: dec("3")})
			}},
			{"a low price without a reason", "reason", domain.Invalid, func(s *workshop.CounterSale) { s.Lines[0].Price = &price }},
			{"a name without a price", "lines[0].price", domain.Invalid, func(s *workshop.CounterSale) { s.Lines[0].Part, s.Lines[0].Name = 0, "Capo" }},
			{"neither part nor name", "lines[0].name", domain.Invalid, func(s *workshop.CounterSale) { s.Lines[0].Part, s.Lines[0].Price = 0, &price }},
			{"a customer who is not there", "customer", domain.Invalid, func(s *workshop.CounterSale) { s.Customer = 999 }},
			{"no money", "payments", domain.Invalid, func(s *workshop.CounterSale) { s.Payments = nil }},
			{"too little money", "payments", domain.Invalid, func(s *workshop.CounterSale) { s.Payments[0].Amount = 100 }},
			{"too much money", "payments[0].amount", domain.Invalid, func(s *workshop.CounterSale) { s.Payments[0].Amount = 100000 }},
			{"a strange tender", "payments[0].tender", domain.Invalid, func(s *workshop.CounterSale) { s.Payments[0].Tender = "shells" }},
			{"store credit of nobody", "payments[0].tender", domain.Invalid, func(s *workshop.CounterSale) { s.Payments[0].Tender = billing.FromCredit }},
			{"a discount without a reason", "reason", domain.Invalid, func(s *workshop.CounterSale) { s.Discount = 100 }},
		} {
			sale := sells(part, "1", "card")
			one.change(&sale)
			_, err := h.work.Sell(h.ctx, h.counter, sale)
			if domain.KindOf(err) != one.kind || domain.FieldsOf(err)[one.field] == "" {
				t.Errorf("%s: got %v of kind %d with %v, want %d at %s", one.name, err, domain.KindOf(err), domain.FieldsOf(err), one.kind, one.field)
			}
		}
		h.level(part, stock.Level{Quantity: 3000, Value: 1560})
		h.stands(billing.GoodsRevenue, 0)
		id, err := h.work.Sell(h.ctx, h.counter, sells(part, "1", "card"))
		h.must(err)
		f, err := workshop.ReadSale(h.ctx, h.store, id)
		h.must(err)
		if f.Invoice.Number != 1 {
			t.Errorf("the first sale that went through is invoice %d: the series has a gap", f.Invoice.Number)
		}
	})
}

// Two sold at 14.00 less 10 % are 25.20, with 5 % 26.46; they come back one by one.
func TestWhatWasSoldComesBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		part := h.listed("saddle-bone", "Saddle, bone")
		h.received(part, 4, 2080)
		sale := sells(part, "2", "card")
		sale.Lines[0].Off, sale.Reason = dec("10"), "a regular"
		id, err := h.work.Sell(h.ctx, h.counter, sale)
		h.must(err)
		h.clock.pass(h.day)
		back := workshop.TakenBack{Lines: []workshop.BackLine{{Place: 1, Count: dec("1"), OnShelf: true}}, Reason: "does not fit", Tender: "card"}
		_, err = h.work.TakeBack(h.ctx, h.counter, id, back)
		h.refused(err, domain.Denied, "may not")
		_, err = h.work.TakeBack(h.ctx, h.owner, id, back)
		h.must(err)
		f, err := workshop.ReadSale(h.ctx, h.store, id)
		h.must(err)
		if f.Invoice.Totals.Total != 2646 || f.Balance.Credited != 1323 || f.Balance.Due != 0 || len(f.Payments) != 2 || f.Payments[1].Amount != -1323 {
			t.Fatalf("balance %+v with payments %+v, want half of 26.46 given back", f.Balance, f.Payments)
		}
		h.level(part, stock.Level{Quantity: 3000, Value: 1560})
		h.stands(billing.CostOfParts, 520)
		h.stands(billing.GoodsRevenue, 1260)
		h.stands(billing.OutputTax, 63)
		back.Lines[0].Count = dec("2")
		_, err = h.work.TakeBack(h.ctx, h.owner, id, back)
		h.refused(err, domain.Invalid, "")
		// The other is broken: credited, but not for the shelf.
		_, err = h.work.TakeBack(h.ctx, h.owner, id, workshop.TakenBack{Reason: "broke in the box", Tender: billing.Cash})
		h.must(err)
		h.level(part, stock.Level{Quantity: 3000, Value: 1560})
		h.stands(billing.GoodsRevenue, 0)
		h.stands(billing.OutputTax, 0)
		h.stands(billing.Receivables, 0)
		h.audited()
		h.replayed(part)
	})
}

func TestSaleOnAccount(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		part := h.listed("saddle-bone", "Saddle, bone")
		h.received(part, 10, 5200)
		who, err := h.work.NoteCustomer(h.ctx, h.counter, customer.Customer{Name: "Lune Street School"})
		h.must(err)
		sale := sells(part, "2", "")
		sale.Customer, sale.Payments = who, nil
		_, err = h.work.Sell(h.ctx, h.counter, sale)
		h.refused(err, domain.Invalid, "")
		h.must(h.work.GrantAccount(h.ctx, h.owner, who, &customer.Account{Days: 30, Limit: 4000}))
		id, err := h.work.Sell(h.ctx, h.counter, sale)
		h.must(err)
		_, err = h.work.Sell(h.ctx, h.counter, sale)
		h.refused(err, domain.Conflict, "no more than 40.00 CAD")
		st, err := workshop.StatementOf(h.ctx, h.store, who, h.work.Now())
		h.must(err)
		if len(st.Open) != 1 || st.Open[0].Owed != 2940 || st.Open[0].Job != 0 || st.Open[0].Due == "" {
			t.Fatalf("the statement says %+v, want 29.40 on the sale", st.Open)
		}
		_, err = h.work.GiveBackSale(h.ctx, h.owner, id, billing.Payment{Tender: "card", Amount: 100})
		h.refused(err, domain.Conflict, "credit note first")
		_, err = h.work.PaySale(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 2941})
		h.refused(err, domain.Conflict, "at most 29.40")
		_, err = h.work.PaySale(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 2000})
		h.must(err)
		h.must(h.work.WriteOffSale(h.ctx, h.owner, id, false, "moved away"))
		h.refused(h.work.WriteOffSale(h.ctx, h.owner, id, false, "again"), domain.Conflict, "nothing is owed")
		h.stands(billing.Receivables, 0)
		h.stands(billing.BadDebts, 940)
		h.audited()

		_, err = h.work.PaySale(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 941})
		h.refused(err, domain.Conflict, "at most 9.40")
		_, err = h.work.PaySale(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 400})
		h.must(err)
		h.stands(billing.Receivables, 0)
		h.stands(billing.BadDebts, 540)
		f, err := workshop.ReadSale(h.ctx, h.store, id)
		h.must(err)
		if b := f.Balance; b.Due != 0 || b.Recovered != 400 || b.WrittenOff != 540 {
			t.Errorf("balance %+v, want 4.00 come in after all and 5.40 still given up", b)
		}
		rows, _, err := h.store.Sales(h.ctx, who, workshop.Page{Limit: 10})
		h.must(err)
		if len(rows) != 1 || rows[0].Due() != 0 {
			t.Errorf("the list of sales says %+v", rows)
		}
		h.audited()
	})
}

// A job's reserved part is not sold, and of two who sell the last one at once one does.
func TestTwoSalesOfTheLastPart(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		part := h.listed("saddle-bone", "Saddle, bone")
		h.received(part, 1, 520)
		var wait sync.WaitGroup
		errs := make([]error, 4)
		for i := range errs {
			wait.Go(func() { _, errs[i] = h.work.Sell(h.ctx, h.counter, sells(part, "1", "card")) })
		}
		wait.Wait()
		sold := 0
		for _, err := range errs {
			if err == nil {
				sold++
			} else if domain.KindOf(err) != domain.Conflict {
				t.Errorf("refused with %v, want a conflict", err)
			}
		}
		if sold != 1 {
			t.Errorf("%d sales of the last one, want 1", sold)
		}
		h.level(part, stock.Level{})
		h.audited()
	})
}

// A card costs 2 % more where the settings say so and the buyer was told: 14.70 with
// tax are 0.29 more, and that is taxed by its kind.
func TestSaleWithASurcharge(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		part := h.listed("saddle-bone", "Saddle, bone")
		h.received(part, 2, 1040)
		shop, err := s.ShopSettings(h.ctx)
		h.must(err)
		shop.Counter.Surcharges = []billing.TenderCharge{{Tender: "card", Percent: dec("2")}}
		h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
		sale := sells(part, "1", "card")
		sale.PayBy = "card"
		id, err := h.work.Sell(h.ctx, h.counter, sale)
		h.must(err)
		f, err := workshop.ReadSale(h.ctx, s, id)
		h.must(err)
		if len(f.Invoice.Lines) != 2 || f.Invoice.Lines[1].Net != 29 || f.Balance.Due != 0 || f.Invoice.Totals.Total != 1500 {
			t.Errorf("lines %+v come to %d, want the surcharge of 0.29 with its 5 %%, 15.00 in all", f.Invoice.Lines, f.Invoice.Totals.Total)
		}
		h.audited()
	})
}
