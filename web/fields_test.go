package web

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/wood"
)

func TestMeasureIn(t *testing.T) {
	for _, c := range []struct {
		about, typed, known string
		want                wood.Known
		wrong               bool
	}{
		{"a value marked measured", "0.2 mm", "measured", wood.Measured, false},
		{"zero is a value", "0", "measured", wood.Measured, false},
		{"a value typed without the script, the mark left alone", "0.2", "not_measured", wood.Measured, false},
		{"nothing typed", "", "not_measured", wood.NotMeasured, false},
		{"could not reach", "", "could_not_reach", wood.CouldNotReach, false},
		{"the mark is missing", "", "", wood.NotMeasured, false},
		{"measured without a value", " ", "measured", wood.NotMeasured, true},
		{"a value that could not be reached", "0.2", "could_not_reach", wood.CouldNotReach, true},
		{"no measure at all", "wide", "measured", "", true},
	} {
		f := domain.Fields{}
		m := MeasureIn(f, "gap", c.typed, c.known, wood.Millimetre)
		if m.Known != c.want {
			t.Errorf("%s: known is %q, want %q", c.about, m.Known, c.want)
		}
		if got := f["gap"] != ""; got != c.wrong {
			t.Errorf("%s: error %q, want one: %v", c.about, f["gap"], c.wrong)
		}
	}
}

func TestFieldIDsAndWords(t *testing.T) {
	for _, c := range []struct{ name, id, words string }{
		{"maker", "f-maker", "Maker"},
		{"unit_price", "f-unit_price", "Unit price"},
		{"lines[2].quantity", "f-lines-2-quantity", "Lines 3, quantity"},
		{"lines[0]", "f-lines-0", "Lines 1"},
		{"tax.name", "f-tax-name", "Tax, name"},
	} {
		if got := FieldID(c.name); got != c.id {
			t.Errorf("id of %s is %q, want %q", c.name, got, c.id)
		}
		if got := words(c.name); got != c.words {
			t.Errorf("words of %s are %q, want %q", c.name, got, c.words)
		}
	}
}

func TestHelpers(t *testing.T) {
	for n, want := range map[int]string{-5: "0 min", 0: "0 min", 59: "59 min", 60: "1 h", 80: "1 h 20 min", 1500: "25 h"} {
		if got := Minutes(n); got != want {
			t.Errorf("Minutes(%d) is %q, want %q", n, got, want)
		}
	}
	at := time.Date(2026, 12, 12, 14, 20, 0, 0, time.UTC)
	if got := DayHour(at); got != "Sat 12 Dec, 14:20" {
		t.Errorf("DayHour is %q, want Sat 12 Dec, 14:20", got)
	}
	if got := DayHour(time.Time{}) + Day(time.Time{}) + Civil(""); got != "" {
		t.Errorf("no time shows %q, want nothing", got)
	}
	for phone, want := range map[string]string{"+00 555-0101": "tel:+005550101", "(0555) 01 01": "tel:05550101", "ask Ilse": ""} {
		if got := string(telLink(phone)); got != want {
			t.Errorf("telLink(%q) is %q, want %q", phone, got, want)
		}
	}
	eur := money.Currency{Code: "EUR", Digits: 2}
	if got := Money(eur, -41240) + ", " + Money(eur, 5); got != "\u2212412.40, 0.05" {
		t.Errorf("Money gives %q, want \u2212412.40, 0.05", got)
	}
	if got := Plural(1, "thing", "things") + ", " + Plural(4, "thing", "things"); got != "1 thing, 4 things" {
		t.Errorf("Plural gives %q", got)
	}
}

func TestTimesAreShownInTheShopsZone(t *testing.T) {
	zone := time.FixedZone("shop", -5*60*60)
	static, err := NewStatic()
	if err != nil {
		t.Fatal(err)
	}
	show := helpers(func() *time.Location { return zone }, static)["dayHour"].(func(time.Time) string)
	if got := show(time.Date(2026, 12, 13, 2, 0, 0, 0, time.UTC)); got != "Sat 12 Dec, 21:00" {
		t.Errorf("two at night in UTC shows as %q, want Sat 12 Dec, 21:00", got)
	}
}

// problemPage has a field that stands alone, rows that ask the same, and a field
// that holds what an error speaks of.
type problemPage struct {
	Page
	Rows    [][]Field
	Profile *Field
}

func TestProblemsAreCalledAsThePageCallsThem(t *testing.T) {
	profile := AreaField("profile", "Tax profile", "")
	p := &problemPage{
		Rows: [][]Field{
			{TextField("marks[1].place", "Where", ""), {Kind: "text", Name: "crack", Label: "Width", Of: "crack"}},
			{TextField("marks[0].place", "Where", "")},
		},
		Profile: &profile,
	}
	p.Errors = domain.Fields{"marks[0].place": "a", "crack": "b", "marks[1].place": "c", "profile.name": "d", "elsewhere": "e", "": "f"}
	want := []Problem{
		{"#f-marks-1-place", "Marks 2, place", "c"}, {"#f-crack", "Crack, width", "b"}, {"#f-marks-0-place", "Marks 1, place", "a"},
		{"#f-", "", "f"}, {"#f-elsewhere", "Elsewhere", "e"}, {"#f-profile", "Profile, name", "d"},
	}
	if diff := cmp.Diff(want, Problems(p)); diff != "" {
		t.Errorf("want (-), got (+):\n%s", diff)
	}
}
