package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/quote"
)

// sheetForm is a form of the builder with a crack glued and two cleats.
func sheetForm(more ...string) url.Values {
	return values(append([]string{
		"basis", string(quote.Estimate),
		"rows[0].task", "CG", "rows[0].edition", "1", "rows[0].quantity", "60",
		"rows[3].task", "CC", "rows[3].edition", "1", "rows[3].quantity", "2",
	}, more...)...)
}

// The figures: an hour is 60.00, so a minute is 1.00. 60 mm of crack take 20 +
// 40 x 0.6 = 44 minutes, two cleats 15 + 2 x 12 = 39. With 10 % tax 83.00 are
// 91.30, and with a guard of 10 % not above 100.43. Minutes: the templates'
// own figures; sums by hand.
const handTotal, handCeiling = "91.30", "100.43"

func TestBuilderSuggestsWhatTheSurveyFound(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	page := s.get("/jobs/1/quote")
	if id != 1 {
		t.Fatalf("got job %d, want 1", id)
	}
	for value, want := range map[string]string{"RH:1": "case air 27 %", "CG:60": "crack length 60 mm", "CC:2": "a crack of 60 mm"} {
		offer := find(page, "value", value)
		if got := textOf(offer); !strings.Contains(got, want) {
			t.Errorf("offer %s: got %q, want %q in it", value, got, want)
		}
	}
	if got, want := textOf(find(page, "id", "answer")), "Nothing is on the quote yet"; !strings.Contains(got, want) {
		t.Errorf("answer: got %q, want %q in it", got, want)
	}
}

func TestBuilderAddsAndRemovesRowsWithoutTheScript(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	steps := []struct {
		name string
		form url.Values
		want []string // tasks, parts and names of the rows, in order
		code int
	}{
		{"an offer goes before later work", sheetForm("offer", "RH:1"), []string{"RH", "CG", "CC"}, 200},
		{"a searched task brings its parts", sheetForm("find", "set-up", "with_parts", "yes", "do", "add-task"), []string{"CG", "CC", "SU", "strings-set"}, 200},
		{"a synonym finds its task", sheetForm("find", "reinforce a crack", "add_quantity", "2", "do", "add-task"), []string{"CG", "CC"}, 422},
		{"words of nothing are refused", sheetForm("find", "repaint the moon", "do", "add-task"), []string{"CG", "CC"}, 422},
		{"a length is needed for a splint", sheetForm("add_task", "CS", "do", "add-task"), []string{"CG", "CC"}, 422},
		{"a part from the list", sheetForm("add_part", "strings-set", "do", "add-part"), []string{"CG", "CC", "strings-set"}, 200},
		{"a part of a task stands behind it", sheetForm("add_part", "strings-set", "add_part_for", "CG", "do", "add-part"), []string{"CG", "strings-set", "CC"}, 200},
		{"a free line", sheetForm("add_name", "Courier", "add_kind", "surcharge", "add_price", "12", "do", "add-free"), []string{"CG", "CC", "Courier"}, 200},
		{"a free line without a price", sheetForm("add_name", "Courier", "do", "add-free"), []string{"CG", "CC"}, 422},
		{"a removed task takes its parts along", sheetForm("rows[4].part", "strings-set", "rows[4].for", "CG", "remove", "0"), []string{"CC"}, 200},
	}
	for _, step := range steps {
		t.Run(step.name, func(t *testing.T) {
			w := s.as(s.owner, "/jobs/1/quote", step.form, "")
			if w.Code != step.code {
				t.Errorf("got %d, want %d", w.Code, step.code)
			}
			checkHTML(t, w.Body.Bytes())
			page := parse(t, w.Body.String())
			for i, want := range step.want {
				at := "rows[" + string(rune('0'+i)) + "]."
				var got string
				for _, name := range []string{"task", "part", "name"} {
					if n := find(page, "name", at+name); n != nil && got == "" {
						got = attr(n, "value")
					}
				}
				if got != want {
					t.Errorf("row %d: got %q, want %q", i, got, want)
				}
			}
			if n := find(page, "name", "rows["+string(rune('0'+len(step.want)))+"].task"); n != nil {
				t.Errorf("got more than %d rows", len(step.want))
			}
		})
	}
}

