package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

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

// bills sends the form of the bill and returns the page with what it says of the payer.
func (s *openShop) bills(want int, pairs ...string) (page *html.Node, says string) {
	s.Helper()
	w := s.as(s.owner, "/jobs/1/money/bill", values(pairs...), "")
	if w.Code != want {
		s.Fatalf("%v: got %d, want %d: %s", pairs, w.Code, want, plain(w.Body.String()))
	}
	checkHTML(s.T, w.Body.Bytes())
	page = parse(s.T, w.Body.String())
	return page, textOf(find(page, "id", "f-payer-error"))
}

// chosen lists who is offered as the payer, the one that is marked with a star.
func chosen(page *html.Node) string {
	var out []string
	for i := 0; ; i++ {
		box := find(page, "id", fmt.Sprintf("f-payer_is-%d", i))
		if box == nil {
			return strings.Join(out, ", ")
		}
		name := strings.TrimSpace(textOf(box.Parent))
		if slices.ContainsFunc(box.Attr, func(a html.Attribute) bool { return a.Key == "checked" }) {
			name += "*"
		}
		out = append(out, name)
	}
}

func TestThePayerIsFoundByWords(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	for i := range 14 {
		s.post("/customers", "name", fmt.Sprintf("Hall %d", i), "contact", "message", "email", fmt.Sprintf("hall%d@example.org", i))
	}
	s.post("/customers", "name", "Lantern", "contact", "phone", "phone", "555 0170")
	mutual := s.post("/customers", "name", "Lantern Mutual", "contact", "message", "email", "claims@example.org")
	s.post("/customers", "name", "Lantern Mutual", "contact", "phone", "phone", "555 0171")
	mutual = strings.TrimPrefix(mutual, "/customers/")

	for _, c := range []struct{ typed, says, offered string }{
		{"zither club", "is nobody we know", ""},
		{"hall", "fits 14 customers; write more of the name", ""},
		{"lantern mut", "fits 2 customers; choose which of them pays, below", "Lantern Mutual claims@example.org, Lantern Mutual 555 0171"},
		{"hall7@", "fits Hall 7; look whether it is them", "Hall 7 hall7@example.org*"},
		{strings.Repeat("x", 300), "is nobody we know", ""},
	} {
		page, says := s.bills(422, "do", "issue", "payer", c.typed, "own_part", "5.00", "payer_reference", "claim 7")
		if !strings.Contains(says, c.says) || chosen(page) != c.offered {
			t.Errorf("%q: got %q and offers %q, want %q and %q", c.typed, says, chosen(page), c.says, c.offered)
		}
		field := find(page, "name", "payer")
		if attr(field, "value") != c.typed || attr(field, "aria-invalid") != "true" || attr(find(page, "name", "own_part"), "value") != "5.00" || attr(find(page, "name", "payer_reference"), "value") != "claim 7" {
			t.Errorf("%q: what was typed does not come back, or the field is not marked", c.typed)
		}
	}
	// A whole name is meant although others begin with it; the draft says whom it is for.
	page, _ := s.bills(200, "do", "work", "payer", "LANTERN", "own_part", "5.00")
	if got := chosen(page); !strings.HasPrefix(got, "Lantern 555 0170*, ") {
		t.Errorf("offered %q, want Lantern marked", got)
	}
	if got := textOf(find(page, "id", "bill")); !strings.Contains(got, "Billed to") || !strings.Contains(got, "own part is 5.00 EUR") {
		t.Errorf("the draft does not say whom it is for: %s", got)
	}
	// While somebody types, the part of the page under the bill says what the words come to.
	w := s.as(s.owner, "/jobs/1/money/draft", values("payer", "lantern mut", "own_part", ""), "bill")
	if got := textOf(parse(t, w.Body.String())); w.Code != 200 || !strings.Contains(got, "fits 2 customers; “Work it out” lists them") {
		t.Errorf("while typing: %d, %q", w.Code, got)
	}
	// One that was chosen before and is no longer meant by the words is forgotten.
	if _, says := s.bills(422, "do", "issue", "payer", "hall7@", "payer_is", mutual); !strings.Contains(says, "fits Hall 7") {
		t.Errorf("a choice that does not fit: got %q, want Hall 7 asked for", says)
	}
	at := s.post("/jobs/1/money/bill", "do", "issue", "payer", "lantern mut", "payer_is", mutual, "own_part", "5.00", "payer_reference", "claim 7")
	if page := s.get("/jobs/1/money"); at != "/invoices/1" || find(page, "href", "/customers/"+mutual+"/account") == nil {
		t.Errorf("%s is not billed to the one chosen: %s", at, textOf(find(page, "id", "main")))
	}
}

func TestTheCustomerIsNotAnotherWhoPays(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.worked(44, 39)
	s.post("/jobs/1/pass")
	j, err := s.store.CustomerByID(t.Context(), 1)
	s.must(err)
	if _, says := s.bills(422, "do", "issue", "payer", j.Name); !strings.Contains(says, "is the customer") {
		t.Errorf("the customer as the payer: got %q", says)
	}
	s.post("/customers", "name", j.Name+" and Daughters", "contact", "phone", "phone", "555 0188")
	page, says := s.bills(422, "do", "issue", "payer", j.Name)
	if want := j.Name + " and Daughters 555 0188*"; chosen(page) != want || !strings.Contains(says, "look whether it is them") {
		t.Errorf("offers %q and says %q, want %q to be looked at", chosen(page), says, want)
	}
}
