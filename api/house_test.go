package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/api"
	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/store"
)

// clock is moved by hand.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// house is a shop behind the real routes, with one token for each hat.
type house struct {
	t     *testing.T
	store *store.Store
	work  *workshop.Workshop
	clock *clock
	http  http.Handler
	api   *api.API
	token map[domain.Role]string
	place string // the hat that asks, unless said otherwise
}

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

// settings of an invented shop that sells in a currency with 5-cent coins. The
// taxes are two that do not build on each other, as in British Columbia.
func settings(t *testing.T) workshop.Shop {
	t.Helper()
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	return workshop.Shop{
		Name: "The Cold Bench", Zone: "America/Vancouver", Currency: cad, Rate: 9000, CostRate: 3500, ValidDays: 14, QuarterUp: 15, SurveyFee: 3000,
		Guard: money.Guard{Percent: dec("10")}, Deposit: quote.DepositRule{Above: dec("3"), Percent: dec("30"), HighAbove: dec("10"), HighPercent: dec("50")},
		Places: []string{"place 1", "place 2"}, Hours: [7]workshop.Hours{1: {Open: "09:00", Close: "17:00"}},
		Profile: money.Profile{
			Name: "test", Currency: "CAD", DepositTax: "on_application", CashStep: 5, CashMode: money.HalfUp,
			Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument},
			Components: []money.Component{
				{Name: "GST", On: money.LineKinds(), Rates: []money.Rate{{From: "2008-01-01", Percent: dec("5")}}},
				{Name: "PST", On: []money.LineKind{money.Labour, money.Part}, Rates: []money.Rate{{From: "2013-01-01", Percent: dec("7")}}},
			},
		},
	}
}

// empty is a house without a shop.
func empty(t *testing.T, s *store.Store) *house {
	t.Helper()
	h := &house{t: t, store: s, clock: &clock{now: time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)}, token: map[domain.Role]string{}}
	h.work = workshop.New(s, h.clock, workshop.WithPictures(s.Pictures()))
	h.http, h.api = served(h.work, s)
	return h
}

func engine(w *workshop.Workshop, q workshop.Queries) *gin.Engine {
	e, _ := served(w, q)
	return e
}

func served(w *workshop.Workshop, q workshop.Queries) (*gin.Engine, *api.API) {
	gin.SetMode(gin.ReleaseMode)
	e := gin.New()
	e.ContextWithFallback, e.HandleMethodNotAllowed = true, true
	c := api.Config{Work: w, Read: q, Version: "test"}
	if w != nil {
		c.Outlook = workshop.NewOutlook(q, w)
	}
	a := api.New(c)
	a.Register(e)
	return e, a
}

// open is a house with a shop, one person for each hat and their tokens.
func open(t *testing.T, s *store.Store) *house {
	t.Helper()
	h := empty(t, s)
	ctx := context.Background()
	id, err := h.work.SetUp(ctx, workshop.Founding{Shop: settings(t), Owner: "Tove", Password: "snow on the roof"})
	h.must(err)
	owner := domain.Actor{Staff: id, Name: "Tove", Roles: []domain.Role{domain.Owner}}
	h.sign(domain.Owner, owner)
	for role, name := range map[domain.Role]string{domain.Counter: "Ivo", domain.Bench: "Runa"} {
		id, err := h.work.AddStaff(ctx, domain.Actor{Staff: id, Name: "Tove", Roles: domain.Roles()}, workshop.Staff{Name: name, Roles: []domain.Role{role}}, "long enough "+name)
		h.must(err)
		h.sign(role, domain.Actor{Staff: id, Name: name, Roles: []domain.Role{role}})
	}
	h.place = h.token[domain.Counter]
	return h
}

func (h *house) sign(role domain.Role, a domain.Actor) {
	h.t.Helper()
	token, err := h.work.AddToken(context.Background(), a, workshop.TokenAsk{Name: "test"})
	h.must(err)
	h.token[role] = token
}

