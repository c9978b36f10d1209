package season

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
)

// climateOf reads a station of testdata/climates.csv; its sources stand beside it.
func climateOf(t *testing.T, station string) (c Climate, indoor [12]float64) {
	t.Helper()
	n := 0
	for _, r := range table(t, "climates.csv") {
		if strings.HasPrefix(r["station"], station) {
			c.Usual[n] = Month{Celsius: number(t, r["celsius"]), RH: number(t, r["rh"])}
			indoor[n] = number(t, r["indoor_rh_from_dew_point"])
			n++
		}
	}
	if n != 12 {
		t.Fatalf("%s has %d months, want 12", station, n)
	}
	return c, indoor
}

// Source: climate files of three towns. The heating season, November to March, is dry
// in heated rooms, May to September is not; a mean humidity with a mean temperature is
// within 6 percent of what the mean dew point gives.
func TestClimatesOfThreeTowns(t *testing.T) {
	for _, town := range []string{"Winnipeg", "Rochester", "Chicago"} {
		c, indoor := climateOf(t, town)
		for i, m := range c.Usual {
			got := m.Indoor()
			near(t, town+" "+time.Month(i+1).String(), got, indoor[i], 6)
			switch month := time.Month(i + 1); {
			case month >= time.November || month <= time.March:
				if got >= 35 {
					t.Errorf("%s in %s: %.1f %% in a heated room, want below 35", town, month, got)
				}
			case month >= time.May && month <= time.September && got <= 35:
				t.Errorf("%s in %s: %.1f %% in a heated room, want above 35", town, month, got)
			}
		}
	}
}

func TestWeeksOfAClimate(t *testing.T) {
	c, _ := climateOf(t, "Rochester")
	c.Past = map[YearMonth]Month{{2026, 1}: {Celsius: -20, RH: 70}}
	measured, usual := c.Weeks("2026-01-05", 60, 0)
	if !(measured[0] < usual[0]) || !math.IsNaN(measured[5]) || !math.IsNaN(measured[53]) {
		t.Errorf("January 2026 measured %.1f, usual %.1f, then %v and a year later %v; want lower, and unknown", measured[0], usual[0], measured[5], measured[53])
	}
	// 15 January is in the middle of its month, as near as a Thursday comes
	near(t, "mid-January", usual[1], c.Usual[0].Indoor(), 0.3)
	if _, colder := c.Weeks("2026-01-05", 60, 5); !(colder[0] < usual[0]-1) {
		t.Errorf("5 degrees colder: %.1f indoors, usually %.1f; want clearly lower", colder[0], usual[0])
	}
}

// A response of 0.4 for 10 percent drier air makes a colder winter bring more and
// leaves summer as it is.
func TestAColderWinterBringsMore(t *testing.T) {
	c, _ := climateOf(t, "Chicago")
	f := Forecast{Dry: Dry{Response: 0.4}}
	for i := range 52 {
		f.Weeks = append(f.Weeks, ForecastWeek{Start: domain.Date("2026-11-30").AddDays(7 * i)})
	}
	two, five := c.Colder(f, 2), c.Colder(f, 5)
	if !(two[8] > 1.02 && five[8] > two[8] && five[8] < 1.6) {
		t.Errorf("late January: %.3f at 2 degrees, %.3f at 5; want more, and more still", two[8], five[8])
	}
	near(t, "August", five[37], 1, 0.03) // May is still remembered a little
	for i, x := range c.Colder(f, 0) {
		near(t, "no colder", x, 1, 0)
		if five[i] < 1 {
			t.Errorf("week %d: %.3f of what comes, want no less", i, five[i])
		}
	}
	if got := c.Colder(Forecast{}, 3); got != nil {
		t.Errorf("nothing foretold: got %v", got)
	}
}

// A shop whose work follows dry air alone, as measured: the driver earns its place.
// The winters are invented, around the months of a real town.
func TestClimateEarnsItsPlaceAndSaysSo(t *testing.T) {
	c, _ := climateOf(t, "Chicago")
	random := rand.New(rand.NewPCG(5, 6))
	from, weeks := domain.Date("2020-01-06"), 330
	c.Past = map[YearMonth]Month{}
	for y := 2019; y <= 2026; y++ {
		for m, air := range c.Usual {
			odd := 5 * random.NormFloat64()
			c.Past[YearMonth{y, m + 1}] = Month{Celsius: air.Celsius + odd, RH: min(98, max(30, air.RH+2*odd))}
		}
	}
	measured, usual := c.Weeks(from, weeks, 0)
	driver := (&air{drynesses(measured), drynesses(usual)}).driver(weeks)
	h := History{From: from, Kinds: []string{"crack"}, Counts: map[string][]int{"crack": make([]int, weeks)}}
	for i := range weeks {
		h.Counts["crack"][i] = Quantile(15*math.Exp(0.8*driver[i]), 60, random.Float64())
	}
	f := predicted(t, h, Options{Climate: &c, Seed: 1})
	if !f.Dry.Used || !(f.Dry.Score.Pinball < f.Dry.Without.Pinball) || f.Score != f.Dry.Score {
		t.Errorf("got %+v, want it used and better", f.Dry)
	}
	near(t, "coefficient", f.Dry.Coefficient, 0.8, 0.25)
	near(t, "response", f.Dry.Response, f.Dry.Coefficient, 0)
	says(t, f, "earned its place")
	// the same climate beside work that it says nothing of
	for i := range weeks {
		h.Counts["crack"][i] = Quantile(15*math.Exp(0.5*math.Cos(2*math.Pi*float64(i-20)/52.18)), 60, random.Float64())
	}
	g := predicted(t, h, Options{Climate: &c, Seed: 1})
	if g.Dry.Used || !g.Dry.Tried || g.Score != g.Dry.Without {
		t.Errorf("got %+v, want it tried and left out", g.Dry)
	}
	says(t, g, "has not earned its place")
	short := History{From: from, Kinds: h.Kinds, Counts: map[string][]int{"crack": h.Counts["crack"][:60]}}
	s := predicted(t, short, Options{Climate: &c})
	if s.Dry.Tried || !(s.Dry.Response >= 0) {
		t.Errorf("after 60 weeks: got %+v, want it not tried", s.Dry)
	}
	says(t, s, "waits until two winters")
}

