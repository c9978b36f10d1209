package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/workshop"
)

// withHours opens the shop from Tuesday to Friday. Its clock stands at Thursday,
// 3 December 2026.
func (s *openShop) withHours(change func(*workshop.Shop)) {
	s.Helper()
	shop, err := s.store.ShopSettings(s.Context())
	s.must(err)
	for i := 1; i < 5; i++ {
		shop.Hours[i] = workshop.Hours{Open: "09:00", Close: "17:00"}
	}
	if change != nil {
		change(shop)
	}
	s.must(s.work.ChangeShop(s.Context(), s.owner, *shop))
}

func (s *openShop) settings() *workshop.Shop {
	s.Helper()
	shop, err := s.store.ShopSettings(s.Context())
	s.must(err)
	return shop
}

func ticked(n *html.Node) []string {
	var out []string
	if n.Type == html.ElementNode && n.Data == "input" && hasAttr(n, "checked") {
		out = append(out, attr(n, "name")+"="+attr(n, "value"))
	}
	for k := n.FirstChild; k != nil; k = k.NextSibling {
		out = append(out, ticked(k)...)
	}
	return out
}

func TestCalendarPage(t *testing.T) {
	s := newShop(t)
	if text := textOf(s.get(calendarPath)); !strings.Contains(text, "no opening hours yet") {
		t.Errorf("a shop without hours: got %q, want it to say so", text)
	}
	s.withHours(nil)
	page := s.get(calendarPath)
	if find(page, "name", "open") != nil {
		t.Error("without a region there are holidays to open")
	}
	version := func() string { return fmt.Sprint(s.settings().Version) }
	s.post(calendarPath, "version", version(), "region", "AT", "said", "p95",
		"closed[0].from", "2026-12-28", "closed[0].to", "2026-12-31", "closed[0].why", "midwinter", "closed[1].from", "2027-01-05", "closed[1].to", "")
	shop := s.settings()
	want := []workshop.DaySpan{{From: "2026-12-28", To: "2026-12-31", Why: "midwinter"}, {From: "2027-01-05", To: "2027-01-05"}}
	if shop.Region != "AT" || shop.Said != workshop.SaidSafe || !slices.Equal(shop.Closed, want) {
		t.Errorf("saved %q, %q, %v; want AT, p95, %v", shop.Region, shop.Said, shop.Closed, want)
	}
	page = s.get(calendarPath)
	text := textOf(page)
	for _, part := range []string{"works 56 h in the next two weeks", "closed next on Tue 8 Dec: Mariä Empfängnis", "Sat 26 Dec 2026: Stefanitag", "no hours on Sundays"} {
		if !strings.Contains(text, part) {
			t.Errorf("the page does not say %q:\n%s", part, text)
		}
	}
	if find(page, "value", "midwinter") == nil {
		t.Error("the closed week is not on the form")
	}

	s.post(calendarPath, "version", version(), "region", "AT", "said", "p80", "open", "2026-12-08",
		"closed[0].from", "2026-12-28", "closed[0].to", "2026-12-31", "closed[0].why", "midwinter", "closed[0].gone", "yes", "closed[1].from", "2027-01-05", "closed[1].to", "2027-01-05")
	shop = s.settings()
	if !slices.Equal(shop.OpenOn, []domain.Date{"2026-12-08"}) || len(shop.Closed) != 1 {
		t.Errorf("saved open on %v and closed %v, want the holiday open and one day closed", shop.OpenOn, shop.Closed)
	}
	page = s.get(calendarPath)
	if got := ticked(page); !slices.Equal(got, []string{"open=2026-12-08", "said=p80"}) {
		t.Errorf("ticked are %q, want the open holiday and p80", got)
	}
	if text := textOf(page); !strings.Contains(text, "works 64 h") || !strings.Contains(text, "next on Fri 25 Dec: Christtag") {
		t.Errorf("got %q, want eight hours more and Christmas next", text)
	}
	s.post(calendarPath, "version", version(), "region", "AT", "said", "p80")
	if got := s.settings().OpenOn; len(got) != 0 {
		t.Errorf("open on %v after the tick was taken away", got)
	}
}