func TestPriceAnswersTheTotalsAndKeepsNothing(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	w := s.as(s.owner, "/jobs/1/quote/price", sheetForm(), "total")
	body := w.Body.String()
	if w.Code != 200 || strings.Contains(body, "<html") {
		t.Fatalf("got %d, whole page %v; want 200 and a part", w.Code, strings.Contains(body, "<html"))
	}
	for _, want := range []string{handTotal, "not above " + handCeiling, "44.00", "39.00", `data-into="answer"`} {
		if !strings.Contains(body, want) {
			t.Errorf("the totals lack %q", want)
		}
	}
	w = s.as(s.owner, "/jobs/1/quote/price", sheetForm("rows[3].quantity", "", "rows[0].off", "110"), "total")
	if !strings.Contains(w.Body.String(), "from 0 to 100 percent") || strings.Contains(w.Body.String(), "<tfoot") {
		t.Errorf("with a wrong discount got %q, want its reason and no total", textOf(parse(t, w.Body.String())))
	}
	if versions, err := s.store.QuotesOfJob(t.Context(), 1); err != nil || len(versions) != 0 {
		t.Errorf("got %d versions kept, %v; want none", len(versions), err)
	}
}

func TestDraftSayAnswerAndFoundMore(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	at := s.post("/jobs/1/quote", withDo(sheetForm(), "save")...)
	page := s.get(at)
	promised := find(page, "name", "promised")
	if got := attr(promised, "value"); got <= "2026-12-03" {
		t.Errorf("the day to say is %q, want the late day of the window", got)
	}
	s.post(at+"/say", "promised", attr(promised, "value"))
	page = s.get(at)
	lines := checkboxes(page, "lines")
	if len(lines) != 2 {
		t.Fatalf("got %d lines to agree to, want 2", len(lines))
	}
	w := s.as(s.owner, at+"/answer", values("outcome", "part", "who", "Mara", "channel", "phone"), "")
	if w.Code != 422 || !strings.Contains(plain(w.Body.String()), "choose the lines") {
		t.Errorf("a part without lines: got %d, want 422 with the reason", w.Code)
	}
	s.post(at+"/answer", "outcome", "part", "who", "Mara", "channel", "phone", "lines", lines[0])
	if got := textOf(find(s.get(at), "id", "answer")); !strings.Contains(got, "Mara agreed to a part") || !strings.Contains(got, "48.40 EUR") {
		t.Errorf("answer: got %q, want the part at 44.00 with tax", got)
	}
	page = s.get("/jobs/1/quote")
	if got := attr(find(page, "name", "rows[0].agreed"), "value"); got != "yes" {
		t.Errorf("the agreed row is marked %q, want yes", got)
	}
	at = s.post("/jobs/1/quote", withDo(sheetForm("rows[0].quantity", "80", "rows[0].agreed", "yes", "rows[0].was", "1"), "save")...)
	if got := plain(s.as(s.owner, at, nil, "").Body.String()); !strings.Contains(got, "What is new") {
		t.Errorf("the second version says nothing of what is new:\n%s", got)
	}
}

func withDo(v url.Values, do string) []string {
	out := []string{"do", do}
	for name, list := range v {
		for _, x := range list {
			out = append(out, name, x)
		}
	}
	return out
}

func TestBuilderKeepsWhatWasTypedWhenTheDraftChanged(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	s.post("/jobs/1/quote", withDo(sheetForm(), "save")...)
	w := s.as(s.owner, "/jobs/1/quote", sheetForm("do", "save", "note", "call first", "seen", "0"), "")
	if w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), "call first") {
		t.Errorf("a draft saved over another: got %d, want 409 with what was typed", w.Code)
	}
}

func TestOnlyTheCounterSaysAQuote(t *testing.T) {
	s := newShop(t)
	bench := s.person("Tam", domain.Bench)
	s.surveyed()
	at := s.post("/jobs/1/quote", withDo(sheetForm(), "save")...)
	page := parse(t, s.as(bench, at, nil, "").Body.String())
	if find(page, "name", "promised") != nil {
		t.Error("the bench sees the form that says a quote")
	}
	if w := s.as(bench, at+"/say", values("promised", ""), ""); w.Code != http.StatusForbidden {
		t.Errorf("the bench says a quote: got %d, want 403", w.Code)
	}
}

func TestPartWithoutAPriceIsNamedBeforeItIsSaid(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	at := s.post("/jobs/1/quote", withDo(sheetForm("rows[4].part", "strings-set", "rows[4].quantity", "1"), "save")...)
	w := s.as(s.owner, at+"/say", values("promised", ""), "")
	if w.Code != http.StatusConflict || !strings.Contains(plain(w.Body.String()), "has no price yet") {
		t.Errorf("got %d, want 409 on the same page with the part that has no price", w.Code)
	}
	checkHTML(t, w.Body.Bytes())
}
