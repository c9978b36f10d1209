package web

import (
	"net/http"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// promised has a hold and a crack agreed on a surveyed guitar, to be ready on a day.
func (s *openShop) promised(day domain.Date) domain.JobID {
	s.Helper()
	id := s.surveyed()
	q, err := s.work.DraftQuote(s.Context(), s.owner, id, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "RH", Quantity: "1"}, {Task: "CG", Quantity: "60"}}}, 0)
	s.must(err)
	s.must(s.work.SayQuote(s.Context(), s.owner, q, day))
	s.must(s.work.AnswerQuote(s.Context(), s.owner, q, quote.Answer{Outcome: quote.Whole, Who: "Mara", Channel: "phone"}, nil))
	return id
}

// linkTo returns the text of the first link within n that leads to a path, "" for none.
func linkTo(n *html.Node, path string) string {
	return textOf(find(find(n, "id", "main"), "href", path))
}

// A hold of ten days and a crack cannot be done by the day after: the job is
// called late before it is.
func TestQueueNamesThePromiseThatWillBreak(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.promised("2026-12-04")
	page := s.get("/queue")
	answer := textOf(find(page, "id", "answer"))
	for _, want := range []string{"One job is agreed.", "1 job will likely pass the day we said; call Mara Oduya about tag", "A cabinet place is"} {
		if !strings.Contains(answer, want) {
			t.Errorf("answer: got %q, want %q in it", answer, want)
		}
	}
	calls := find(page, "class", "entry queue-calls")
	for _, want := range []string{"we said Fri 4 Dec", "kept 0 times in 100", "days are", "Note the call"} {
		if got := textOf(calls); !strings.Contains(got, want) {
			t.Errorf("calls: got %q, want %q in them", got, want)
		}
	}
	if find(calls, "href", "tel:5550101") == nil {
		t.Error("the call has no number to tap")
	}
	if find(calls, "href", "/jobs/1#calls") == nil {
		t.Error("the call does not lead to where it is noted")
	}
	plan := find(page, "class", "entry queue-plan")
	strip := find(plan, "class", "strip-drawing")
	for _, want := range []string{"in the cabinet", "with bad luck", "Today is Thu 3 Dec", "Promised for Fri 4 Dec"} {
		if got := attr(strip, "aria-label"); !strings.Contains(got, want) {
			t.Errorf("strip: got %q, want %q in its words", got, want)
		}
	}
	for _, class := range []string{"air", "hands", "today", "flag", "monday", "wait faint"} {
		if find(strip, "class", class) == nil {
			t.Errorf("the strip shows no %s", class)
		}
	}
	if got := textOf(plan); !strings.Contains(got, "▲ said Fri 4 Dec") || !strings.Contains(got, "What holds it back") {
		t.Errorf("plan: got %q, want the mark beside the day and the table", got)
	}
}

func TestQueueIsSaidWhereItMatters(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.promised("2026-12-04")
	for _, path := range []string{"/counter", "/owner"} {
		page := s.get(path)
		if got, want := textOf(find(page, "id", "main")), "1 job will likely pass the day we said."; !strings.Contains(got, want) {
			t.Errorf("%s: got %q, want %q in it", path, got, want)
		}
		if linkTo(page, "/queue") == "" {
			t.Errorf("%s does not lead to the queue", path)
		}
	}
	if got := textOf(find(s.get("/counter"), "id", "main")); !strings.Contains(got, "Call before it is late") || !strings.Contains(got, "Call, and tell another day") {
		t.Errorf("the counter's calls: got %q", got)
	}
	if linkTo(s.get("/bench"), "/queue") != "The queue" {
		t.Error("the bench does not lead to the queue")
	}
	facts := textOf(find(s.get("/jobs/1"), "class", "facts"))
	if !strings.Contains(facts, "Likely ready") || strings.Contains(facts, "waits alone") || !strings.Contains(facts, "say ") {
		t.Errorf("job: got %q, want what the queue says", facts)
	}
}

func TestPromiseThatHoldsIsNoCall(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.promised("2027-06-30")
	page := s.get("/queue")
	if got, want := textOf(find(page, "id", "answer")), "Every day that was said is likely kept."; !strings.Contains(got, want) {
		t.Errorf("got %q, want %q in it", got, want)
	}
	if got := textOf(find(page, "class", "entry queue-calls")); !strings.Contains(got, "Nobody:") {
		t.Errorf("calls: got %q, want nobody", got)
	}
	if got := textOf(find(s.get("/counter"), "id", "main")); strings.Contains(got, "the day we said") {
		t.Errorf("the counter worries about a promise that holds: %q", got)
	}
}

