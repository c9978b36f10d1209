package api_test

import (
	"fmt"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/store"
	"winterbench/store/storetest"
)

// agreed is a job with a yes to an estimate, what it comes to and the most that may
// be billed for it.
func (h *house) agreed() (w *walk, total, limit decimal.Decimal) {
	h.t.Helper()
	w = &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
	w.bench.survey(w.job)
	q := w.post(w.said(w.job, task("CC", "2"))+"/answer", yes).is(200)
	total, limit = dec(q.text("yes_total")), dec(q.text("yes_limit"))
	if !limit.GreaterThan(total) || total.LessThan(dec("40")) {
		h.t.Fatalf("agreed are %s, at most %s; want room between them", total, limit)
	}
	return w, total, limit
}

// stands wants a sum on an account of the journal for the job.
func (w *walk) stands(account billing.Account, want decimal.Decimal) {
	w.t.Helper()
	ask := url.Values{"account": {string(account)}, "job": {strings.TrimPrefix(w.job, "/jobs/")}}
	w.as(domain.Owner).get("/books/entries?"+ask.Encode()).want("sum", want.StringFixed(2))
}

func TestNoDepositBeforeAYes(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		w := &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
		none := func() {
			t.Helper()
			w.post(w.job+"/payments", paid("card", "0.01")).problem(409, "nothing is owed, so nothing can be taken")
		}
		none()
		w.bench.survey(w.job)
		none()
		q := w.said(w.job, task("CC", "2"))
		none()
		w.post(q+"/answer", map[string]any{"outcome": "declined", "who": "M. Oduya", "channel": "phone", "note": "too dear"}).is(200)
		none()
		w.get(w.job+"/payments").want("total", "0")
		w.stands(billing.CustomerDeposits, decimal.Zero)
	})
}

func TestDepositsBySeveralTenders(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, limit := open(t, s).agreed()
		pays := w.job + "/payments"
		w.post(pays, paid("card", limit.Add(dec("0.01")).String())).problem(409, "at most "+limit.StringFixed(2))
		over := paid("card", limit.Add(dec("5")).String())
		over["keep_over"] = true
		w.post(pays, over).problem(409, "at most")
		w.post(pays, paid("cash", "10.03")).wrong(422, "amount", "cannot be paid in coins")
		w.post(pays, paid("store credit", "5.00")).problem(409, "0.00", "store credit")
		short := paid("cash", "10.00")
		short["given"] = "5.00"
		w.post(pays, short).wrong(422, "given", "less than the amount")
		given := paid("card", "10.00")
		given["given"] = "20.00"
		w.post(pays, given).wrong(422, "given", "for cash only")
		w.get(pays).want("total", "0")

		cash := paid("cash", "10.05")
		cash["given"] = "20.00"
		w.post(pays, cash).is(201).want("payment.kind", "deposit").want("payment.change", "9.95").want("payment.rounding", "0.00").want("payment.invoice", "").want("balance.deposits", "10.05")
		key := headers{"Idempotency-Key": "by card"}
		for range 2 {
			w.post(pays, paid("card", "20.03"), key).is(201).want("payment.receipt", "2").want("balance.deposits", "30.08")
		}
		rest := limit.Sub(dec("30.08"))
		w.post(pays, paid("bank transfer", rest.Add(dec("0.01")).String())).problem(409, "at most "+rest.StringFixed(2))
		w.post(pays, paid("bank transfer", rest.String())).is(201).want("balance.deposits", limit.StringFixed(2)).want("balance.paid", limit.StringFixed(2))
		w.post(pays, paid("mobile pay", "0.01")).problem(409, "nothing is owed")
		w.get(pays).want("total", "3").want("items.0.tender", "cash").want("items.2.tender", "bank transfer").want("items.2.kind", "deposit")
		w.stands(billing.CustomerDeposits, limit)
		w.stands(billing.Receivables, decimal.Zero)
	})
}

