package api_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

const day = 24 * time.Hour

// walk is one job on its way.
type walk struct {
	*house
	bench *house
	job   string
}

// stage reads the job and stops the test unless it is at a stage.
func (w *walk) stage(want string) reply {
	w.t.Helper()
	return w.get(w.job).want("stage", want)
}

// path of the task with a template's code.
func (w *walk) task(code string) string {
	w.t.Helper()
	r := w.get(w.job)
	return fmt.Sprintf("%s/tasks/%d", w.job, r.id(fmt.Sprintf("tasks.%d.id", r.find("tasks", "template", code))))
}

// checked notes a pass for everything that the task's template asks.
func (w *walk) checked(task string) {
	w.t.Helper()
	asks, _ := w.get(task).at("asks").([]any)
	for _, a := range asks {
		w.bench.post(task+"/checks", map[string]any{"what": a.(map[string]any)["what"], "result": "pass"}).is(200)
	}
}

// worked does a task from clock to done.
func (w *walk) worked(code string, minutes int) {
	w.t.Helper()
	t := w.task(code)
	w.bench.post(t+"/clock-on", nil).is(200).want("stage", "on the bench")
	w.clock.pass(time.Duration(minutes) * time.Minute)
	w.bench.post(t+"/clock-off", nil).is(200)
	w.bench.post(t+"/finish", nil).is(200)
	w.checked(t)
}

// held carries the job through the cabinet: 6 days, three readings.
func (w *walk) held() {
	w.t.Helper()
	t := w.task("RH")
	r := w.bench.post(w.job+"/holds", map[string]any{"task": w.get(t).id("id"), "place": "place 1"}).is(200).want("stage", "in hold")
	hold := fmt.Sprintf("%s/holds/%d", w.job, r.id("holds.0.id"))
	for _, rh := range []string{"30 %", "40 %", "46 %"} {
		w.bench.post(hold+"/readings", map[string]any{"rh": rh, "gap": `1/128"`, "weight": "2.1 kg"}).is(200)
		w.clock.pass(2 * day)
	}
	w.slip(hold)
	r = w.get("/cabinet")
	r.want("holds.0.place", "place 1").want("holds.0.rh.value", "46").want("holds.0.weight.value", "2100").want("holds.0.gap.typed", `1/128"`)
	w.bench.post(hold+"/end", map[string]any{"reason": "steady by measurement"}).is(422)
	w.as(domain.Owner).post(hold+"/end", map[string]any{"reason": "owner's exception", "note": "a concert on Friday"}).is(200)
	w.bench.post(t+"/finish", nil).is(409) // the end of the hold has finished its task
	w.checked(t)
}

// slip notes a reading with a slip, puts it right and takes it back.
func (w *walk) slip(hold string) {
	w.t.Helper()
	w.bench.post(hold+"/readings", map[string]any{"rh": "64 %"}).is(200)
	wrong := w.get(w.job).id("holds.0.readings.3.id")
	at := fmt.Sprintf("%s/readings/%d/correction", hold, wrong)
	w.bench.post(at, map[string]any{"rh": "46 %"}).wrong(422, "note", "needed")
	w.bench.post(at, map[string]any{"rh": "146", "weight": "heavy", "note": "misread"}).problem(422)
	r := w.bench.post(at, map[string]any{"rh": "46 %", "note": "misread"}).is(200)
	r.want("holds.0.readings.4.replaces", fmt.Sprint(wrong)).want("holds.0.readings.4.rh.value", "46").want("holds.0.readings.4.note", "misread")
	w.bench.post(at, map[string]any{"rh": "45 %", "note": "again"}).problem(409, "corrected before")
	back := fmt.Sprintf("%s/readings/%d/correction", hold, r.id("holds.0.readings.4.id"))
	w.bench.post(back, map[string]any{"note": "it was another guitar"}).is(200)
}

