package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/quote"
)

// waiting agrees a hold that has not begun, promised for a day.
func (s *openShop) waiting(said domain.Date) (domain.JobID, string) {
	s.Helper()
	id := s.surveyed()
	q, err := s.work.DraftQuote(s.Context(), s.owner, id, quote.Sheet{Basis: quote.Estimate, Rows: []quote.Row{{Task: "RH", Quantity: "1"}}}, 0)
	s.must(err)
	s.must(s.work.SayQuote(s.Context(), s.owner, q, said))
	s.must(s.work.AnswerQuote(s.Context(), s.owner, q, quote.Answer{Outcome: quote.Whole, Who: "Mara", Channel: "phone"}, nil))
	j, err := s.store.JobByID(s.Context(), id)
	s.must(err)
	return id, taskPath(id, j.Tasks[0].ID)
}

func TestTakenPlacesAreNotOffered(t *testing.T) {
	s := newShop(t)
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	shop.Places = []string{"økrok", "shelf"}
	s.must(s.work.ChangeShop(t.Context(), s.owner, *shop))
	s.held("shelf")
	_, lateTask := s.waiting("2027-02-20")
	_, task := s.waiting("2027-01-10")
	if got := textOf(find(s.get(task), "name", "place")); got != "økrok" {
		t.Errorf("on offer are %q, want the free place alone", got)
	}
	refused := s.refusedForm(task+"/hold", "shelf is taken by tag 1; choose a free place", "place", "shelf")
	if chosen := find(parse(t, refused), "value", "shelf"); chosen == nil || textOf(chosen) != "shelf, taken by tag 1" {
		t.Error("the chosen place is lost")
	}
	// The one who was promised the earlier day goes first.
	text := textOf(s.get("/cabinet"))
	if !strings.Contains(text, "Økrok is free: tag 3 waits for it.") || !strings.Contains(text, "for tag 3") {
		t.Errorf("the cabinet does not say for whom the place is: %s", text)
	}
	s.post(task+"/hold", "place", "økrok")
	if text := textOf(s.get("/cabinet")); !strings.Contains(text, "Tag 2 waits for it.") {
		t.Errorf("a full cabinet does not say who waits: %s", text)
	}
	if text := textOf(s.get(lateTask)); !strings.Contains(text, "Every place is taken") {
		t.Errorf("the task does not say that no place is free: %s", text)
	}
}

func TestErrorsNameFieldsByTheirLabels(t *testing.T) {
	s := newShop(t)
	id, h := s.held("place 1")
	page := textOf(classed(parse(t, s.refusedForm(holdPath(id, h)+"/reading", "", "rh", "120", "weight", "3")), "problems"))
	for _, want := range []string{"Air in the body or case", "Weight"} {
		if !strings.Contains(page, want) {
			t.Errorf("the hold's errors do not name %q: %s", want, page)
		}
	}
	back := s.cameBack(id, "46")
	page = textOf(classed(parse(t, s.refusedForm(jobPath(back)+"/was-it-us/decide", "", "decide_share", "", "decide_why", "")), "problems"))
	if strings.Contains(strings.ToLower(page), "decide share") || !strings.Contains(page, "Who pays") {
		t.Errorf("the errors name fields by raw names: %s", page)
	}
}

func TestRoundTellsAllErrorsAndWhatChanged(t *testing.T) {
	s := newShop(t)
	id, h := s.held("place 1")
	meter, at := s.meter(), fmt.Sprintf("rows[%d].", h)
	w := s.as(s.owner, "/cabinet/round", values("meter", fmt.Sprint(meter), at+"gap", "wide", at+"rh", "150", at+"weight", "2"), "")
	problems := textOf(classed(parse(t, w.Body.String()), "problems"))
	for _, want := range []string{"3 things", "Place 1, Crack", "Place 1, Air", "Place 1, Weight"} {
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(problems, want) {
			t.Errorf("%d: %q is missing in %s", w.Code, want, problems)
		}
	}
	s.readDaily(id, h, meter, "0.60", "0.31", "0.14", "0.08", "0.07")
	session := s.session(s.owner)
	if w := s.send(session, "/cabinet/round", values("meter", fmt.Sprint(meter), at+"gap", "0.07", at+"rh", "47", at+"weight", "2163"), ""); w.Code != http.StatusSeeOther {
		t.Fatalf("the round is refused: %d %s", w.Code, plain(w.Body.String()))
	}
	text := textOf(parse(t, s.send(session, "/cabinet", nil, "").Body.String()))
	if !strings.Contains(text, "1 reading is noted. Tag 1 is now steady, can be released now.") {
		t.Errorf("the cabinet does not say what the round changed: %s", text)
	}
	s.send(session, "/cabinet/round", values("meter", fmt.Sprint(meter), at+"gap", "0.07"), "")
	if text := textOf(parse(t, s.send(session, "/cabinet", nil, "").Body.String())); !strings.Contains(text, "No verdict changed.") {
		t.Errorf("the cabinet does not say that nothing changed: %s", text)
	}
}

func TestBenchTellsOfHolds(t *testing.T) {
	s := newShop(t)
	id, h := s.held("place 1")
	told := func() string { return textOf(find(s.get("/bench"), "href", holdPath(id, h)).Parent) }
	if link := find(s.get("/bench"), "href", holdPath(id, h)); link != nil {
		t.Errorf("a hold that began now wants nobody: %s", textOf(link.Parent))
	}
	meter := s.meter()
	s.clock.now = s.clock.now.AddDate(0, 0, 2)
	if got := told(); !strings.Contains(got, "place 1: Not read for 2 days.") {
		t.Errorf("got %q, want the days without a reading", got)
	}
	s.readDaily(id, h, meter, "0.60", "0.31", "0.14", "0.08", "0.07", "0.07", "0.07")
	if got := told(); !strings.Contains(got, "place 1: Steady: it can be released.") {
		t.Errorf("got %q, want the release", got)
	}
}
