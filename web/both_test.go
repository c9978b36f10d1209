package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"winterbench/domain/customer"
)

// Whoever saves second sees both versions, loses nothing that was typed, and may
// save it over the other knowingly.
func TestTwoPeopleSaveOneCustomer(t *testing.T) {
	s := newShop(t)
	id, err := s.work.NoteCustomer(t.Context(), s.owner, customer.Customer{Name: "Mara Oduya", Phone: "555 0101"})
	s.must(err)
	form := func(key, version, phone, mail string) url.Values {
		return url.Values{"key": {key}, "version": {version}, "name": {"Mara Oduya"}, "phone": {phone}, "email": {mail}, "contact": {"phone"}}
	}
	path := customerPath(id) + "/edit"
	if w := s.as(s.owner, path, form("k1", "1", "555 0199", ""), ""); w.Code != http.StatusSeeOther {
		t.Fatalf("first: status %d", w.Code)
	}
	w := s.as(s.owner, path, form("k2", "1", "555 0101", "mara@example.org"), "")
	page := w.Body.String()
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, "Two versions") || !strings.Contains(page, ">555 0199</td>") || !strings.Contains(page, ">555 0101</td>") {
		t.Errorf("second: status %d without both phones beside each other: %s", w.Code, page)
	}
	if !strings.Contains(page, `value="mara@example.org"`) || !strings.Contains(page, `name="version" value="2"`) {
		t.Error("what was typed is gone, or cannot be saved over the newer version")
	}
	if strings.Contains(page, ">Name</th>") {
		t.Error("the name stands in the list, and does not differ")
	}
	if w := s.as(s.owner, path, form("k3", "2", "555 0101", "mara@example.org"), ""); w.Code != http.StatusSeeOther {
		t.Errorf("again, knowingly: status %d", w.Code)
	}
}

func TestTwoPeopleSaveTheSettings(t *testing.T) {
	s := newShop(t)
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	old := *shop
	changed := *shop
	changed.Phone = "555 0188"
	s.must(s.work.ChangeShop(t.Context(), s.owner, changed))
	form := url.Values{"key": {"k"}, "version": {"1"}}
	for _, g := range settingGroups(&old, func(_, value string) string { return value }) {
		for _, f := range g.Fields {
			form.Set(f.Name, f.Value)
		}
	}
	form.Set("name", "Frostgate and Daughter")
	w := s.as(s.owner, "/settings", form, "")
	if page := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, ">555 0188</td>") || !strings.Contains(page, `value="Frostgate and Daughter"`) {
		t.Errorf("status %d without both versions: %s", w.Code, page)
	}
}
