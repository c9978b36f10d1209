package web

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ical "github.com/arran4/golang-ical"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		p := &FeedsPage{Page: sampleFrame("Calendar addresses"), Secret: "http://localhost:8080/feeds/abcdefghijklmnopqrstuvwxyz0123456789ABCDEFG.ics"}
		p.Answer = "A calendar address shows promised days."
		p.Lists = []FeedList{
			{Lead: "Yours", Feeds: []FeedLine{
				{Name: "my phone", Made: "made 2 Nov", Used: "never read", Works: true, Ends: "ends 2 Nov 2027", Revoke: "/settings/feeds/1/revoke", Renew: "/settings/feeds/1/renew", Key: "k"},
				{Name: "old phone", Made: "made 1 Nov", Used: "last read about 3 Nov 10:00", Ends: "revoked"},
			}},
			{Lead: "The shop’s and others’", Empty: "There is none."},
		}
		p.Groups = []Group{{Legend: "New address", Fields: []Field{TextField("name", "What it is for", "")}}}
		return map[string]Paged{"owner/feeds": p}
	})
}

// awkward are texts that a careless writer gets wrong.
var awkward = []string{
	"Orrin; No. 3, \"deluxe\"", `back\slash \n no break`, "two\nlines\r\nthree", "Åse Ørsted’s 月琴, 胡琴; " + strings.Repeat("長い名前", 40),
	strings.Repeat("x", 300), strings.Repeat("é", 75), "", "BEGIN:VEVENT\nUID:stolen", "emoji 🎸" + strings.Repeat("🎻", 60), "tab\tand bell\a",
}

// A calendar is read back with a parser that is not ours (github.com/arran4/golang-ical),
// and its lines are held to RFC 5545 section 3.1 by octets.
func TestCalendarReadBack(t *testing.T) {
	a := &workshop.Agenda{Name: "Frost, Fretted; & sons", At: time.Date(2026, 1, 9, 10, 0, 0, 0, time.UTC)}
	for i, text := range awkward {
		a.Events = append(a.Events, workshop.Event{UID: "e-" + string(rune('a'+i)), Sequence: i, Day: "2026-02-28", Last: "2026-03-01", Title: text, Text: text, Path: "/jobs/1"})
	}
	out := string(ics(a, "shop.example", "http://shop.example"))
	wantLines(t, out)
	c := readICS(t, out)
	events := c.Events()
	if len(events) != len(awkward) {
		t.Fatalf("got %d events, want %d", len(events), len(awkward))
	}
	for i, e := range events {
		want := strings.NewReplacer("\r\n", "\n", "\a", "").Replace(awkward[i])
		if got := valueOf(e, ical.ComponentPropertySummary); got != want {
			t.Errorf("summary: got %q, want %q", got, want)
		}
		if got := valueOf(e, ical.ComponentPropertyDescription); got != want {
			t.Errorf("description: got %q, want %q", got, want)
		}
		if got := valueOf(e, ical.ComponentPropertyUniqueId); got != a.Events[i].UID+"@shop.example" {
			t.Errorf("UID: got %q", got)
		}
		from, errFrom := e.GetAllDayStartAt()
		to, errTo := e.GetAllDayEndAt()
		if errFrom != nil || errTo != nil || from.Format(time.DateOnly) != "2026-02-28" || to.Format(time.DateOnly) != "2026-03-02" {
			t.Errorf("got %v to %v (%v, %v), want 28 February up to 2 March, not included", from, to, errFrom, errTo)
		}
		if stamp, err := e.GetDtStampTime(); err != nil || !stamp.Equal(a.At) {
			t.Errorf("stamp: got %v, %v", stamp, err)
		}
	}
}

func readICS(t *testing.T, text string) *ical.Calendar {
	t.Helper()
	c, err := ical.ParseCalendar(strings.NewReader(text))
	if err != nil {
		t.Fatalf("the parser refuses it: %v\n%s", err, text)
	}
	return c
}

func valueOf(e *ical.VEvent, name ical.ComponentProperty) string {
	if p := e.GetProperty(name); p != nil {
		return p.Value
	}
	return ""
}

