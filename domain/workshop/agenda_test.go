package workshop

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
)

// agenda lays out a calendar as of monday, thirty days back and sixty ahead.
func agenda(c Cabinet, jobs []FeedJob, who *Staff) []Event {
	today := domain.DateOf(monday)
	return agendaOf(&c, jobs, who, monday, today.AddDays(-AgendaBack), today.AddDays(60)).Events
}

func lines(events []Event) []string {
	var out []string
	for _, e := range events {
		line := string(e.Day)
		if e.Last != e.Day {
			line += " to " + string(e.Last)
		}
		out = append(out, line+" "+e.Title)
	}
	return out
}

func wearing(id domain.StaffID, hats ...domain.Role) *Staff {
	return &Staff{ID: id, Name: "Runa", Active: true, Roles: hats}
}

// The day said at hand-over, thirty days on, is read by those who call the
// customer and by whoever worked on it, until the follow-up is done.
func TestCalendarSaysWhatIsLookedAtAgain(t *testing.T) {
	shop := weekdays().Shop
	again := FeedJob{Job: 7, Tag: 318, Version: 12, Title: "Orrin No. 3, steel-string guitar", Stage: job.Collected, Recheck: "2026-12-23", Hands: []domain.StaffID{3}, Open: []int{1}}
	want := Event{
		UID: "recheck-7", Sequence: 12, Day: "2026-12-23", Last: "2026-12-23",
		Title: "tag 318 to be looked at again: Orrin No. 3, steel-string guitar", Text: "The day said at hand-over.", Path: "/jobs/7",
	}
	done, over, far, none := again, again, again, again
	done.Checked, over.Recheck, far.Recheck, none.Hands = true, "2026-10-23", "2027-03-01", nil
	for _, c := range []struct {
		name string
		job  FeedJob
		who  *Staff
		want []Event
	}{
		{"the shop's", again, nil, []Event{want}},
		{"of an owner with no other hat", again, wearing(1, domain.Owner), []Event{want}},
		{"of the counter", again, wearing(2, domain.Counter), []Event{want}},
		{"of whoever worked on it", again, wearing(3, domain.Bench), []Event{want}},
		{"of another at the bench", again, wearing(4, domain.Bench), nil},
		{"of the bench when nobody worked on it", none, wearing(4, domain.Bench), nil},
		{"the follow-up is done", done, nil, nil},
		{"it is a month ago", over, nil, nil},
		{"it is beyond the calendar", far, nil, nil},
	} {
		if diff := cmp.Diff(c.want, agenda(Cabinet{Shop: shop}, []FeedJob{c.job}, c.who)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

// What was collected keeps its day only once that is past.
func TestCalendarOfPromisesThatAreOver(t *testing.T) {
	for _, c := range []struct {
		stage    job.Stage
		promised domain.Date
		want     int
	}{
		{job.Approved, "2026-12-18", 1}, {job.Declined, "2026-12-18", 0}, {job.ClosedUnclaimed, "2026-12-18", 0},
		{job.Collected, "2026-12-18", 0}, {job.Collected, "2026-11-23", 0}, {job.Collected, "2026-11-22", 1}, {job.Approved, "2026-10-01", 0}, {job.Approved, "", 0},
	} {
		got := agenda(Cabinet{Shop: weekdays().Shop}, []FeedJob{{Job: 7, Tag: 318, Stage: c.stage, Promised: c.promised}}, nil)
		if len(got) != c.want {
			t.Errorf("%s, promised %q: got %v, want %d events", c.stage, c.promised, lines(got), c.want)
		}
	}
}

// In 2026 the state holidays of Austria from 23 November to 22 January are 8, 25
// and 26 December, New Year's Day and 6 January. Source: Austrian Arbeitsruhegesetz,
// section 7 (2), from memory.
func TestCalendarSaysWhenTheShopIsClosed(t *testing.T) {
	shop := weekdays().Shop
	shop.Region, shop.OpenOn = "AT", []domain.Date{"2026-12-08"}
	shop.Closed = []DaySpan{{From: "2026-12-28", To: "2026-12-30", Why: "midwinter"}, {From: "2026-12-24", To: "2026-12-24"}, {From: "2027-07-01", To: "2027-07-20", Why: "summer"}, {From: "2026-01-01", To: "2026-01-09"}}
	who := wearing(3, domain.Bench)
	who.Away = []DaySpan{{From: "2026-12-01", To: "2026-12-02", Why: "course"}, {From: "2026-11-20", To: "2026-11-23"}, {From: "2026-10-01", To: "2026-10-02", Why: "long ago"}}
	events := agenda(Cabinet{Shop: shop}, nil, who)
	var got []string
	for _, l := range lines(events) { // the names of holidays are the library's own
		if l < "2026-11-20" { // the holidays of the weeks past
			continue
		}
		if strings.HasPrefix(l, "2026-12-2") || strings.Contains(l, "away") {
			got = append(got, l)
		} else {
			day, _, _ := strings.Cut(l, " closed: ")
			got = append(got, day)
		}
	}
	want := []string{"2026-11-20 to 2026-11-23 away: Runa", "2026-12-01 to 2026-12-02 away: course", "2026-12-24 closed: the shop"}
	if diff := cmp.Diff(want, got[:3]); diff != "" {
		t.Errorf("before the holidays (-want +got):\n%s", diff)
	}
	days := map[domain.Date]string{}
	for _, e := range events {
		days[e.Day] = e.UID
	}
	for day, uid := range map[domain.Date]string{
		"2026-12-08": "", "2026-12-25": "holiday-2026-12-25", "2026-12-26": "holiday-2026-12-26", "2027-01-01": "holiday-2027-01-01", "2027-01-06": "holiday-2027-01-06",
		"2026-12-28": "closed-2026-12-28", "2026-11-20": "away-3-2026-11-20", "2027-07-01": "", "2026-01-01": "", "2026-10-01": "",
	} {
		if days[day] != uid {
			t.Errorf("%s is %q, want %q", day, days[day], uid)
		}
	}
	for _, e := range agenda(Cabinet{Shop: shop}, nil, nil) {
		if strings.HasPrefix(e.UID, "away") {
			t.Errorf("the shop's calendar says who is away: %+v", e)
		}
	}
}

// A hold that is steady is to be released today; one that must stop says so.
func TestCalendarSaysWhatAHoldWants(t *testing.T) {
	held := HeldRow{HoldRow: HoldRow{Job: 7, Tag: 318, Title: "Orrin No. 3", Hold: 9, Place: "place 1", Start: monday.AddDate(0, 0, -6), LastAt: monday.Add(-time.Hour), Readings: 4}}
	steady, stop := held, held
	steady.Says = hold.Judgement{Verdict: hold.Steady}
	stop.Says = hold.Judgement{Verdict: hold.StillDrinking, Ready: hold.Window{Text: "nobody knows"}, Cautions: []hold.Caution{{Text: "Too damp."}, {Text: "Take it out.", Stop: true}}}
	for _, c := range []struct {
		name  string
		row   HeldRow
		day   domain.Date
		title string
		text  string
	}{
		{"steady", steady, "2026-11-23", "tag 318 hold can be released: Orrin No. 3", "It stands in place 1, day 6.\nSteady, can be released now."},
		{"stop", stop, "2026-11-24", "tag 318 hold to be read: Orrin No. 3", "It stands in place 1, day 6.\nStill drinking, nobody knows.\nTake it out."},
	} {
		got := agenda(Cabinet{Shop: weekdays().Shop, Held: []HeldRow{c.row}}, nil, wearing(3, domain.Bench))
		want := []Event{{UID: "hold-9", Sequence: 6 + 4 + int(c.day[9]-'3'), Day: c.day, Last: c.day, Title: c.title, Text: c.text, Path: "/jobs/7/holds/9"}}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
		if got := agenda(Cabinet{Shop: weekdays().Shop, Held: []HeldRow{c.row}}, nil, wearing(2, domain.Counter)); got != nil {
			t.Errorf("%s: the counter reads %v, want no hold", c.name, lines(got))
		}
	}
}