func (h *house) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatalf("got %v, want no error", err)
	}
}

// as lets another hat ask.
func (h *house) as(r domain.Role) *house {
	other := *h
	other.place = h.token[r]
	return &other
}

// reply is an answer, read.
type reply struct {
	t      *testing.T
	asked  string
	status int
	header http.Header
	raw    []byte
	doc    any
}

type headers map[string]string

// ask sends one request. body is JSON text, or a value to be written as JSON;
// nil sends none.
func (h *house) ask(method, path string, body any, hs ...headers) reply {
	h.t.Helper()
	var in []byte
	switch b := body.(type) {
	case nil:
	case string:
		in = []byte(b)
	default:
		var err error
		if in, err = json.Marshal(b); err != nil {
			h.t.Fatal(err)
		}
	}
	r := httptest.NewRequestWithContext(h.t.Context(), method, api.Root+path, bytes.NewReader(in))
	if in != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	if h.place != "" {
		r.Header.Set("Authorization", "Bearer "+h.place)
	}
	for _, more := range hs {
		for name, value := range more {
			r.Header.Set(name, value)
		}
	}
	w := httptest.NewRecorder()
	h.http.ServeHTTP(w, r)
	out := reply{t: h.t, asked: method + " " + path, status: w.Code, header: w.Header(), raw: w.Body.Bytes()}
	if strings.Contains(w.Header().Get("Content-Type"), "json") && len(out.raw) > 0 {
		if err := json.Unmarshal(out.raw, &out.doc); err != nil {
			h.t.Fatalf("%s: %v in %s", out.asked, err, out.raw)
		}
		h.asDescribed(out, r)
	}
	return out
}

var offset = regexp.MustCompile(`T\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d"`)

// asDescribed holds every answer to its description, and moments to UTC.
func (h *house) asDescribed(out reply, r *http.Request) {
	h.t.Helper()
	if m := offset.Find(out.raw); m != nil {
		h.t.Errorf("%s: a moment is not in UTC: %s", out.asked, m)
	}
	if h.api == nil || out.status >= 300 {
		return
	}
	for _, err := range h.api.Undescribed(r.Method, r.URL.Path, out.status, out.doc) {
		h.t.Errorf("%s: the answer is not as described: %v", out.asked, err)
	}
}

func (h *house) get(path string) reply { h.t.Helper(); return h.ask(http.MethodGet, path, nil).is(200) }

func (h *house) post(path string, body any, hs ...headers) reply {
	h.t.Helper()
	return h.ask(http.MethodPost, path, body, hs...)
}

// is stops the test unless the status is as wanted.
func (r reply) is(status int) reply {
	r.t.Helper()
	if r.status != status {
		r.t.Fatalf("%s: got %d, want %d: %s", r.asked, r.status, status, r.raw)
	}
	return r
}

// problem stops the test unless the answer is a whole problem document with the
// status; words, if any, stand in its detail, or in that of its fields.
func (r reply) problem(status int, words ...string) reply {
	r.t.Helper()
	r.is(status)
	if got := r.header.Get("Content-Type"); got != "application/problem+json" {
		r.t.Errorf("%s: got media type %q, want a problem", r.asked, got)
	}
	if r.text("type") != "about:blank" || r.text("title") != http.StatusText(status) || r.text("status") != strconv.Itoa(status) || r.text("detail") == "" {
		r.t.Errorf("%s: got %s, want type, title, status %d and detail", r.asked, r.raw, status)
	}
	for _, w := range words {
		if !strings.Contains(string(r.raw), w) {
			r.t.Errorf("%s: got %s, want %q in it", r.asked, r.raw, w)
		}
	}
	return r
}

