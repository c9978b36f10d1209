package workshop_test

import (
	"errors"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// checked takes a job with one firm line of labour at 100.00 and one of two parts at
// 20.00 up to the quality check. With GST 5 % and PST 7 % it comes to 156.80.
func (h *house) checked() domain.JobID {
	h.t.Helper()
	id := h.arrive()
	h.survey(id)
	q := h.said(id, quote.Sheet{Basis: quote.Firm, Rows: []quote.Row{
		{Task: "CC", Quantity: "2", Price: "100"}, {Name: "Tuner", Kind: money.Part, Quantity: "2", Price: "20"},
	}})
	h.must(h.work.AnswerQuote(h.ctx, h.counter, q, quote.Answer{Outcome: quote.Whole, Who: "M", Channel: "phone"}, nil))
	h.worked(id, "CC", 30)
	h.must(h.work.Pass(h.ctx, h.bench, id))
	return id
}

func (h *house) billed(o billing.Options) domain.JobID {
	h.t.Helper()
	id := h.checked()
	_, err := h.work.IssueInvoice(h.ctx, h.counter, id, o)
	h.must(err)
	return id
}

// stands checks what the journal holds on an account.
func (h *house) stands(a billing.Account, want money.Amount) {
	h.t.Helper()
	var got money.Amount
	h.must(h.store.InTx(h.ctx, func(tx workshop.Tx) (err error) {
		got, err = tx.StandsOn(h.ctx, a)
		return err
	}))
	if got != want {
		h.t.Errorf("%s stands at %d, want %d", a, got, want)
	}
}

func one() []billing.Wanted { return []billing.Wanted{{Place: 2, Count: dec("1")}} }

// A tuner at 20.00 with 5 % and 7 % is 22.40; the whole 156.80. Reckoned by hand.
func TestCreditNotesAndTheirRefund(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.billed(billing.Options{})
		_, err := h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 15680})
		h.must(err)
		_, err = h.work.GiveBack(h.ctx, h.owner, id, billing.Payment{Tender: "card", Amount: 100})
		h.refused(err, domain.Conflict, "credit note first")
		_, err = h.work.IssueCreditNote(h.ctx, h.counter, id, one(), "one too many")
		h.refused(err, domain.Denied, "may not")
		_, err = h.work.IssueCreditNote(h.ctx, h.owner, id, one(), "")
		h.refused(err, domain.Invalid, "")
		_, err = h.work.IssueCreditNote(h.ctx, h.owner, id, []billing.Wanted{{Place: 2, Count: dec("3")}}, "too many")
		h.refused(err, domain.Invalid, "")
		key := workshop.WithKey(h.ctx, "credit-1", "x")
		first, err := h.work.IssueCreditNote(key, h.owner, id, one(), "one too many")
		h.must(err)
		again, err := h.work.IssueCreditNote(key, h.owner, id, one(), "one too many")
		h.must(err)
		f := h.folder(id)
		if again != first || len(f.Invoice.Credits) != 1 || f.Balance.Due != -2240 || f.Invoice.Credits[0].Number != 1 {
			t.Fatalf("credits %+v, balance %+v; want one of 22.40", f.Invoice.Credits, f.Balance)
		}
		_, err = h.work.GiveBack(h.ctx, h.owner, id, billing.Payment{Tender: "card", Amount: 2241})
		h.refused(err, domain.Conflict, "at most 22.40 CAD")
		_, err = h.work.GiveBack(h.ctx, h.owner, id, billing.Payment{Tender: "card", Amount: 2240})
		h.must(err)
		_, err = h.work.IssueCreditNote(h.ctx, h.owner, id, nil, "it came back loose")
		h.must(err)
		f = h.folder(id)
		if f.Balance.Credited != f.Invoice.Totals.Total || f.Balance.Due != -13440 {
			t.Errorf("balance %+v, want all credited and 134.40 to give back", f.Balance)
		}
		_, err = h.work.IssueCreditNote(h.ctx, h.owner, id, nil, "once more")
		h.refused(err, domain.Conflict, "credited already")
		rows, _, err := h.store.Invoices(h.ctx, workshop.Page{Limit: 10})
		h.must(err)
		if rows[0].Due() != f.Balance.Due {
			t.Errorf("the list says %d is due, the job %d", rows[0].Due(), f.Balance.Due)
		}
		h.stands(billing.Receivables, f.Balance.Due)
		h.stands(billing.OutputTax, 0)
		h.stands(billing.PartsRevenue, 0)
	})
}