func TestTheInvoiceUsesTheDeposit(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, limit := open(t, s).agreed()
		w.post(w.job+"/payments", paid("card", limit.String())).is(201)
		w.worked("CC", 5)
		w.bench.post(w.job+"/pass", nil).is(200)
		inv := w.post(w.job+"/invoices", nil).is(201)
		total := dec(inv.text("totals.total"))
		back := limit.Sub(total)
		if !back.IsPositive() {
			t.Fatalf("billed are %s with a deposit of %s, want less", total, limit)
		}
		w.get(w.job).want("balance.total", total.StringFixed(2)).want("balance.deposits", limit.StringFixed(2)).want("balance.due", "-"+back.StringFixed(2))
		w.stands(billing.CustomerDeposits, back)
		w.stands(billing.Receivables, decimal.Zero)
		w.post(w.job+"/payments", paid("card", "0.01")).problem(409, "nothing is owed")
		w.post(w.job+"/hand-over", map[string]any{"to": "M. Oduya", "tag_shown": true, "brief": true}).problem(409, "give it back first", back.StringFixed(2))

		owner := w.as(domain.Owner)
		owner.post(w.job+"/refunds", paid("card", back.Add(dec("0.01")).String())).problem(409, "at most "+back.StringFixed(2))
		owner.post(w.job+"/refunds", paid("card", back.String())).is(201).want("payment.kind", "refund").want("payment.invoice", inv.text("id")).want("balance.due", "0.00")
		w.stands(billing.CustomerDeposits, decimal.Zero)
		w.post(w.job+"/hand-over", map[string]any{"to": "M. Oduya", "tag_shown": true, "brief": true}).is(200).want("stage", "collected")
	})
}

func TestADepositGivenBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, limit := open(t, s).agreed()
		owner := w.as(domain.Owner)
		owner.post(w.job+"/refunds", paid("card", "0.01")).problem(409, "nothing beyond what the shop owes")
		w.post(w.job+"/payments", paid("card", "30.00")).is(201)
		w.post(w.job+"/refunds", paid("card", "30.00")).problem(403)
		owner.post(w.job+"/refunds", paid("card", "30.01")).problem(409, "at most 30.00")
		owner.post(w.job+"/refunds", paid("shells", "30.00")).wrong(422, "tender", "must be one of: cash")
		owner.post(w.job+"/refunds", paid("store credit", "12.00")).is(201).want("payment.kind", "refund").want("payment.amount", "-12.00").want("payment.invoice", "").want("balance.deposits", "18.00")
		w.get(w.customer()+"/statement").want("store_credit", "12.00")
		w.stands(billing.CustomerDeposits, dec("18"))

		w.post(w.job+"/payments", paid("store credit", "12.01")).problem(409, "12.00")
		w.post(w.job+"/payments", paid("store credit", "12.00")).is(201).want("payment.kind", "deposit").want("balance.deposits", "30.00")
		w.get(w.customer()+"/statement").want("store_credit", "0.00")
		rest := limit.Sub(dec("30"))
		w.post(w.job+"/payments", paid("card", rest.Add(dec("0.01")).String())).problem(409, "at most "+rest.StringFixed(2))
		owner.post(w.job+"/refunds", paid("card", "30.00")).is(201).want("balance.deposits", "0.00").want("balance.paid", "0.00")
		w.stands(billing.CustomerDeposits, decimal.Zero)
		w.get(w.job+"/payments").want("total", "4")
	})
}

// Four people take the same last deposit: one comes first.
func TestDepositsAtOnceStayWithinWhatWasAgreed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, limit := open(t, s).agreed()
		got := make([]int, 4)
		var wg sync.WaitGroup
		for i := range got {
			wg.Go(func() { got[i] = w.post(w.job+"/payments", paid("card", limit.String())).status })
		}
		wg.Wait()
		if n := strings.Count(fmt.Sprint(got), "201"); n != 1 || strings.Count(fmt.Sprint(got), "409") != 3 {
			t.Errorf("got %v, want one 201 and 409 else", got)
		}
		w.get(w.job).want("balance.deposits", limit.StringFixed(2))
		w.stands(billing.CustomerDeposits, limit)
	})
}
