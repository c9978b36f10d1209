package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		p := &LongGonePage{Page: sampleFrame("Long gone"), Table: Table{Caption: "Customers", Hidden: true, Columns: []Column{Head("Customer"), Head("Last here"), Head("Visits"), Head("")}}}
		p.Answer = "1 customer was here before 1 Jan 2019 and not since."
		p.Table.Rows = []Row{{Cells: []Cell{{Text: "Mara Oduya", Href: "/customers/4"}, {Text: "3 Feb 2018"}, {Text: "2"}, {Text: "Erase", Href: "/customers/4/erase"}}}}
		return map[string]Paged{"customer/gone": p}
	})
}

func TestErasePage(t *testing.T) {
	s := newShop(t)
	counter := s.person("Ivo", domain.Counter)
	id, err := s.work.NoteCustomer(t.Context(), s.owner, customer.Customer{Name: "Mara Oduya", Phone: "555 0101"})
	s.must(err)
	path := customerPath(id)
	for _, p := range []string{path + "/erase", path + "/everything.zip", longGonePath} {
		if w := s.as(counter, p, nil, ""); w.Code != http.StatusForbidden {
			t.Errorf("the counter opens %s: status %d", p, w.Code)
		}
	}
	if w := s.as(counter, path, nil, ""); strings.Contains(w.Body.String(), "/erase") {
		t.Error("the counter is offered to erase")
	}
	if w := s.as(s.owner, path+"/everything.zip", nil, ""); w.Code != http.StatusOK || w.Header().Get("Content-Type") != "application/zip" || !strings.HasPrefix(w.Body.String(), "PK") {
		t.Errorf("everything kept: status %d, %s", w.Code, w.Header().Get("Content-Type"))
	}
	w := s.as(s.owner, path+"/erase", url.Values{"key": {"k1"}, "name": {"Mara"}, "reason": {"asked by letter"}}, "")
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "must be the customer’s name") && !strings.Contains(w.Body.String(), "must be the customer&#39;s name") || !strings.Contains(w.Body.String(), "asked by letter") {
		t.Errorf("another name: status %d, or what was typed is gone", w.Code)
	}
	w = s.as(s.owner, path+"/erase", url.Values{"key": {"k2"}, "name": {"mara oduya"}, "reason": {"asked by letter"}}, "")
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != path {
		t.Fatalf("erase: status %d to %s", w.Code, w.Header().Get("Location"))
	}
	page := s.as(s.owner, path, nil, "").Body.String()
	if strings.Contains(page, "Mara") || !strings.Contains(page, "asked by letter") || !strings.Contains(page, "No invoice was ever written") {
		t.Errorf("the page of an erased customer: %s", page)
	}
}

func TestNobodyIsErasedWithAnInstrumentInTheHouse(t *testing.T) {
	s := newShop(t)
	tag := s.arrived()
	j, err := s.store.JobByID(t.Context(), tag)
	s.must(err)
	w := s.as(s.owner, customerPath(j.Customer)+"/erase", url.Values{"key": {"k"}, "name": {"Mara Oduya"}, "reason": {"asked"}}, "")
	if w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), "is in the house") {
		t.Errorf("status %d, want that the instrument is in the house", w.Code)
	}
}

func TestLongGone(t *testing.T) {
	s := newShop(t)
	tag := s.arrived()
	if page := s.as(s.owner, longGonePath, nil, "").Body.String(); !strings.Contains(page, "Nobody is gone so long") {
		t.Error("somebody is gone before the shop is old enough")
	}
	s.clock.now = s.clock.now.AddDate(workshop.UsualKeepYears+1, 1, 0)
	if page := s.as(s.owner, longGonePath, nil, "").Body.String(); strings.Contains(page, "Mara") {
		t.Error("somebody whose instrument is in the house counts as gone")
	}
	s.must(s.work.HandOver(t.Context(), s.owner, tag, job.HandOver{To: "Mara Oduya", TagShown: true}))
	if page := s.as(s.owner, longGonePath, nil, "").Body.String(); !strings.Contains(page, "Mara Oduya") {
		t.Error("a customer who was not here for eight years is not listed")
	}
}