// glued works on the crack and lets it clamp overnight.
func (w *walk) glued() {
	w.t.Helper()
	t := w.task("CG")
	w.bench.post(t+"/clock-on", map[string]any{"switch_over": true}).is(200).want("stage", "on the bench")
	w.get("/clocks").want("total", "1").want("items.0.name", "Runa")
	w.clock.pass(40 * time.Minute)
	until := w.clock.Now().Add(20 * time.Hour)
	r := w.bench.post(t+"/waits", map[string]any{"kind": "glue clamp", "until": until}).is(200).want("stage", "waiting")
	w.clock.pass(21 * time.Hour)
	w.bench.post(fmt.Sprintf("%s/waits/%d/end", w.job, r.id("waits.0.id")), nil).is(200)
	w.bench.post(t+"/finish", nil).is(200)
	w.checked(t)
}

// strings gives the strings a price, by which they can be quoted and used.
func (w *walk) strings() int64 {
	w.t.Helper()
	list := w.get("/parts")
	i := list.find("items", "code", "strings-set")
	id := list.id(fmt.Sprintf("items.%d.id", i))
	owner := w.as(domain.Owner)
	p := owner.get(fmt.Sprintf("/parts/%d", id))
	owner.ask("PUT", fmt.Sprintf("/parts/%d", id), map[string]any{
		"code": "strings-set", "name": p.text("name"), "unit": p.text("unit"), "kind": p.text("kind"), "price": "18.00", "cost": "9.50",
	}, headers{"If-Match": p.header.Get("ETag")}).is(200).want("price", "18.00").want("cost", "9.50")
	if got := w.get(fmt.Sprintf("/parts/%d", id)).text("cost"); got != "" {
		w.t.Errorf("the counter reads the cost %q", got)
	}
	return id
}

func TestFromTheDoorToTheDoor(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		w := &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
		part := w.strings()
		w.stage("arrived").want("arrival.survey_fee", "30.00").want("marks.0.what", "ding").want("currency", "CAD")
		w.bench.survey(w.job).want("stage", "surveyed").want("surveys.0.case_rh.value", "27").want("surveys.0.findings.0.measure.value", "60")
		offers := w.get(w.job + "/offers")
		offers.find("items", "task", "RH")
		offers.want(fmt.Sprintf("items.%d.quantity", offers.find("items", "task", "CG")), "60")

		sheet := map[string]any{"basis": "estimate", "rows": []any{
			task("RH", "1"), task("CG", "60"), task("CC", "2"), task("FT", "1"), map[string]any{"task": "SU", "quantity": "1", "with_parts": true},
		}}
		preview := w.post(w.job+"/quotes/preview", sheet).is(200)
		q := w.said(w.job, sheet["rows"].([]any)...)
		w.stage("quoted").want("promised", "2026-12-18")
		said := w.get(q).want("number", "1").want("version", "1").want("totals.total", preview.text("totals.total"))
		w.post(q+"/answer", yes).is(200).want("state", "agreed").want("yes_total", said.text("totals.total"))
		w.stage("approved")
		deposit := w.post(w.job+"/payments", map[string]any{"tender": "card", "amount": "30"}).is(201)
		deposit.want("payment.kind", "deposit").want("payment.amount", "30.00").want("payment.receipt", "1")

		w.held()
		w.glued()
		w.stage("on the bench")
		w.bench.post(w.job+"/pass", nil).problem(422, "not finished")
		w.worked("CC", 33)
		w.worked("FT", 25)
		su := w.task("SU")
		used := w.bench.post(su+"/parts", map[string]any{"part": part, "quantity": "1"}).is(200).want("parts.0.price", "18.00")
		used = w.bench.post(fmt.Sprintf("%s/parts/%d/put-back", w.job, used.id("parts.0.id")), nil).is(200).want("parts.1.quantity", "-1")
		w.bench.post(su+"/parts", map[string]any{"part": part, "quantity": "1.000"}).is(200)
		w.worked("SU", 50)
		w.post(w.job+"/invoices", nil).problem(409, "not through")
		w.bench.post(w.job+"/pass", nil).is(200).want("stage", "checked")
		w.post(w.job+"/calls", map[string]any{"about": "ready", "result": "spoke"}).is(200).want("stage", "ready")

		bill := w.get(w.job + "/invoices/preview")
		inv := w.post(w.job+"/invoices", nil).is(201).want("number", "1").want("totals.total", bill.text("totals.total"))
		w.get(strings.TrimPrefix(inv.header.Get("Location"), "/api/v1")).want("number", "1")
		w.paid(inv.text("totals.total"))
		w.post(w.job+"/hand-over", map[string]any{"to": "M. Oduya", "tag_shown": true, "brief": true, "recheck": "2027-01-15"}).is(200).want("stage", "collected")
		end := w.stage("collected").want("hand_over.recheck", "2027-01-15").want("account.hold.went", "6").want("account.went", "148").want("balance.due", "0.00").want("next_step", "")
		if n := len(end.at("pieces").([]any)); n < 5 {
			t.Errorf("its life has %d pieces, want holds, waits and hands among them", n)
		}
		diary := w.get(w.job + "/diary")
		if n := len(diary.at("items").([]any)); n < 30 || diary.text("items.0.what") != "handed it over to M. Oduya" {
			t.Errorf("the diary has %d entries, the newest %q", n, diary.text("items.0.what"))
		}
		w.read(used)
	})
}

