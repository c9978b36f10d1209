package api_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// The sums of these tests are worked out from the answers before them; the rules are
// those of docs/books.md.

// billed is a finished job with its invoice, and what that comes to.
func (h *house) billed() (w *walk, total decimal.Decimal) {
	h.t.Helper()
	w = h.finished()
	total = dec(w.post(w.job+"/invoices", nil).is(201).text("totals.total"))
	if total.LessThan(dec("20")) {
		h.t.Fatalf("the invoice comes to %s, want enough for what follows", total)
	}
	return w, total
}

func paid(tender, amount string) map[string]any {
	return map[string]any{"tender": tender, "amount": amount}
}

func TestMoneyAtTheCounterIsRefusedWithWords(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, total := open(t, s).billed()
		owner := w.as(domain.Owner)
		above := total.Add(dec("0.01")).String()

		for _, bad := range []string{"0", "-5", "x", "1.001", "", "1e3"} {
			w.post(w.job+"/payments", paid("card", bad)).problem(422)
			owner.post(w.job+"/refunds", paid("card", bad)).problem(422)
		}
		w.post(w.job+"/payments", paid("card", above)).problem(409, "more than is owed")
		w.post(w.job+"/payments", paid("store credit", "5.00")).problem(409)
		owner.post(w.job+"/refunds", paid("card", "0.01")).problem(409)
		w.get(w.job+"/payments").want("total", "0")

		w.post(w.job+"/payments", paid("card", total.String())).is(201).want("balance.due", "0.00")
		w.post(w.job+"/payments", paid("card", total.String())).problem(409)
		owner.post(w.job+"/write-off", map[string]any{"reason": "moved away"}).problem(409)
		w.get(w.job+"/payments").want("total", "1")

		owner.post("/tips", map[string]any{"amount": "1.00", "tender": "cash", "to": "Runa"}).problem(409)
		owner.post("/tips", map[string]any{"amount": "-1.00", "tender": "cash", "to": "Runa"}).problem(422)
		owner.get("/tips").want("total", "0")
	})
}

func TestAnInvoiceTakenBackThroughTheAPI(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, total := open(t, s).billed()
		owner := w.as(domain.Owner)
		w.post(w.job+"/payments", paid("card", total.String())).is(201)
		notes := w.job + "/credit-notes"
		line := func(place int, count string) map[string]any {
			return map[string]any{"reason": "the crack opened again", "lines": []any{map[string]any{"place": place, "count": count}}}
		}
		owner.post(notes, map[string]any{"reason": " "}).wrong(422, "reason", "is needed")
		owner.post(notes, line(1, "x")).wrong(422, "lines[0].count", "")
		owner.post(notes, line(1, "-1")).problem(422)
		owner.post(notes, line(99, "1")).problem(422)
		owner.post(notes, line(1, "1000")).problem(422)

		key := headers{"Idempotency-Key": "take it back"}
		whole := map[string]any{"reason": "the crack opened again"}
		note := owner.post(notes, whole, key).is(201).want("total", total.StringFixed(2)).want("number", "1")
		owner.post(notes, whole, key).is(201).want("id", note.text("id"))
		owner.post(notes, whole).problem(409)
		sum := dec(note.text("net"))
		for i := range note.at("taxes").([]any) {
			sum = sum.Add(dec(note.text("taxes." + strconv.Itoa(i) + ".amount")))
		}
		if !sum.Equal(total) {
			t.Errorf("net and taxes of the note come to %s, want %s", sum, total)
		}
		owner.get(strings.TrimPrefix(note.header.Get("Location"), "/api/v1")).want("total", total.StringFixed(2)).want("reason", "the crack opened again")
		w.get(w.job).want("balance.due", "-"+total.StringFixed(2))

		owner.post(w.job+"/refunds", paid("card", total.Add(dec("0.01")).String())).problem(409)
		back := headers{"Idempotency-Key": "the money back"}
		r := owner.post(w.job+"/refunds", paid("card", total.String()), back).is(201).want("balance.due", "0.00").want("payment.amount", "-"+total.StringFixed(2))
		owner.post(w.job+"/refunds", paid("card", total.String()), back).is(201).want("payment.id", r.text("payment.id"))
		owner.post(w.job+"/refunds", paid("card", "0.01")).problem(409)
		w.get(w.job+"/payments").want("total", "2")
	})
}

func TestTipsAndStoreCreditThroughTheAPI(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, total := open(t, s).billed()
		owner := w.as(domain.Owner)
		who := w.customer()
		over := paid("card", total.Add(dec("7.95")).String())
		over["tip"], over["keep_over"] = "2.00", true
		w.post(w.job+"/payments", over).is(201).want("payment.amount", total.StringFixed(2)).
			want("payment.tip", "2.00").want("payment.kept_as_credit", "7.95").want("balance.due", "0.00")
		w.get(who+"/statement").want("store_credit", "7.95").want("owed", "0.00")

		owner.get("/tips").want("total", "1").want("items.0.amount", "2.00").want("items.0.held", "2.00")
		tip := map[string]any{"amount": "1.50", "tender": "cash", "to": "Runa"}
		key := headers{"Idempotency-Key": "tips of the week"}
		for range 2 {
			owner.post("/tips", tip, key).is(201).want("amount", "-1.50").want("held", "0.50").want("to", "Runa")
		}
		owner.post("/tips", tip).problem(409)
		owner.get("/tips").want("total", "2")
	})
}

