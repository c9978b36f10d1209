package api_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// clean proves that the books hold together.
func (h *house) clean() {
	h.t.Helper()
	r := h.as(domain.Owner).post("/audit", nil).is(200)
	if r.at("clean") != true {
		h.t.Errorf("the audit is not clean: %s", r.raw)
	}
}

type sale map[string]any

func sold(part int64, count string, payments ...sale) sale {
	return sale{"lines": []sale{{"part": part, "count": count}}, "payments": payments}
}

// A set of strings at 18.00 is retail goods, which carry the 5 % alone: 18.90 the set,
// two 37.80, and three 56.70 with the cent rounded to 56.70 in cash.
func TestSellingOverTheAPI(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		part, shelf := h.part()
		owner.post(shelf+"/receipts", map[string]any{"quantity": "5", "cost": "47.50"}).is(200)

		h.post("/sales/preview", sold(part, "2")).is(200).want("totals.total", "37.80").want("number", "0").want("lines.0.part", fmt.Sprint(part))
		h.as(domain.Bench).post("/sales", sold(part, "1", sale{"tender": "card"})).problem(403)
		for _, bad := range []struct {
			field, words string
			status       int
			body         sale
		}{
			{"lines[0].count", "must be more than 0", 422, sold(part, "0", sale{"tender": "card"})},
			{"lines[0].count", "must be more than 0", 422, sold(part, "-1", sale{"tender": "card"})},
			{"lines[0].count", "only 5 set free", 409, sold(part, "6", sale{"tender": "card"})},
			{"lines[0].part", "there is no part", 422, sold(99999, "1", sale{"tender": "card"})},
			{"payments", "still to pay", 422, sold(part, "1")},
			{"payments[0].amount", "more than is owed", 422, sold(part, "1", sale{"tender": "card", "amount": "18.91"})},
			{"payments[0].given", "less than the amount", 422, sold(part, "1", sale{"tender": "cash", "given": "5.00"})},
			{"customer", "there is no customer", 422, sale{"customer": 99999, "lines": []sale{{"part": part}}, "payments": []sale{{"tender": "card"}}}},
			{"reason", "is needed", 422, sale{"lines": []sale{{"part": part, "price": "17.99"}}, "payments": []sale{{"tender": "card"}}}},
			{"lines[0].price", "is needed", 422, sale{"lines": []sale{{"name": "Old capo"}}, "payments": []sale{{"tender": "card"}}}},
		} {
			h.post("/sales", bad.body).wrong(bad.status, bad.field, bad.words)
		}
		h.get("/sales").want("total", "0")
		h.get(shelf).want("quantity", "5")

		key := headers{"Idempotency-Key": "strings for the fair"}
		var at string
		for range 2 {
			at = h.post("/sales", sold(part, "2", sale{"tender": "cash", "given": "40.00"}), key).is(201).
				want("balance.due", "0.00").want("payments.0.change", "2.20").want("invoice.job", "").want("invoice.number", "1").header.Get("Location")
		}
		at = at[strings.Index(at, "/sales/"):]
		h.get("/sales").want("total", "1").want("items.0.due", "0.00").want("items.0.tag", "0")
		h.get(shelf).want("quantity", "3")
		h.get(at).want("invoice.totals.total", "37.80").want("balance.answer", "Invoice 000001 over 37.80 CAD is paid.")

		h.clock.pass(time.Minute)
		back := map[string]any{"lines": []sale{{"place": 1, "count": "1", "on_shelf": true}}, "reason": "wrong gauge", "tender": "cash"}
		h.post(at+"/take-back", back).problem(403)
		owner.post(at+"/take-back", back).is(201).want("total", "18.90").want("job", "")
		owner.post(at+"/take-back", map[string]any{"lines": []sale{{"place": 1, "count": "2"}}, "reason": "x"}).wrong(422, "lines[0].count", "must be at most 1")
		h.get(at).want("balance.credited", "18.90").want("balance.due", "0.00").want("payments.1.amount", "-18.90")
		h.get(shelf).want("quantity", "4")
		owner.post(at+"/refunds", map[string]any{"tender": "cash", "amount": "1.00"}).problem(409, "credit note")
		h.post(at+"/payments", map[string]any{"tender": "cash", "amount": "1.00"}).problem(409, "nothing is owed")
		h.ask("GET", "/sales/99999", nil).problem(404, "no invoice 99999")
		h.clean()
	})
}

// Two counters sell the last one at once: one of them does.
func TestTwoCountersSellTheLastOne(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		part, shelf := h.part()
		h.as(domain.Owner).post(shelf+"/receipts", map[string]any{"quantity": "1", "cost": "9.50"}).is(200)
		var wait sync.WaitGroup
		status := make([]int, 2)
		for i := range status {
			wait.Go(func() { status[i] = h.post("/sales", sold(part, "1", sale{"tender": "card"})).status })
		}
		wait.Wait()
		if status[0]+status[1] != 201+409 {
			t.Errorf("answered %v, want one 201 and one 409", status)
		}
		h.get(shelf).want("quantity", "0")
		h.clean()
	})
}

// On account a sale is on the statement until it is paid or given up.
func TestSaleOnAccountOverTheAPI(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		part, shelf := h.part()
		owner.post(shelf+"/receipts", map[string]any{"quantity": "5", "cost": "47.50"}).is(200)
		who := h.post("/customers", map[string]any{"name": "Lune Street School"}).is(201).id("id")
		body := sold(part, "2")
		body["customer"] = who
		h.post("/sales", body).wrong(422, "payments", "only who has an account")
		owner.ask("PUT", fmt.Sprintf("/customers/%d/account", who), map[string]any{"account": map[string]any{"days": 30, "limit": "50.00"}}).is(200)
		id := h.post("/sales", body).is(201).want("balance.due", "37.80").want("invoice.customer", fmt.Sprint(who)).id("invoice.id")
		h.post("/sales", body).problem(409, "no more than 50.00")
		h.get(fmt.Sprintf("/customers/%d/statement", who)).want("owed", "37.80").want("open.0.job", "")
		h.get(fmt.Sprintf("/sales?customer=%d", who)).want("total", "1").want("items.0.name", "Lune Street School")
		h.get("/sales?customer=99999").want("total", "0")
		at := fmt.Sprintf("/sales/%d", id)
		h.post(at+"/payments", map[string]any{"tender": "card", "amount": "30.00"}).is(201).want("balance.due", "7.80").want("payment.job", "")
		h.post(at+"/write-off", map[string]any{"reason": "closed"}).problem(403)
		owner.post(at+"/write-off", map[string]any{"reason": "closed"}).is(200).want("balance.due", "0.00").want("balance.given_up", "7.80")
		h.get(fmt.Sprintf("/customers/%d/statement", who)).want("owed", "0.00")
		h.post(at+"/payments", map[string]any{"tender": "card", "amount": "7.81"}).problem(409, "at most 7.80")
		h.post(at+"/payments", map[string]any{"tender": "card", "amount": "2.80"}).is(201).want("balance.due", "0.00").want("balance.given_up", "5.00").want("balance.recovered", "2.80").want("balance.paid", "32.80")
		h.get(fmt.Sprintf("/customers/%d/statement", who)).want("owed", "0.00")
		h.clean()
	})
}
