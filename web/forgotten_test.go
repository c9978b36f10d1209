package web

import (
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/quote"
)

// A clock that ran on overnight is asked about on the bench and by the owner; the
// way leads to its form, which has the closing time in it, and the correction counts.
func TestAForgottenClockIsPutRight(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.agreed()
	j, err := s.store.JobByID(s.Context(), 1)
	s.must(err)
	s.clock.now = time.Date(2026, time.December, 3, 13, 0, 0, 0, time.UTC)
	s.must(s.work.ClockOn(s.Context(), s.owner, 1, j.Tasks[0].ID, false))
	if text := textOf(find(s.get("/bench"), "id", "main")); strings.Contains(text, "ran on after closing") {
		t.Errorf("a clock at work is called forgotten: %s", text)
	}
	s.clock.now = time.Date(2026, time.December, 4, 8, 0, 0, 0, time.UTC)
	way := "/jobs/1/tasks/1?stopped=2026-12-03T"
	for _, path := range []string{"/bench", "/owner"} {
		page := s.get(path)
		text := textOf(find(page, "id", "main"))
		if !strings.Contains(text, "Your clock on tag 1") || !strings.Contains(text, "ran on after closing, Thu 3 Dec") {
			t.Errorf("%s does not ask about the clock: %s", path, text)
		}
	}
	link := ""
	for a := range find(s.get("/bench"), "id", "main").Descendants() {
		if href := attr(a, "href"); strings.HasPrefix(href, way) {
			link = href
		}
	}
	if link == "" {
		t.Fatalf("no way begins with %q", way)
	}
	page := s.get(strings.TrimSuffix(link, "#time"))
	end := find(page, "name", "end")
	if got := attr(end, "value"); !strings.HasPrefix(got, "2026-12-03T") {
		t.Errorf("the form has the end %q, want the closing time", got)
	}
	s.post("/jobs/1/tasks/1/clocking", "clocking", "1", "start", attr(find(page, "name", "start"), "value"), "end", attr(end, "value"), "reason", "went home")
	if rows, err := s.store.RunningClocks(s.Context()); err != nil || len(rows) != 0 {
		t.Errorf("%d clocks run after the correction, %v", len(rows), err)
	}
	if text := textOf(find(s.get("/bench"), "id", "main")); strings.Contains(text, "ran on after closing") {
		t.Errorf("the clock is still asked about: %s", text)
	}
}

// overnight leaves the clock of a person running on the crack of job 1, with a second
// job that is free, and returns the two tasks' paths.
func (s *openShop) overnight(who domain.Actor) (forgotten, other string) {
	s.Helper()
	s.withHours(nil)
	s.arrived()
	for range 2 {
		id := s.surveyed()
		q, err := s.work.DraftQuote(s.Context(), s.owner, id, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "CG", Quantity: "60"}}}, 0)
		s.must(err)
		s.must(s.work.SayQuote(s.Context(), s.owner, q, ""))
		s.must(s.work.AnswerQuote(s.Context(), s.owner, q, quote.Answer{Outcome: quote.Whole, Who: "Mara", Channel: "phone"}, nil))
	}
	s.clock.now = time.Date(2026, time.December, 3, 13, 0, 0, 0, time.UTC) // 15:00 in Helsinki
	at := func(id domain.JobID) string {
		j, err := s.store.JobByID(s.Context(), id)
		s.must(err)
		return taskPath(id, j.Tasks[0].ID)
	}
	j, err := s.store.JobByID(s.Context(), 2)
	s.must(err)
	s.must(s.work.ClockOn(s.Context(), who, 2, j.Tasks[0].ID, false))
	s.clock.now = time.Date(2026, time.December, 4, 8, 0, 0, 0, time.UTC)
	return at(2), at(3)
}

// clocked is what counts on the first task of a job.
func (s *openShop) clocked(id domain.JobID) int {
	s.Helper()
	j, err := s.store.JobByID(s.Context(), id)
	s.must(err)
	return j.Minutes(j.Tasks[0].ID, s.clock.now)
}

