package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"winterbench/domain/workshop"
)

// The clamps of the settings are kept, a slip comes back as typed, and the page of a
// template names its clamp.
func TestClampsInSettingsAndTemplates(t *testing.T) {
	s := newShop(t)
	send := func(key, typed string) (int, string) {
		form := url.Values{"key": {key}, "version": {"1"}}
		for _, g := range settingGroups(s.settings(), func(_, value string) string { return value }) {
			for _, f := range g.Fields {
				form.Set(f.Name, f.Value)
			}
		}
		form.Set("clamps", typed)
		w := s.as(s.owner, "/settings", form, "")
		return w.Code, w.Body.String()
	}
	if code, page := send("k1", "bridge clamps two"); code != http.StatusUnprocessableEntity || !strings.Contains(page, "must be a kind and how many") || !strings.Contains(page, ">bridge clamps two</textarea>") {
		t.Errorf("a slip: status %d without the reason and what was typed", code)
	}
	if code, page := send("k2", "bridge clamps: 2\r\ndeep clamps: 3"); code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", code, page)
	}
	want := []workshop.ClampCount{{Name: "bridge clamps", Count: 2}, {Name: "deep clamps", Count: 3}}
	if got := s.settings().Clamps; !slices.Equal(got, want) {
		t.Errorf("kept %v, want %v", got, want)
	}
	if text := textOf(s.get("/templates/BR")); !strings.Contains(text, "bridge clamps, until the glue is dry") {
		t.Errorf("the template does not name its clamp: %s", text)
	}
}