func TestStoreCreditIsNeverBelowZero(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		first := h.billed(billing.Options{})
		_, err := h.work.TakePayment(h.ctx, h.counter, first, billing.Payment{Tender: "card", Amount: 20000, Tip: 500, KeepOver: true})
		h.must(err)
		h.stands(billing.StoreCredit, 4320)
		h.stands(billing.TipsHeld, 500)
		h.stands(billing.CardClearing, 20500)
		jobs := []domain.JobID{h.billed(billing.Options{}), h.billed(billing.Options{})}
		_, err = h.work.TakePayment(h.ctx, h.counter, jobs[0], billing.Payment{Tender: billing.FromCredit, Amount: 4321})
		h.refused(err, domain.Conflict, "has 43.20 CAD of store credit")

		// Two at once want 30.00 of the 43.20 each: one of them gets it.
		var wg sync.WaitGroup
		errs := make([]error, 2)
		for i, id := range jobs {
			wg.Go(func() {
				_, errs[i] = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: billing.FromCredit, Amount: 3000})
			})
		}
		wg.Wait()
		if (errs[0] == nil) == (errs[1] == nil) || domain.KindOf(errors.Join(errs...)) != domain.Conflict {
			t.Errorf("spent twice: %v", errs)
		}
		h.stands(billing.StoreCredit, 1320)
		moves, err := h.store.StoreCreditOf(h.ctx, h.customer)
		h.must(err)
		if len(moves) != 2 || moves[0].Balance != 1320 || moves[0].Amount != -3000 {
			t.Errorf("moves %+v", moves)
		}

		// Another customer's job cannot be paid with it.
		h.customer, err = h.work.NoteCustomer(h.ctx, h.counter, customer.Customer{Name: "Somebody else"})
		h.must(err)
		h.instrument, err = h.work.NoteInstrument(h.ctx, h.counter, customer.Instrument{Owner: h.customer, Kind: "steel-string guitar", Maker: "Orrin"})
		h.must(err)
		_, err = h.work.TakePayment(h.ctx, h.counter, h.billed(billing.Options{}), billing.Payment{Tender: billing.FromCredit, Amount: 1})
		h.refused(err, domain.Conflict, "has 0.00 CAD of store credit")

		h.refused(h.work.PayTips(h.ctx, h.counter, 500, billing.Cash, "Runa"), domain.Denied, "may not")
		h.refused(h.work.PayTips(h.ctx, h.owner, 501, "card", "Runa"), domain.Conflict, "holds 5.00 CAD of tips")
		h.refused(h.work.PayTips(h.ctx, h.owner, -1, billing.FromCredit, ""), domain.Invalid, "")
		h.must(h.work.PayTips(h.ctx, h.owner, 500, billing.Cash, "Runa"))
		h.stands(billing.TipsHeld, 0)
		tips, n, err := h.store.Tips(h.ctx, workshop.Page{Limit: 10})
		h.must(err)
		if n != 2 || tips[0].To != "Runa" || tips[0].Balance != 0 || tips[1].Amount != 500 {
			t.Errorf("%d moves of tips: %+v", n, tips)
		}
	})
}

func TestADebtIsWrittenOff(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.billed(billing.Options{})
		h.refused(h.work.WriteOff(h.ctx, h.counter, id, true, "gone"), domain.Denied, "may not")
		h.refused(h.work.WriteOff(h.ctx, h.owner, id, true, ""), domain.Invalid, "")
		h.must(h.work.WriteOff(h.ctx, h.owner, id, true, "moved away"))
		if b := h.folder(id).Balance; b.Due != 0 || b.WrittenOff != 15680 {
			t.Errorf("balance %+v", b)
		}
		h.refused(h.work.WriteOff(h.ctx, h.owner, id, true, "again"), domain.Conflict, "nothing is owed")
		h.stands(billing.Receivables, 0)
		h.stands(billing.OutputTax, 0)
		h.stands(billing.BadDebts, 14000)
		_, err := h.work.IssueCreditNote(h.ctx, h.owner, id, nil, "late")
		h.refused(err, domain.Conflict, "given up")
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 15681})
		h.refused(err, domain.Conflict, "at most 156.80")
	})
}

// An account of 200.00 lets one job of 156.80 leave unpaid and not two.
func TestOnAccount(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		terms := &customer.Account{Days: 30, Limit: 20000}
		h.refused(h.work.GrantAccount(h.ctx, h.counter, h.customer, terms), domain.Denied, "may not")
		h.refused(h.work.GrantAccount(h.ctx, h.owner, h.customer, &customer.Account{Days: 400, Limit: -1}), domain.Invalid, "")
		h.must(h.work.GrantAccount(h.ctx, h.owner, h.customer, terms))
		id := h.billed(billing.Options{})
		h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M", TagShown: true}))
		f := h.folder(id)
		if f.Job.HandOver.Unpaid != "on account, to pay by "+string(f.Invoice.DueOn) || f.Invoice.DueOn != f.Invoice.Date.AddDays(30) {
			t.Errorf("left %q, due on %s", f.Job.HandOver.Unpaid, f.Invoice.DueOn)
		}
		second := h.billed(billing.Options{})
		h.refused(h.work.HandOver(h.ctx, h.counter, second, job.HandOver{To: "M", TagShown: true}), domain.Conflict, "no more than 200.00 CAD")
		h.clock.pass(45 * h.day)
		st, err := workshop.StatementOf(h.ctx, h.store, h.customer, h.clock.Now())
		h.must(err)
		if len(st.Open) != 2 || st.Ages.Sum() != 31360 || st.Ages[1] != 31360 {
			t.Errorf("statement %+v, want 313.60 up to 30 days late", st)
		}
		h.must(h.work.GrantAccount(h.ctx, h.owner, h.customer, nil))
		if a, err := h.store.AccountOf(h.ctx, h.customer); err != nil || a != nil {
			t.Errorf("the account is %+v, %v; want none", a, err)
		}
	})
}

