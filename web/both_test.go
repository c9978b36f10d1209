package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/stock"
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

func TestTwoPeopleSaveOnePart(t *testing.T) {
	s := newShop(t)
	id, err := s.work.NotePart(t.Context(), s.owner, stock.Part{Code: "nut-blank", Name: "Nut blank", Unit: "each", Kind: money.Part, Price: 900})
	s.must(err)
	path := fmt.Sprintf("/parts/%d", id)
	form := func(key, version, name, price string) url.Values {
		return url.Values{"key": {key}, "version": {version}, "code": {"nut-blank"}, "name": {name}, "unit": {"each"}, "kind": {"part"}, "price": {price}, "cost": {"0"}}
	}
	if w := s.as(s.owner, path, form("p1", "1", "Nut blank", "9.50"), ""); w.Code != http.StatusSeeOther {
		t.Fatalf("first: status %d: %s", w.Code, w.Body)
	}
	w := s.as(s.owner, path, form("p2", "1", "Bone nut blank", "9.00"), "")
	page := w.Body.String()
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, "Two versions") || !strings.Contains(page, ">9.50</td>") || !strings.Contains(page, `value="Bone nut blank"`) {
		t.Errorf("second: status %d without both versions: %s", w.Code, page)
	}
	if w := s.as(s.owner, path, form("p3", "1", "", "nine"), ""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "Two versions") {
		t.Errorf("a form that is wrong and late: status %d without both versions", w.Code)
	}
	if w := s.as(s.owner, path, form("p4", "2", "Bone nut blank", "9.50"), ""); w.Code != http.StatusSeeOther {
		t.Errorf("again, knowingly: status %d", w.Code)
	}
}

func TestTwoPeopleSaveOneMember(t *testing.T) {
	s := newShop(t)
	path := fmt.Sprintf("/staff/%d", s.owner.Staff)
	m, err := s.store.StaffMember(t.Context(), s.owner.Staff)
	s.must(err)
	form := func(key string, version int, monday string) url.Values {
		v := url.Values{"key": {key}, "version": {strconv.Itoa(version)}, "name": {m.Name}, "active": {"yes"}, "hours[0]": {monday}}
		for _, r := range m.Roles {
			v.Set("role_"+string(r), "yes")
		}
		return v
	}
	if w := s.as(s.owner, path, form("m1", m.Version, "09:00-12:00"), ""); w.Code != http.StatusSeeOther {
		t.Fatalf("first: status %d: %s", w.Code, w.Body)
	}
	w := s.as(s.owner, path, form("m2", m.Version, "10:00-14:00"), "")
	page := w.Body.String()
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, ">09:00-12:00</td>") || !strings.Contains(page, `value="10:00-14:00"`) {
		t.Errorf("second: status %d without both versions: %s", w.Code, page)
	}
	if w := s.as(s.owner, path, form("m3", m.Version+1, "10:00-14:00"), ""); w.Code != http.StatusSeeOther {
		t.Errorf("again, knowingly: status %d", w.Code)
	}
}

// The form does not ask which taxes an exemption lifts; saving it keeps them.
func TestAnExemptionKeepsItsTaxes(t *testing.T) {
	s := newShop(t)
	id, err := s.work.NoteCustomer(t.Context(), s.owner, customer.Customer{Name: "Mara Oduya", Exempt: &money.Exemption{
		Reason: money.ReasonResale, Certificate: "C-1", Components: []string{"PST"}, Kinds: []money.LineKind{money.Part},
	}})
	s.must(err)
	s.post(customerPath(id)+"/edit", "version", "1", "name", "Mara Oduya", "contact", "phone", "exempt.reason", "resale", "exempt.certificate", "C-2")
	who, err := s.store.CustomerByID(t.Context(), id)
	s.must(err)
	if e := who.Exempt; e == nil || e.Certificate != "C-2" || len(e.Components) != 1 || len(e.Kinds) != 1 {
		t.Errorf("got %+v, want the taxes and kinds kept", e)
	}
}