// wantLines wants CRLF at every line end and nowhere else, at most 75 octets
// between, and whole letters on every line.
func wantLines(t *testing.T, text string) {
	t.Helper()
	lines := strings.Split(text, "\r\n")
	if lines[len(lines)-1] != "" {
		t.Errorf("the last line does not end")
	}
	for _, l := range lines {
		if len(l) > 75 || !utf8.ValidString(l) || strings.ContainsAny(l, "\r\n") {
			t.Errorf("a line of %d octets, valid %v: %q; want at most 75 whole letters", len(l), utf8.ValidString(l), l)
		}
	}
}

var addressIn = regexp.MustCompile(`/feeds/([A-Za-z0-9_-]{43})\.ics`)

// makeFeed makes an address and returns its path.
func (s *openShop) makeFeed(who domain.Actor, pairs ...string) string {
	s.Helper()
	w := s.as(who, feedsPath, values(pairs...), "")
	if w.Code != http.StatusOK || w.Header().Get("Cache-Control") != "no-store" {
		s.Fatalf("make an address: %d, %q\n%s", w.Code, w.Header().Get("Cache-Control"), plain(w.Body.String()))
	}
	checkHTML(s.T, w.Body.Bytes())
	path := addressIn.FindString(w.Body.String())
	if path == "" {
		s.Fatalf("no address is shown: %s", plain(w.Body.String()))
	}
	return path
}

func TestCalendarBehindASecret(t *testing.T) {
	s := newShop(t)
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	shop.Closed = []workshop.DaySpan{{From: shop.Today(s.work.Now()).AddDays(3), To: shop.Today(s.work.Now()).AddDays(5), Why: "stock-taking, all hands"}}
	s.must(s.work.ChangeShop(t.Context(), s.owner, *shop))
	bench := s.person("Runa", domain.Bench)
	s.refusedForm(feedsPath, "is needed", "name", "")
	own, whole := s.makeFeed(bench, "name", "my phone"), s.makeFeed(s.owner, "name", "the wall", "whose", "shop")
	nobody := domain.Actor{}
	for _, path := range []string{own, whole} {
		w := s.as(nobody, path, nil, "")
		if w.Code != http.StatusOK || w.Header().Get("Content-Type") != icsType || !strings.Contains(w.Header().Get("Cache-Control"), "private") || w.Header().Get("X-Robots-Tag") == "" {
			t.Fatalf("got %d, %v", w.Code, w.Header())
		}
		wantLines(t, w.Body.String())
		events := readICS(t, w.Body.String()).Events()
		if len(events) == 0 || valueOf(events[0], ical.ComponentPropertySummary) != "closed: stock-taking, all hands" {
			t.Errorf("the closed days are missing:\n%s", w.Body.String())
		}
	}
	if text := textOf(s.get(feedsPath)); strings.Contains(text, addressIn.FindStringSubmatch(whole)[1]) || !strings.Contains(text, "the wall") || !strings.Contains(text, "of Runa") {
		t.Errorf("the list is wrong: %s", text)
	}
	if w := s.as(bench, feedsPath, values("name", "the wall", "whose", "shop"), ""); w.Code != http.StatusForbidden {
		t.Errorf("the bench makes the shop's calendar: %d", w.Code)
	}
	all, err := s.store.AllFeeds(t.Context())
	s.must(err)
	if len(all) != 2 || all[0].Used.IsZero() || strings.Contains(all[0].Hash, addressIn.FindStringSubmatch(whole)[1]) {
		t.Errorf("got %+v, want two that were used, without a secret", all)
	}
	if w := s.as(bench, feedsPath+"/2/revoke", values(), ""); w.Code != http.StatusNotFound {
		t.Errorf("the bench revokes the shop's: %d", w.Code)
	}
	s.post(feedsPath+"/1/revoke", "x", "1")
	wrong := s.as(nobody, "/feeds/"+strings.Repeat("A", 43)+".ics", nil, "")
	revoked := s.as(nobody, own, nil, "")
	bare := s.as(nobody, strings.TrimSuffix(whole, ".ics"), nil, "")
	for name, w := range map[string]string{"wrong": wrong.Body.String(), "without its ending": bare.Body.String()} {
		if w != revoked.Body.String() || revoked.Code != http.StatusNotFound || wrong.Code != http.StatusNotFound || bare.Code != http.StatusNotFound {
			t.Errorf("%s: got %q (%d), want the same 404 as for a revoked one, %q", name, w, wrong.Code, revoked.Body.String())
		}
	}
}
