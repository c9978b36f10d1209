package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/totp"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		square, err := SquareOf("otpauth://totp/Frostgate:Ilse?secret=JBSWY3DPEHPK3PXP")
		if err != nil {
			panic(err)
		}
		p := &AccountPage{Page: sampleFrame("How I sign in"), Codes: []string{"ABCD-EFGH-JKLM-NPQR", "2345-6722-3344-5566"}}
		p.Errors = domain.Fields{"pin.pin": "must have 4 to 8 digits"}
		p.Sections = []AccountSection{
			{
				Lead: "Second step", Notes: []string{"Let your authenticator read the square."}, Square: square, Secret: "JBSW Y3DP EHPK 3PXP",
				Forms: []AccountForm{{Action: "/account/second/confirm", Key: "k1", Fields: inScope("confirm", codeField()), Button: "It shows codes: use it", Now: true}},
			},
			{Lead: "PIN for the bench", Forms: []AccountForm{{Action: "/account/pin", Key: "k2", Fields: markAll(p.Errors, inScope("pin", passwordNow(), SecretField("pin", "New PIN"))), Button: "Set the PIN"}}},
			{Lead: "Where you are signed in", Table: &Table{Caption: "Stays", Hidden: true, Columns: []Column{Head("Since")}, Rows: []Row{{Cells: []Cell{{Text: "Thu 3 Dec, 09:00"}}}}}},
		}
		return map[string]Paged{"account/show": p}
	})
}

