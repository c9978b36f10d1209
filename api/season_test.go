package api_test

import (
	"net/http"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestSeason(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		boss := h.as(domain.Owner)
		boss.get("/season").want("house", "Nothing agreed is in the house.")
		h.ask(http.MethodGet, "/season", nil).is(403)
		job := h.arrive()
		h.survey(job)
		q := h.said(job, task("RH", "1"), task("CG", "60"))
		h.post(q+"/answer", map[string]any{"outcome": "whole", "who": "Mara", "channel": "phone"}).is(200)
		h.clock.pass(14 * day)
		if all := boss.get("/season"); all.at("weeks.25.overloaded") != false {
			t.Errorf("the last week: %v", all.at("weeks.25"))
		}
		boss.get("/season").want("kinds.0.name", "cracks").want("kinds.0.jobs", "1")
		both := boss.post("/season/what-if", map[string]any{"days": 1, "places": 2}).is(200)
		both.want("then.says", "one more bench day a week, 2 more cabinet places").want("now.says", "nothing changed")
		if both.text("then.weeks.2.hours_there") == both.text("now.weeks.2.hours_there") {
			t.Errorf("one day more leaves %s bench hours", both.text("now.weeks.2.hours_there"))
		}
		boss.post("/season/what-if", map[string]any{"places": -1}).wrong(422, "places", "from 0 to 40 places")
		boss.post("/season/what-if", map[string]any{"hours": 200}).wrong(422, "hours", "from 0 to 60 hours")
	})
}

func TestScenariosAreKept(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s).as(domain.Owner)
		note := map[string]any{"name": "Fridays", "change": map[string]any{"days": 1}}
		first := h.post("/scenarios", note).is(201).want("says", "one more bench day a week")
		seen := headers{"If-Match": first.header.Get("ETag")}
		h.post("/scenarios", note).problem(409, "another name")
		h.post("/scenarios", map[string]any{"name": "", "change": map[string]any{"colder": 999}}).wrong(422, "colder", "from 0 to 200")
		h.ask("PUT", "/scenarios/1", map[string]any{"name": "Saturdays"}, seen).is(200).want("name", "Saturdays")
		h.ask("PUT", "/scenarios/1", map[string]any{"name": "Sundays"}, seen).problem(412, "read it again")
		now := headers{"If-Match": h.get("/scenarios/1").header.Get("ETag")}
		h.ask("DELETE", "/scenarios/1", nil, now).is(204)
		h.get("/scenarios").want("total", "0")
		h.ask("GET", "/scenarios/1", nil).problem(404)
	})
}
