package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// refusedForm posts a form for the owner and wants the form back with 422, what was
// typed still in it.
func (s *openShop) refusedForm(path string, want string, pairs ...string) string {
	s.Helper()
	w := s.as(s.owner, path, values(pairs...), "")
	page := w.Body.String()
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, want) {
		s.Fatalf("POST %s: got %d, want 422 with %q\n%s", path, w.Code, want, plain(page))
	}
	checkHTML(s.T, w.Body.Bytes())
	return page
}

func TestFromTheDoorToTheTag(t *testing.T) {
	s := newShop(t)
	page := s.refusedForm("/customers", "is needed", "name", "", "email", "no address", "note", "rings twice", "next", "/arrive")
	for _, kept := range []string{"no address", "rings twice", `value="/arrive"`} {
		if !strings.Contains(page, kept) {
			t.Errorf("the form lost %q", kept)
		}
	}
	to := s.post("/customers", "name", `Åse <b>Nord</b>`, "phone", "555 0107", "contact", "phone", "next", "/arrive")
	if !strings.HasPrefix(to, "/arrive?customer=") {
		t.Fatalf("leads to %s, want the arrival", to)
	}
	if text := textOf(s.get(to)); !strings.Contains(text, "Åse <b>Nord</b>") {
		t.Errorf("the name is not shown as typed: %s", text)
	}
	who := strings.TrimPrefix(to, "/arrive?customer=")
	s.refusedForm("/instruments", "must be one of", "owner", who, "kind", "kazoo", "maker", "Orrin")
	to = s.post("/instruments", "owner", who, "kind", "mandolin", "maker", "Orrin", "serial", "77", "top_wood", "Sitka spruce", "top_construction", "carved", "next", "/arrive")
	at, err := url.Parse(to)
	if err != nil || at.Query().Get("instrument") == "" {
		t.Fatalf("leads to %s, want the arrival with its instrument", to)
	}
	instrument := at.Query().Get("instrument")
	page = s.refusedForm("/arrive", "is needed", "instrument", instrument, "complaint", "", "since", "Tuesday", "survey_fee", "999999999999999999999999999999", "marks[1].what", "dent", "marks[1].place", "")
	for _, kept := range []string{"Tuesday", "999999999999999999999999999999"} {
		if !strings.Contains(page, kept) {
			t.Errorf("the form lost %q", kept)
		}
	}
	page = s.refusedForm("/arrive", "f-marks-1-place", "instrument", instrument, "complaint", "It buzzes.", "marks[1].what", "dent", "marks[1].place", "")
	if !strings.Contains(page, "It buzzes.") {
		t.Error("the complaint is lost")
	}
	job := s.post("/arrive", "instrument", instrument, "complaint", "It buzzes.", "cold", "yes", "marks[0].what", "dent", "marks[0].place", "top")
	if text := textOf(s.get(job)); !strings.Contains(text, "The case is still closed") {
		t.Errorf("the cold case is not told: %s", text)
	}
	desk := s.get("/counter")
	if text := textOf(desk); !strings.Contains(text, "case still closed, from the cold") {
		t.Errorf("the counter does not mark the cold case: %s", text)
	}
	if find(desk, "href", job+"/survey") != nil {
		t.Error("the counter leads to the survey of a case that is still closed")
	}
	s.post(job+"/case", "case_warm", "yes")
	if find(s.get("/counter"), "href", job+"/survey") == nil {
		t.Error("the counter does not lead to the survey of an open case")
	}
	for _, path := range []string{"/counter", "/jobs?stage=arrived", "/customers/" + who, "/instruments/" + instrument, "/customers?q=nord", "/search?q=orrin", "/search?q=", "/jobs"} {
		if text := textOf(s.get(path)); path != "/search?q=" && !strings.Contains(text, "Orrin") && !strings.Contains(text, "Åse") {
			t.Errorf("%s shows neither the instrument nor its owner: %s", path, text)
		}
	}
	if w := s.as(s.owner, "/search?q=1", nil, ""); w.Code != http.StatusSeeOther || w.Header().Get("Location") != job {
		t.Errorf("the tag leads with %d to %q, want %s", w.Code, w.Header().Get("Location"), job)
	}
	if w := s.as(s.owner, "/jobs?stage=flying", nil, ""); w.Code != http.StatusNotFound {
		t.Errorf("a stage there is not answers %d, want 404", w.Code)
	}
}