func TestCalendarPageGivesBackWhatWasTyped(t *testing.T) {
	s := newShop(t)
	s.withHours(func(shop *workshop.Shop) {
		shop.Closed = []workshop.DaySpan{{From: "2025-12-24", To: "2025-12-31", Why: "long over"}}
		shop.OpenOn = []domain.Date{"2025-12-08"}
	})
	version := fmt.Sprint(s.settings().Version)
	page := s.refused(calendarPath, "version", version, "region", "AT", "said", "p50", "open", "2026-12-08",
		"closed[0].from", "", "closed[0].to", "", "closed[1].from", "2027-02-03", "closed[1].to", "2027-02-01", "closed[1].why", "stocktaking")
	s.wantField(page, "closed[1].from", "2027-02-03", false)
	s.wantField(page, "closed[1].to", "2027-02-01", true)
	s.wantField(page, "closed[1].why", "stocktaking", false)
	s.wantField(page, "region", "AT", false)
	if got := ticked(page); !slices.Equal(got, []string{"open=2026-12-08", "said=p50"}) {
		t.Errorf("ticked are %q, want what was ticked", got)
	}
	if got := textOf(find(page, "role", "alert")); !strings.Contains(got, "Closed 2, last day 2027-02-01 is before the first day, 2027-02-03") {
		t.Errorf("got %q, want the row named", got)
	}
	s.refused(calendarPath, "version", version, "region", "XX", "said", "p80")
	s.refused(calendarPath, "version", version, "region", "", "said", "p80", "open", "never")
	s.post(calendarPath, "version", version, "region", "", "said", "p80")
	shop := s.settings()
	if len(shop.Closed) != 1 || len(shop.OpenOn) != 1 {
		t.Errorf("closed %v and open on %v, want what is over left alone", shop.Closed, shop.OpenOn)
	}
	page = s.refused(calendarPath, "version", version, "region", "AT", "said", "p50") // somebody saved meanwhile
	if text := textOf(page); !strings.Contains(text, "Somebody else saved this") || !strings.Contains(text, "none: no public holidays") {
		t.Errorf("the page does not show both versions:\n%s", text)
	}
	if v := find(page, "name", "version"); v == nil || attr(v, "value") == version {
		t.Error("what was typed cannot be saved over the newer version")
	}
	bench := s.person("Odo", domain.Bench)
	if w := s.as(bench, calendarPath, nil, ""); w.Code != 403 {
		t.Errorf("the bench opens the settings: got %d, want 403", w.Code)
	}
	if w := s.as(bench, calendarPath, values("region", "AT"), ""); w.Code != 403 || s.settings().Region != "" {
		t.Errorf("the bench changes the settings: got %d, want 403", w.Code)
	}
}

func TestEveryRegionHasAName(t *testing.T) {
	for _, code := range queue.Regions() {
		if name := regionName(code); name == code || strings.HasSuffix(name, ", ") {
			t.Errorf("%s: got %q, want a name", code, name)
		}
	}
	if got := regionName("DE-BY"); got != "Germany, Bavaria" {
		t.Errorf("got %q, want the country before its part", got)
	}
}

func TestStaffPageKeepsHoursAndDaysAway(t *testing.T) {
	s := newShop(t)
	s.withHours(nil)
	odo := s.person("Odo", domain.Bench)
	path := fmt.Sprintf("/staff/%d", odo.Staff)
	member := func() *workshop.Staff {
		m, err := s.store.StaffMember(s.Context(), odo.Staff)
		s.must(err)
		return m
	}
	if text := textOf(s.get(path)); !strings.Contains(text, "Odo works 64 h in the next two weeks, by the shop’s hours") && !strings.Contains(text, "Odo works 64 h in the next two weeks, by the shop's hours") {
		t.Errorf("got %q, want the shop's hours", text)
	}
	base := []string{"version", "1", "name", "Odo", "role_bench", "yes", "active", "yes"}
	page := s.refused(path, append(base, "hours[2]", "9-12:30, 12-17", "skill", "3", "away[0].from", "2026-12-09", "away[0].to", "2026-12-08", "away[0].why", "the north")...)
	s.wantField(page, "hours[2]", "9-12:30, 12-17", true)
	s.wantField(page, "skill", "3", false)
	s.wantField(page, "away[0].to", "2026-12-08", true)
	if got := textOf(find(page, "role", "alert")); !strings.Contains(got, "Wednesday: the stretches that begin at 09:00 and 12:00 overlap") {
		t.Errorf("got %q, want the day named", got)
	}
	if got := member(); !got.Hours.Empty() || got.Skill != 0 {
		t.Errorf("a refused form changed %+v", got)
	}
	s.refused(path, append(base, "skill", "9")...)

	s.post(path, append(base, "hours[2]", "9-12:30, 13-17", "hours[4]", "09:00-12:00", "skill", "4", "away[0].from", "", "away[1].from", "2026-12-09", "away[1].why", "the north")...)
	m := member()
	if workshop.SpansText(m.Hours[2]) != "09:00-12:30, 13:00-17:00" || m.Skill != 4 || len(m.Away) != 1 || m.Away[0].To != "2026-12-09" {
		t.Errorf("saved %+v, want both stretches, skill 4 and one day away", m)
	}
	page = s.get(path)
	s.wantField(page, "hours[4]", "09:00-12:00", false)
	s.wantField(page, "skill", "4", false)
	if text := textOf(page); !strings.Contains(text, "works 13 h 30 min in the next two weeks") || !strings.Contains(text, "away: the north") {
		t.Errorf("got %q, want 7.5 + 3 + 3 hours and the day away", text)
	}
	if text := textOf(s.get("/staff")); !strings.Contains(text, "Odo bench 10 h 30 min yes") || !strings.Contains(text, "32 h yes") {
		t.Errorf("got %q, want Odo's own hours and the shop's beside Ilse", text)
	}
	s.clock.now = s.clock.now.AddDate(0, 0, 10)
	s.post(path, "version", "2", "name", "Odo", "role_bench", "yes", "active", "yes", "hours[0]", "8-12")
	if m := member(); len(m.Away) != 1 || !strings.HasPrefix(workshop.SpansText(m.Hours[0]), "08:00") || len(m.Hours[2]) != 0 {
		t.Errorf("saved %+v, want the day that is over kept and the hours changed", m)
	}
}
