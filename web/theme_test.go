package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
)

func post(h gin.HandlerFunc, form url.Values, headers ...string) *httptest.ResponseRecorder {
	gin.SetMode(gin.TestMode)
	r := gin.New()
	r.POST("/", h)
	req := httptest.NewRequest(http.MethodPost, "/", strings.NewReader(form.Encode()))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	r.ServeHTTP(w, req)
	return w
}

func TestSetTheme(t *testing.T) {
	w := post(SetTheme, url.Values{"theme": {"dark"}, "back": {"/jobs/318?x=1"}})
	if w.Code != 303 || w.Header().Get("Location") != "/jobs/318?x=1" {
		t.Errorf("got %d to %q, want 303 to /jobs/318?x=1", w.Code, w.Header().Get("Location"))
	}
	if got := w.Header().Get("Set-Cookie"); !strings.HasPrefix(got, "paper=dark;") || !strings.Contains(got, "HttpOnly") {
		t.Errorf("cookie is %q, want paper=dark, HttpOnly", got)
	}
	for _, theme := range []string{"", "purple"} {
		w := post(SetTheme, url.Values{"theme": {theme}})
		if got := w.Header().Get("Set-Cookie"); !strings.HasPrefix(got, "paper=;") || !strings.Contains(got, "Max-Age=0") {
			t.Errorf("theme %q leaves the cookie %q, want it removed", theme, got)
		}
	}
}

func TestOwnPath(t *testing.T) {
	for path, want := range map[string]string{
		"/jobs/318": "/jobs/318", "": "/", "https://example.org/": "/", "//example.org": "/", `/\example.org`: "/",
		"javascript:alert(1)": "/", "jobs": "/", "/a\nb": "/", "/search?q=a%20b": "/search?q=a%20b",
	} {
		if got := OwnPath(path); got != want {
			t.Errorf("OwnPath(%q) is %q, want %q", path, got, want)
		}
	}
}

func TestGoTellsTheScriptWhere(t *testing.T) {
	h := func(c *gin.Context) { Go(c, "/jobs/1") }
	if w := post(h, nil); w.Code != 303 || w.Header().Get("Location") != "/jobs/1" {
		t.Errorf("a plain form got %d to %q, want 303 to /jobs/1", w.Code, w.Header().Get("Location"))
	}
	if w := post(h, nil, FragmentHeader, "part"); w.Code != 204 || w.Header().Get("X-Location") != "/jobs/1" {
		t.Errorf("the script got %d, %q, want 204 and X-Location /jobs/1", w.Code, w.Header().Get("X-Location"))
	}
}
