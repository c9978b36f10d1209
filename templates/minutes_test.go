package templates

import (
	"testing"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"
)

func all(t testing.TB) []Template {
	t.Helper()
	ts, err := Builtin()
	if err != nil {
		t.Fatalf("built-in templates: %v", err)
	}
	return ts
}

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func intp(n int) *int { return &n }

// The figures of this file are worked by hand from the shop's rules of thumb:
// common practice, no source.
func TestMinutes(t *testing.T) {
	for _, c := range []struct {
		why, code string
		quantity  int
		want      Range
	}{
		{"a 60 mm crack: 20 + 0.6 x 25/40/70", "CG", 60, Range{35, 44, 62}},
		{"a 100 mm crack: 20 + 25/40/70", "CG", 100, Range{45, 60, 90}},
		{"1 mm rounds each figure: 20.25, 20.4, 20.7", "CG", 1, Range{20, 20, 21}},
		{"2 mm: 20.5 rounds up", "CG", 2, Range{21, 21, 21}},
		{"2 cleats: 15 + 2 x 8/12/25", "CC", 2, Range{31, 39, 65}},
		{"3 frets: 15 + 3 x 6/10/20", "FR", 3, Range{33, 45, 75}},
		{"2 braces: 20 + 2 x 25/45/90", "BC", 2, Range{70, 110, 200}},
		{"2 short runs of binding", "BS", 2, Range{60, 100, 180}},
		{"a 100 mm splint", "CS", 100, Range{120, 180, 360}},
		{"a survey", "SV", 1, Range{15, 25, 45}},
		{"a hold without its checks", "RH", 1, Range{15, 20, 30}},
	} {
		got, err := Get(all(t), c.code).Minutes(c.quantity)
		if err != nil || got != c.want {
			t.Errorf("%s: got %v, %v, want %v", c.why, got, err, c.want)
		}
	}
}

func TestMinutesRefuseQuantity(t *testing.T) {
	cg := Get(all(t), "CG")
	for _, q := range []int{-1, 0, MaxQuantity + 1} {
		if _, err := cg.Minutes(q); domain.KindOf(err) != domain.Invalid {
			t.Errorf("%d mm: got %v, want an invalid error", q, err)
		}
		if _, err := HandsOn([]Item{{Template: cg, Quantity: q}}); domain.KindOf(err) != domain.Invalid {
			t.Errorf("hands-on of %d mm: got %v, want an invalid error", q, err)
		}
	}
}

func TestHoldMinutes(t *testing.T) {
	rh := Get(all(t), "RH")
	for days, want := range map[int]Range{-1: {15, 20, 30}, 0: {15, 20, 30}, 10: {55, 60, 70}} {
		if got := rh.HoldMinutes(days); got != want {
			t.Errorf("%d days: got %v, want %v", days, got, want)
		}
	}
	// 15 + 6 x 4, 20 + 10 x 4, 30 + 28 x 4
	got, err := Item{Template: rh, Quantity: 1, HoldLow: intp(6)}.Minutes()
	if want := (Range{39, 60, 142}); err != nil || got != want {
		t.Errorf("hold of 6, 10 or 28 days: got %v, %v, want %v", got, err, want)
	}
}

func TestCrackMinutes(t *testing.T) {
	for length, want := range map[int]Range{60: {35, 44, 62}, 0: {}, -5: {}, MaxQuantity + 1: {}} {
		if got := CrackMinutes(length); got != want {
			t.Errorf("%d mm: got %v, want %v", length, got, want)
		}
	}
}

// crackedTop is a 60 mm crack in a case at 27 %.
func crackedTop(t *testing.T) []Item {
	low := HoldLowDays(dec("27"))
	quantity := map[string]int{"CG": 60, "CC": CleatCount(60)}
	var items []Item
	for _, code := range []string{"SV", "RH", "CG", "CC", "FT", "SU"} {
		it := Item{Template: Get(all(t), code), Quantity: max(quantity[code], 1)}
		if code == "RH" {
			it.HoldLow = &low
		}
		items = append(items, it)
	}
	return items
}