// cookieOf is a cookie of an answer, "" for none.
func cookieOf(w *httptest.ResponseRecorder, name string) *http.Cookie {
	for _, c := range w.Result().Cookies() {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// code is what the owner's authenticator shows.
func (s *openShop) code() string {
	s.Helper()
	f, _, err := s.store.SecondFactorOf(s.Context(), s.owner.Staff)
	s.must(err)
	code, err := totp.Code(f.Secret, totp.StepOf(s.clock.now))
	s.must(err)
	return code
}

func TestSecondStepFromPageToSignIn(t *testing.T) {
	s := newShop(t)
	in := s.session(s.owner)
	if w := s.send(in, "/account/second/start", values("password_now", "wrong"), ""); w.Code != 422 || !strings.Contains(w.Body.String(), "f-start-password_now-error") {
		t.Errorf("a wrong password begins a second step: %d", w.Code)
	}
	s.send(in, "/account/second/start", values("password_now", "nine cold fretboards"), "")
	w := s.send(in, "/account", nil, "")
	checkHTML(t, w.Body.Bytes())
	if !strings.Contains(w.Body.String(), `class="square"`) {
		t.Fatal("no square for the authenticator")
	}
	w = s.send(in, "/account/second/confirm", values("code", s.code()), "")
	codes := regexp.MustCompile(`<code>([A-Z2-7-]{19})</code>`).FindAllStringSubmatch(w.Body.String(), -1)
	if w.Code != 200 || len(codes) != 10 {
		t.Fatalf("got %d with %d recovery codes, want 10", w.Code, len(codes))
	}
	if text := s.send(in, "/account", nil, "").Body.String(); strings.Contains(text, codes[0][1]) || !strings.Contains(text, "10 recovery codes are left") {
		t.Error("recovery codes are shown twice, or not counted")
	}
	nobody := s.session(domain.Actor{})
	w = s.send(nobody, "/sign-in", values("name", "Ilse", "password", "nine cold fretboards", "next", "/bench"), "")
	if w.Header().Get("Location") != "/sign-in/code?next=%2Fbench" {
		t.Fatalf("the password leads to %q, want the second step", w.Header().Get("Location"))
	}
	half := cookieOf(w, s.sessions.Cookie.Name).Value
	if w := s.send(half, "/bench", nil, ""); w.Code != http.StatusSeeOther {
		t.Errorf("half way the bench opens: %d", w.Code)
	}
	w = s.send(half, "/sign-in/code", nil, "")
	checkHTML(t, w.Body.Bytes())
	if w = s.send(half, "/sign-in/code", values("code", "000000", "next", "/bench"), ""); w.Code != 422 {
		t.Errorf("a wrong code: %d", w.Code)
	}
	s.clock.now = s.clock.now.Add(time.Minute)
	w = s.send(half, "/sign-in/code", values("code", s.code(), "next", "//elsewhere.example"), "")
	whole := cookieOf(w, s.sessions.Cookie.Name).Value
	if w.Header().Get("Location") != "/" || whole == half {
		t.Errorf("the code leads to %q, with a new session: %v", w.Header().Get("Location"), whole != half)
	}
	if w := s.send(whole, "/bench", nil, ""); w.Code != 200 {
		t.Errorf("the second step does not open the bench: %d", w.Code)
	}
	w = s.send(nobody, "/sign-in", values("name", "Ilse", "password", "nine cold fretboards"), "")
	half = cookieOf(w, s.sessions.Cookie.Name).Value
	s.clock.now = s.clock.now.Add(6 * time.Minute)
	if w := s.send(half, "/sign-in/code", values("code", s.code()), ""); !strings.HasPrefix(w.Header().Get("Location"), "/sign-in?") {
		t.Errorf("a password is good for a code after six minutes: %d", w.Code)
	}
}

func TestOwnersAreLedToTheSecondStep(t *testing.T) {
	s := newShop(t)
	page := s.refusedForm("/sign-ins/settings", "must be from 5", "idle_minutes", "3", "most_hours", "12", "pin_minutes", "15", "owners_second", "yes", "version", "1")
	if !strings.Contains(page, `value="3"`) {
		t.Error("what was typed is lost")
	}
	s.post("/sign-ins/settings", "idle_minutes", "60", "most_hours", "12", "pin_minutes", "15", "owners_second", "yes", "version", "1")
	for path, want := range map[string]int{"/owner": 303, "/bench": 303, "/account": 200} {
		if w := s.as(s.owner, path, nil, ""); w.Code != want {
			t.Errorf("%s without the second step: %d, want %d", path, w.Code, want)
		}
	}
	if w := s.as(s.person("Runa", domain.Bench), "/bench", nil, ""); w.Code != 200 {
		t.Errorf("the bench needs no second step: %d", w.Code)
	}
}

// from sends a request with a device's cookie.
func (s *openShop) onDevice(secret *http.Cookie, session, path string, form ...string) *httptest.ResponseRecorder {
	s.Helper()
	method, body := http.MethodGet, ""
	if form != nil {
		method, body = http.MethodPost, values(append(form, "key", NewKey())...).Encode()
	}
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.AddCookie(&http.Cookie{Name: s.sessions.Cookie.Name, Value: session})
	if secret != nil {
		r.AddCookie(&http.Cookie{Name: secret.Name, Value: secret.Value})
	}
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, r)
	return w
}

func TestChangingPersonByPIN(t *testing.T) {
	s := newShop(t)
	s.refusedForm("/account/pin", "must have 4 to 8 digits", "password_now", "nine cold fretboards", "pin", "12")
	s.post("/account/pin", "password_now", "nine cold fretboards", "pin", "2580")
	if w := s.onDevice(nil, "", "/quick"); w.Code != 403 || strings.Contains(w.Body.String(), "Ilse") {
		t.Errorf("a device that is not trusted gets %d, or names", w.Code)
	}
	s.refusedForm("/devices", "needed", "name", "", "days", "30")
	w := s.as(s.owner, "/devices", values("name", "Tablet <1>", "days", "30"), "")
	secret := cookieOf(w, "bench")
	if secret == nil || !secret.HttpOnly || secret.SameSite != http.SameSiteLaxMode {
		t.Fatalf("the device got %v", secret)
	}
	w = s.onDevice(secret, "", "/quick")
	checkHTML(t, w.Body.Bytes())
	if !strings.Contains(w.Body.String(), "Ilse") || !strings.Contains(w.Body.String(), "Tablet &lt;1&gt;") {
		t.Error("the trusted device shows neither its name nor who has a PIN")
	}
	who := fmt.Sprint(s.owner.Staff)
	if w = s.onDevice(secret, "", "/quick", "person", who, "pin", "9999"); w.Code != 422 || strings.Contains(w.Body.String(), "9999") {
		t.Errorf("a wrong PIN: %d", w.Code)
	}
	before := s.session(s.owner)
	w = s.onDevice(secret, before, "/quick", "person", who, "pin", "2580")
	in := cookieOf(w, s.sessions.Cookie.Name).Value
	if w.Header().Get("Location") != "/bench" || s.send(before, "/bench", nil, "").Code == 200 {
		t.Errorf("leads to %q; who was in before is still in", w.Header().Get("Location"))
	}
	for path, want := range map[string]int{"/bench": 200, "/owner": 403, "/staff": 403, "/arrive": 403, "/account": 403, "/tokens": 403, "/devices": 403, "/sign-ins": 403, "/settings": 403, "/settings/feeds": 403} {
		if w := s.onDevice(secret, in, path); w.Code != want {
			t.Errorf("by PIN, %s: %d, want %d", path, w.Code, want)
		}
	}
	if w := s.onDevice(secret, in, "/account/password", "password_now", "nine cold fretboards", "password", "longer than before"); w.Code != 403 {
		t.Errorf("by PIN, a new password: %d, want 403", w.Code)
	}
	s.post("/devices/1/revoke")
	if w := s.onDevice(secret, in, "/bench"); w.Code != 303 {
		t.Errorf("trusted no more, and in by PIN: %d", w.Code)
	}
	if w := s.onDevice(secret, "", "/quick"); w.Code != 403 {
		t.Errorf("trusted no more, and names are shown: %d", w.Code)
	}
}

func TestOwnPageAndTheOwnersLook(t *testing.T) {
	s := newShop(t)
	bench := s.person("Runa", domain.Bench)
	one, two := s.session(bench), s.session(bench)
	s.send(one, "/account/sign-out", values(), "")
	if s.send(one, "/bench", nil, "").Code != 200 || s.send(two, "/bench", nil, "").Code == 200 {
		t.Error("signing out everywhere else took the wrong stay")
	}
	w := s.send(one, "/account/password", values("password_now", "seven steady clamps", "password", "eight steady clamps"), "")
	if w.Code != http.StatusSeeOther || s.send(one, "/bench", nil, "").Code != 200 {
		t.Errorf("a new password: %d, or it ended this stay", w.Code)
	}
	path := fmt.Sprintf("/staff/%d", bench.Staff)
	if text := textOf(s.get(path + "/sign-ins")); !strings.Contains(text, "changed the password") || !strings.Contains(text, "added with the hats bench") {
		t.Errorf("the owner's look tells too little: %s", text)
	}
	s.post(path + "/unlock")
	s.post(path + "/sign-out")
	if s.send(one, "/bench", nil, "").Code == 200 {
		t.Error("the owner signed Runa out, and she is in")
	}
	for _, path := range []string{"/sign-ins", "/devices", "/account", "/tokens"} {
		s.get(path)
	}
	for range 6 {
		w = s.as(domain.Actor{}, "/sign-in", values("name", "Runa", "password", "wrong"), "")
	}
	if w.Code != http.StatusTooManyRequests || w.Header().Get("Retry-After") == "" || !strings.Contains(w.Body.String(), "wait a second") {
		t.Errorf("the sixth wrong password: %d, Retry-After %q", w.Code, w.Header().Get("Retry-After"))
	}
	if text := textOf(s.get("/sign-ins")); !strings.Contains(text, "from now on each try waits") {
		t.Error("the log does not tell that tries are slowed")
	}
}

func TestTokensAreAskedForWithScope(t *testing.T) {
	s := newShop(t)
	s.refusedForm("/tokens", "must be from 1 to 366", "name", "x", "days", "many")
	w := s.as(s.owner, "/tokens", values("name", "shelf", "reads_only", "yes", "roles", "bench", "days", "7"), "")
	token := regexp.MustCompile(`wb_[A-Za-z0-9_-]+`).FindString(w.Body.String())
	by, err := s.work.SignInByToken(t.Context(), token)
	s.must(err)
	if a := by.Actor(); !a.ReadOnly || !a.Limited || !slices.Equal(a.Roles, []domain.Role{domain.Bench}) || !by.Token.Expires.Equal(s.clock.now.AddDate(0, 0, 7)) {
		t.Errorf("the token acts as %+v until %s", by.Actor(), by.Token.Expires)
	}
	if text := textOf(s.get("/tokens")); !strings.Contains(text, "as bench, reading only") {
		t.Errorf("the scope is not shown: %s", text)
	}
}

// Passwords are no part of the sum that is kept with an idempotency key.
func TestSumsLeavePasswordsOut(t *testing.T) {
	s := newShop(t)
	key := NewKey()
	for i, password := range []string{"first long password", "second long password"} {
		w := s.as(s.owner, "/staff", values("key", key, "name", "Una", "role_bench", "yes", "password", password), "")
		if w.Code != http.StatusSeeOther {
			t.Errorf("send %d: %d, want 303: the sum tells two passwords apart", i+1, w.Code)
		}
	}
	if _, err := s.work.SignIn(t.Context(), "Una", "first long password"); err != nil {
		t.Errorf("the first password: %v", err)
	}
	if people, err := s.store.StaffList(t.Context()); err != nil || len(people) != 2 {
		t.Errorf("%d people, want 2", len(people))
	}
}

func TestSquareOf(t *testing.T) {
	q, err := SquareOf("short")
	if err != nil || q.Size != 21+8 { // a code of version 1 has 21 modules. Source: ISO/IEC 18004; from memory
		t.Fatalf("got %+v, %v", q, err)
	}
	if !strings.HasPrefix(q.Path, "M4 4h7v1h-7z") { // the first finder pattern is seven modules wide
		t.Errorf("it begins with %q", q.Path[:20])
	}
	if _, err := SquareOf(strings.Repeat("x", 5000)); err == nil {
		t.Error("a text that is too long is drawn")
	}
}
