package api_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/store"
	"winterbench/store/storetest"
)

// account wants what an account of the journal stands at, on its own side.
func (h *house) account(name billing.Account, want string) {
	h.t.Helper()
	h.as(domain.Owner).get("/books/entries?"+url.Values{"account": {string(name)}}.Encode()).want("sum", want)
}

func came(quantity, cost string) map[string]any {
	return map[string]any{"quantity": quantity, "cost": cost}
}

// Four for 38.00 are 9.50 each; with three left, four more for 50.00 make seven for
// 78.50. What is put back comes back at what it cost when it was taken: eight for
// 88.00. Reckoned by hand.
func TestPartsOfAJobComeOffTheShelf(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, _ := open(t, s).agreed()
		owner := w.as(domain.Owner)
		part, shelf := w.part()
		w.post(shelf+"/receipts", came("4", "38.00")).is(200)
		uses := w.task("CC") + "/parts"
		use := func(part int64, quantity string) map[string]any {
			return map[string]any{"part": part, "quantity": quantity}
		}
		for _, bad := range []string{"-1", "0", "", "x", "0.0001", "1e1"} {
			w.bench.post(uses, use(part, bad)).wrong(422, "quantity", "")
		}
		w.bench.post(uses, use(999999, "1")).problem(404)
		w.bench.post(w.job+"/tasks/999999/parts", use(part, "1")).problem(404)
		w.bench.post(uses, use(part, "4.001")).problem(409, "4")
		w.post(uses, use(part, "1")).problem(403)
		w.get(shelf+"/moves").want("total", "1")

		key := headers{"Idempotency-Key": "one set"}
		w.bench.post(uses, use(part, "1"), key).is(200)
		used := w.bench.post(uses, use(part, "1"), key).is(200)
		if n := len(used.at("parts").([]any)); n != 1 {
			t.Fatalf("%d parts are noted, want 1", n)
		}
		owner.get(shelf).want("quantity", "3").want("value", "28.50")
		w.stands(billing.WorkInProgress, dec("9.50"))
		w.get(shelf+"/moves").want("items.0.kind", "used").want("items.0.quantity", "-1").want("items.0.job", strings.TrimPrefix(w.job, "/jobs/"))

		w.post(shelf+"/receipts", came("4", "50.00")).is(200)
		back := fmt.Sprintf("%s/parts/%d/put-back", w.job, used.id("parts.0.id"))
		other, _, _ := w.house.agreed()
		w.bench.post(strings.Replace(back, w.job, other.job, 1), nil).problem(404)
		w.bench.post(w.job+"/parts/999999/put-back", nil).problem(404)
		w.post(back, nil).problem(403)
		w.bench.post(back, nil).is(200).want("parts.1.quantity", "-1")
		w.bench.post(back, nil).problem(409)
		owner.get(shelf).want("quantity", "8").want("value", "88.00")
		moves := w.get(shelf+"/moves").want("total", "4").want("items.0.kind", "put back").want("items.0.quantity", "1").want("items.0.left", "8")
		moves.want("items.0.undoes", moves.text("items.2.id"))
		w.stands(billing.WorkInProgress, decimal.Zero)
		w.account(billing.PartsStock, "88.00")
	})
}

