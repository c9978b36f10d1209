package domain

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
)

func TestKindsPassThroughWrapping(t *testing.T) {
	for _, c := range []struct {
		err  error
		kind Kind
		text string
	}{
		{Invalidf("no %s", "tea"), Invalid, "no tea"},
		{fmt.Errorf("save job 4: %w", Conflictf("somebody was faster")), Conflict, "somebody was faster"},
		{NotFoundf("gone"), NotFound, "gone"},
		{Deniedf("not you"), Denied, "not you"},
		{errors.New("disk on fire"), Internal, ""},
		{nil, Internal, ""},
		{fmt.Errorf("bill: %w", limit{}), Conflict, "too much"},
	} {
		if KindOf(c.err) != c.kind || TextOf(c.err) != c.text {
			t.Errorf("%v: kind %d text %q, want %d and %q", c.err, KindOf(c.err), TextOf(c.err), c.kind, c.text)
		}
	}
}

// limit is an error of its own type that has a kind.
type limit struct{}

func (limit) Error() string   { return "too much" }
func (limit) ErrorKind() Kind { return Conflict }

func TestFieldsKeepTheFirstNote(t *testing.T) {
	f := Fields{}
	if f.Err() != nil {
		t.Error("no fields, no error")
	}
	f.Add("name", "is needed")
	f.Add("name", "is too long")
	f.AddErr("phone", nil)
	if err := f.Err(); TextOf(err) != "is needed" || FieldsOf(err)["name"] != "is needed" {
		t.Errorf("got %v", f.Err())
	}
	f.AddErr("rows[2]", Fields{"quantity": "must be more than 0"}.Err())
	f.AddErr("date", Invalidf("no date"))
	f.AddErr("file", errors.New("torn"))
	err := fmt.Errorf("draft: %w", f.Err())
	if !strings.Contains(err.Error(), "4 fields") || FieldsOf(err)["rows[2].quantity"] == "" || FieldsOf(err)["file"] != "torn" {
		t.Errorf("got %v", err)
	}
	if FieldsOf(errors.New("x")) != nil {
		t.Error("a plain error has no fields")
	}
}

func TestTypedText(t *testing.T) {
	for _, c := range []struct {
		typed, want, wrong string
		required           bool
	}{
		{"  Ötzi Å. ", "Ötzi Å.", "", true},
		{"", "", "", false},
		{"", "", "is needed", true},
		{"two\nlines", "two\nlines", "one line", false},
		{"bell\x00", "bell\x00", "one line", false},
		{"\xff", "\xff", "UTF-8", false},
		{"ÅÅÅÅÅÅÅÅÅÅÅ", "ÅÅÅÅÅÅÅÅÅÅÅ", "at most 10", false},
	} {
		f := Fields{}
		got := Line(f, "x", c.typed, 10, c.required)
		if got != c.want || (c.wrong == "") != (len(f) == 0) || !strings.Contains(f["x"], c.wrong) {
			t.Errorf("Line(%q) = %q, %v; want %q and %q", c.typed, got, f, c.want, c.wrong)
		}
	}
	f := Fields{}
	if got := Paragraph(f, "x", " a\r\nb\tc ", 10, true); got != "a\nb\tc" || len(f) > 0 {
		t.Errorf("paragraph %q, %v", got, f)
	}
	OneOf(f, "role", Role("cook"), Roles())
	if !strings.Contains(f["role"], "counter, bench, owner") {
		t.Errorf("got %v, want the roles there are", f)
	}
}

func TestDates(t *testing.T) {
	for _, bad := range []string{"2026-02-30", "2027-02-29", "2026-13-01", "26-1-1", "", "0001-01-01", "2026-11-25T10:00"} {
		if _, err := ParseDate(bad); KindOf(err) != Invalid {
			t.Errorf("%q is taken for a date", bad)
		}
	}
	d, err := ParseDate("2028-02-28")
	if err != nil || d.AddDays(1) != "2028-02-29" || d.AddDays(-59) != "2027-12-31" {
		t.Errorf("%v: %s and %s", err, d.AddDays(1), d.AddDays(-59))
	}
	// Clocks go forward on 29 March 2026 in Helsinki; the day has 23 hours.
	helsinki, err := time.LoadLocation("Europe/Helsinki")
	if err != nil {
		t.Fatal(err)
	}
	if got := Date("2026-03-30").Time(helsinki).Sub(Date("2026-03-29").Time(helsinki)); got != 23*time.Hour {
		t.Errorf("the day has %v, want 23h", got)
	}
	if DateOf(time.Date(2026, 11, 25, 23, 30, 0, 0, time.UTC).In(helsinki)) != "2026-11-26" {
		t.Error("a date belongs to the zone of its time")
	}
	defer func() {
		if recover() == nil {
			t.Error("the time of no date is given")
		}
	}()
	Date("soon").Time(time.UTC)
}

func TestClocksGiveMicroseconds(t *testing.T) {
	zone := time.FixedZone("", 3600)
	at := time.Date(2026, 11, 25, 10, 0, 0, 123456789, zone)
	got := FixedClock(at).Now()
	if got.Location() != time.UTC || got.Nanosecond() != 123456000 || got.Hour() != 9 {
		t.Errorf("got %v", got)
	}
	if now := (SystemClock{}).Now(); now.Nanosecond()%1000 != 0 || time.Since(now) > time.Minute {
		t.Errorf("got %v", now)
	}
	if (Actor{Roles: []Role{Bench}}).Wears(Counter, Owner) || !(Actor{Roles: []Role{Bench, Owner}}).Wears(Owner) {
		t.Error("hats are worn or not")
	}
}

// Plain English: one of a thing is singular, an abbreviation never changes.
func TestUnitFor(t *testing.T) {
	for _, c := range []struct {
		n          int
		unit, want string
	}{
		{1, "runs", "run"}, {1, "braces", "brace"}, {1, "cleats", "cleat"}, {2, "cleats", "cleats"}, {0, "runs", "runs"},
		{1, "mm", "mm"}, {1, "g", "g"}, {1, "batches", "batch"}, {1, "", ""}, {1, "pieces", "piece"},
	} {
		if got := UnitFor(c.n, c.unit); got != c.want {
			t.Errorf("%d %s: got %q, want %q", c.n, c.unit, got, c.want)
		}
	}
}