func TestChangedMeanwhileComesBackAsTyped(t *testing.T) {
	s := newShop(t)
	at := s.post("/customers", "name", "Ada", "contact", "phone") + "/edit"
	s.post(at, "name", "Ada Frost", "contact", "phone", "version", "1")
	if page := s.refusedForm(at, "meanwhile", "name", "Ada Snow", "contact", "letter", "version", "1"); !strings.Contains(page, "Ada Snow") {
		t.Error("the second person's typing is lost")
	}
	s.refusedForm(at, "must be one of", "name", "Ada", "contact", "phone", "version", "2", "exempt.certificate", "E-77")
	s.post(at, "name", "Ada", "contact", "phone", "version", "2", "exempt.reason", "exempt", "exempt.certificate", "E-77", "exempt.to", "2027-01-31")
	if text := textOf(s.get(strings.TrimSuffix(at, "/edit"))); !strings.Contains(text, "E-77") {
		t.Errorf("the certificate is not shown: %s", text)
	}
	s.refusedForm(at, "no date", "name", "Ada", "contact", "phone", "version", "3", "exempt.reason", "exempt", "exempt.certificate", "E-77", "exempt.to", "2027-02-30")
}

func TestSignInAndFirstSettings(t *testing.T) {
	s := newShop(t)
	nobody := domain.Actor{}
	if w := s.as(nobody, "/counter", nil, ""); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/sign-in?next=%2Fcounter" {
		t.Errorf("nobody at the counter: %d to %q", w.Code, w.Header().Get("Location"))
	}
	if w := s.as(nobody, "/sign-in", values("name", "Ilse", "password", "wrong"), ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "do not belong together") {
		t.Errorf("a wrong password: %d", w.Code)
	}
	for next, want := range map[string]string{"/bench": "/bench", "https://elsewhere.example/": "/", "//elsewhere.example": "/"} {
		if w := s.as(nobody, "/sign-in", values("name", " ilse", "password", "nine cold fretboards", "next", next), ""); w.Header().Get("Location") != want {
			t.Errorf("next %q leads to %q, want %q", next, w.Header().Get("Location"), want)
		}
	}
	if w := s.as(nobody, "/first", nil, ""); w.Header().Get("Location") != "/" {
		t.Errorf("the first settings of an open shop lead to %q", w.Header().Get("Location"))
	}
	if w := s.as(nobody, "/first", values("name", "Thief"), ""); w.Code == http.StatusSeeOther {
		t.Error("the first settings can be sent again")
	}
	bench := s.person("Runa", domain.Bench)
	for path, want := range map[string]int{"/owner": 403, "/settings": 403, "/staff": 403, "/arrive": 403, "/bench": 200, "/templates": 200, "/": 303} {
		if w := s.as(bench, path, nil, ""); w.Code != want {
			t.Errorf("the bench at %s: %d, want %d", path, w.Code, want)
		}
	}
}

func TestOwnersPages(t *testing.T) {
	s := newShop(t)
	for _, path := range []string{"/owner", "/settings", "/staff", "/tokens", "/parts", "/invoices", "/templates", "/templates/CG", "/templates/new", "/bench", "/cabinet", "/arrive", "/arrive?q=x"} {
		s.get(path)
	}
	s.refusedForm("/staff", "at least 12", "name", "Una", "role_bench", "yes", "password", "short")
	s.post("/staff", "name", "Una", "role_bench", "yes", "password", "long enough for all")
	s.refusedForm("/staff", "has this name", "name", "UNA", "role_bench", "yes", "password", "long enough for all")
	s.refusedForm("/parts/0", "too large", "name", "Strings", "code", "x1", "unit", "set", "kind", "part", "price", "123456789012345678901234567890")
	s.post("/parts/0", "name", "Bone nut", "code", "bone-nut", "unit", "each", "kind", "part", "price", "18,50", "cost", "6")
	if text := textOf(s.get("/parts")); !strings.Contains(text, "Bone nut") || !strings.Contains(text, "18.50") {
		t.Errorf("the part is not listed: %s", text)
	}
	figures := []string{"seen", "1", "setup.low", "20", "setup.typical", "20", "setup.high", "20", "labour.low", "90", "labour.typical", "40", "labour.high", "70",
		"waits[0].low", "0.5", "waits[0].typical", "1", "waits[0].high", "2", "price.basis", "time", "price.flat", "0"}
	s.refusedForm("/templates/CG/figures", "90", figures...)
	figures[9] = "30"
	s.post("/templates/CG/figures", figures...)
	if text := textOf(s.get("/templates/CG")); !strings.Contains(text, "30–40–70 min per 100 mm") || !strings.Contains(text, "stock code wood-glue") {
		t.Errorf("the new figures are not shown: %s", text)
	}
	s.refusedForm("/templates/CG/file", "no field of a template", "seen", "2", "file", "colour = \"red\"")
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	page := s.refusedForm("/settings", "is needed", "name", "", "rate", "12.345", "zone", "Moon", "version", "1", "profile", "{", "valid_days", "x", "quarter_up", "15")
	if !strings.Contains(page, "12.345") || !strings.Contains(page, "Moon") {
		t.Error("typed settings are lost")
	}
	if now, err := s.store.ShopSettings(t.Context()); err != nil || now.Version != shop.Version {
		t.Error("settings changed although they were wrong")
	}
	w := s.as(s.owner, "/tokens", values("name", "script"), "")
	if !strings.Contains(w.Body.String(), "wb_") {
		t.Errorf("the token is not shown: %d", w.Code)
	}
	token := w.Body.String()[strings.Index(w.Body.String(), "wb_"):]
	token = token[:strings.IndexAny(token, "< \n")]
	if p, err := s.work.SignInByToken(t.Context(), token); err != nil || p.ID != s.owner.Staff {
		t.Errorf("the token signs in %v, %v", p, err)
	}
	list, err := s.store.TokensOf(t.Context(), s.owner.Staff)
	s.must(err)
	s.post("/tokens", "revoke", "1")
	if _, err := s.work.SignInByToken(t.Context(), token); err == nil || len(list) != 1 {
		t.Error("a revoked token signs in")
	}
	if err := workshop.May(s.owner, workshop.ActStaff); err != nil {
		t.Error(err)
	}
}

