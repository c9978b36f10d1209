package season

import (
	"encoding/json"
	"strings"
	"testing"

	"winterbench/domain"
)

func TestCalcExample(t *testing.T) {
	b, err := CalcSeason(CalcSeasonExample())
	if err != nil {
		t.Fatal(err)
	}
	var out CalcOutput
	if err := json.Unmarshal(b, &out); err != nil {
		t.Fatal(err)
	}
	if len(out.Weeks) != 26 || out.Weeks[0].Week != "2026-W42" {
		t.Errorf("got %d weeks from %s, want 26 from 2026-W42", len(out.Weeks), out.Weeks[0].Week)
	}
	if !strings.Contains(out.Answer, "want") || !strings.Contains(out.Why, "2 weeks without a count") {
		t.Errorf("got %q, %q", out.Answer, out.Why)
	}
	over := 0
	for _, w := range out.Weeks {
		if w.Minutes.P50 > w.Minutes.P90 || w.Places.P50 > w.Places.P90 {
			t.Errorf("%s: got %+v, want P50 up to P90", w.Week, w)
		}
		if w.Overloaded {
			over++
		}
	}
	if over == 0 || over == 26 {
		t.Errorf("got %d weeks over, want the winter's alone", over)
	}
}

func TestCalcNamesTheField(t *testing.T) {
	const rest = `"load":{"crack":{"minutes":180}},"capacity":{"minutes":900,"places":6}`
	for in, field := range map[string]string{
		`[]`:                        "input",
		`{`:                         "input",
		`{"tea":1}`:                 "tea",
		`{"weeks":[],` + rest + `}`: "weeks",
		`{"weeks":[{"week":"2026-W54","arrivals":{}}],` + rest + `}`:                                        "weeks[0].week",
		`{"weeks":[{"week":"2025-W53","arrivals":{}}],` + rest + `}`:                                        "weeks[0].week",
		`{"weeks":[{"week":"2026-W02","arrivals":{}},{"week":"2026-W02","arrivals":{}}],` + rest + `}`:      "weeks[1].week",
		`{"weeks":[{"week":"2026-W02","arrivals":{"neck":1}}],` + rest + `}`:                                "weeks[0].arrivals.neck",
		`{"weeks":[{"week":"2026-W02","arrivals":{"crack":-1}}],` + rest + `}`:                              "weeks[0].arrivals.crack",
		`{"weeks":[{"week":"2026-W02","arrivals":{"crack":"3"}}],` + rest + `}`:                             "weeks[0].arrivals.crack",
		`{"weeks":[{"week":"1950-W02","arrivals":{}},{"week":"2026-W02","arrivals":{}}],` + rest + `}`:      "weeks",
		`{"weeks":[{"week":"2026-W02","arrivals":{}}],"horizon":400,` + rest + `}`:                          "horizon",
		`{"weeks":[{"week":"2026-W02","arrivals":{}}],"horizon":"4",` + rest + `}`:                          "horizon",
		`{"weeks":[{"week":"2026-W02","arrivals":{}}],"load":{"a":{"minutes":-1}},"capacity":{}}`:           "load.a.minutes",
		`{"weeks":[{"week":"2026-W02","arrivals":{}}],"load":{},"capacity":{}}`:                             "load",
		`{"weeks":[{"week":"2026-W02","arrivals":{}}],"load":{"a":{"minutes":1}},"capacity":{"places":-2}}`: "capacity.places",
	} {
		_, err := CalcSeason([]byte(in))
		if domain.FieldsOf(err)[field] == "" {
			t.Errorf("%s: got %v, want %s named", in, err, field)
		}
	}
}

// 2020 and 2026 are long years by ISO 8601; 2025 is not.
func TestWeeksOfISO(t *testing.T) {
	for week, want := range map[string]domain.Date{"2026-W53": "2026-12-28", "2020-W53": "2020-12-28", "2021-W01": "2021-01-04", "2025-W01": "2024-12-30"} {
		got, ok := mondayOf(week)
		if !ok || got != want || weekOf(got) != week {
			t.Errorf("%s: got %s %v, want %s", week, got, ok, want)
		}
	}
}

func FuzzCalcSeason(f *testing.F) {
	f.Add(CalcSeasonExample())
	f.Add([]byte(`{"weeks":[{"week":"2026-W02","arrivals":{}}],"load":{"a":{"minutes":1}},"capacity":{"places":2}}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		out, err := CalcSeason(in)
		if err == nil && !json.Valid(out) {
			t.Errorf("got %q, want JSON", out)
		}
		if err != nil && domain.KindOf(err) == domain.Internal {
			t.Errorf("got %v, want an error that says what is wrong", err)
		}
	})
}
