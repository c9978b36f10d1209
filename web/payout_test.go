package web

import (
	"net/http"
	"strings"
	"testing"

	"winterbench/domain"
)

// 100.00 by card on 91.30: 8.70 are kept, in coins of 0.05 all of it can go out.
func TestStoreCreditIsPaidOutOnItsPage(t *testing.T) {
	s := newShop(t)
	s.billed()
	const path = "/customers/1/store-credit"
	if got := textOf(s.get(path)); !strings.Contains(got, "Nothing was ever kept") || strings.Contains(got, "Pay it out") {
		t.Errorf("before anything is kept: %s", got)
	}
	s.post("/jobs/1/money/pay", "pay_tender", "card", "pay_amount", "100", "pay_keep_over", "yes")
	page := s.get(path)
	if got := attr(find(page, "name", "amount"), "value"); got != "8.70" {
		t.Errorf("%q is offered to be paid out, want 8.70", got)
	}
	name := attr(find(page, "name", "to"), "value")
	for _, want := range []string{"8.70 EUR is kept as store credit for " + name, "is for the law of the place"} {
		if got := textOf(page); name == "" || !strings.Contains(got, want) {
			t.Errorf("the page lacks %q: %s", want, got)
		}
	}
	if find(s.get("/customers/1/account"), "href", path) == nil {
		t.Error("the account leads to no store credit")
	}

	counter := s.person("Ruben", domain.Counter)
	if w := s.as(counter, path, nil, ""); w.Code != http.StatusOK || strings.Contains(w.Body.String(), "Pay it out") {
		t.Errorf("the counter reads: got %d", w.Code)
	}
	if w := s.as(counter, path, values("amount", "1", "to", "Una", "tender", "card"), ""); w.Code != http.StatusForbidden {
		t.Errorf("the counter pays out: got %d, want 403", w.Code)
	}
	for name, c := range map[string]struct {
		form []string
		code int
		says string
	}{
		"more than there is": {[]string{"amount", "8.71", "to", "Una", "tender", "card"}, http.StatusConflict, "has 8.70 EUR of store credit, less than 8.71 EUR"},
		"no amount":          {[]string{"amount", "much", "to", "Una", "tender", "card"}, 422, "amount"},
		"to nobody":          {[]string{"amount", "1", "to", "", "tender", "card"}, 422, "needed"},
	} {
		w := s.as(s.owner, path, values(c.form...), "")
		typed := parse(t, w.Body.String())
		if w.Code != c.code || !strings.Contains(w.Body.String(), c.says) || attr(find(typed, "name", "amount"), "value") != c.form[1] || attr(find(typed, "name", "to"), "value") != c.form[3] {
			t.Errorf("%s: got %d, want %d with %q and what was typed", name, w.Code, c.code, c.says)
		}
		checkHTML(t, w.Body.Bytes())
	}
	s.post(path, "amount", "8", "to", "Una", "tender", "card")
	if got := textOf(s.get(path)); !strings.Contains(got, "0.70 EUR is kept") || !strings.Contains(got, "paid out to Una, card") {
		t.Errorf("after it was paid out: %s", got)
	}
}
