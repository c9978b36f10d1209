package api_test

import (
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

func TestCustomersLinks(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		h.as(domain.Counter).post("/jobs/1/links", map[string]any{}).problem(404)
		h.as(domain.Counter).ask("GET", "/jobs/1/links", nil).problem(404)
		h.arrive()
		path := h.as(domain.Counter).post("/jobs/1/links", map[string]any{}).is(201).text("path")
		secret := strings.TrimPrefix(path, "/yours/")
		if len(secret) != 43 {
			t.Errorf("got %q, want a path with 43 letters of secret", path)
		}
		h.as(domain.Counter).post("/jobs/1/links", map[string]any{"days": 366}).problem(422)
		if r := h.as(domain.Owner).get("/jobs/1/links").want("total", "1"); r.at("items.0.works") != true || r.at("items.0.revoked") != nil || r.text("items.0.expires") == "" {
			t.Errorf("got %s, want one that works and ends", r.raw)
		}
		h.as(domain.Bench).ask("GET", "/jobs/1/links", nil).problem(403)
		h.as(domain.Owner).ask("DELETE", "/jobs/2/links/1", nil).problem(404)
		if _, err := h.work.OpenLink(t.Context(), s, secret); err != nil {
			t.Errorf("the link opens nothing: %v", err)
		}
		h.as(domain.Owner).ask("DELETE", "/jobs/1/links/1", nil).is(204)
		if _, err := h.work.OpenLink(t.Context(), s, secret); domain.KindOf(err) != domain.NotFound {
			t.Errorf("a revoked link: %v, want not found", err)
		}
		if r := h.as(domain.Owner).get("/jobs/1/links"); r.at("items.0.works") != false || r.text("items.0.revoked") == "" {
			t.Errorf("got %s, want one that was revoked", r.raw)
		}
	})
}