func TestStoreCreditIsPaidOutThroughTheAPI(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, total := open(t, s).billed()
		owner, credit := w.as(domain.Owner), w.customer()+"/store-credit"
		w.get(credit).want("total", "0")
		over := paid("card", total.Add(dec("7.95")).String())
		over["keep_over"] = true
		receipt := w.post(w.job+"/payments", over).is(201).text("payment.id")
		out := func(tender, amount, to string) map[string]any {
			return map[string]any{"tender": tender, "amount": amount, "to": to}
		}
		w.post(credit, out("cash", "5.00", "Mara")).problem(403)
		owner.post(credit, out("cash", "5.02", "Mara")).wrong(422, "amount", "at most 7.95 CAD goes out in cash")
		owner.post(credit, out("store credit", "5.00", "Mara")).wrong(422, "tender", "choose with what money")
		owner.post(credit, out("cash", "5.00", "")).wrong(422, "to", "is needed")
		owner.post(credit, out("card", "a lot", "Mara")).problem(422)
		owner.post(credit, out("card", "7.96", "Mara")).problem(409, "has 7.95 CAD of store credit")
		owner.post("/customers/4711/store-credit", out("card", "1.00", "Mara")).problem(404)
		w.ask("GET", "/customers/4711/store-credit", nil).problem(404)
		key := headers{"Idempotency-Key": "credit of the week"}
		first := owner.post(credit, out("cash", "5.00", "Mara"), key).is(201).want("amount", "-5.00").want("kept", "2.95").want("to", "Mara").want("tender", "cash").want("payment", "")
		owner.post(credit, out("bank transfer", "2.95", "Mara")).is(201).want("kept", "0.00")
		owner.post(credit, out("cash", "5.00", "Mara"), key).is(201).want("id", first.text("id")).want("kept", "2.95")
		w.get(credit).want("total", "3").want("currency", "CAD").want("items.0.kept", "0.00").want("items.1.id", first.text("id")).
			want("items.2.amount", "7.95").want("items.2.payment", receipt).want("items.2.to", "")
		w.get(w.customer()+"/statement").want("store_credit", "0.00")
	})
}

// customer is the path of who a job is for.
func (w *walk) customer() string {
	w.t.Helper()
	return "/customers/" + w.get(w.job).text("customer.id")
}

func TestDebtsAndAccountsThroughTheAPI(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		w := h.finished()
		owner := w.as(domain.Owner)
		who := w.customer()
		terms := func(days int, limit string) map[string]any {
			return map[string]any{"account": map[string]any{"days": days, "limit": limit}}
		}
		owner.ask("PUT", who+"/account", terms(-1, "500.00")).problem(422)
		owner.ask("PUT", who+"/account", terms(366, "500.00")).problem(422)
		owner.ask("PUT", who+"/account", terms(30, "-1")).problem(422)
		owner.ask("PUT", who+"/account", terms(30, "500.00")).is(200).want("account.days", "30").want("account.limit", "500.00")
		total := dec(w.post(w.job+"/invoices", nil).is(201).want("due_on", "2026-12-25").text("totals.total"))
		w.get(who+"/statement").want("owed", total.StringFixed(2)).want("open.0.late", "0").want("open.0.due", "2026-12-25")
		h.clock.pass(35 * 24 * time.Hour)
		w.get(who+"/statement").want("owed", total.StringFixed(2)).want("open.0.late", "5")

		w.post(w.job+"/write-off", map[string]any{"reason": "moved away"}).problem(403)
		owner.post(w.job+"/write-off", map[string]any{"reason": ""}).wrong(422, "reason", "is needed")
		key := headers{"Idempotency-Key": "given up"}
		for range 2 {
			owner.post(w.job+"/write-off", map[string]any{"reason": "moved away"}, key).is(200).want("given_up", total.StringFixed(2))
		}
		owner.post(w.job+"/write-off", map[string]any{"reason": "moved away"}).problem(409)
		w.get(who+"/statement").want("owed", "0.00")
		w.post(w.job+"/payments", paid("card", total.Add(dec("0.01")).String())).problem(409, "at most "+total.StringFixed(2))
		rest := total.Sub(dec("5")).StringFixed(2)
		w.post(w.job+"/payments", paid("card", "5.00")).is(201).want("payment.kind", "payment").want("balance.due", "0.00").want("balance.recovered", "5.00").want("balance.given_up", rest)
		w.post(w.job+"/payments", paid("card", rest)).is(201).want("balance.recovered", total.StringFixed(2)).want("balance.given_up", "0.00").want("balance.due", "0.00")
		w.post(w.job+"/payments", paid("card", "0.01")).problem(409, "nothing is owed")
		w.get(who+"/statement").want("owed", "0.00")
		owner.ask("PUT", who+"/account", map[string]any{"account": nil}).is(200).want("account", "")
	})
}
