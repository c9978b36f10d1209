package api_test

import (
	"maps"
	"net/http"
	"testing"

	"winterbench/domain"
	"winterbench/store"
	"winterbench/store/storetest"
)

// A survey without grades takes the bands', and tells what the rules make of it.
func TestSurveyIsRead(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		w := &walk{house: h, bench: h.as(domain.Bench), job: h.arrive()}
		dry := []any{map[string]any{"what": "dryness", "sure": "likely"}}
		body := func(all ...any) map[string]any {
			return map[string]any{"moment": "before hold", "strings": "at pitch", "case_rh": "27 %", "findings": all}
		}
		w.bench.post(w.job+"/surveys", body(
			map[string]any{"symptom": "fret ends proud", "measure": "0.15 mm", "causes": dry, "detail": map[string]any{"side": "treble", "feel": "snags cloth"}},
			map[string]any{"symptom": "crack length", "place": "soundhole to bridge", "measure": "60 mm", "causes": dry,
				"detail": map[string]any{"width": "0.2 mm", "reaches": []string{"bridge"}, "closes": "yes"}},
			map[string]any{"symptom": "relief", "measure": "?"},
			map[string]any{"symptom": "top arch behind bridge", "measure": "-0.8", "grade": 3, "causes": dry},
		)).is(200)
		r := w.bench.get(w.job + "/surveys")
		r.want("items.0.worst", "4").want("items.0.case_grade.grade", "3").want("items.0.case_grade.why", "27 % is 25 to 30: severe")
		r.want("items.0.dryness.verdict", "dry").want("items.0.dryness.missing.0", "relief")
		r.want("items.0.stop_now.0", "Slacken the strings now, evenly and a little at a time, before anything else: crack length 60 mm, soundhole to bridge.")
		r.want("items.0.findings.0.grade", "2").want("items.0.findings.0.suggested.why", "0.15 mm a side is 0.10 to 0.20: moderate").want("items.0.findings.0.detail.feel", "snags cloth")
		r.want("items.0.findings.0.hints.0.cause", "dryness").want("items.0.findings.0.hints.0.sure", "likely")
		r.want("items.0.findings.1.grade", "4").want("items.0.findings.1.detail.width.value", "0.2").want("items.0.findings.1.detail.reaches.0", "bridge")
		if r.at("items.0.findings.2.grade") != nil || r.at("items.0.findings.2.suggested") != nil {
			t.Errorf("a relief out of reach has a grade: %v", r.at("items.0.findings.2"))
		}
		for _, said := range []string{"items.0.explained", "items.0.closure", "items.0.refer.0"} {
			if r.text(said) == "" {
				t.Errorf("%s says nothing", said)
			}
		}
		w.bench.get(w.job+"/offers").find("items", "task", "RH")

		w.bench.post(w.job+"/surveys", body(map[string]any{"symptom": "fret ends proud", "measure": "0.15 mm", "grade": 1, "causes": dry})).
			wrong(422, "findings[0].note", "say why the grade differs")
		w.bench.post(w.job+"/surveys", body(map[string]any{"symptom": "buzz"})).wrong(422, "findings[0].grade", "choose a grade")
		w.bench.post(w.job+"/surveys", body(map[string]any{"symptom": "crack length", "measure": "60 mm", "causes": dry, "detail": map[string]any{"width": "wide"}})).
			wrong(422, "findings[0].detail.width", "1.2 mm")
		w.bench.post(w.job+"/surveys", body(map[string]any{"symptom": "crack length", "measure": "60 mm", "causes": dry, "detail": map[string]any{"feel": "odd"}})).
			wrong(422, "findings[0].detail.feel", "must be one of")
	})
}

// The bands are settings of the shop.
func TestBandsOfTheShop(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		owner := open(t, s).as(domain.Owner)
		shop := owner.get("/shop")
		shop.want("bands.4.symptom", "fret ends proud").want("bands.4.edges.1", "0.1").want("bands.9.over.0", "55")
		seen := headers{"If-Match": shop.header.Get("ETag")}
		change := func(edges ...string) map[string]any {
			all := maps.Clone(shop.doc.(map[string]any))
			delete(all, "version")
			delete(all, "demo")
			all["bands"] = []any{map[string]any{"symptom": "fret ends proud", "edges": edges}}
			return all
		}
		owner.ask(http.MethodPut, "/shop", change("0.10", "0.05", "0.15", "0.20"), seen).wrong(422, "bands[0].edges", "must grow")
		owner.ask(http.MethodPut, "/shop", change("0.02", "0.05", "a", "0.15"), seen).wrong(422, "bands[0].edges", "decimal")
		owner.ask(http.MethodPut, "/shop", change("0.02", "0.05", "0.10", "0.15"), seen).is(200).want("bands.4.edges.0", "0.02").want("bands.3.edges.1", "0.1")
	})
}
