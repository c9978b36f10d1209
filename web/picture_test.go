package web

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestBalanceScalesEachHalf(t *testing.T) {
	b := Balance{
		Above: Side{Limit: 40}, Below: Side{Limit: 6},
		Weeks: []BalanceWeek{{Label: "W1", Above: 80, Below: 3, LastAbove: 40, LastBelow: -1}, {Label: "W2", Above: 20, Below: 6, LastAbove: -1, LastBelow: 3}},
	}
	d := b.Lay()
	if d.AboveAt != "25.00%" || d.BelowAt != "100.00%" || d.AboveTop != "80" || d.BelowLow != "6" {
		t.Errorf("limits at %s and %s, edges %s and %s; want 25, 100, 80 and 6", d.AboveAt, d.BelowAt, d.AboveTop, d.BelowLow)
	}
	want := []BalanceBar{
		{X: "6.00%", Width: "38.00%", Middle: "25.00%", AboveY: "0.00%", AboveH: "50.00%", BelowH: "25.00%", LastAbove: "25.00%", Over: true, Label: "W1"},
		{X: "56.00%", Width: "38.00%", Middle: "75.00%", AboveY: "37.50%", AboveH: "12.50%", BelowH: "50.00%", LastBelow: "75.00%", Label: "W2"},
	}
	if diff := cmp.Diff(want, d.Bars); diff != "" {
		t.Errorf("bars, want (-) got (+):\n%s", diff)
	}
	if empty := (Balance{}).Lay(); len(empty.Bars) != 0 || empty.AboveAt != "" {
		t.Errorf("an empty balance drew %+v", empty)
	}
}

func TestCurvePutsPointsInPlace(t *testing.T) {
	c := Curve{Unit: "mm", Decimals: 1, Limit: 0.1, Points: []CurvePoint{
		{At: clockAt(1, 0, 0), Value: 0.5}, {At: clockAt(2, 0, 0), Value: 0.3}, {At: clockAt(5, 0, 0), Value: 0.1, Expected: true},
	}}
	d := c.Lay()
	want := []CurveSegment{
		{X1: "0.00%", Y1: "0.00%", X2: "25.00%", Y2: "50.00%"},
		{X1: "25.00%", Y1: "50.00%", X2: "100.00%", Y2: "100.00%", Expected: true},
	}
	if diff := cmp.Diff(want, d.Segments); diff != "" {
		t.Errorf("segments, want (-) got (+):\n%s", diff)
	}
	if d.High != "0.5 mm" || d.Low != "0.1 mm" || d.LimitY != "100.00%" {
		t.Errorf("edges %s and %s, limit at %s; want 0.5 mm, 0.1 mm and 100 %%", d.High, d.Low, d.LimitY)
	}
	one := Curve{Points: c.Points[:1]}.Lay()
	if len(one.Segments) != 0 || len(one.Dots) != 1 || one.Dots[0].X != "50.00%" || one.Dots[0].Y != "50.00%" {
		t.Errorf("one point draws %+v, want one dot in the middle", one)
	}
	if none := (Curve{}).Lay(); len(none.Dots) != 0 {
		t.Errorf("no points draw %+v", none)
	}
}
