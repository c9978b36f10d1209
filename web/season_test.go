package web

import (
	"net/http"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

func mainText(page *html.Node) string { return textOf(find(page, "id", "main")) }

func TestSeasonWorksWithoutHistory(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	page := s.get("/season")
	if find(page, "class", "balance marked") == nil {
		t.Error("no picture")
	}
	for _, want := range []string{"Nothing agreed is in the house.", "Nothing was agreed yet"} {
		if got := mainText(page); !strings.Contains(got, want) {
			t.Errorf("got %q, want %q in it", got, want)
		}
	}
	if got := linkTo(s.get("/owner"), "/season"); got != "The season" {
		t.Errorf("the owner's page leads to the season as %q", got)
	}
}

func TestWhatIfIsAskedInTheAddressAndKeptByName(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.promised("2026-12-18")
	page := s.get("/season/what-if?days=1&places=2")
	for _, want := range []string{"One more bench day a week, 2 more cabinet places: ", "Weeks that want too much", "Nobody knows", "No what-if is kept yet."} {
		if got := mainText(page); !strings.Contains(strings.ToLower(got), strings.ToLower(want)) {
			t.Errorf("got %q, want %q in it", got, want)
		}
	}
	if got := attr(find(page, "id", "knob-places"), "value"); got != "2" {
		t.Errorf("the form shows %s places, want 2", got)
	}
	s.post("/season/what-if", "days", "1", "places", "2", "name", "Fridays")
	if got := linkTo(s.get("/season/what-if"), "/season/what-if?days=1&places=2"); got != "Fridays" {
		t.Errorf("the kept what-if is named %q, want Fridays", got)
	}
	twice := s.as(s.owner, "/season/what-if", values("days", "2", "name", "fridays"), "")
	if twice.Code != http.StatusUnprocessableEntity || !strings.Contains(twice.Body.String(), "choose another name") {
		t.Errorf("the same name again: status %d, want 422 and why", twice.Code)
	}
	s.post("/season/what-if/1", "name", "Saturdays", "version", "1")
	s.post("/season/what-if/1", "do", "go", "version", "2")
	if got := mainText(s.get("/season/what-if")); !strings.Contains(got, "No what-if is kept yet.") {
		t.Errorf("after letting go: got %q", got)
	}
}

func TestWhatIfSaysWhatCannotBe(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	for query, want := range map[string]string{
		"places=-1":              "must be from 0 to 40 places, not -1",
		"hours=200":              "must be from 0 to 60 hours a week, not 200",
		"closed_week=2026-11-02": "is over; choose one that is still to come",
		"days=many":              "must be a whole number",
	} {
		w := s.as(s.owner, "/season/what-if?"+query, nil, "")
		if got := mainText(parse(t, w.Body.String())); w.Code != http.StatusUnprocessableEntity || !strings.Contains(got, want) {
			t.Errorf("%s: got %d %q, want 422 and %q in it", query, w.Code, got, want)
		}
	}
}
