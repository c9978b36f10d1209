package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// noTax is the sample profile that fits every currency.
func noTax() string {
	return strconv.Itoa(slices.IndexFunc(money.SampleProfiles(), func(p money.Profile) bool { return len(p.Components) == 0 }))
}

// firstForm is what an owner types into the first settings, pairs changing it.
func firstForm(pairs ...string) url.Values {
	out := values("name", "Frostgate Fretted", "address", "1 Quay", "zone", "Europe/Helsinki", "currency", "EUR", "rate", "84,00", "survey_fee", "", "profile", noTax(),
		"guard_percent", "10", "valid_days", "14", "places", "3", "hours[0]", "09:00-17:00", "owner", "Ilse", "password", "nine cold fretboards")
	for name, value := range values(pairs...) {
		out[name] = value
	}
	return out
}

func TestFirstSettings(t *testing.T) {
	s := emptyShop(t)
	code, err := s.work.NewFirstCode(t.Context())
	s.must(err)
	firstForm := func(pairs ...string) url.Values { return firstForm(append(pairs, "code", code)...) }
	nobody := domain.Actor{}
	for _, path := range []string{"/", "/counter", "/sign-in"} {
		if w := s.as(nobody, path, nil, ""); w.Header().Get("Location") != "/first" {
			t.Errorf("%s of an empty shop leads with %d to %q, want /first", path, w.Code, w.Header().Get("Location"))
		}
	}
	for field, pairs := range map[string][]string{
		"f-name": {"name", ""}, "f-zone": {"zone", "Moon/Base"}, "f-currency": {"currency", "XXX"}, "f-rate": {"rate", "many"}, "f-profile": {"profile", "99"},
		"f-places": {"places", "41"}, "f-hours-0": {"hours[0]", "17:00-09:00"}, "f-owner": {"owner", ""}, "f-password": {"password", "short"},
	} {
		w := s.as(nobody, "/first", firstForm(pairs...), "")
		page := w.Body.String()
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, field+"-error") {
			t.Errorf("%s: got %d, want 422 with a reason beside the field", field, w.Code)
		}
		if !strings.Contains(page, "1 Quay") || strings.Contains(page, "nine cold fretboards") {
			t.Errorf("%s: the form lost what was typed or shows the password", field)
		}
		if _, err := s.store.ShopSettings(t.Context()); domain.KindOf(err) != domain.NotFound {
			t.Fatalf("%s: half a shop was kept: %v", field, err)
		}
	}
	page := s.as(nobody, "/first", firstForm("name", "", "profile", "0", "password", "short"), "").Body.String()
	for _, field := range []string{"f-name-error", "f-profile-error", "f-password-error"} {
		if !strings.Contains(page, field) {
			t.Errorf("three things are wrong, and %s is not told", field)
		}
	}
	page = s.as(nobody, "/first", firstForm("currency", ""), "").Body.String()
	if strings.Contains(page, "f-rate-error") || !strings.Contains(page, "f-currency-error") {
		t.Error("without a currency, the currency alone is wrong")
	}
	for try := range 7 { // the first five are told at once, then there is a wait
		w := s.as(nobody, "/first", firstForm("code", "ABCD-EFGH-JKLM"), "")
		want := http.StatusUnprocessableEntity
		if try >= workshop.SlowName.Free {
			want = http.StatusTooManyRequests
		}
		if w.Code != want || !strings.Contains(w.Body.String(), "f-code-error") {
			t.Errorf("wrong code, try %d: got %d, want %d with a reason beside the field", try+1, w.Code, want)
		}
	}
	if w := s.as(nobody, "/first", firstForm(), ""); w.Code != http.StatusTooManyRequests || w.Header().Get("Retry-After") == "" {
		t.Errorf("the right code while waiting: got %d, want 429 with a time", w.Code)
	}
	s.clock.now = s.clock.now.Add(time.Minute)
	w := s.as(nobody, "/first", firstForm(), "")
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/" {
		t.Fatalf("got %d to %q, want 303 to /\n%s", w.Code, w.Header().Get("Location"), plain(w.Body.String()))
	}
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	if shop.Rate != 8400 || shop.SurveyFee != 0 || len(shop.Places) != 3 || shop.Hours[0].Open != "09:00" || shop.Hours[6].Open != "" {
		t.Errorf("kept %+v", shop)
	}
	if w := s.as(nobody, "/first", firstForm("name", "Thief", "owner", "Thief"), ""); w.Code == http.StatusSeeOther {
		t.Error("a second owner founded the shop again")
	}
}

// A session known from before the sign-in must not become that of who signs in.
func TestSignInRenewsTheSession(t *testing.T) {
	s := newShop(t)
	before := s.session(domain.Actor{})
	r := s.send(before, "/sign-in", values("name", "Ilse", "password", "nine cold fretboards", "next", "/bench"), "")
	after := ""
	for _, c := range r.Result().Cookies() {
		if c.Name == s.sessions.Cookie.Name {
			after = c.Value
		}
	}
	if after == "" || after == before {
		t.Fatalf("the session stayed %q", after)
	}
	if w := s.send(before, "/bench", nil, ""); w.Code != http.StatusSeeOther {
		t.Errorf("the old session opens the bench: %d", w.Code)
	}
	if w := s.send(after, "/bench", nil, ""); w.Code != http.StatusOK {
		t.Errorf("the new session does not open the bench: %d", w.Code)
	}
	s.send(after, "/sign-out", values(), "")
	if w := s.send(after, "/bench", nil, ""); w.Code != http.StatusSeeOther {
		t.Errorf("signed out, and the bench opens: %d", w.Code)
	}
}
