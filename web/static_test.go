package web

import (
	"compress/gzip"
	"io"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
)

func TestStaticServesUnderItsHash(t *testing.T) {
	one, err := packStatic(fstest.MapFS{"app.css": {Data: []byte("a{}")}})
	if err != nil {
		t.Fatal(err)
	}
	two, err := packStatic(fstest.MapFS{"app.css": {Data: []byte("b{}")}})
	if err != nil {
		t.Fatal(err)
	}
	first, err := one.Path("app.css")
	if err != nil {
		t.Fatal(err)
	}
	if second, _ := two.Path("app.css"); first == second {
		t.Errorf("two contents share the address %s", first)
	}
	w := httptest.NewRecorder()
	one.ServeHTTP(w, httptest.NewRequest("GET", first, nil))
	if w.Code != 200 || w.Body.String() != "a{}" {
		t.Errorf("got %d %q, want 200 and the file", w.Code, w.Body)
	}
	for name, want := range map[string]string{
		"Content-Type": "text/css; charset=utf-8", "Cache-Control": "public, max-age=31536000, immutable",
		"Vary": "Accept-Encoding", "Content-Length": "3", "Content-Encoding": "", "X-Content-Type-Options": "nosniff",
	} {
		if got := w.Header().Get(name); got != want {
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
	w = httptest.NewRecorder()
	two.ServeHTTP(w, httptest.NewRequest("GET", first, nil))
	if w.Code != 404 {
		t.Errorf("an old address answers %d, want 404", w.Code)
	}
	if _, err := one.Path("no.css"); err == nil {
		t.Error("an unknown file has an address, want an error")
	}
}

func TestStaticCompresses(t *testing.T) {
	s, err := NewStatic()
	if err != nil {
		t.Fatal(err)
	}
	where, err := s.Path("app.css")
	if err != nil {
		t.Fatal(err)
	}
	req := httptest.NewRequest("GET", where, nil)
	req.Header.Set("Accept-Encoding", "br, gzip")
	w := httptest.NewRecorder()
	s.ServeHTTP(w, req)
	if got := w.Header().Get("Content-Encoding"); got != "gzip" {
		t.Fatalf("Content-Encoding is %q, want gzip", got)
	}
	z, err := gzip.NewReader(w.Body)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	if string(plain) != string(mustRead(t, "static/app.css")) {
		t.Error("the unpacked file is not the stylesheet")
	}
}

func TestAcceptsGzip(t *testing.T) {
	for header, want := range map[string]bool{
		"": false, "gzip": true, "deflate, gzip;q=0.5": true, "gzip;q=0": false, "gzip; q=0.0": false, "br": false, "x-gzip": false, "gzip;q=x": false,
	} {
		if got := acceptsGzip(header); got != want {
			t.Errorf("Accept-Encoding %q: got %v, want %v", header, got, want)
		}
	}
}

// TestPageWeight keeps stylesheet and script small: 45 kB raw at most.
func TestPageWeight(t *testing.T) {
	total := len(mustRead(t, "static/app.css")) + len(mustRead(t, "static/app.js"))
	if total > 45_000 {
		t.Errorf("stylesheet and script weigh %d bytes, want at most 45000", total)
	}
}

// TestScriptKeepsNothing: the script stores nothing and loads nothing from elsewhere.
func TestScriptKeepsNothing(t *testing.T) {
	js := string(mustRead(t, "static/app.js"))
	for _, word := range []string{"localStorage", "sessionStorage", "indexedDB", "document.cookie", "eval(", "http:", "https:"} {
		if strings.Contains(js, word) {
			t.Errorf("the script uses %s", word)
		}
	}
}
