package web

import (
	"maps"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
)

// moreSamples holds the samples that other test files add in their init.
var moreSamples []func() map[string]Paged

// pageSamples gives every page a filled struct. A new page needs a line here,
// or in a function added to moreSamples.
func pageSamples() map[string]Paged {
	all := frameSamples()
	for _, more := range moreSamples {
		maps.Copy(all, more())
	}
	return all
}

func frameSamples() map[string]Paged {
	nobody := Page{Title: "Sign in", Shop: "Frostgate Fretted", Answer: "Who is at the bench?", Errors: domain.Fields{"password": "does not fit this name"}}
	setup := sampleFrame("First settings")
	setup.Answer = "Three short steps, then the shop is open."
	setup.Errors = domain.Fields{"currency": "must be a code of three letters, such as EUR"}
	return map[string]Paged{
		"signin": &SignInPage{Page: nobody, Name: "Ilse Varnhagen", Staff: []string{"Ilse Varnhagen", "Tam Okafor"}, Next: "/jobs/318", Note: "The demo's passwords stand in the terminal."},
		"error":  ErrorPageOf(domain.NotFoundf("there is no tag 999"), sampleFrame("")),
		"setup": &SetupPage{
			Page: setup, Action: "/setup/money", Button: "Save and go on", Back: "/setup/shop", Intro: "All of this can be changed later.",
			Steps:   []Step{{Name: "Shop", Done: true}, {Name: "Money", Here: true}, {Name: "Hours"}},
			Caution: &Caution{Text: "Which taxes you owe is for you and your tax adviser to check."},
			Groups: []Group{{Legend: "Money", Note: "Amounts are kept in the smallest coin.", Fields: []Field{
				TextField("currency", "Currency", "Euro").Need().Limit(3).Short(),
				MoneyField("rate", "An hour at the bench", "60.00", "EUR").Need(),
			}}, {Legend: "People", Fields: []Field{TextField("owner", "Your name", "")}}},
		},
	}
}

func TestPages(t *testing.T) {
	static, err := NewStatic()
	if err != nil {
		t.Fatal(err)
	}
	r, err := NewRenderer(nil, static)
	if err != nil {
		t.Fatal(err)
	}
	samples := pageSamples()
	if diff := cmp.Diff(r.Names(), slices.Sorted(maps.Keys(samples))); diff != "" {
		t.Errorf("pages (-) and their samples (+) differ; every page needs a sample:\n%s", diff)
	}
	for name, p := range samples {
		t.Run(name, func(t *testing.T) {
			page, err := r.HTML(name, "layout", p)
			if err != nil {
				t.Fatal(err)
			}
			checkHTML(t, page)
		})
	}
}

func TestPageWritesNothingWhenItFails(t *testing.T) {
	r := galleryRenderer(t)
	w := httptest.NewRecorder()
	err := r.Page(w, 200, "gallery", &SignInPage{Page: sampleFrame("wrong")})
	if err == nil {
		t.Fatal("a page with the wrong struct rendered, want an error")
	}
	if w.Body.Len() != 0 || len(w.Header()) != 0 {
		t.Errorf("got %d bytes and header %v, want nothing written", w.Body.Len(), w.Header())
	}
}

func TestTypedTextIsEscaped(t *testing.T) {
	r := galleryRenderer(t)
	p := sampleGallery()
	p.Customer = Person{Name: `<script>alert(1)</script>`, Phone: `javascript:alert(1)`, Href: "javascript:alert(1)"}
	page, err := r.HTML("gallery", "layout", p)
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"<script>alert", `href="javascript:`} {
		if strings.Contains(string(page), bad) {
			t.Errorf("the page holds %q as typed", bad)
		}
	}
	if !strings.Contains(string(page), "&lt;script&gt;alert(1)") {
		t.Error("the typed name is not on the page")
	}
}

func TestFragmentIsOnlyItsPart(t *testing.T) {
	r := galleryRenderer(t)
	w := httptest.NewRecorder()
	if err := r.Fragment(w, 422, "gallery", "table", sampleQuote()); err != nil {
		t.Fatal(err)
	}
	body := w.Body.String()
	if w.Code != 422 || strings.Contains(body, "<html") || !strings.HasPrefix(body, "<table") {
		t.Errorf("got %d and %.40q, want 422 and the table alone", w.Code, body)
	}
	if got := w.Header().Get("Cache-Control"); got != "no-store" {
		t.Errorf("Cache-Control is %q, want no-store", got)
	}
}

func TestDoorsShowOnlyWhatIsOpen(t *testing.T) {
	r := galleryRenderer(t)
	p := sampleGallery()
	p.Doors = Doors(func(role domain.Role) bool { return role == domain.Bench }, domain.Bench)
	page, err := r.HTML("gallery", "layout", p)
	if err != nil {
		t.Fatal(err)
	}
	text := string(page)
	if strings.Contains(text, `href="/owner"`) || strings.Contains(text, `href="/counter"`) {
		t.Error("a closed door is on the page")
	}
	if !strings.Contains(text, `<body class="bench">`) || !strings.Contains(text, `href="/bench" aria-current`) {
		t.Error("the bench door is not marked, or the page has not the bench's type")
	}
}

// BenchmarkPage renders a page with a form.
func BenchmarkPage(b *testing.B) {
	static, err := NewStatic()
	if err != nil {
		b.Fatal(err)
	}
	r, err := NewRenderer(nil, static)
	if err != nil {
		b.Fatal(err)
	}
	p := pageSamples()["setup"]
	for b.Loop() {
		if _, err := r.HTML("setup", "layout", p); err != nil {
			b.Fatal(err)
		}
	}
}
