package api_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// finished carries a job to where its invoice can be issued.
func (h *house) finished() *walk {
	h.t.Helper()
	w := &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
	w.bench.survey(w.job)
	w.post(w.said(w.job, task("CC", "2"))+"/answer", yes).is(200)
	w.worked("CC", 30)
	w.bench.post(w.job+"/pass", nil).is(200)
	return w
}

func TestBadInput(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		w := &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
		w.bench.survey(w.job)
		before := w.get(w.job).text("version")

		w.post("/customers", map[string]any{"name": "A", "nickname": "B"}).wrong(422, "nickname", "known are: address, contact")
		w.post("/customers", map[string]any{"phone": "555-0142"}).wrong(422, "name", "is needed")
		w.post("/customers", map[string]any{"name": " ", "email": "nobody"}).wrong(422, "name", "is needed").wrong(422, "email", "one @")
		w.post("/customers", map[string]any{"name": "A", "exempt": map[string]any{"reason": "friend", "certificate": "1", "from": "2026-02-30"}}).
			wrong(422, "exempt.reason", "must be one of: exempt, resale").wrong(422, "exempt.from", "2026-11-25")
		w.ask("GET", "/jobs?stages=ready", nil).wrong(422, "stages", "known are: customer, instrument, limit")
		w.ask("GET", "/jobs?stage=lost", nil).problem(422, "must be one of: arrived")
		w.ask("GET", "/jobs?limit=1000", nil).wrong(422, "limit", "must be at most 200")
		w.ask("GET", "/jobs/abc", nil).wrong(422, "job", "must be a whole number")
		w.ask("GET", "/jobs/99999", nil).problem(404)
		w.ask("GET", "/jobs/99999/diary", nil).problem(404)
		w.ask("GET", "/templates/NOPE", nil).problem(404)
		w.post("/jobs/99999/marks", map[string]any{"what": "dent", "place": "top"}).problem(404)
		w.bench.post(w.job+"/open-case", `{"now":true}`).problem(422, "takes no body")

		sheet := func(r map[string]any) map[string]any { return map[string]any{"basis": "estimate", "rows": []any{r}} }
		w.post(w.job+"/quotes", sheet(task("CG", "-60"))).wrong(422, "rows[0].quantity", "must be a whole number of mm from 1 to 5000")
		w.post(w.job+"/quotes", map[string]any{"basis": "estimate", "rows": []any{map[string]any{"task": "CG", "quantity": 60}}}).wrong(422, "rows[0].quantity", "must be text in quotes")
		price := func(p string) map[string]any {
			return sheet(map[string]any{"name": "rush", "kind": "surcharge", "price": p})
		}
		w.post(w.job+"/quotes", price("123456789012345678901234567890")).wrong(422, "rows[0].price", "too large")
		w.post(w.job+"/quotes", price("12.345")).wrong(422, "rows[0].price", "CAD has 2")
		w.post(w.job+"/quotes", price("1e5")).wrong(422, "rows[0].price", "without an exponent")
		w.post(w.job+"/payments", map[string]any{"tender": "card", "amount": "-5"}).wrong(422, "amount", "more than 0")
		w.post(w.job+"/payments", map[string]any{"tender": "shells", "amount": "5"}).wrong(422, "tender", "must be one of: cash")
		w.bench.post(w.job+"/surveys", map[string]any{"moment": "before hold", "strings": "off", "room": "hot", "findings": []any{map[string]any{"symptom": "crack length", "measure": "a lot", "grade": 7}}}).
			wrong(422, "findings[0].grade", "must be at most 4")
		w.bench.post(w.job+"/surveys", map[string]any{"moment": "before hold", "strings": "off", "room": "hot", "findings": []any{map[string]any{"symptom": "crack length", "measure": "a lot", "grade": 1}}}).
			wrong(422, "room", "21 C").wrong(422, "findings[0].measure", "1.2 mm")
		q := fmt.Sprintf("/quotes/%d", w.post(w.job+"/quotes", sheet(task("CC", "2"))).is(200).id("id"))
		w.post(q+"/say", map[string]any{"promised": "2026-11-31"}).wrong(422, "promised", "calendar")
		w.post(q+"/say", map[string]any{"promised": "2026-11-01"}).wrong(422, "promised", "today or later")
		w.post(q+"/answer", yes).problem(409, "not said")
		if after := w.get(w.job).text("version"); after != before {
			t.Errorf("the job went from version %s to %s: something was half done", before, after)
		}
		if total := w.get("/customers").text("total"); total != "1" {
			t.Errorf("there are %s customers, want the one", total)
		}
	})
}