// Of four at 38.00 one has left. A bill of 42.00 is 4.00 more: 3.00 stay on the shelf,
// 28.50 + 3.00 = 31.50, and 1.00 is cost of what is gone.
func TestTheSuppliersBillOverJSON(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w, _, _ := open(t, s).agreed()
		owner := w.as(domain.Owner)
		part, shelf := w.part()
		w.get(shelf+"/receipts").want("total", "0")
		w.ask("GET", "/stock/999999/receipts", nil).problem(404)
		w.post(shelf+"/receipts", map[string]any{"quantity": "4", "cost": ""}).wrong(422, "cost", "must not be empty")
		w.post(shelf+"/receipts", map[string]any{"quantity": "4", "cost": "38.00", "paper": "note 71"}).is(200)
		w.bench.post(w.task("CC")+"/parts", map[string]any{"part": part, "quantity": "1"}).is(200)
		w.account(billing.NotInvoiced, "38.00")

		list := owner.get(shelf+"/receipts").want("total", "1").want("items.0.quantity", "4").want("items.0.cost", "38.00").want("items.0.paper", "note 71").want("items.0.billed_by", "")
		if got := w.get(shelf + "/receipts"); got.text("items.0.cost") != "" {
			t.Errorf("the counter reads the cost of a receipt: %s", got.raw)
		}
		bills := fmt.Sprintf("/receipts-of-parts/%d/bill", list.id("items.0.id"))
		bill := func(amount, tax string) map[string]any { return map[string]any{"amount": amount, "tax": tax} }
		for _, bad := range []string{"-0.01", "x", "1.005", ""} {
			w.post(bills, bill(bad, "0")).wrong(422, "amount", "")
		}
		w.post(bills, bill("42.00", "-1")).wrong(422, "tax", "must not be negative")
		w.bench.post(bills, bill("42.00", "2.10")).problem(403)
		w.post("/receipts-of-parts/999999/bill", bill("42.00", "2.10")).problem(404)
		owner.get(shelf).want("value", "28.50")

		key := headers{"Idempotency-Key": "bill 9"}
		for range 2 {
			w.post(bills, bill("42.00", "2.10"), key).is(200).want("quantity", "3")
		}
		owner.get(shelf).want("quantity", "3").want("value", "31.50")
		w.post(bills, bill("42.00", "2.10")).problem(409, "was noted on 2026-11-25 by Ivo")
		owner.get(shelf+"/receipts").want("items.0.billed", "42.00").want("items.0.tax", "2.10").want("items.0.billed_by", "Ivo")
		w.get(shelf+"/moves").want("total", "3").want("items.0.kind", "repriced").want("items.0.quantity", "0")
		w.account(billing.NotInvoiced, "0.00")
		w.account(billing.Payables, "44.10")
		w.account(billing.InputTax, "2.10")
		w.account(billing.PartsStock, "31.50")
		w.stands(billing.WorkInProgress, dec("9.50"))
	})
}

// order drafts an order of ten of a part and returns its path.
func (h *house) order(part int64) string {
	h.t.Helper()
	owner := h.as(domain.Owner)
	before := h.get("/suppliers").text("total")
	from := owner.post("/suppliers", map[string]any{"name": "Nordlys Strings " + before}).is(201).id("id")
	lines := []any{map[string]any{"part": part, "quantity": "10", "cost": "100.00"}}
	return fmt.Sprintf("/orders/%d", owner.post("/orders", map[string]any{"supplier": from, "lines": lines}).is(201).id("id"))
}

func TestTheDayOfAnOrderOverJSON(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		part, shelf := h.part()
		h.post(shelf+"/receipts", came("1", "9.50")).is(200)
		owner.post(shelf+"/damage", amount("1", "bent")).is(200)
		w := &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
		w.bench.survey(w.job)
		q := w.said(w.job, map[string]any{"task": "SU", "quantity": "1", "with_parts": true})
		w.post(q+"/answer", yes).is(200)
		waits := w.get(w.job).want("waits.0.kind", "part ordered").want("waits.0.until", "")
		if n := len(waits.at("waits").([]any)); n != 1 {
			t.Fatalf("the job has %d waits, want one for the part", n)
		}

		path := h.order(part)
		on := func(day string) map[string]any { return map[string]any{"expected": day} }
		h.post(path+"/expect", on("2026-12-01")).problem(409, "is draft; only what was sent is expected")
		owner.post(path+"/send", on("2026-11-24")).wrong(422, "expected", "today or later")
		owner.post(path+"/send", map[string]any{}).is(200).want("state", "sent").want("expected", "")
		for day, words := range map[string]string{"soon": "", "2026-02-30": "", "2026-11-24": "today or later"} {
			h.post(path+"/expect", on(day)).wrong(422, "expected", words)
		}
		w.bench.post(path+"/expect", on("2026-12-01")).problem(403)
		h.post("/orders/999999/expect", on("2026-12-01")).problem(404)
		h.get(path).want("expected", "")

		h.post(path+"/expect", on("2026-12-01")).is(200).want("expected", "2026-12-01")
		h.get(shelf).want("expected", "2026-12-01").want("on_order", "10")
		first := w.get(w.job).text("waits.0.until")
		if !strings.HasPrefix(first, "2026-12-0") {
			t.Errorf("the job waits until %q, want the day of the order", first)
		}
		h.post(path+"/expect", on("2026-12-11")).is(200)
		if later := w.get(w.job).text("waits.0.until"); !strings.HasPrefix(later, "2026-12-1") {
			t.Errorf("the job waits until %q, want the new day of the order", later)
		}
		h.post(path+"/expect", map[string]any{}).is(200).want("expected", "")
		w.get(w.job).want("waits.0.until", "").want("waits.0.end", "")

		line := h.get(path).id("lines.0.id")
		h.post(path+"/receipts", map[string]any{"lines": []any{map[string]any{"line": line, "quantity": "10", "cost": ""}}}).wrong(422, "lines[0].cost", "must not be empty")
		h.post(path+"/receipts", map[string]any{"lines": []any{map[string]any{"line": line, "quantity": "10"}}}).is(200).want("state", "closed")
		if w.get(w.job).text("waits.0.end") == "" {
			t.Error("the part is there and the job still waits for it")
		}
		h.post(path+"/expect", on("2026-12-01")).problem(409, "is closed; only what was sent is expected")
	})
}

