package api_test

import (
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// The shop of these tests is open on Tuesdays alone.
func TestQueue(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.get("/queue").want("answer", "No agreed work waits.")
		job := h.arrive()
		h.survey(job)
		asked := h.post(job+"/quotes/preview", map[string]any{"basis": "estimate", "rows": []any{task("CG", "60")}}).is(200)
		if asked.text("queue.promise.say") < asked.text("queue.promise.likely") {
			t.Errorf("got %s to say before the likely %s", asked.text("queue.promise.say"), asked.text("queue.promise.likely"))
		}
		q := h.said(job, task("RH", "1"), task("CG", "60"))
		h.post(q+"/answer", map[string]any{"outcome": "whole", "who": "Mara", "channel": "phone"}).is(200)
		h.clock.pass(day) // the facts are kept for some seconds
		all := h.as(domain.Bench).get("/queue")
		all.want("trouble", "").want("jobs.0.promise.held.0.cause", "in cabinet")
		p := []string{"p20", "p50", "p80", "p95"}
		for i := 1; i < len(p); i++ {
			if a, b := all.text("jobs.0.promise."+p[i-1]), all.text("jobs.0.promise."+p[i]); a > b {
				t.Errorf("%s is %s, after %s at %s", p[i-1], a, p[i], b)
			}
		}
		h.get(job).want("queue.p80", all.text("jobs.0.promise.p80"))
	})
}