func TestMarkupInANameComesBackAsItIs(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		name := `<b onclick="x">Ada & "Co"</b>`
		r := h.post("/customers", map[string]any{"name": name}).is(201).want("name", name)
		if !strings.Contains(string(r.raw), `<b onclick=\"x\">Ada & \"Co\"</b>`) || r.header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("got %s, %q", r.raw, r.header.Get("X-Content-Type-Options"))
		}
	})
}

func TestAnOldVersionCannotBeAnswered(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		job := h.arrive()
		h.survey(job)
		first := h.said(job, task("CC", "2"))
		second := h.said(job, task("CC", "3"))
		h.post(first+"/answer", yes).problem(409, "replaced by a newer one")
		h.post(second+"/answer", map[string]any{"outcome": "part", "who": "M. Oduya", "channel": "phone"}).wrong(422, "lines", "choose")
		h.get(first).want("state", "replaced by a newer version")
		h.get(job).want("stage", "quoted")
		line := h.get(second).id("lines.0.id")
		h.post(second+"/answer", map[string]any{"outcome": "part", "who": "M. Oduya", "channel": "phone", "lines": []any{line}}).is(200).want("state", "agreed in part")
		h.get(job).want("stage", "approved").want("tasks.0.quantity", "3")
	})
}

func TestTwoInvoicesAtOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w := open(t, s).finished()
		const people = 4
		var wg sync.WaitGroup
		got := make([]int, people)
		for i := range people {
			wg.Go(func() { got[i] = w.post(w.job+"/invoices", nil).status })
		}
		wg.Wait()
		made, refused := 0, 0
		for _, status := range got {
			switch status {
			case 201:
				made++
			case 409:
				refused++
			}
		}
		if made != 1 || refused != people-1 {
			t.Errorf("got %v, want one 201 and 409 else", got)
		}
		w.get("/invoices").want("total", "1")
	})
}

func TestTheSameRequestTwice(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w := open(t, s).finished()
		key := headers{"Idempotency-Key": "till-7-0001"}
		first := w.post(w.job+"/invoices", nil, key).is(201)
		again := w.post(w.job+"/invoices", nil, key).is(201)
		if string(first.raw) != string(again.raw) || first.header.Get("Location") != again.header.Get("Location") {
			t.Errorf("got %s and %s, want the same", first.raw, again.raw)
		}
		pay := map[string]any{"tender": "card", "amount": "10.00"}
		w.post(w.job+"/payments", pay, key).problem(409)
		key = headers{"Idempotency-Key": "till-7-0002"}
		id := w.post(w.job+"/payments", pay, key).is(201).text("payment.id")
		w.post(w.job+"/payments", pay, key).is(201).want("payment.id", id)
		w.post(w.job+"/payments", map[string]any{"tender": "card", "amount": "20.00"}, key).problem(409)
		w.get(w.job+"/payments").want("total", "1")
		w.post(w.job+"/payments", pay, headers{"Idempotency-Key": strings.Repeat("x", 101)}).wrong(422, "Idempotency-Key", "at most 100")
		w.post("/tokens", map[string]any{"name": "till"}, key).wrong(422, "Idempotency-Key", "once only")
	})
}

func TestAFailedRequestKeepsNoKey(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		key := headers{"Idempotency-Key": "k"}
		h.post("/customers", map[string]any{"name": ""}, key).problem(422)
		h.post("/customers", map[string]any{"name": "Ada"}, key).is(201)
	})
}
