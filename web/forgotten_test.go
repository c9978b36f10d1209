package web

import (
	"strings"
	"testing"
	"time"
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
