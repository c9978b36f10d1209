package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/quote"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		sealed := func(title, answer string) Page {
			p := Page{Title: title, Answer: answer, Shop: "Frostgate Fretted", Sealed: true, Here: "/", Key: "k"}
			return p
		}
		contact := Facts{{Name: "Shop", Value: "Frostgate Fretted"}, {Name: "Phone", Value: "555 0100"}}
		at := time.Date(2026, 12, 3, 9, 0, 0, 0, time.UTC)
		ask := &YourAsk{Action: "/yours/abc/quotes/1/answer", Outcome: ChoiceField("outcome", "Your answer", "", []Option{{Value: "whole", Label: "yes to all of it"}}).Radio(), Lines: []Option{{Value: "1", Label: "Crack glue", Note: "EUR 44.00"}}, Chosen: map[string]bool{"1": true}, Wrong: "choose"}
		show := &YoursPage{
			Page: sealed("Orrin No. 3", "Our quote waits for your answer until Thu 17 Dec."), Life: Strip{From: at, To: at.Add(48 * time.Hour), Today: at.Add(24 * time.Hour), Size: Large, Name: "Orrin No. 3"},
			Quote: &YourQuote{Name: "Quote 1", Lines: sampleQuote(), Facts: Facts{{Name: "Basis", Value: "estimate"}}, Missing: "strings", Note: "call", State: "You said no.", Ask: ask},
			Money: Facts{{Name: "To pay", Value: "nothing"}}, Papers: []Link{{Href: "/yours/abc/quotes/1/paper.pdf", Text: "Quote 1 (PDF)"}}, Contact: contact, Deadline: "This page works until 3 Mar.",
		}
		show.Errors = domain.Fields{"lines": "choose"}
		return map[string]Paged{
			"yours/show": show, "yours/none": &NoYoursPage{Page: sealed("Nothing here", "This address opens nothing."), Contact: contact},
			"yours/answer": &YourAnswerPage{Page: sealed("Is this your answer?", "You agree to about EUR 91.30."), Action: "/yours/abc/quotes/1/answer", Back: "/yours/abc", Hidden: []Pair{{"outcome", "whole"}}, Lines: []string{"Crack glue"}, Facts: contact, Button: "Yes, I agree", Contact: contact},
			"job/links": &LinksPage{
				Page: sampleFrame("The page of Mara Oduya"), Secret: "http://localhost:8080/yours/abc", Action: "/jobs/1/links", Days: Field{Kind: "text", Name: "days", Label: "Works for", Unit: "days"}, Job: Link{Href: "/jobs/1", Text: "Back"},
				Links: []LinkLine{{Name: "made 2 Nov", Ends: "ends 2 Feb", Used: "never opened", Works: true, Revoke: "/jobs/1/links/1/revoke", Key: "k"}, {Name: "made 1 Nov", Ends: "revoked", Used: "never opened"}},
			},
		}
	})
}

var yoursIn = regexp.MustCompile(`/yours/[A-Za-z0-9_-]{43}`)

// makeLink makes a link of a job on its page and returns its path.
func (s *openShop) makeLink(id domain.JobID, days string) string {
	s.Helper()
	w := s.as(s.owner, jobPath(id)+"/links", values("days", days), "")
	path := yoursIn.FindString(w.Body.String())
	if w.Code != http.StatusOK || path == "" || w.Header().Get("Cache-Control") != "no-store" {
		s.Fatalf("make a link: %d\n%s", w.Code, plain(w.Body.String()))
	}
	checkHTML(s.T, w.Body.Bytes())
	return path
}

// byLink opens an address without a sign-in and checks what every answer must carry.
func (s *openShop) byLink(path string, form url.Values, status int) *httptest.ResponseRecorder {
	s.Helper()
	w := s.as(domain.Actor{}, path, form, "")
	if w.Code != status {
		s.Fatalf("%s: got %d, want %d\n%s", path, w.Code, status, plain(w.Body.String()))
	}
	for name, want := range map[string]string{"Cache-Control": "no-store", "Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex, nofollow", "Content-Security-Policy": ContentPolicy} {
		if got := w.Header().Get(name); got != want {
			s.Errorf("%s: %s is %q, want %q", path, name, got, want)
		}
	}
	if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
		checkHTML(s.T, w.Body.Bytes())
		if !strings.Contains(w.Body.String(), `<meta name="referrer" content="no-referrer">`) {
			s.Errorf("%s: the page sends its address on", path)
		}
	}
	return w
}