func TestOrdersThatAreDropped(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		part, shelf := h.part()
		draft := h.order(part)
		for _, why := range []string{"", " ", strings.Repeat("x", 121)} {
			owner.post(draft+"/close", map[string]any{"reason": why}).wrong(422, "reason", "")
		}
		h.post(draft+"/close", map[string]any{"reason": "too dear"}).problem(403)
		owner.post(draft+"/close", map[string]any{"reason": "too dear"}).is(200).want("state", "closed").want("closed_why", "too dear")
		owner.post(draft+"/close", map[string]any{"reason": "again"}).problem(409, "was closed before")
		owner.post(draft+"/send", map[string]any{}).problem(409, "closed")
		h.get(shelf).want("on_order", "0")

		sent := h.order(part)
		owner.post(sent+"/send", map[string]any{"expected": "2026-12-01"}).is(200)
		h.get(shelf).want("on_order", "10")
		owner.post(sent+"/close", map[string]any{"reason": "they have none"}).is(200).want("closed_why", "they have none")
		h.get(shelf).want("on_order", "0").want("expected", "")
		h.get("/orders?open=true").want("total", "0")
		h.get("/orders").want("total", "2")
	})
}

func TestACountThatIsDropped(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		part, shelf := h.part()
		h.post(shelf+"/receipts", came("10", "95.00")).is(200)
		found := func(quantity string) map[string]any {
			return map[string]any{"lines": []any{map[string]any{"part": part, "found": quantity, "reason": "not noted"}}}
		}
		owner.post("/counts", found("")).wrong(422, "lines[0].found", "must not be empty")
		path := fmt.Sprintf("/counts/%d", owner.post("/counts", found("0")).is(201).want("lines.0.difference", "-10").id("id"))
		owner.post(path+"/drop", map[string]any{"reason": " "}).wrong(422, "reason", "")
		owner.post("/counts/999999/drop", map[string]any{"reason": "the wrong drawer"}).problem(404)
		h.post(path+"/drop", map[string]any{"reason": "the wrong drawer"}).problem(403)
		owner.post(path+"/drop", map[string]any{"reason": "the wrong drawer"}).is(200).want("dropped", "the wrong drawer").want("posted_by", "")
		owner.post(path+"/drop", map[string]any{"reason": "again"}).problem(409)
		owner.post(path+"/post", map[string]any{}).problem(409)
		h.get(shelf).want("quantity", "10")
		h.get(shelf+"/moves").want("total", "1")

		posted := fmt.Sprintf("/counts/%d", owner.post("/counts", found("9")).is(201).id("id"))
		owner.post(posted+"/post", map[string]any{}).is(200).want("posted_by", "Tove")
		owner.post(posted+"/drop", map[string]any{"reason": "the wrong drawer"}).problem(409, "posted")
		h.get(shelf).want("quantity", "9")
		h.account(billing.PartsStock, "85.50")
	})
}
