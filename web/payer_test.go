package web

import "testing"

func TestAnOwnPartNeedsWhoElsePays(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	w := s.as(s.owner, "/jobs/1/money/bill", values("do", "issue", "own_part", "5.00"), "")
	page := parse(t, w.Body.String())
	if w.Code != 422 || attr(find(page, "name", "payer"), "aria-invalid") != "true" {
		t.Errorf("an own part and nobody who pays the rest: got %d, want 422 with the payer marked", w.Code)
	}
	if got := attr(find(page, "name", "own_part"), "value"); got != "5.00" {
		t.Errorf("the own part comes back as %q, want 5.00", got)
	}
	checkHTML(t, w.Body.Bytes())
}
