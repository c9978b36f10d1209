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

// The figures: an hour is 90.00, so 60 mm of crack, 44 minutes, are 66.00;
// shared they are 33.00.
func TestEarlierWorkAndWhoPays(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner, bench := h.as(domain.Owner), h.as(domain.Bench)
		old := owner.arrive()
		owner.get(old+"/earlier").is(200).want("answer", "")
		owner.survey(old)
		q := owner.said(old, task("CG", "60"))
		owner.post(q+"/answer", map[string]any{"outcome": "whole", "who": "Ada", "channel": "phone"}).is(200)
		at := fmt.Sprintf("%s/tasks/%d", old, owner.get(old).id("tasks.0.id"))
		bench.post(at+"/made", map[string]any{"made": strings.Repeat("x", 121)}).problem(422)
		bench.post(at+"/made", map[string]any{"made": "hot hide glue"}).is(200).want("tasks.0.made", "hot hide glue")
		bench.post(at+"/finish", nil).is(200)

		h.clock.now = h.clock.now.Add(48 * time.Hour)
		id := owner.post("/jobs", map[string]any{"instrument": owner.get(old).id("instrument.id"), "complaint": "it opened again", "case_opened": true}).is(201).id("id")
		job := fmt.Sprintf("/jobs/%d", id)
		owner.survey(job)
		r := owner.get(job + "/earlier").is(200)
		r.want("cases.0.fit", "the same place").want("cases.0.facts.work.0.made", "hot hide glue").want("visits.0.tag", owner.get(old).text("tag"))
		if text := r.text("cases.0.text"); !strings.Contains(text, "The record does not decide") {
			t.Errorf("got %q, want it to decide nothing", text)
		}
		decision := map[string]any{"cause": "glue failed", "share": "shared", "why": "half ours"}
		row := task("CG", "60")
		row["comeback"] = true
		sheet := map[string]any{"basis": "quote", "rows": []any{row}}
		owner.post(job+"/comeback", decision).problem(409, "link it first")
		owner.post(job+"/quotes/preview", sheet).problem(422, "link the earlier job first")
		owner.post(job+"/earlier", map[string]any{"earlier": id}).problem(422, "come back from itself")
		h.as(domain.Counter).post(job+"/earlier", map[string]any{"earlier": r.id("visits.0.job")}).is(200).want("comeback_of", r.text("visits.0.job"))
		owner.post(job+"/quotes/preview", sheet).is(200).want("lines.0.net", "66.00").want("lines.0.off_why", "comeback: not decided yet")
		owner.post(job+"/comeback", map[string]any{"cause": "bad luck", "share": "ours", "why": "x"}).problem(422)
		owner.post(job+"/comeback", decision).is(200).want("comeback.share", "shared")
		owner.post(job+"/quotes/preview", sheet).is(200).want("lines.0.net", "33.00").want("lines.0.off_why", "comeback: shared")
		owner.post(job+"/earlier", map[string]any{"earlier": 0}).problem(409, "was decided on this link")
	})
}

func TestTheWarrantyOfAShop(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s).as(domain.Owner)
		h.get("/shop").want("warranty.days", "90").want("warranty.low_rh", "40").want("warranty.high_rh", "60")
	})
}
