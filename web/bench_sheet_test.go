package web

import (
	"net/http"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		all, err := templates.Builtin()
		if err != nil {
			panic(err)
		}
		p := &BenchSheetPage{Page: sampleFrame("Bench sheet"), Day: sampleDay(all), Back: "/bench"}
		p.Lines = []SheetLine{{Tag: "tag 318", Title: "Orrin <b>No. 3</b>", Task: "Crack clean, glue, clamp", Href: "/jobs/1/tasks/2", Much: "60 mm", Hands: "30–45–90 min", Then: "then glue clamp", Said: "we said Fri 18 Dec", Cautions: []string{"It scalds."}}}
		return map[string]Paged{"bench/sheet": p}
	})
}

// sampleDay is a day of two cracks and a set-up, one part of which is on the list.
func sampleDay(all []templates.Template) DayPlan {
	task := func(tag int, code string, quantity int) workshop.DayTask {
		return workshop.DayTask{TaskRow: workshop.TaskRow{Tag: tag, Task: job.Task{Template: code, Quantity: quantity}}, Template: templates.Get(all, code)}
	}
	p := DayPlan{Tasks: []workshop.DayTask{task(318, "CG", 60), task(297, "CG", 120), task(301, "SU", 1)}}
	p.fill(workshop.DayNeeds(p.Tasks, []stock.Part{{ID: 4, Code: "strings-set", Name: "Strings, light", Unit: "set", Shelf: "drawer 2"}}), 5)
	return p
}

func TestTheDaysWants(t *testing.T) {
	all, err := templates.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	p := sampleDay(all)
	if p.Says != "3 tasks fill the day, the first of the list." || len(p.Glues) == 0 || !p.Glues[0].Shared || p.Glues[1].Shared {
		t.Errorf("%q, %+v", p.Says, p.Glues)
	}
	first := p.Needs.Rows[0].Cells
	if first[0].Text != "Strings, light" || first[0].Href != "/parts/4" || first[1].Text != "1 set" || first[2].Text != "tag 301" || first[3].Text != "drawer 2" {
		t.Errorf("first stands %+v, want the strings in drawer 2", first)
	}
}

// The bench and its sheet name tools, materials and what can hurt of the work that is
// free; a quiet shop has nothing to lay ready.
func TestTheBenchSheetFollowsTheList(t *testing.T) {
	s := newShop(t)
	if got := mainText(s.get(sheetPath)); !strings.Contains(got, "Nothing is free.") || strings.Contains(got, "Lay ready") {
		t.Errorf("an empty shop: %q", got)
	}
	for range 2 {
		id := s.surveyed()
		q, err := s.work.DraftQuote(s.Context(), s.owner, id, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "CG", Quantity: "60"}}}, 0)
		s.must(err)
		s.must(s.work.SayQuote(s.Context(), s.owner, q, ""))
		s.must(s.work.AnswerQuote(s.Context(), s.owner, q, quote.Answer{Outcome: quote.Whole, Who: "Mara", Channel: "phone"}, nil))
	}
	for _, path := range []string{"/bench", sheetPath, sheetPath + "?for=shop"} {
		got := mainText(s.get(path))
		for _, want := range []string{"2 tasks are free, which the day can hold.", "hide or aliphatic glue", "glue pot with thermometer", "One pot of hot hide glue can serve tags 1 and 2", "it scalds", "common practice, no source"} {
			if !strings.Contains(strings.ToLower(got), strings.ToLower(want)) {
				t.Errorf("%s: no %q in %q", path, want, got)
			}
		}
	}
	if page := s.get("/bench"); find(page, "href", sheetPath) == nil {
		t.Error("the bench has no way to its sheet")
	}
	if w := s.as(s.person("Noor", domain.Counter), sheetPath, nil, ""); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "The whole shop") {
		t.Errorf("the counter's sheet: got %d", w.Code)
	}
}
