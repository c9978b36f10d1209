package workshop_test

import (
	"errors"
	"strings"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// Of 156.80, 16.80 of it tax, all was given up. 56.80 comes in: 56.80 × 16.80 ÷ 156.80
// is 6.09 of tax, GST 2.54 and PST 3.55, so that 89.29 of loss and 10.71 of tax stay
// away. Reckoned by hand.
func TestADebtThatWasGivenUpComesIn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		id := h.billed(billing.Options{})
		h.must(h.work.WriteOff(h.ctx, h.owner, id, true, "moved away"))
		_, err := h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 15681})
		h.refused(err, domain.Conflict, "at most 156.80 CAD")
		key := workshop.WithKey(h.ctx, "late-1", "x")
		first, err := h.work.TakePayment(key, h.counter, id, billing.Payment{Tender: "card", Amount: 5680})
		h.must(err)
		again, err := h.work.TakePayment(key, h.counter, id, billing.Payment{Tender: "card", Amount: 5680})
		h.must(err)
		if first != again {
			t.Errorf("taken twice: payments %d and %d", first, again)
		}
		f := h.folder(id)
		if b := f.Balance; b.Due != 0 || b.Paid != 5680 || b.Recovered != 5680 || b.WrittenOff != 10000 {
			t.Errorf("balance %+v", b)
		}
		if !strings.Contains(f.Answer+workshop.MoneyAnswer(f), "100.00 CAD on Invoice 000001 is given up; 56.80 CAD came in after that.") {
			t.Errorf("the job says %q, its money %q", f.Answer, workshop.MoneyAnswer(f))
		}
		h.stands(billing.Receivables, 0)
		h.stands(billing.CardClearing, 5680)
		h.stands(billing.BadDebts, 8929)
		h.stands(billing.OutputTax, 609)
		h.audited()
		h.nothingDue(id)

		_, err = h.work.GiveBack(h.ctx, h.owner, id, billing.Payment{Tender: "card", Amount: 1})
		h.refused(err, domain.Conflict, "")
		h.refused(h.work.WriteOff(h.ctx, h.owner, id, true, "again"), domain.Conflict, "nothing is owed")
		_, err = h.work.IssueCreditNote(h.ctx, h.owner, id, one(), "late")
		h.refused(err, domain.Conflict, "given up")

		// Two take all that is missing at once: it comes in once.
		var wg sync.WaitGroup
		errs := make([]error, 2)
		for i := range errs {
			wg.Go(func() {
				_, errs[i] = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "bank transfer", Amount: 10000})
			})
		}
		wg.Wait()
		if (errs[0] == nil) == (errs[1] == nil) || domain.KindOf(errors.Join(errs...)) != domain.Conflict {
			t.Errorf("taken twice: %v", errs)
		}
		h.stands(billing.BadDebts, 0)
		h.stands(billing.OutputTax, 1680)
		h.stands(billing.Receivables, 0)
		if b := h.folder(id).Balance; b.Due != 0 || b.WrittenOff != 0 || b.Recovered != 15680 {
			t.Errorf("balance %+v, want all of it in", b)
		}
		if got := workshop.MoneyAnswer(h.folder(id)); !strings.Contains(got, "is paid") {
			t.Errorf("the money says %q", got)
		}
		_, err = h.work.TakePayment(h.ctx, h.counter, id, billing.Payment{Tender: "card", Amount: 1})
		h.refused(err, domain.Conflict, "nothing is owed")
		h.audited()
		h.nothingDue(id)
	})
}

// nothingDue checks that no list says that anything is owed on a job either way.
func (h *house) nothingDue(id domain.JobID) {
	h.t.Helper()
	rows, _, err := h.store.Invoices(h.ctx, workshop.Page{Limit: 10})
	h.must(err)
	for _, r := range rows {
		if r.Job == id && r.Due() != 0 {
			h.t.Errorf("the list of invoices says %d is due", r.Due())
		}
	}
	jobs, _, err := h.store.Jobs(h.ctx, workshop.JobFilter{Customer: h.customer}, workshop.Page{Limit: 10})
	h.must(err)
	for _, r := range jobs {
		if r.ID == id && r.Due() != 0 {
			h.t.Errorf("the list of jobs says %d is due", r.Due())
		}
	}
	st, err := workshop.StatementOf(h.ctx, h.store, h.customer, h.work.Now())
	h.must(err)
	if len(st.Open) != 0 {
		h.t.Errorf("the statement says %+v is open", st.Open)
	}
	owed, err := h.store.OwedOn(h.ctx, "2099-12-31")
	h.must(err)
	if len(owed) != 0 {
		h.t.Errorf("the report says %+v is owed", owed)
	}
}