// opensNothing wants the one answer that all addresses get which open nothing.
func (s *openShop) opensNothing(paths ...string) {
	s.Helper()
	keys := regexp.MustCompile(`value="[A-Za-z0-9_-]{20,}"`)
	want := keys.ReplaceAllString(s.byLink("/yours/"+strings.Repeat("A", 43), nil, 404).Body.String(), "")
	for _, path := range paths {
		if got := keys.ReplaceAllString(s.byLink(path, nil, 404).Body.String(), ""); got != want {
			s.Errorf("%s answers otherwise than an unknown address:\n%s", path, plain(got))
		}
	}
}

// toldQuote says the quote of the hand sums to the customer.
func (s *openShop) toldQuote(id domain.JobID) quote.Quote {
	s.Helper()
	sheet := quote.Sheet{Basis: quote.Estimate, Note: "bring the case", Rows: []quote.Row{{Task: "CG", Quantity: "60"}, {Task: "CC", Quantity: "2"}}}
	q, err := s.work.DraftQuote(s.Context(), s.owner, id, sheet, 0)
	s.must(err)
	s.must(s.work.SayQuote(s.Context(), s.owner, q, "2026-12-18"))
	return s.versions(id)[0]
}

func TestTheCustomersPage(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	path := s.makeLink(id, "90")
	if text := s.byLink(path, nil, 200).Body.String(); !strings.Contains(text, "next is our quote") {
		t.Errorf("before the quote: %s", plain(text))
	}
	_, err := s.work.DraftQuote(t.Context(), s.owner, id, quote.Sheet{Basis: quote.Estimate, Note: "think again", Rows: []quote.Row{{Task: "CG", Quantity: "60"}}}, 0)
	s.must(err)
	if text := s.byLink(path, nil, 200).Body.String(); strings.Contains(text, "think again") || strings.Contains(text, "Crack") {
		t.Errorf("a draft is shown: %s", plain(text))
	}
	draft := s.versions(id)[0]
	s.opensNothing(path+"/quotes/1/paper.pdf", path+"/quotes/1/answer?outcome=whole")
	s.must(s.work.SayQuote(t.Context(), s.owner, draft.ID, "2026-12-18"))
	page := s.byLink(path, nil, 200).Body.String()
	for _, want := range []string{"Our quote waits for your answer until Thu 17 Dec", "We said Fri 18 Dec", "think again", "Crack", "not above", "Frostgate Fretted", "noindex"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q: %s", want, plain(page))
		}
	}
	for _, inside := range []string{"Ilse", "/jobs/", "/customers/", "555 0101", "Diary", "Search the shop"} {
		if strings.Contains(page, inside) {
			t.Errorf("the page shows %q", inside)
		}
	}
	if w := s.byLink(path+"/quotes/1/paper.pdf", nil, 200); !strings.HasPrefix(w.Body.String(), "%PDF") {
		t.Error("the quote is no PDF")
	}
	other := s.surveyed()
	theirs := s.toldQuote(other)
	if theirs.ID != 2 {
		t.Fatalf("got quote %d, want 2", theirs.ID)
	}
	s.opensNothing(path+"/quotes/2/paper.pdf", path+"/quotes/2/answer?outcome=whole", path+"/invoices/1/paper.pdf", path+"/payments/1/receipt.pdf", path+"x")
	s.byLink(path+"/quotes/2/answer", values("outcome", "whole"), 404)
	s.post(jobPath(id)+"/links/1/revoke", "x", "1")
	s.opensNothing(path)
	short := s.makeLink(id, "1")
	s.byLink(short, nil, 200)
	s.clock.now = s.clock.now.Add(24 * time.Hour)
	s.opensNothing(short, short+"/quotes/1/paper.pdf")
	list := textOf(s.get(jobPath(id) + "/links"))
	if !strings.Contains(list, "revoked") || !strings.Contains(list, "ended 4 Dec 2026") || !strings.Contains(list, "last opened") || yoursIn.MatchString(list) {
		t.Errorf("the list is wrong: %s", list)
	}
	s.refusedForm(jobPath(id)+"/links", "must be from 1 to 365", "days", "366")
	s.refusedForm(jobPath(id)+"/links", "must be from 1 to 365", "days", "soon")
}

