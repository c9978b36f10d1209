package web

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"
	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
	"winterbench/store"
)

// openShop is a whole shop on a fresh SQLite file with its pages.
type openShop struct {
	*testing.T
	work     *workshop.Workshop
	store    *store.Store
	sessions *scs.SessionManager
	handler  http.Handler
	owner    domain.Actor
	clock    *handClock
	routes   gin.RoutesInfo
}

// handClock is a clock that a test moves on.
type handClock struct{ now time.Time }

func (c *handClock) Now() time.Time { return c.now }

// newShop opens a shop with one owner, Ilse.
func newShop(t *testing.T) *openShop {
	t.Helper()
	s := emptyShop(t)
	id, err := s.work.SetUp(t.Context(), workshop.Founding{Shop: sampleShop(t), Owner: "Ilse", Password: "nine cold fretboards"})
	s.must(err)
	s.must(s.work.SeedTemplates(t.Context()))
	s.owner = domain.Actor{Staff: id, Name: "Ilse", Roles: domain.Roles()}
	return s
}

// emptyShop has no settings and nobody in it.
func emptyShop(t *testing.T) *openShop {
	t.Helper()
	gin.SetMode(gin.TestMode)
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = st.Close() })
	clock := &handClock{now: time.Date(2026, time.December, 3, 9, 0, 0, 0, time.UTC)}
	outlook := workshop.NewOutlook(st, clock)
	s := &openShop{T: t, work: workshop.New(st, clock, workshop.WithPictures(st.Pictures()), workshop.WithOutlook(outlook)), store: st, sessions: scs.New(), clock: clock}
	pages, err := New(Config{Work: s.work, Read: st, Outlook: outlook, Sessions: s.sessions, Version: "test", Origin: "http://shop.test"})
	if err != nil {
		t.Fatal(err)
	}
	engine := gin.New()
	pages.Register(engine)
	s.handler, s.routes = s.sessions.LoadAndSave(engine), engine.Routes()
	return s
}

// sampleShop has euros, one tax of 10 % and coins of five cents, so that sums
// can be followed by hand.
func sampleShop(t *testing.T) workshop.Shop {
	t.Helper()
	euro, err := money.CurrencyOf("EUR")
	if err != nil {
		t.Fatal(err)
	}
	return workshop.Shop{
		Name: "Frostgate Fretted", Zone: "Europe/Helsinki", Currency: euro, Rate: 6000, CostRate: 3000, ValidDays: 14, QuarterUp: 1,
		Guard: money.Guard{Percent: decimal.NewFromInt(10)}, Places: []string{"place 1", "place 2"},
		Profile: money.Profile{
			Name: "sample", Currency: "EUR", Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument}, DepositTax: money.OnApplication,
			CashStep: 5, CashMode: money.HalfUp,
			Components: []money.Component{{Name: "VAT", On: money.LineKinds(), Rates: []money.Rate{{From: "2020-01-01", Percent: decimal.NewFromInt(10)}}}},
		},
		Deposit: quote.DepositRule{Above: decimal.NewFromInt(1), Percent: decimal.NewFromInt(30)},
	}
}

func (s *openShop) must(err error) {
	s.Helper()
	if err != nil {
		s.Fatal(err)
	}
}

// person adds somebody who wears the hats.
func (s *openShop) person(name string, hats ...domain.Role) domain.Actor {
	s.Helper()
	id, err := s.work.AddStaff(s.Context(), s.owner, workshop.Staff{Name: name, Roles: hats, Active: true}, "seven steady clamps")
	s.must(err)
	return domain.Actor{Staff: id, Name: name, Roles: hats}
}

// arrived takes a guitar in, with its case open.
func (s *openShop) arrived() domain.JobID {
	s.Helper()
	who, err := s.work.NoteCustomer(s.Context(), s.owner, customer.Customer{Name: "Mara Oduya", Phone: "555 0101"})
	s.must(err)
	what, err := s.work.NoteInstrument(s.Context(), s.owner, customer.Instrument{Owner: who, Kind: "steel-string guitar", Maker: "Orrin", Model: "No. 3"})
	s.must(err)
	id, err := s.work.Arrive(s.Context(), s.owner, workshop.Taking{Instrument: what, Arrival: job.Arrival{Complaint: "It cracked.", CaseOpened: true}})
	s.must(err)
	return id
}

