package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store/storetest"
)

func TestTheAddressOfAClient(t *testing.T) {
	trusted, err := readProxies([]string{"10.0.0.0/8", "2001:db8::1"})
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []struct {
		remote     string
		forwarded  []string
		proto      string
		want       string
		wantSecure bool
	}{
		{"192.0.2.7:1", []string{"203.0.113.1"}, "https", "192.0.2.7", false}, // a stranger is not believed
		{"10.1.1.1:1", []string{"203.0.113.1"}, "https", "203.0.113.1", true},
		{"10.1.1.1:1", []string{"198.51.100.9, 203.0.113.1"}, "", "203.0.113.1", false},                 // the client wrote the first
		{"10.1.1.1:1", []string{"198.51.100.9", "203.0.113.1, 10.9.9.9"}, "http", "203.0.113.1", false}, // a line of its own by the proxy
		{"10.1.1.1:1", []string{"nonsense"}, "", "10.1.1.1", false},
		{"10.1.1.1:1", nil, "", "10.1.1.1", false},
		{"[2001:db8::1]:1", []string{"203.0.113.1"}, "http, https", "203.0.113.1", true},
		{"[::ffff:10.2.2.2]:1", []string{"203.0.113.1"}, "", "203.0.113.1", false},
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.RemoteAddr = v.remote
		for _, f := range v.forwarded {
			r.Header.Add("X-Forwarded-For", f)
		}
		r.Header.Set("X-Forwarded-Proto", v.proto)
		if got, secure := trusted.client(r); got.String() != v.want || secure != v.wantSecure {
			t.Errorf("%+v: got %s, TLS %v", v, got, secure)
		}
	}
	if _, err := readProxies([]string{"my proxy"}); domain.KindOf(err) != domain.Invalid {
		t.Errorf("a name for a proxy: got %v, want that it is refused", err)
	}
}

func TestCookiesOverTLS(t *testing.T) {
	trusted, err := readProxies([]string{"192.0.2.1"}) // where httptest's requests come from
	if err != nil {
		t.Fatal(err)
	}
	h := trusted.known(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if workshop.AddressOf(r.Context()).String() != "203.0.113.1" {
			t.Errorf("the handler sees %s", workshop.AddressOf(r.Context()))
		}
		http.SetCookie(w, &http.Cookie{Name: "a", Value: "b"})
		_, _ = w.Write([]byte("x"))
	}))
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	r.Header.Set("X-Forwarded-For", "203.0.113.1")
	r.Header.Set("X-Forwarded-Proto", "https")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	if c := w.Result().Cookies()[0]; !c.Secure || w.Header().Get("Strict-Transport-Security") == "" {
		t.Errorf("behind a proxy that speaks TLS: cookie %v, HSTS %q", c, w.Header().Get("Strict-Transport-Security"))
	}
}

