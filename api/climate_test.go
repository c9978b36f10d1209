package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// climateBody is an invented town's usual year.
func climateBody() map[string]any {
	var usual []map[string]any
	for m := range 12 {
		usual = append(usual, map[string]any{"celsius": float64(m) - 6.5, "rh": 70 + float64(m)})
	}
	return map[string]any{"town": "Kaldvik", "source": "invented", "usual": usual, "past": []map[string]any{{"year": 2026, "month": 1, "celsius": -9.5, "rh": 81}}}
}

func TestClimate(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		boss := h.as(domain.Owner)
		h.ask(http.MethodGet, "/season/climate", nil).is(403)
		boss.ask(http.MethodGet, "/season/climate", nil).problem(404)
		boss.post("/season/what-if", map[string]any{"degrees": 3}).wrong(422, "degrees", "needs the climate")
		boss.ask("PUT", "/season/climate", climateBody()).is(200).want("town", "Kaldvik").want("usual.0.celsius", "-6.5").want("past.0.year", "2026")
		boss.ask("PUT", "/season/climate", climateBody()).problem(409, "meanwhile")
		seen := headers{"If-Match": boss.get("/season/climate").header.Get("ETag")}
		boss.ask("PUT", "/season/climate", climateBody(), seen).is(200).want("version", "2")
		boss.ask("PUT", "/season/climate", climateBody(), seen).problem(412, "read it again")
		h.clock.pass(time.Minute)
		boss.post("/season/what-if", map[string]any{"degrees": 3}).is(200).want("then.says", "3 degrees colder outdoors")
		if dry := boss.get("/season"); dry.at("dryness.known") != true || dry.at("dryness.tried") != false {
			t.Errorf("dryness %v, want it known and not tried", dry.at("dryness"))
		}
		csv := headers{"Content-Type": "text/csv"}
		file := "month,celsius,rh\nJan,-11,80\nSmarch,1,2\n"
		look := boss.post("/season/climate/import?dry_run=true", file, csv).is(200)
		look.want("usual", "1").want("wrong", "1").want("lines.0.line", "3").want("climate.usual.0.celsius", "-11")
		boss.get("/season/climate").want("usual.0.celsius", "-6.5")
		boss.post("/season/climate/import", file, csv).is(200)
		boss.get("/season/climate").want("usual.0.celsius", "-11").want("version", "3")
		boss.post("/season/climate/import", "nonsense", csv).wrong(422, "file", "no column month")
		now := headers{"If-Match": boss.get("/season/climate").header.Get("ETag")}
		boss.ask("DELETE", "/season/climate", nil, now).is(204)
		boss.ask("GET", "/season/climate", nil).problem(404)
		boss.post("/season/climate/import", file, csv).wrong(422, "file", "February to December is missing")
	})
}

func TestGuesses(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s).as(domain.Owner)
		week := h.get("/season").text("weeks.3.from")
		note := map[string]any{"week": week, "kind": "cracks", "jobs": 9, "reason": "a school's guitars"}
		made := h.post("/season/guesses", note).is(201).want("week", week).want("jobs", "9")
		h.clock.pass(time.Minute)
		h.get("/season").want("weeks.3.guessed", "1")
		all := h.get("/season/guesses").want("total", "1").want("items.0.reason", "a school's guitars")
		if p50 := all.text("items.0.foretold.p50"); p50 == "9" || p50 == "" {
			t.Errorf("foretold %q, want what the forecast says", p50)
		}
		h.post("/season/guesses", map[string]any{"week": "2026-11-01", "kind": "cracks", "jobs": 9, "reason": "x"}).wrong(422, "week", "is over")
		path := fmt.Sprintf("/season/guesses/%s", made.text("id"))
		if got := made.header.Get("Location"); !strings.HasSuffix(got, path) {
			t.Errorf("made at %q, want %q", got, path)
		}
		h.ask("DELETE", path, nil).is(204)
		h.ask("DELETE", path, nil).problem(404)
		h.clock.pass(time.Minute)
		h.get("/season/guesses").want("total", "0")
	})
}
