package api_test

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// glue does a crack of 60 mm on one more guitar in so many minutes.
func (h *house) glue(minutes int) {
	h.t.Helper()
	counter, bench := h.as(domain.Counter), h.as(domain.Bench)
	job := counter.arrive()
	counter.survey(job)
	counter.post(counter.said(job, task("CG", "60"))+"/answer", yes).is(200)
	t := fmt.Sprintf("%s/tasks/%d", job, h.get(job).id("tasks.0.id"))
	bench.post(t+"/clock-on", nil).is(200)
	h.clock.pass(time.Duration(minutes) * time.Minute)
	bench.post(t+"/finish", nil).is(200)
	h.clock.pass(24*time.Hour - time.Duration(minutes)*time.Minute)
}

func TestLearnedMinutesAreAdopted(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		owner.get("/templates/learn").want("unbilled.all.clocked_seconds", "0")
		for range 12 {
			h.glue(150)
		}
		r := owner.get("/templates/learn").want("templates.0.code", "CG").want("templates.0.done", "12").want("templates.0.quantity", "60")
		offer, ok := r.at("templates.0.offer").(map[string]any)
		if !ok {
			t.Fatalf("nothing is offered: %s", r.raw)
		}
		seen := map[string]any{"edition": 1, "setup": offer["setup"], "labour": offer["labour"], "per_check": offer["per_check"]}
		h.as(domain.Bench).ask(http.MethodPost, "/templates/CG/learn", seen).problem(403, "ask somebody")
		owner.ask(http.MethodPost, "/templates/SU/learn", seen).problem(409, "nothing to adopt")
		owner.ask(http.MethodPost, "/templates/NONE/learn", seen).problem(404, "no task template")
		key := headers{"Idempotency-Key": "adopt-1"}
		for range 2 {
			owner.post("/templates/CG/learn", seen, key).is(200).want("edition", "2").want("setup.typical", fmt.Sprint(offer["setup"].(map[string]any)["typical"]))
		}
		owner.ask(http.MethodPost, "/templates/CG/learn", seen).problem(409, "changed meanwhile")
		again := owner.get("/templates/learn")
		i := again.find("templates", "code", "CG")
		again.want(fmt.Sprintf("templates.%d.before", i), "12").want(fmt.Sprintf("templates.%d.done", i), "0")
		if again.at(fmt.Sprintf("templates.%d.flagged", i)) != false || again.at(fmt.Sprintf("templates.%d.offer", i)) != nil {
			t.Errorf("adopted, and offered again: %s", again.raw)
		}
	})
}
