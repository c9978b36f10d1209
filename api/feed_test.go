package api_test

import (
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestCalendarAddresses(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		own := h.as(domain.Bench).post("/feeds", map[string]any{"name": "my phone"}).is(201).text("path")
		if !strings.HasPrefix(own, "/feeds/") || !strings.HasSuffix(own, ".ics") || len(own) != len("/feeds/.ics")+43 {
			t.Errorf("got %q, want a path with 43 letters of secret", own)
		}
		h.as(domain.Bench).post("/feeds", map[string]any{"name": "the wall", "shop": true}).problem(403)
		h.as(domain.Owner).post("/feeds", map[string]any{"name": "the wall", "shop": true}).is(201)
		h.as(domain.Bench).get("/feeds").want("total", "1").want("items.0.name", "my phone")
		h.as(domain.Owner).get("/feeds").want("total", "2").want("items.0.name", "the wall")
		h.as(domain.Counter).ask("DELETE", "/feeds/1", nil).problem(404)
		h.as(domain.Counter).post("/feeds/1/renew", nil).problem(404)
		fresh := h.as(domain.Bench).post("/feeds/1/renew", nil).is(201).text("path")
		if fresh == own || len(fresh) != len(own) {
			t.Errorf("renewed as %q, want another address", fresh)
		}
		h.as(domain.Bench).get("/feeds").want("total", "2").want("items.1.id", "1")
		h.as(domain.Owner).ask("DELETE", "/feeds/1", nil).is(204)
		secret := strings.TrimSuffix(strings.TrimPrefix(own, "/feeds/"), ".ics")
		if _, err := h.work.OpenFeed(t.Context(), s, secret); domain.KindOf(err) != domain.NotFound {
			t.Errorf("a revoked address: %v, want not found", err)
		}
	})
}
