package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// agreed brings a guitar to a yes for a crack and two cleats, see sheetForm.
func (s *openShop) agreed() {
	s.Helper()
	s.surveyed()
	at := s.post("/jobs/1/quote", withDo(sheetForm(), "save")...)
	s.post(at+"/say", "promised", "")
	s.post(at+"/answer", "outcome", string(quote.Whole), "who", "Mara", "channel", "phone")
}

// worked does every task in so many minutes each and notes its checks.
func (s *openShop) worked(minutes ...int) {
	s.Helper()
	ctx := s.Context()
	j, err := s.store.JobByID(ctx, 1)
	s.must(err)
	for i, t := range j.Tasks {
		s.must(s.work.ClockOn(ctx, s.owner, 1, t.ID, false))
		s.clock.now = s.clock.now.Add(time.Duration(minutes[i]) * time.Minute)
		s.must(s.work.ClockOff(ctx, s.owner, 1, t.ID))
		s.must(s.work.Finish(ctx, s.owner, 1, t.ID))
		e, err := s.store.EditionOf(ctx, t.Template, t.Edition)
		s.must(err)
		for _, what := range workshop.CheckNames(e.Template) {
			s.must(s.work.NoteCheck(ctx, s.owner, 1, job.Check{Task: t.ID, What: what, Result: job.Pass}))
		}
	}
}

func TestJobPageLeadsFromStepToStep(t *testing.T) {
	s := newShop(t)
	s.arrived()
	next := func(want string) {
		t.Helper()
		page := s.get("/jobs/1")
		if find(page, "href", want) == nil {
			t.Errorf("at %q the page has no way to %s", textOf(find(page, "id", "answer")), want)
		}
	}
	next("/jobs/1/survey")
	s = newShop(t)
	s.surveyed()
	next("/jobs/1/quote")
	at := s.post("/jobs/1/quote", withDo(sheetForm(), "save")...)
	s.post(at+"/say", "promised", "2026-12-18")
	next(at)
	s.post(at+"/answer", "outcome", "whole", "who", "Mara", "channel", "phone")
	next("/jobs/1/tasks/1")
	s.worked(44, 39)
	if got := textOf(find(s.get("/jobs/1"), "id", "check")); !strings.Contains(got, "every check has its result") {
		t.Errorf("with all done the check says %q", got)
	}
	s.post("/jobs/1/pass")
	next("#calls")
	s.post("/jobs/1/calls", "call_about", "ready", "call_result", "spoke")
	next("/jobs/1/hand-over")
}

func TestJobPageSetsHandsAndDaysSideBySide(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.worked(50, 30)
	text := textOf(find(s.get("/jobs/1"), "id", "main"))
	// Quoted minutes of 60 mm and two cleats: 35–44–62 and 31–39–65 by the templates.
	for _, want := range []string{"66–83–127 min 80 min", "35–44–62 50", "31–39–65 30", "0.75–1.5–3 d"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q:\n%s", want, text)
		}
	}
}

func TestColdCaseIsOpenedFirst(t *testing.T) {
	s := newShop(t)
	s.arrived()
	j, err := s.store.JobByID(t.Context(), 1)
	s.must(err)
	_, err = s.work.Arrive(t.Context(), s.owner, workshop.Taking{Instrument: j.Instrument, Arrival: job.Arrival{Complaint: "Cold."}})
	s.must(err)
	page := s.get("/jobs/2")
	if find(page, "action", "/jobs/2/case") == nil || find(page, "href", "/jobs/2/survey") != nil {
		t.Error("a closed case must be opened before the survey is offered")
	}
	if find(page, "href", "/jobs/2/tag.pdf") == nil {
		t.Error("the claim tag of a cold case cannot be printed")
	}
	if got := s.refused("/jobs/2/case"); find(got, "name", "case_warm") == nil || !strings.Contains(textOf(got), "it stood here for 0 h") {
		t.Error("a case of this minute is opened without a question")
	}
	s.post("/jobs/2/case", "case_warm", "yes")
	if find(s.get("/jobs/2"), "href", "/jobs/2/survey") == nil {
		t.Error("after the case was opened there is no way to the survey")
	}
}