func TestThePaceOfOpenPages(t *testing.T) {
	now := &movedClock{at: time.Date(2026, 12, 1, 9, 0, 0, 0, time.UTC)}
	h := newPace(now).paced(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	ask := func(path string) int {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
		return w.Code
	}
	through := func(seconds int) (n int) {
		for range seconds {
			for range 20 {
				if ask("/sign-in") == http.StatusOK {
					n++
				}
			}
			now.at = now.at.Add(time.Second)
		}
		return n
	}
	if n := through(60); n < paceBurst+59*pacePerSecond || n > paceBurst+61*pacePerSecond {
		t.Errorf("%d of 1200 requests in a minute came through, want about %d", n, paceBurst+60*pacePerSecond)
	}
	ask("/quick")
	ask("/first")
	if ask("/feeds/x.ics") != http.StatusTooManyRequests || ask("/bench") != http.StatusOK {
		t.Error("open pages are not held together, or a page behind the sign-in is")
	}
}

// movedClock is moved by hand.
type movedClock struct{ at time.Time }

func (c *movedClock) Now() time.Time { return c.at }

// Every kind of answer has the headers that keep a browser safe. Source: OWASP
// ASVS 4.0.3, 14.4.
func TestSafetyHeaders(t *testing.T) {
	at, _ := started(t, &serveCommand{Database: storetest.Database(t, "sqlite"), Secure: true})
	for _, path := range []string{"/first", "/sign-in", "/nowhere", "/feeds/none.ics", "/static/none.css", "/api/v1/jobs", "/api/v1/"} {
		res, err := client(t).Get(at + path)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.Header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s lacks nosniff", path)
		}
		csp := res.Header.Get("Content-Security-Policy")
		if strings.HasPrefix(res.Header.Get("Content-Type"), "text/html") && (!strings.Contains(csp, "default-src") || strings.Contains(csp, "unsafe") || !strings.Contains(csp, "frame-ancestors 'none'")) {
			t.Errorf("%s has the policy %q", path, csp)
		}
		for _, c := range res.Cookies() {
			if !c.Secure || !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || !strings.HasPrefix(c.Name, "__Host-") {
				t.Errorf("%s sets the cookie %v", path, c)
			}
		}
	}
}

func TestServeSpeaksTLS(t *testing.T) {
	pair := httptest.NewUnstartedServer(nil)
	pair.StartTLS() // for its certificate
	defer pair.Close()
	cert, key := writePair(t, pair.TLS.Certificates[0])
	at, out := started(t, &serveCommand{Database: storetest.Database(t, "sqlite"), TLSCert: cert, TLSKey: key})
	c := client(t)
	c.Transport = &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}} // the certificate is for a test
	u, err := url.Parse(at)
	if err != nil {
		t.Fatal(err)
	}
	res, err := c.Get("https://" + u.Host + "/first")
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if res.StatusCode != http.StatusOK || res.Header.Get("Strict-Transport-Security") == "" || !strings.Contains(out.String(), "open at https://") {
		t.Errorf("over TLS: %d, %v, printed %q", res.StatusCode, res.Header, out)
	}
	old := &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true, MaxVersion: tls.VersionTLS11}}
	if _, err := (&http.Client{Transport: old}).Get("https://" + u.Host + "/first"); err == nil {
		t.Error("TLS 1.1 is spoken")
	}
	if _, err := overTLS(nil, cert, ""); err == nil {
		t.Error("a certificate without a key is taken")
	}
}

// The log holds no names, numbers or passwords of people. What is typed stands in
// forms, in paths behind identities and in queries; none of them is logged.
func TestTheLogTellsNobodysDetails(t *testing.T) {
	var log lockedText
	at, _ := startedLogged(t, &serveCommand{Database: storetest.Database(t, "sqlite"), Verbose: true}, &log)
	get(t, client(t), at+"/sign-in?name=Mara+Oduya&phone=5550142")
	res, err := client(t).PostForm(at+"/sign-in", url.Values{"name": {"Mara Oduya"}, "password": {"a secret word"}})
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	get(t, client(t), at+"/feeds/averysecretaddress.ics")
	for _, word := range []string{"Mara", "Oduya", "5550142", "secret word", "averysecretaddress"} {
		if strings.Contains(log.String(), word) {
			t.Errorf("the log tells %q:\n%s", word, log.String())
		}
	}
	if !strings.Contains(log.String(), "/sign-in") {
		t.Errorf("the log has no requests: %q", log.String())
	}
}

// lockedText gathers what several goroutines write.
type lockedText struct {
	mu   sync.Mutex
	text strings.Builder
}

func (l *lockedText) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

func (l *lockedText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// writePair writes a certificate and its key as PEM files.
func writePair(t *testing.T, c tls.Certificate) (cert, key string) {
	t.Helper()
	dir := t.TempDir()
	cert, key = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	secret, err := x509.MarshalPKCS8PrivateKey(c.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	for name, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: c.Certificate[0]}, key: {Type: "PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(name, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return cert, key
}