// wrong stops the test unless the field is named with words.
func (r reply) wrong(status int, field, words string) reply {
	r.t.Helper()
	r.problem(status)
	list, _ := r.at("errors").([]any)
	for _, e := range list {
		m, _ := e.(map[string]any)
		if m["field"] == field && strings.Contains(fmt.Sprint(m["detail"]), words) {
			return r
		}
	}
	r.t.Errorf("%s: got %s, want field %q with %q", r.asked, r.raw, field, words)
	return r
}

// at reads a value by a path such as tasks.0.id; nil when there is none.
func (r reply) at(path string) any {
	v := r.doc
	for _, step := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			v = x[step]
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(x) {
				return nil
			}
			v = x[i]
		default:
			return nil
		}
	}
	return v
}

func (r reply) text(path string) string {
	if n, ok := r.at(path).(float64); ok {
		return strconv.FormatFloat(n, 'f', -1, 64)
	}
	s, _ := r.at(path).(string)
	return s
}

// id reads a whole number and stops the test when there is none.
func (r reply) id(path string) int64 {
	r.t.Helper()
	n, ok := r.at(path).(float64)
	if !ok || n == 0 {
		r.t.Fatalf("%s: no number at %s in %s", r.asked, path, r.raw)
	}
	return int64(n)
}

func (r reply) want(path, value string) reply {
	r.t.Helper()
	if got := r.text(path); got != value {
		r.t.Fatalf("%s: %s is %q, want %q", r.asked, path, got, value)
	}
	return r
}

// find returns the index of the first entry of a list whose field has a value.
func (r reply) find(list, field, value string) int {
	r.t.Helper()
	all, _ := r.at(list).([]any)
	for i := range all {
		if r.text(fmt.Sprintf("%s.%d.%s", list, i, field)) == value {
			return i
		}
	}
	r.t.Fatalf("%s: no entry of %s with %s %q in %s", r.asked, list, field, value, r.raw)
	return -1
}

// guitar notes a customer and a guitar.
func (h *house) guitar() int64 {
	h.t.Helper()
	c := h.post("/customers", map[string]any{"name": "M. Oduya", "phone": "555-0142"}).is(201).id("id")
	return h.post("/instruments", map[string]any{
		"owner": c, "kind": "steel-string guitar", "maker": "Orrin", "model": "No. 3", "serial": "1187", "top_wood": "Sitka spruce", "top_construction": "solid",
	}).is(201).id("id")
}

// arrive takes a guitar in and returns the path of its job.
func (h *house) arrive() string {
	h.t.Helper()
	id := h.post("/jobs", map[string]any{
		"instrument": h.guitar(), "complaint": "a crack since the heating is on", "case_opened": true, "survey_fee": "30.00",
		"marks": []any{map[string]any{"what": "ding", "place": "top, upper bout"}},
	}).is(201).id("id")
	return fmt.Sprintf("/jobs/%d", id)
}

// survey notes the dry crack: 27 % in the case, 60 mm long.
func (h *house) survey(job string) reply {
	h.t.Helper()
	return h.post(job+"/surveys", map[string]any{
		"moment": "before hold", "strings": "slack", "case_rh": "27 %",
		"findings": []any{map[string]any{
			"symptom": "crack length", "place": "treble lower bout", "measure": "60 mm", "grade": 2,
			"causes": []any{map[string]any{"what": "dryness", "sure": "likely"}},
		}},
	}).is(200)
}

func task(code, quantity string) map[string]any {
	return map[string]any{"task": code, "quantity": quantity}
}

// said drafts a sheet, says it and returns the path of the version.
func (h *house) said(job string, rows ...any) string {
	h.t.Helper()
	q := fmt.Sprintf("/quotes/%d", h.post(job+"/quotes", map[string]any{"basis": "estimate", "rows": rows}).is(200).id("id"))
	h.post(q+"/say", map[string]any{"promised": "2026-12-18"}).is(200).want("state", "said, no answer yet")
	return q
}

var yes = map[string]any{"outcome": "whole", "who": "M. Oduya", "channel": "phone"}