func TestWaitStartsAndEndsOnTheJobPage(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.post("/jobs/1/waits", "wait_kind", "part ordered", "wait_until", "2026-12-10", "wait_note", "bone blank")
	page := s.get("/jobs/1")
	if got := textOf(find(page, "class", "wait-line")); !strings.Contains(got, "part ordered") || !strings.Contains(got, "Thu 10 Dec") {
		t.Errorf("the wait reads %q, want its kind and day", got)
	}
	w := s.as(s.owner, "/jobs/1/waits", values("wait_kind", "deposit", "wait_until", "2026-11-01"), "")
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "must be later than now") {
		t.Errorf("a wait that ends before it begins: got %d, want 422 with the reason", w.Code)
	}
	checkHTML(t, w.Body.Bytes())
	s.post("/jobs/1/waits/1/end")
	if find(s.get("/jobs/1"), "class", "wait-line") != nil {
		t.Error("the wait still runs after it was ended")
	}
}

func TestMarkWithoutAPlaceComesBackAsTyped(t *testing.T) {
	s := newShop(t)
	s.arrived()
	w := s.as(s.owner, "/jobs/1/marks", values("mark_what", "ding", "mark_note", "by the heel"), "")
	page := parse(t, w.Body.String())
	if w.Code != 422 || attr(find(page, "name", "mark_note"), "value") != "by the heel" || attr(find(page, "name", "mark_place"), "aria-invalid") != "true" {
		t.Errorf("got %d, want 422 with the note as typed and the place marked", w.Code)
	}
	s.post("/jobs/1/marks", "mark_what", "ding", "mark_place", "heel")
	if !strings.Contains(textOf(s.get("/jobs/1")), "Marks that were there before: 1") {
		t.Error("the mark is not on the page")
	}
}

func TestSameKeyNotesOneCall(t *testing.T) {
	s := newShop(t)
	s.arrived()
	for range 2 {
		s.post("/jobs/1/calls", "key", "once-only", "call_about", "question", "call_result", "no answer")
	}
	j, err := s.store.JobByID(t.Context(), 1)
	s.must(err)
	if len(j.Contacts) != 1 {
		t.Errorf("the same form sent twice noted %d calls, want 1", len(j.Contacts))
	}
}

func TestOnlyTheOwnerClosesUnclaimed(t *testing.T) {
	s := newShop(t)
	counter := s.person("Ruben", domain.Counter)
	s.agreed()
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	s.post("/jobs/1/calls", "call_about", "ready", "call_result", "no answer")
	if find(parse(t, s.as(counter, "/jobs/1", nil, "").Body.String()), "action", "/jobs/1/unclaimed") != nil {
		t.Error("the counter sees the form that closes a job unclaimed")
	}
	w := s.as(s.owner, "/jobs/1/unclaimed", values(), "")
	if w.Code != 422 {
		t.Errorf("without the law checked: got %d, want 422", w.Code)
	}
	s.post("/jobs/1/unclaimed", "unclaimed_law_checked", "yes")
	if got := textOf(find(s.get("/jobs/1"), "id", "answer")); !strings.Contains(got, "Closed unclaimed") {
		t.Errorf("answer: got %q", got)
	}
}

func TestMissingJobIsNotFound(t *testing.T) {
	s := newShop(t)
	for _, path := range []string{"/jobs/99", "/jobs/99/quote", "/jobs/99/money", "/jobs/99/hand-over", "/quotes/99", "/invoices/99"} {
		if w := s.as(s.owner, path, nil, ""); w.Code != http.StatusNotFound {
			t.Errorf("GET %s: got %d, want 404", path, w.Code)
		}
	}
	if got := fmt.Sprint(s.as(domain.Actor{}, "/jobs/1", nil, "").Code); got != "303" {
		t.Errorf("nobody signed in: got %s, want 303 to the sign-in", got)
	}
}

func TestBenchReadsTheJobInTheBenchsType(t *testing.T) {
	s := newShop(t)
	bench := s.person("Tam", domain.Bench)
	s.arrived()
	for who, want := range map[*domain.Actor]string{&bench: "bench", &s.owner: ""} {
		page := parse(t, s.as(*who, "/jobs/1", nil, "").Body.String())
		if got := attr(find(page, "id", "main").Parent, "class"); got != want {
			t.Errorf("%s reads a page of class %q, want %q", who.Name, got, want)
		}
	}
}