// 25 + 60 + 44 + 39 + 75 + 70 = 313 minutes; hold 6/10/28, glue 0.5/1/2, cleats
// 0.25/0.5/1, finish 1/5/30, settle 0.5, at pitch 1.
func TestCrackedTop(t *testing.T) {
	hands, err := HandsOn(crackedTop(t))
	if err != nil || hands.Typical != 313 {
		t.Errorf("hands-on: got %v, %v, want 313 typical", hands, err)
	}
	got := Window(crackedTop(t))
	if want := (Days{dec("9.25"), dec("18"), dec("62.5")}); !cmp.Equal(got, want) {
		t.Errorf("window: got %v, want %v", got, want)
	}
}

func TestWindowDays(t *testing.T) {
	item := func(code string) Item { return Item{Template: Get(all(t), code), Quantity: 1} }
	for _, c := range []struct {
		why   string
		items []Item
		want  Days
	}{
		{"nothing to do", nil, Days{}},
		{"a survey waits for nothing", []Item{item("SV")}, Days{}},
		{"waits of one phase overlap, the longest counts, and a day at pitch", []Item{item("BS"), item("BX")}, Days{dec("2"), dec("3"), dec("5")}},
		{"phases add", []Item{item("BC"), item("BR")}, Days{dec("2.5"), dec("4"), dec("6")}},
		{"the 30 days with the player are after the job", []Item{item("FU")}, Days{}},
		{"a hold from 20 % is at least 7 days", []Item{{Template: Get(all(t), "RH"), HoldLow: intp(7)}}, Days{dec("7"), dec("10"), dec("28")}},
		{"a hold that must be long lifts the usual too", []Item{{Template: Get(all(t), "RH"), HoldLow: intp(30)}}, Days{dec("30"), dec("30"), dec("30")}},
	} {
		if got := Window(c.items); !cmp.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.why, got, c.want)
		}
	}
}

func TestWaitDays(t *testing.T) {
	ft := Get(all(t), "FT")
	ft.Waits = append([]Wait{{Kind: WaitAnswer, Low: dec("0.5"), Typical: dec("1"), High: dec("3")}}, ft.Waits...)
	low, typical, high := ft.WaitDays()
	if got, want := (Days{low, typical, high}), (Days{dec("1.5"), dec("6"), dec("33")}); !cmp.Equal(got, want) {
		t.Errorf("two waits one after the other: got %v, want %v", got, want)
	}
	if (Item{Template: ft}).Days().IsZero() || !(Item{}).Days().IsZero() {
		t.Error("only the item without waits has no days")
	}
	if sum := (Days{low, typical, high}).Plus(Days{dec("1"), dec("1"), dec("1")}); !cmp.Equal(sum, Days{dec("2.5"), dec("7"), dec("34")}) {
		t.Errorf("one day more: got %v", sum)
	}
}

// ceil((45 - RH) / 5) + 2. Common practice, no source.
func TestHoldLowDays(t *testing.T) {
	for rh, want := range map[string]int{"40": 3, "35": 4, "27": 6, "20": 7, "45": 2, "60": 2, "44.9": 3, "39.9": 4, "0": 11} {
		if got := HoldLowDays(dec(rh)); got != want {
			t.Errorf("from %s %%: got %d days, want %d", rh, got, want)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("a ramp without a step was taken")
		}
	}()
	Ramp{Target: dec("45")}.LowDays(dec("20"))
}

func TestMaterialsFor(t *testing.T) {
	got := Get(all(t), "CG").MaterialsFor(250)
	if !got[0].Quantity.Equal(dec("5")) || !got[1].Quantity.Equal(dec("1")) {
		t.Errorf("250 mm at 2 ml for 100 mm, one film: got %s ml and %s", got[0].Quantity, got[1].Quantity)
	}
	if Get(all(t), "CG").Materials[0].Quantity.String() != "2" {
		t.Error("working out a quantity changed the template")
	}
}

func TestMinutesGrow(t *testing.T) {
	ts := all(t)
	rapid.Check(t, func(t *rapid.T) {
		tpl := rapid.SampledFrom(ts).Draw(t, "template")
		q := rapid.IntRange(1, MaxQuantity-1).Draw(t, "quantity")
		a, errA := tpl.Minutes(q)
		b, errB := tpl.Minutes(q + 1)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if b.Low < a.Low || b.Typical < a.Typical || b.High < a.High {
			t.Fatalf("%s: %d takes %v, one more takes %v", tpl.Code, q, a, b)
		}
		if a.Low > a.Typical || a.Typical > a.High {
			t.Fatalf("%s: %d takes %v, which is out of order", tpl.Code, q, a)
		}
	})
}
