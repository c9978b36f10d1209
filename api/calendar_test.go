package api_test

import (
	"fmt"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// oneDay is a person's hours: morning and afternoon of Wednesdays alone.
func oneDay() []any {
	week := make([]any, 7)
	for i := range week {
		week[i] = []any{}
	}
	week[2] = []any{map[string]any{"from": "09:00", "to": "12:30"}, map[string]any{"from": "13:00", "to": "17:00"}}
	return week
}

// seen is the header of a change to what was read.
func seen(r reply) headers { return headers{"If-Match": r.header.Get("ETag")} }

func TestCalendar(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		owner := h.as(domain.Owner)
		days := []any{map[string]any{"from": "2026-12-09", "to": "2026-12-09", "why": "the north"}}
		made := owner.post("/staff", map[string]any{"name": "Eskil", "roles": []string{"bench"}, "password": "a very long word", "hours": oneDay(), "away": days, "skill": 2}).is(201)
		made.want("hours.2.1.from", "13:00")
		made.want("skill", "2")
		made.want("away.0.why", "the north")
		id := made.id("id")

		shop := owner.get("/shop")
		shop.want("hours.1.open", "09:00")
		body := shop.doc.(map[string]any)
		delete(body, "version")
		delete(body, "demo")
		body["region"], body["said"], body["open_on"] = "CA", "p95", []any{"2026-12-25"}
		body["closed"] = []any{map[string]any{"from": "2026-12-29", "to": "2026-12-31", "why": "midwinter"}}
		changed := owner.ask("PUT", "/shop", body, seen(shop)).is(200)
		changed.want("region", "CA")
		changed.want("said", "p95")
		changed.want("closed.0.why", "midwinter")

		all := h.get("/calendar?from=2026-12-28&to=2026-12-30").is(200)
		all.want("total", "3")
		all.want("items.1.why", "midwinter")
		all.want("items.1.minutes", "0")
		h.get("/calendar?from=2026-12-14&to=2026-12-14").want("items.0.why", "no hours on Mondays")
		open := h.get("/calendar?from=2026-12-22&to=2026-12-22").is(200)
		open.want("items.0.open.0.to", "17:00")
		open.want("items.0.minutes", "480")

		of := func(day string) string { return fmt.Sprintf("/calendar?from=%s&to=%s&staff=%d", day, day, id) }
		own := h.get(of("2026-12-16")).is(200)
		own.want("items.0.open.1.from", "13:00")
		own.want("items.0.minutes", "450")
		h.get(of("2026-12-09")).is(200).want("items.0.why", "away") // the counter need not know why
		owner.get(of("2026-12-09")).is(200).want("items.0.why", "away: the north")

		h.ask("GET", "/calendar?from=2026-12-09&to=2026-12-08", nil).problem(422, "ends before it begins")
		h.ask("GET", "/calendar?from=2026-12-09&to=2030-12-08", nil).problem(422, "at most 400")
		h.ask("GET", "/calendar?from=2026-12-09&to=2026-12-09&staff=4711", nil).problem(404, "no member of staff")
		body["region"] = "XX"
		owner.ask("PUT", "/shop", body, seen(changed)).wrong(422, "region", "no holidays are known")
		person := owner.get(fmt.Sprintf("/staff/%d", id)).is(200)
		week := oneDay()
		week[3] = []any{map[string]any{"from": "12:00", "to": "09:00"}}
		change := map[string]any{"name": "Eskil", "roles": []string{"bench"}, "active": true, "hours": week}
		owner.ask("PUT", fmt.Sprintf("/staff/%d", id), change, seen(person)).wrong(422, "hours[3]", "Thursday: 12:00-09:00 must begin before it ends")
		delete(change, "hours")
		after := owner.ask("PUT", fmt.Sprintf("/staff/%d", id), change, seen(person)).is(200)
		if body := after.doc.(map[string]any); body["hours"] != nil || body["away"] != nil || body["skill"] != nil {
			t.Errorf("got %v, want what was left out taken away", body)
		}
	})
}