func TestAnInsurerIsBilled(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		payer, err := h.work.NoteCustomer(h.ctx, h.counter, customer.Customer{Name: "Northern Cover"})
		h.must(err)
		id := h.checked()
		for field, o := range map[string]billing.Options{"payer": {Payer: h.customer}, "own_part": {Payer: payer, OwnPart: 15681}} {
			if _, err := h.work.IssueInvoice(h.ctx, h.counter, id, o); domain.FieldsOf(err)[field] == "" {
				t.Errorf("%+v is billed: %v", o, err)
			}
		}
		_, err = h.work.IssueInvoice(h.ctx, h.counter, id, billing.Options{Payer: payer, OwnPart: 5000, PayerRef: "claim 12"})
		h.must(err)
		h.refused(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M", TagShown: true}), domain.Conflict, "balance")
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: billing.Cash, Amount: 5000})
		h.must(err)
		h.must(h.work.HandOver(h.ctx, h.counter, id, job.HandOver{To: "M", TagShown: true}))
		st, err := workshop.StatementOf(h.ctx, h.store, payer, h.clock.Now())
		h.must(err)
		if st.Ages.Sum() != 10680 {
			t.Errorf("the insurer owes %d, want 106.80", st.Ages.Sum())
		}
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "bank transfer", Amount: 10680, ByPayer: true})
		h.must(err)
		if b := h.folder(id).Balance; b.Due != 0 || b.PayerDue != 0 {
			t.Errorf("balance %+v", b)
		}
		_, err = h.work.TakePayment(h.ctx, h.counter, h.billed(billing.Options{}), billing.Payment{Tender: "card", Amount: 1, ByPayer: true})
		h.refused(err, domain.Conflict, "nobody but the customer")
	})
}

// A card costs 2 % of 156.80 = 3.14, with GST of 5 % on it 3.30; the agreed limit of the
// work does not hold it back, because the customer chose it. Reckoned by hand.
func TestStorageAndSurcharge(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.checked()
		_, err := h.work.DraftInvoice(h.ctx, h.counter, id, billing.Options{Storage: true})
		h.refused(err, domain.Invalid, "")
		shop, err := h.store.ShopSettings(h.ctx)
		h.must(err)
		shop.Counter.Storage = billing.StorageRule{PerDay: 200, FreeDays: 14}
		shop.Counter.Surcharges = []billing.TenderCharge{{Tender: "card", Percent: dec("2")}}
		h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
		h.must(h.work.Call(h.ctx, h.counter, id, job.Contact{About: "ready", Result: "spoke"}))
		h.clock.pass(20 * h.day)
		_, err = h.work.DraftInvoice(h.ctx, h.counter, id, billing.Options{Storage: true})
		if got := domain.FieldsOf(err)["storage"]; got != "cannot be charged: no storage fee was agreed in writing when it came in" {
			t.Errorf("storage without an agreement: %v %q", err, got)
		}
		draft, err := h.work.DraftInvoice(h.ctx, h.counter, id, billing.Options{PayBy: "card"})
		h.must(err)
		if draft.Totals.Total != 15680+330 || draft.Limit < draft.Totals.Total {
			t.Errorf("by card %d, limit %d; want 160.10", draft.Totals.Total, draft.Limit)
		}
		if plain, err := h.work.DraftInvoice(h.ctx, h.counter, id, billing.Options{PayBy: billing.Cash}); err != nil || plain.Totals.Total != 15680 {
			t.Errorf("in cash %d, %v; want 156.80", plain.Totals.Total, err)
		}
		shop.Version++
		shop.Counter.Surcharges = []billing.TenderCharge{{Tender: billing.Cash, Percent: dec("2")}}
		if err := h.work.ChangeShop(h.ctx, h.owner, *shop); domain.FieldsOf(err)["counter.surcharges[0].tender"] == "" {
			t.Errorf("a surcharge on cash: %v", err)
		}
	})
}

func TestStorageRule(t *testing.T) {
	r := billing.StorageRule{PerDay: 200, FreeDays: 14}
	for _, c := range []struct {
		agreed bool
		told   domain.Date
		want   int
	}{{true, "2027-01-01", 6}, {true, "2027-01-07", 0}, {true, "2027-01-06", 1}, {false, "2027-01-01", 0}, {true, "", 0}} {
		if got := r.Days(c.agreed, c.told, "2027-01-21"); got != c.want {
			t.Errorf("%+v: %d days, want %d", c, got, c.want)
		}
	}
}