// paid takes the balance in two tenders, the second of them cash with change.
func (w *walk) paid(total string) {
	w.t.Helper()
	b := w.stage("ready").want("invoice.total", total)
	if got := dec(b.text("balance.due")); !got.Equal(dec(total).Sub(dec("30"))) {
		w.t.Errorf("due is %s after a deposit of 30.00 on %s", got, total)
	}
	w.post(w.job+"/hand-over", map[string]any{"to": "M. Oduya", "tag_shown": true}).problem(409, "balance")
	w.post(w.job+"/payments", map[string]any{"tender": "card", "amount": dec(b.text("balance.due")).Add(dec("0.01")).String()}).problem(409, "more than is owed")
	r := w.post(w.job+"/payments", map[string]any{"tender": "card", "amount": "50.00"}).is(201)
	cash := w.post(w.job+"/payments", map[string]any{"tender": "cash", "amount": r.text("balance.cash_due"), "given": "1000"}).is(201)
	cash.want("balance.due", "0.00").want("payment.kind", "payment").want("payment.receipt", "3")
	if change := dec("1000").Sub(dec(cash.text("payment.amount"))); !change.Equal(dec(cash.text("payment.change"))) {
		w.t.Errorf("change is %s, want %s", cash.text("payment.change"), change)
	}
	w.get(strings.TrimPrefix(cash.header.Get("Location"), "/api/v1")).want("payment.tender", "cash")
	w.get(w.job+"/payments").want("total", "3").want("items.0.kind", "deposit")
}

// read asks every list for what the walk left in it.
func (w *walk) read(job reply) {
	w.t.Helper()
	w.get("/desk").want("total", "0").want("answer", "The shop is empty: nothing waits for you.")
	w.get("/bench").want("answer", "Nothing waits at the bench.")
	w.get("/invoices").want("total", "1").want("items.0.tag", job.text("tag"))
	w.get("/search?q=oduya").want("customers.0.name", "M. Oduya")
	w.get("/search?q="+job.text("tag")).want("jobs.0.stage", "collected")
	w.get("/tags/"+job.text("tag")).want("id", job.text("id"))
	w.get("/jobs?stage=collected,ready&customer="+job.text("customer.id")).want("total", "1")
	w.get("/jobs?open=true").want("total", "0")
	w.get(w.job+"/quotes").want("items.0.state", "agreed")
	w.get(w.job+"/quotes/next").want("rows.1.quantity", "60")
	w.get(w.job+"/surveys").want("total", "1")
	w.get("/templates/CG?edition=1").want("code", "CG")
	w.get("/templates/CG/editions").want("items.0.origin", "built-in")
	w.get("/templates").want("items.0.edition", "1")
	w.get("/instruments/"+job.text("instrument.id")).want("top_construction", "solid")
	w.get("/shop").want("name", "The Cold Bench").want("cost_rate", "")
	w.as(domain.Owner).get("/shop").want("cost_rate", "35.00")
}