func TestQueueOfAnEmptyShop(t *testing.T) {
	s := newShop(t)
	page := s.get("/queue")
	if got, want := textOf(find(page, "id", "answer")), "No agreed work waits."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Nobody has hours in the sample shop: the play cannot begin, and says why.
func TestQueueSaysWhatKeepsItFromBeingPlayed(t *testing.T) {
	s := newShop(t)
	s.promised("2026-12-30")
	for _, path := range []string{"/queue", "/counter", "/owner"} {
		if got, want := textOf(find(s.get(path), "id", "main")), "Ilse has no hours: give the shop its opening hours"; !strings.Contains(got, want) {
			t.Errorf("%s: got %q, want %q in it", path, got, want)
		}
	}
	if linkTo(s.get("/queue"), "/settings") == "" {
		t.Error("the owner is not led to the settings")
	}
	runa := s.person("Runa", domain.Bench)
	w := s.as(runa, "/queue", nil, "")
	if w.Code != http.StatusOK {
		t.Fatalf("got %d for the bench, want 200", w.Code)
	}
	page := parse(t, w.Body.String())
	if got := textOf(find(page, "id", "main")); !strings.Contains(got, "The owner can change that") || linkTo(page, "/settings") != "" {
		t.Errorf("the bench: got %q, want to be sent to the owner without a link", got)
	}
	s.get("/jobs/1")
}

func TestCabinetWithoutPlacesIsNamed(t *testing.T) {
	s := newShop(t)
	s.withHours(func(shop *workshop.Shop) { shop.Places = nil })
	s.promised("2026-12-30")
	if got, want := textOf(find(s.get("/queue"), "id", "answer")), "“Rehumidify hold” on tag"; !strings.Contains(got, want) || !strings.Contains(got, "name the places in the settings") {
		t.Errorf("got %q, want %q and what to change", got, want)
	}
}

func TestBuilderSaysTheDayOutOfTheQueue(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.surveyed()
	w := s.as(s.owner, "/jobs/1/quote", sheetForm("do", "work"), "")
	checkHTML(t, w.Body.Bytes())
	answer := func(page *html.Node, key string) string { return textOf(find(page, key, "answer")) }
	said := answer(parse(t, w.Body.String()), "id")
	if !strings.HasPrefix(said, "Likely ready ") || !strings.Contains(said, "say ") || strings.Contains(said, "waits alone") {
		t.Errorf("got %q, want the likely day and the day to say", said)
	}
	if !strings.Contains(w.Body.String(), "eight of ten keep it") {
		t.Error("the page does not say how sure the day is")
	}
	live := s.as(s.owner, "/jobs/1/quote/price", sheetForm(), "total")
	if got := answer(parse(t, live.Body.String()), "data-into"); got != said {
		t.Errorf("live: got %q, want the same %q", got, said)
	}
	longer := s.as(s.owner, "/jobs/1/quote/price", sheetForm("rows[5].task", "RH", "rows[5].edition", "1", "rows[5].quantity", "1"), "total")
	if got := answer(parse(t, longer.Body.String()), "data-into"); got == said || !strings.Contains(got, "are the cabinet") {
		t.Errorf("with a hold: got %q, want a later day, most of it the cabinet", got)
	}
}

func TestBuilderSaysWhyTheQueueIsNotKnown(t *testing.T) {
	s := newShop(t)
	s.surveyed()
	w := s.as(s.owner, "/jobs/1/quote/price", sheetForm(), "total")
	got := textOf(find(parse(t, w.Body.String()), "data-into", "answer"))
	if !strings.Contains(got, "by the waits alone") || !strings.Contains(got, "Ilse has no hours") {
		t.Errorf("got %q, want the waits alone and what is missing", got)
	}
}

// What is said is kept with its window; a day that moves needs a reason, and the
// page of promises counts both.
func TestADayIsSaidMovedAndCounted(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	id := s.promised("2026-12-04")
	page := s.get("/jobs/1")
	if find(page, "action", "/jobs/1/day") == nil {
		t.Fatal("the job page has no way to tell another day")
	}
	s.refusedForm("/jobs/1/day", "needed", "day_promised", "2026-12-22", "day_why", "")
	s.refusedForm("/jobs/1/day", "today or later", "day_promised", "2026-12-01", "day_why", "the glue is late")
	s.post("/jobs/1/day", "day_promised", "2026-12-22", "day_why", "the hold takes longer")
	f, err := s.store.JobByID(s.Context(), id)
	s.must(err)
	if f.Promised != "2026-12-22" {
		t.Errorf("the job is promised for %s", f.Promised)
	}
	told, err := s.store.PromisesOf(s.Context(), id)
	s.must(err)
	if len(told) != 2 || told[0].Said != "2026-12-04" || told[1].Said != "2026-12-22" || told[1].Because != "the hold takes longer" || told[0].Window == nil {
		t.Errorf("the ledger of promises holds %+v", told)
	}
	kept := textOf(find(s.get("/queue/kept"), "id", "answer"))
	if want := "No promised day is over yet; still to come: 1."; kept != want {
		t.Errorf("got %q, want %q", kept, want)
	}
	if w := s.as(s.owner, "/queue/kept/months.csv", nil, ""); w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "month,said,kept") {
		t.Errorf("the months as CSV: %d %.80s", w.Code, w.Body.String())
	}
}