// A clock that ran on overnight is not stopped at the next morning by starting
// elsewhere: its end is asked for, what was typed is kept, and the stretch that ran on
// stays on record.
func TestSwitchingOverAsksWhenAForgottenClockStopped(t *testing.T) {
	s := newShop(t)
	_, other := s.overnight(s.owner)
	for _, over := range []string{"", "yes"} {
		w := s.as(s.owner, other+"/clock", values("do", "start", "over", over), "")
		end := find(parse(t, w.Body.String()), "name", "end")
		if w.Code != http.StatusConflict || end == nil || !strings.HasPrefix(attr(end, "value"), "2026-12-03T") {
			t.Fatalf("over %q: got %d\n%s", over, w.Code, plain(w.Body.String()))
		}
	}
	if rows, err := s.store.RunningClocks(s.Context()); err != nil || len(rows) != 1 || rows[0].Job != 2 {
		t.Fatalf("%+v run, %v; want the forgotten one alone", rows, err)
	}
	for _, wrong := range [][]string{
		{"end", "2026-12-03T16:30", "reason", ""},
		{"end", "2026-12-03T14:00", "reason", "went home early"}, // before it began
		{"end", "2026-12-05T09:00", "reason", "went home in the future"},
		{"end", "yesterday", "reason", "went home vaguely"},
		{"end", "", "reason", "went home, no idea when"},
	} {
		page := s.refusedForm(other+"/clock", "It stopped", append([]string{"do", "start", "forgot", "yes"}, wrong...)...)
		doc := parse(t, page)
		if got := attr(find(doc, "name", "end"), "value"); got != wrong[1] || attr(find(doc, "name", "reason"), "value") != wrong[3] {
			t.Errorf("%v came back as %q, %q", wrong, got, attr(find(doc, "name", "reason"), "value"))
		}
	}
	s.post(other+"/clock", "do", "start", "forgot", "yes", "end", "2026-12-03T16:30", "reason", "went home")
	if rows, err := s.store.RunningClocks(s.Context()); err != nil || len(rows) != 1 || rows[0].Job != 3 || !rows[0].Since.Equal(s.clock.now) {
		t.Errorf("%+v run, %v; want the new one from now on", rows, err)
	}
	if got := s.clocked(2); got != 90 {
		t.Errorf("%d minutes count, want 90 from 15:00 to 16:30", got)
	}
	j, err := s.store.JobByID(s.Context(), 2)
	s.must(err)
	if n := len(j.Clockings); n != 2 || !strings.HasPrefix(j.Clockings[1].Reason, "went home") {
		t.Errorf("clockings %+v, want the old one kept and its correction", j.Clockings)
	}
}

// Stopping, finishing and waiting do not stop it at the next morning either: each leads
// to its correction.
func TestAForgottenClockIsNotStoppedInPassing(t *testing.T) {
	s := newShop(t)
	at, _ := s.overnight(s.owner)
	for path, form := range map[string][]string{"/clock": {"do", "stop"}, "/done": {"do", "done"}, "/wait": {"kind", "glue clamp"}} {
		if to := s.post(at+path, form...); !strings.HasPrefix(to, at+"?stopped=2026-12-03T") {
			t.Errorf("%s leads to %s, want the correction", path, to)
		}
	}
	if rows, err := s.store.RunningClocks(s.Context()); err != nil || len(rows) != 1 {
		t.Errorf("%+v run, %v", rows, err)
	}
	s.clock.now = time.Date(2026, time.December, 3, 20, 0, 0, 0, time.UTC) // late the same day: overtime
	s.post(at+"/clock", "do", "stop")
	if got := s.clocked(2); got != 7*60 {
		t.Errorf("overtime counts as %d minutes, want 420", got)
	}
}

// An owner puts the clock of somebody else right; somebody from the bench may not.
func TestOnlyOwnersPutOthersTimeRight(t *testing.T) {
	s := newShop(t)
	runa, odo := s.person("Runa", domain.Bench), s.person("Odo", domain.Bench)
	at, _ := s.overnight(runa)
	if text := mainText(s.get("/owner")); !strings.Contains(text, "Runa’s clock on tag 2") {
		t.Errorf("the owner is not asked about Runa's clock: %s", text)
	}
	j, err := s.store.JobByID(s.Context(), 2)
	s.must(err)
	id := strconv.FormatInt(int64(j.Clockings[0].ID), 10)
	form := func(end string) []string {
		return []string{"clocking", id, "start", "2026-12-03T15:00", "end", end, "reason", "forgot it"}
	}
	w := s.as(odo, at+"/clocking", values(form("2026-12-03T16:30")...), "")
	if w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "Runa’s time") {
		t.Errorf("Odo corrects Runa's clock: got %d", w.Code)
	}
	for who, want := range map[*domain.Actor]bool{&odo: false, &runa: true, &s.owner: true} {
		w := s.as(*who, at, nil, "")
		if got := strings.Contains(w.Body.String(), at+`/clocking"`); got != want {
			t.Errorf("%s is offered the correction: %v, want %v", who.Name, got, want)
		}
	}
	if w := s.as(odo, "/bench", nil, ""); strings.Contains(w.Body.String(), "ran on after closing") {
		t.Error("Odo is asked about Runa's clock")
	}
	page := s.refusedForm(at+"/clocking", "must be after the start", form("2026-12-03T14:00")...)
	if !strings.Contains(page, `value="2026-12-03T14:00"`) || !strings.Contains(page, `value="forgot it"`) {
		t.Error("the form lost what was typed")
	}
	s.post(at+"/clocking", form("2026-12-03T16:30")...)
	if got := s.clocked(2); got != 90 {
		t.Errorf("%d minutes count, want 90", got)
	}
	if w := s.as(runa, at+"/clocking", values("clocking", id, "start", "2026-12-03T15:00", "end", "2026-12-03T16:00", "reason", "again"), ""); w.Code != http.StatusConflict {
		t.Errorf("corrected twice: got %d, want 409", w.Code)
	}
}