func TestBadClimateIsNamed(t *testing.T) {
	c, _ := climateOf(t, "Chicago")
	c.Usual[0], c.Usual[6].RH = Month{Celsius: -70, RH: 140}, 0
	c.Past = map[YearMonth]Month{{2026, 13}: {RH: 50}, {2025, 2}: {Celsius: math.NaN(), RH: 50}}
	_, err := Predict(History{From: "2026-10-05", Kinds: []string{"crack"}}, Options{Climate: &c})
	fields := domain.FieldsOf(err)
	for _, f := range []string{"climate.celsius_1", "climate.rh_1", "climate.rh_7", "climate.past", "climate.2025-02_celsius_2"} {
		if fields[f] == "" {
			t.Errorf("%s is not named in %v", f, fields)
		}
	}
}

func TestReadClimate(t *testing.T) {
	for name, in := range map[string]string{
		"commas":     "month,celsius,rh\n1,-4.6,71\nfeb,-2.2,71\nMarch,1.6,68\n",
		"semicolons": "\xef\xbb\xbfYear;Month;Temperature;Humidity\n;1;-4,6;71,0\n;2;-2,2;71\n;3;1,6;68\n",
		"tabs":       "rh\tcelsius\tmonth\n71\t-4.6\tJan\n71\t-2.2\tFeb\n68\t1.6\tMar\n",
	} {
		got, err := ReadClimate([]byte(in))
		if err != nil || got.Usual != 3 || got.Past != 0 || len(got.Bad) != 0 {
			t.Errorf("%s: got %+v, %v; want three months", name, got, err)
			continue
		}
		if want := (Month{-4.6, 71}); got.Climate.Usual[0] != want || got.Climate.Usual[2] != (Month{1.6, 68}) || got.Whole() {
			t.Errorf("%s: got %v, want January %v", name, got.Climate.Usual[:3], want)
		}
		if absent := got.Absent(); len(absent) != 9 || absent[0] != time.April {
			t.Errorf("%s: %v are absent, want April to December", name, absent)
		}
	}
}

func TestReadClimateListsBadLines(t *testing.T) {
	got, err := ReadClimate([]byte("year,month,celsius,rh\n2025,1,-4,80\n2025,1,-5,80\n,13,1,50\n,2,cold,50\n,2,1,140\n,2,1,60\n,2,1,60\nold,3,1,60\n,4,1\n"))
	if err != nil || got.Usual != 1 || got.Past != 1 {
		t.Fatalf("got %+v, %v; want one month of each", got, err)
	}
	want := map[int]string{3: "twice", 4: "no month", 5: "no number of celsius", 6: "rh must be 1 to 100", 8: "February of the usual year is there twice", 9: "no year", 10: "no number of rh"}
	if len(got.Bad) != len(want) {
		t.Errorf("got %v, want lines %v", got.Bad, want)
	}
	for _, b := range got.Bad {
		if !strings.Contains(b.Text, want[b.Line]) || want[b.Line] == "" {
			t.Errorf("line %d: got %q, want %q in it", b.Line, b.Text, want[b.Line])
		}
	}
	for in, why := range map[string]string{
		"": "no line of column names", "month,rh\n1,50\n": "no column celsius", "month,celsius,rh\n": "no line under", "month,celsius,rh\n\"1,2,3": "breaks off",
		strings.Repeat("x", MaxClimateFile+1): "at most 1 MiB",
	} {
		_, err := ReadClimate([]byte(in))
		if text := domain.FieldsOf(err)["file"]; !strings.Contains(text, why) {
			t.Errorf("%.20q: got %v, want %q", in, err, why)
		}
	}
}

// The share that is held comes to the bench when its holds are over, and the work in
// the house falls due in its weeks.
func TestHeldWorkFallsDueLater(t *testing.T) {
	f := Forecast{Sizes: map[string]float64{"crack": 10}}
	for i := range 4 {
		f.Weeks = append(f.Weeks, ForecastWeek{Start: domain.Date("2027-01-04").AddDays(7 * i), ByKind: map[string]Range{"crack": {Mean: 10}}})
	}
	l := Load{Minutes: 60, Held: 0.4, HoldDays: 14, DueAfter: 2}
	got := LoadOf(f, map[string]Load{"crack": l}, Capacity{Minutes: []float64{600}, Places: 40}, House{Minutes: 300, Weeks: 3})
	for i, want := range []float64{360 + 100, 360 + 100, 600 + 100, 600} {
		near(t, "minutes in week "+itoa(i), got[i].Minutes.Mean, want, 1e-9)
	}
	near(t, "of the kind", DueMinutes(f, "crack", l, 0), 360, 1e-9)
	// by Little's law 4 a week of 14 days each stand at 8 places in the end
	near(t, "places in the end", got[3].Places.Mean, 8, 1)
}
