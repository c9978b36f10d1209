package api_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"winterbench/domain/job"
)

var update = flag.Bool("update", false, "write openapi.yaml anew")

// describe reads a page of the description; it needs no database.
func describe(t *testing.T, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	engine(nil, nil).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/api/v1/"+path, nil))
	if w.Code != http.StatusOK {
		t.Fatalf("%s: got %d, want 200", path, w.Code)
	}
	return w
}

func TestTheDescriptionIsTheOneKept(t *testing.T) {
	got := describe(t, "openapi.yaml").Body.Bytes()
	if again := describe(t, "openapi.yaml").Body.Bytes(); !bytes.Equal(got, again) {
		t.Fatal("two engines describe themselves differently")
	}
	if *update {
		if err := os.WriteFile("openapi.yaml", got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("openapi.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("openapi.yaml differs from what is served; run go test ./api -run Description -update and read the difference")
	}
}

type description struct {
	OpenAPI string `json:"openapi"`
	Paths   map[string]map[string]struct {
		OperationID string                     `json:"operationId"`
		Summary     string                     `json:"summary"`
		Security    []map[string][]string      `json:"security"`
		Responses   map[string]json.RawMessage `json:"responses"`
		Parameters  []struct {
			Name, In, Description string
			Schema                struct {
				Items struct{ Enum []string }
			}
		} `json:"parameters"`
	} `json:"paths"`
}

func described(t *testing.T) (d description) {
	t.Helper()
	if err := json.Unmarshal(describe(t, "openapi.json").Body.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestEveryOperationIsDescribed(t *testing.T) {
	d := described(t)
	if !strings.HasPrefix(d.OpenAPI, "3.1") {
		t.Errorf("got OpenAPI %q, want 3.1", d.OpenAPI)
	}
	n := 0
	for path, methods := range d.Paths {
		for method, o := range methods {
			n++
			open := strings.HasPrefix(path, "/api/v1/calc") || (path == "/api/v1/shop" && method == "post")
			if o.OperationID == "" || o.Summary == "" || (len(o.Security) == 0) != open {
				t.Errorf("%s %s: id %q, summary %q, security %v", method, path, o.OperationID, o.Summary, o.Security)
			}
			if !strings.Contains(string(o.Responses["default"]), "application/problem+json") {
				t.Errorf("%s %s does not say how errors look", method, path)
			}
			for _, p := range o.Parameters {
				if p.Description == "" {
					t.Errorf("%s %s: %s is not described", method, path, p.Name)
				}
			}
		}
	}
	if n < 60 {
		t.Errorf("%d operations are described, want all", n)
	}
}

func TestTheFilterKnowsEveryStage(t *testing.T) {
	for _, p := range described(t).Paths["/api/v1/jobs"]["get"].Parameters {
		if p.Name != "stage" {
			continue
		}
		for i, s := range job.Stages() {
			if len(p.Schema.Items.Enum) != len(job.Stages()) || p.Schema.Items.Enum[i] != string(s) {
				t.Fatalf("got stages %q, want %q", p.Schema.Items.Enum, job.Stages())
			}
		}
		return
	}
	t.Error("jobs cannot be chosen by stage")
}

func TestTheReadablePage(t *testing.T) {
	w := describe(t, "")
	if csp := w.Header().Get("Content-Security-Policy"); !strings.HasPrefix(csp, "default-src 'self';") {
		t.Errorf("got policy %q, want one that keeps to ourselves", csp)
	}
	root, err := html.Parse(bytes.NewReader(w.Body.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	ids, operations := map[string]bool{}, 0
	for n := range root.Descendants() {
		if n.Data == "script" || n.Data == "style" {
			t.Errorf("<%s> stands in the page", n.Data)
		}
		for _, a := range n.Attr {
			if a.Key == "style" || strings.HasPrefix(a.Key, "on") {
				t.Errorf("%s stands in <%s>", a.Key, n.Data)
			}
			if a.Key == "id" {
				if ids[a.Val] {
					t.Errorf("two elements are called %q", a.Val)
				}
				ids[a.Val] = true
			}
		}
		if n.Data == "details" {
			operations++
		}
	}
	for n := range root.Descendants() {
		for _, a := range n.Attr {
			if target, inside := strings.CutPrefix(a.Val, "#"); a.Key == "href" && inside {
				if !ids[target] {
					t.Errorf("a link leads to %s, which is not there", a.Val)
				}
			}
			if shape, is := strings.CutPrefix(a.Val, "shape-"); a.Key == "id" && is {
				operations--
				if shape == "" {
					t.Error("a shape has no name")
				}
			}
		}
	}
	if size := w.Body.Len(); size > 500_000 {
		t.Errorf("the page has %d bytes, want at most 500000: is a shape repeated with each operation?", size)
	}
	want := 0
	for _, methods := range described(t).Paths {
		want += len(methods)
		for _, o := range methods {
			if !ids[o.OperationID] {
				t.Errorf("the page lacks %s", o.OperationID)
			}
		}
	}
	if operations != want {
		t.Errorf("the page lists %d operations, want %d", operations, want)
	}
	if css := describe(t, "page.css"); !strings.HasPrefix(css.Header().Get("Content-Type"), "text/css") {
		t.Errorf("the style is %q", css.Header().Get("Content-Type"))
	}
}