// surveyed takes a guitar in and measures a crack of 60 mm.
func (s *openShop) surveyed() domain.JobID {
	s.Helper()
	id := s.arrived()
	mm, err := wood.ParseMeasure("60", wood.Millimetre)
	s.must(err)
	rh, err := wood.ParseMeasure("27", wood.Percent)
	s.must(err)
	s.must(s.work.NoteSurvey(s.Context(), s.owner, job.Survey{
		Job: id, Moment: "before hold", Strings: "slack", CaseRH: rh,
		Findings: []job.Finding{{Symptom: "crack length", Place: "centre seam", Measure: mm, Grade: job.Moderate, Causes: []job.Cause{{What: "dryness", Sure: "likely"}}}},
	}))
	return id
}

// as sends a request for a person. A form makes it a POST; fragment names the
// element that the script wants.
func (s *openShop) as(who domain.Actor, path string, form url.Values, fragment string) *httptest.ResponseRecorder {
	s.Helper()
	return s.send(s.session(who), path, form, fragment)
}

// send sends a request within the session of a token.
func (s *openShop) send(session, path string, form url.Values, fragment string) *httptest.ResponseRecorder {
	s.Helper()
	method, body := http.MethodGet, io.Reader(nil)
	if form != nil {
		if form.Get("key") == "" {
			form.Set("key", NewKey())
		}
		method, body = http.MethodPost, strings.NewReader(form.Encode())
	}
	r := httptest.NewRequest(method, path, body)
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if fragment != "" {
		r.Header.Set(FragmentHeader, fragment)
	}
	r.AddCookie(&http.Cookie{Name: s.sessions.Cookie.Name, Value: session})
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, r)
	return w
}

// session signs a person in past the form.
func (s *openShop) session(who domain.Actor) string {
	s.Helper()
	ctx, err := s.sessions.Load(s.Context(), "")
	s.must(err)
	if who.Staff != 0 {
		e, err := s.work.Began(ctx, who.Staff)
		s.must(err)
		s.sessions.Put(ctx, sessionStay, e.Stay)
	}
	token, _, err := s.sessions.Commit(ctx)
	s.must(err)
	return token
}

// get opens a page, which must be there and pass the checks of every page.
func (s *openShop) get(path string) *html.Node {
	s.Helper()
	w := s.as(s.owner, path, nil, "")
	if w.Code != http.StatusOK {
		s.Fatalf("GET %s: got %d, want 200\n%s", path, w.Code, plain(w.Body.String()))
	}
	checkHTML(s.T, w.Body.Bytes())
	return parse(s.T, w.Body.String())
}

// post sends a form that must be done, and returns where it leads.
func (s *openShop) post(path string, pairs ...string) string {
	s.Helper()
	w := s.as(s.owner, path, values(pairs...), "")
	if w.Code != http.StatusSeeOther {
		s.Fatalf("POST %s: got %d, want 303\n%s", path, w.Code, plain(w.Body.String()))
	}
	return w.Header().Get("Location")
}

func values(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return v
}

func parse(t *testing.T, page string) *html.Node {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	return root
}

// find returns the first element with the attribute key="value", nil for none.
func find(n *html.Node, key, value string) *html.Node {
	if n.Type == html.ElementNode && attr(n, key) == value {
		return n
	}
	for k := n.FirstChild; k != nil; k = k.NextSibling {
		if f := find(k, key, value); f != nil {
			return f
		}
	}
	return nil
}

// textOf is the text inside a node, with single spaces; "" for nil.
func textOf(n *html.Node) string {
	var b strings.Builder
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data + " ")
		}
		for k := n.FirstChild; k != nil; k = k.NextSibling {
			walk(k)
		}
	}
	if n != nil {
		walk(n)
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// plain is the text of a page, for failures.
func plain(page string) string {
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		return page
	}
	return textOf(find(root, "id", "main"))
}

// checkboxes returns the values of the boxes with a name.
func checkboxes(n *html.Node, name string) []string {
	var out []string
	if n.Type == html.ElementNode && attr(n, "name") == name && attr(n, "type") == "checkbox" {
		out = append(out, attr(n, "value"))
	}
	for k := n.FirstChild; k != nil; k = k.NextSibling {
		out = append(out, checkboxes(k, name)...)
	}
	return out
}
