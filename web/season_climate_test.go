package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"winterbench/domain/workshop"
)

// climateForm is the form of an invented town with further values laid over.
func climateForm(over ...string) []string {
	out := []string{"town", "Kaldvik", "source", "invented", "version", "0"}
	for m := 1; m <= 12; m++ {
		out = append(out, fmt.Sprintf("celsius_%d", m), strconv.Itoa(m-8), fmt.Sprintf("rh_%d", m), "75,5")
	}
	v := values(out...)
	for i := 0; i+1 < len(over); i += 2 {
		v.Set(over[i], over[i+1])
	}
	out = nil
	for name := range v {
		out = append(out, name, v.Get(name))
	}
	return out
}

func (s *openShop) wantText(page string, wants ...string) {
	s.Helper()
	got := mainText(s.get(page))
	for _, want := range wants {
		if !strings.Contains(got, want) {
			s.Errorf("%s: got %q, want %q in it", page, got, want)
		}
	}
}

func TestClimateIsEnteredMonthByMonth(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.wantText("/season/climate", "The climate of your town is not known here", "goes by the calendar alone", "northern hemisphere")
	if got := linkTo(s.get("/season"), "/season/climate"); got != "The climate of the town" {
		t.Errorf("the season leads to it as %q", got)
	}
	page := s.refused("/season/climate", climateForm("celsius_1", "cold", "rh_7", "140", "town", "")...)
	s.wantField(page, "town", "", true)
	s.wantField(page, "rh_7", "140", true)
	s.wantField(page, "celsius_1", "cold", true)
	s.wantField(page, "celsius_3", "-5", false)
	if to := s.post("/season/climate", climateForm()...); to != "/season/climate" {
		t.Errorf("leads to %q", to)
	}
	s.wantText("/season/climate", "In Kaldvik the air of a room heated to 21 °C falls below 35 %", "until two winters are in the books", "75.5")
	s.refused("/season/climate", climateForm()...) // of version 0 again
	s.wantText("/season/what-if?degrees=2", "2 degrees colder outdoors")
	if find(s.get("/season/what-if"), "id", "knob-colder") != nil || find(s.get("/season/what-if"), "id", "knob-degrees") == nil {
		t.Error("with a climate a colder winter is told in degrees")
	}
	s.post("/season/climate/forget", "version", "1")
	s.wantText("/season/climate", "not known here")
	w := s.as(s.owner, "/season/what-if?degrees=2", nil, "")
	if got := plain(w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(got, "needs the climate of your town") {
		t.Errorf("degrees without a climate: %d %q", w.Code, got)
	}
}

func TestClimateOutOfAFileLooksFirst(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	file := "year;month;celsius;rh\n"
	for m := 1; m <= 12; m++ {
		file += fmt.Sprintf(";%d;%d,5;70\n", m, m-8)
	}
	file += "2026;1;-12;wet\n2026;2;-11;80\n"
	w := s.as(s.owner, "/season/climate/import", values("text", file, "town", "Kaldvik", "do", "look"), "")
	page := parse(t, w.Body.String())
	for _, want := range []string{"12 months of a usual year and 1 of certain years", "1 line makes no sense", "Nothing is kept yet", "\"wet\" is no number of rh"} {
		if got := textOf(page); w.Code != http.StatusOK || !strings.Contains(got, want) {
			t.Errorf("got %d and no %q", w.Code, want)
		}
	}
	checkHTML(t, w.Body.Bytes())
	if _, err := s.store.TownClimate(s.Context()); err == nil {
		t.Fatal("a look kept the months")
	}
	kept := attr(find(page, "name", "kept"), "value")
	s.post("/season/climate/import", "kept", kept, "town", "Kaldvik", "version", "0", "do", "take")
	s.wantText("/season/climate", "In Kaldvik", "February 2026")
	page = s.refused("/season/climate/import", "text", "no table", "do", "look")
	s.wantField(page, "file", "", true)
	s.wantField(s.refused("/season/climate/import", "do", "take", "version", "1"), "file", "", true)
	s.wantField(s.refused("/season/climate/import", "kept", "broken", "do", "take"), "file", "", true)
}

func TestWhereWinterIsAndWhatANewShopExpects(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.wantText("/season", "No week is in the books and you gave no guess", "the usual shape of a heating season")
	shop, err := s.store.ShopSettings(s.Context())
	s.must(err)
	s.post("/season/climate/winter", "hemisphere", "south", "expected", "14", "version", strconv.Itoa(shop.Version))
	s.wantText("/season/climate", "southern hemisphere, by its settings")
	s.wantText("/season", "the usual shape of a heating season in the southern hemisphere around your 14 jobs a week", "its winter is around July")
	page := s.refused("/season/climate/winter", "hemisphere", "moon", "expected", "-3", "version", strconv.Itoa(shop.Version+1))
	s.wantField(page, "expected", "-3", true)
	if w := s.as(s.person("Runa", "bench"), "/season/climate/winter", values("hemisphere", ""), ""); w.Code != http.StatusForbidden {
		t.Errorf("the bench: got %d, want 403", w.Code)
	}
}

func TestWhatTheOwnerExpects(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	s.wantText("/season", "Where you know more than the books, say it")
	week := attr(find(find(s.get("/season"), "name", "week"), "selected", ""), "value")
	if week == "" {
		options := find(s.get("/season"), "name", "week")
		week = attr(find(options, "value", attr(options.FirstChild.NextSibling, "value")), "value")
	}
	page := s.refused("/season/guesses", "week", "2020-01-06", "kind", workshop.KindCracks, "jobs", "9", "reason", "")
	s.wantField(page, "reason", "", true)
	s.wantField(page, "jobs", "9", false)
	s.post("/season/guesses", "week", week, "kind", workshop.KindCracks, "jobs", "9", "reason", "a school’s guitars")
	s.wantText("/season", "9 jobs of cracks. a school’s guitars", "Foretold: ", "what you expect, in part")
	form := find(find(s.get("/season"), "id", "guesses"), "action", "/season/guesses/1")
	if form == nil {
		t.Fatal("nothing to take it back with")
	}
	s.post("/season/guesses/1", "key", attr(find(form, "name", "key"), "value"))
	s.wantText("/season", "Where you know more than the books, say it")
	if w := s.as(s.owner, "/season/guesses/1", values("key", "again"), ""); w.Code != http.StatusNotFound {
		t.Errorf("taken back twice: got %d, want 404", w.Code)
	}
}