func TestPapersOfTheCustomersPage(t *testing.T) {
	s := newShop(t)
	s.billed()
	path := s.makeLink(1, "90")
	inv, err := s.store.InvoiceOfJob(t.Context(), 1)
	s.must(err)
	page := s.byLink(path, nil, 200).Body.String()
	for _, want := range []string{"/invoices/1/paper.pdf", inv.Currency.Show(inv.Totals.Total)} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q: %s", want, plain(page))
		}
	}
	if w := s.byLink(path+"/invoices/1/paper.pdf", nil, 200); w.Header().Get("Content-Type") != "application/pdf" {
		t.Errorf("got %v", w.Header())
	}
}

// The sums are those worked out by hand at handTotal. 60 mm of crack alone are 44.00,
// with 10 % tax 48.40, and with the guard of 10 % not above 53.24.
func TestTheCustomerAnswers(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	q := s.toldQuote(id)
	path := s.makeLink(id, "90")
	ask := path + "/quotes/1/answer"
	look := s.byLink(ask+"?outcome=whole", nil, 200).Body.String()
	if !strings.Contains(look, handTotal) || !strings.Contains(look, handCeiling) {
		t.Errorf("the second page lacks the sums: %s", plain(look))
	}
	if text := s.byLink(ask+"?outcome=part", nil, 422).Body.String(); !strings.Contains(text, "choose the lines") {
		t.Errorf("no line is chosen: %s", plain(text))
	}
	s.byLink(ask, nil, 422)
	part := s.byLink(ask+"?outcome=part&lines="+fmt.Sprint(q.Lines[0].ID), nil, 200).Body.String()
	if !strings.Contains(part, "48.40") || !strings.Contains(part, "53.24") {
		t.Errorf("the second page lacks the sums of the part: %s", plain(part))
	}
	if s.versions(id)[0].Answer != nil {
		t.Fatal("looking has answered")
	}
	form := values("outcome", "part", "lines", fmt.Sprint(q.Lines[0].ID))
	s.byLink(ask, form, 303)
	s.byLink(ask, form, 303) // the same form again
	got := s.versions(id)[0]
	if got.Answer == nil || got.Answer.Channel != quote.ByLink || got.YesTotal != 4840 || got.YesLimit != 5324 {
		t.Fatalf("got %+v, %d, %d", got.Answer, got.YesTotal, got.YesLimit)
	}
	w := s.byLink(ask, values("outcome", "whole"), 409) // another form
	if !strings.Contains(w.Body.String(), "has its answer already") {
		t.Errorf("got %s", plain(w.Body.String()))
	}
	if text := s.byLink(ask+"?outcome=declined", nil, 409).Body.String(); !strings.Contains(text, "has its answer already") {
		t.Errorf("got %s", plain(text))
	}
	if text := s.byLink(path, nil, 200).Body.String(); !strings.Contains(text, "You agreed to a part") || strings.Contains(text, "Look at it once more") {
		t.Errorf("got %s", plain(text))
	}
	if text := textOf(s.get(jobPath(id))); !strings.Contains(text, "the customer, by link") {
		t.Errorf("the diary does not say that it came by link: %s", text)
	}
}

func TestAReplacedQuoteIsNotAnswered(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	s.toldQuote(id)
	path := s.makeLink(id, "90")
	s.toldQuote(id)
	for _, form := range []url.Values{nil, values("outcome", "whole")} {
		text := s.byLink(path+"/quotes/1/answer?outcome=whole", form, 409).Body.String()
		if !strings.Contains(text, "was replaced meanwhile") || !strings.Contains(text, path+"/quotes/2/answer") {
			t.Errorf("the new quote is not shown: %s", plain(text))
		}
	}
	s.byLink(path+"/quotes/2/answer", values("outcome", "declined"), 303)
	if a := s.versions(id)[0].Answer; a == nil || a.Outcome != quote.Denied {
		t.Errorf("got %+v, want the no", a)
	}
}

func TestACalendarAddressIsRenewed(t *testing.T) {
	s := newShop(t)
	old := s.makeFeed(s.owner, "name", "my phone")
	if text := textOf(s.get(feedsPath)); !strings.Contains(text, "ends 3 Dec 2027") {
		t.Errorf("the page does not say when it ends: %s", text)
	}
	w := s.as(s.owner, feedsPath+"/1/renew", values(), "")
	fresh := addressIn.FindString(w.Body.String())
	if w.Code != http.StatusOK || fresh == "" || fresh == old {
		t.Fatalf("renew: %d, %s", w.Code, plain(w.Body.String()))
	}
	for path, want := range map[string]int{old: 404, fresh: 200} {
		if w := s.as(domain.Actor{}, path, nil, ""); w.Code != want {
			t.Errorf("%s: got %d, want %d", path, w.Code, want)
		}
	}
}
