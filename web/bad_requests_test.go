package web

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"

	"winterbench/domain"
)

// badValues are what nobody types on purpose.
var badValues = []string{
	"", " ", "0", "-1", "1", "2", "99999999999999999999", "1e309", "NaN", "0x10", "1,5", "1.5.5", "２", "ja", "yes", "<script>alert(1)</script>", "'; DROP TABLE jobs; --",
	"{{.}}", "%00", "\x00", "\xff\xfe", "../../etc/passwd", "//elsewhere.example", "\r\nSet-Cookie: a=b", "2026-02-30", "9999-12-31", "0000-00-00", "24:00", "09:00-08:00", "{", "[]", "null", "\"",
	strings.Repeat("x", 5000), strings.Repeat("é", 300), "🪕", "\u202e", "counter", "owner", "part", "EUR", "could_not_reach", "CG", "1-2", "1;2", "💀\t\n",
}

// badNames are fields of the shop's forms, some of which do not belong where they are sent.
var badNames = []string{
	"name", "key", "version", "price", "cost", "quantity", "rate", "days", "day", "because", "what", "place", "from", "to", "q", "next", "password", "password_now", "pin", "code", "person", "file",
	"rows[0].task", "rows[0].quantity", "lines[1]", "lines[x].price", "marks[99999].what", "hours[0]", "away[0].from", "findings[0].measure", "amount", "tender", "tender[0].amount", "who", "channel",
	"outcome", "basis", "do", "rh", "gap", "temp", "weight", "meter", "at", "note", "customer", "instrument", "owner", "kind", "seen", "minutes", "profile", "stage", "list", "revoke", "name_known", "mode", "text",
}

// bad makes requests out of the routes.
type bad struct {
	*rand.Rand
	s *openShop
}

func (b bad) one(of []string) string { return of[b.IntN(len(of))] }

func (b bad) values() url.Values {
	v := url.Values{}
	for range b.IntN(12) {
		v.Add(b.one(badNames), b.one(badValues))
	}
	return v
}

// request makes one that no page expects.
func (b bad) request() *http.Request {
	route := b.s.routes[b.IntN(len(b.s.routes))]
	path := pathParam.ReplaceAllStringFunc(route.Path, func(string) string { return url.PathEscape(b.one(badValues)) })
	if q := b.values().Encode(); b.IntN(2) == 0 && len(q) < 3000 {
		path += "?" + q
	}
	body, kind := b.values().Encode(), "application/x-www-form-urlencoded"
	switch b.IntN(8) {
	case 0:
		body, kind = b.one(badValues), "multipart/form-data; boundary=x"
	case 1:
		body, kind = "--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a\"\r\n\r\n"+b.one(badValues)+"\r\n--x--\r\n", "multipart/form-data; boundary=x"
	case 2:
		body, kind = "a=%zz&=;&"+b.one(badValues), b.one(badValues)
	}
	method := route.Method
	if b.IntN(10) == 0 {
		method = b.one([]string{"GET", "POST", "PUT", "DELETE", "HEAD", "PATCH", "OPTIONS"})
	}
	r := httptest.NewRequest(http.MethodGet, "/", strings.NewReader(body))
	r.Method = method
	u, err := url.ParseRequestURI(path)
	if err != nil {
		u = &url.URL{Path: "/" + path}
	}
	r.URL, r.RequestURI = u, path
	r.Header.Set("Content-Type", strings.ToValidUTF8(strings.Map(printable, kind), ""))
	if b.IntN(6) == 0 {
		r.Header.Set(FragmentHeader, strings.Map(printable, b.one(badValues)))
	}
	return r
}

func printable(r rune) rune {
	if r < ' ' || r > '~' {
		return -1
	}
	return r
}

// Ten thousand bad requests, a few hundred in the usual run, get no 5xx.
// WINTERBENCH_LONG=1 sends them all.
func TestBadRequestsAreOursToAnswer(t *testing.T) {
	n := 600
	if os.Getenv("WINTERBENCH_LONG") != "" {
		n = 10_000
	}
	s := newShop(t)
	s.surveyed()
	sessions := []string{s.session(s.owner), s.session(s.person("Runa", domain.Bench)), "", "no session"}
	b, answers := bad{rand.New(rand.NewPCG(7, 7)), s}, map[int]int{}
	for i := range n {
		r := b.request()
		k := b.IntN(len(sessions) * 3)
		if k >= len(sessions) {
			k = 0 // mostly as the owner, who gets furthest
		}
		if r.URL.Path == "/sign-out" || strings.HasSuffix(r.URL.Path, "/sign-out") {
			k = 2
		}
		r.AddCookie(&http.Cookie{Name: s.sessions.Cookie.Name, Value: sessions[k]})
		w := httptest.NewRecorder()
		s.handler.ServeHTTP(w, r)
		answers[w.Code]++
		if w.Code >= 500 {
			t.Errorf("request %d: %s %s answers %d\n%s", i, r.Method, r.RequestURI, w.Code, plain(w.Body.String()))
		}
		if w.Header().Get("Location") != "" && !strings.HasPrefix(w.Header().Get("Location"), "/") || strings.HasPrefix(w.Header().Get("Location"), "//") {
			t.Errorf("request %d: %s leads away to %q", i, r.RequestURI, w.Header().Get("Location"))
		}
	}
	t.Logf("%d requests: %v", n, fmt.Sprint(answers))
	if answers[200]+answers[303] == 0 || answers[422] == 0 {
		t.Errorf("got %v, want that some get through", answers)
	}
}