// What was agreed stays marked when more was found, so that a yes to the new
// part does not take the old one back.
func TestAgreedLinesStayMarked(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	first := s.post(jobPath(id)+"/quote", "basis", "estimate", "do", "save", "rows[0].task", "CC", "rows[0].quantity", "2")
	s.post(first+"/say", "promised", "")
	s.post(first+"/answer", "outcome", "whole", "who", "Mara", "channel", "phone")
	sheet, seen := workshop.NextSheet(s.versions(id))
	sheet.Rows = append(sheet.Rows, quote.Row{Task: "FE"})
	second, err := s.work.DraftQuote(t.Context(), s.owner, id, sheet, seen)
	s.must(err)
	s.must(s.work.SayQuote(t.Context(), s.owner, second, ""))
	page := s.get(fmt.Sprintf("/quotes/%d", second))
	for i, want := range []bool{true, false} {
		box := find(page, "id", fmt.Sprintf("f-lines-%d", i))
		if box == nil {
			t.Fatalf("there is no box %d", i)
		}
		if got := hasAttr(box, "checked"); got != want {
			t.Errorf("line %d is marked: %v, want %v", i+1, got, want)
		}
	}
}

func (s *openShop) versions(id domain.JobID) []quote.Quote {
	s.Helper()
	vs, err := s.store.QuotesOfJob(s.Context(), id)
	s.must(err)
	return vs
}

func hasAttr(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

// A small form with something wrong comes back opened, so that the reason is in
// sight, with what was typed.
func TestSmallFormsComeBackOpen(t *testing.T) {
	s := newShop(t)
	id := s.surveyed()
	first := s.post(jobPath(id)+"/quote", "basis", "estimate", "do", "save", "rows[0].task", "CC", "rows[0].quantity", "2")
	s.post(first+"/say", "promised", "")
	s.post(first+"/answer", "outcome", "whole", "who", "Mara", "channel", "phone")
	at := jobPath(id) + "/tasks/1"
	all, err := templates.Builtin()
	s.must(err)
	cleats := templates.Get(all, "CC")
	for _, c := range [][]string{
		{at + "/wait", "f-until-error", "kind", "glue clamp", "until", "2020-01-01T10:00"},
		{at + "/part", "f-quantity-error", "part", "1", "quantity", "-2"},
		{at + "/done", "f-reason-error", "do", "drop", "reason", ""},
		{at + "/check", "f-check0-result-error", "row", "0", "what", cleats.Checks[0].What, "result", "perhaps", "value", "0.3"},
	} {
		root := parse(t, s.refusedForm(c[0], c[1], c[2:]...))
		node := find(root, "id", c[1])
		for node != nil && node.Data != "details" {
			node = node.Parent
		}
		if node == nil || !hasAttr(node, "open") {
			t.Errorf("%s: the reason is hidden", c[0])
		}
	}
}
