package workshop

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/season"
	"winterbench/templates"
)

// steady are so many cracks a week over years up to the test's Monday.
func steady(years, perWeek int) []Visit {
	var out []Visit
	for d := monday.AddDate(-years, 0, 0); d.Before(monday); d = d.AddDate(0, 0, 7) {
		for range perWeek {
			out = append(out, Visit{At: d.Add(time.Hour), Lead: templates.PhaseCracks, Minutes: 240})
		}
	}
	return out
}

func seenAhead(t *testing.T, r SeasonRecords) *SeasonForecast {
	t.Helper()
	f, err := Foretell(r)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestClosedWeeksAreNotCounted(t *testing.T) {
	shop := weekdays().Shop
	visits := slices.DeleteFunc(steady(2, 6), func(v Visit) bool { return v.At.Month() == time.July })
	open := seenAhead(t, SeasonRecords{Shop: shop, Visits: visits, Now: monday})
	for _, year := range []string{"2025", "2026"} {
		shop.Closed = append(shop.Closed, DaySpan{From: domain.Date(year + "-06-29"), To: domain.Date(year + "-08-03"), Why: "summer"})
	}
	closed := seenAhead(t, SeasonRecords{Shop: shop, Visits: visits, Now: monday})
	july := weeksBetween(closed.From, "2027-07-12")
	if a, b := open.Forecast.Weeks[july].All.Mean, closed.Forecast.Weeks[july].All.Mean; !(b > 1.5*a) || b < 4 {
		t.Errorf("July: %.1f jobs when the closed weeks are zeros, %.1f when they are not counted; want near 6", a, b)
	}
	if closed.Closed != 10 || !strings.Contains(closed.Model, "In 10 of the weeks without a count the shop was closed.") {
		t.Errorf("%d weeks closed, %q; want 10 and said so", closed.Closed, closed.Model)
	}
	// open on Saturdays too, of which none is closed: no week is closed as a whole
	shop.Hours[5] = Hours{Open: "09:00", Close: "12:00"}
	shop.Closed = []DaySpan{{From: "2026-07-06", To: "2026-07-10"}}
	if part := seenAhead(t, SeasonRecords{Shop: shop, Visits: visits, Now: monday}); part.Closed != 0 {
		t.Errorf("%d weeks count as closed, want none: the shop was open on Saturday", part.Closed)
	}
}

func TestTheSouthHasItsWinterInJuly(t *testing.T) {
	for zone, south := range map[string]bool{
		"Australia/Melbourne": true, "Pacific/Auckland": true, "NZ": true, "America/Argentina/Ushuaia": true, "Africa/Johannesburg": true, "Brazil/East": true,
		"Europe/Helsinki": false, "America/Winnipeg": false, "Asia/Tokyo": false, "UTC": false, "Pacific/Honolulu": false, "Africa/Asmera": false,
	} {
		shop := &Shop{Zone: zone}
		if shop.South() != south || shop.Heated(time.July) != south || shop.Heated(time.January) == south || !shop.Heated(time.April) || !shop.Heated(time.October) {
			t.Errorf("%s: south %v, heated in July %v; want both %v", zone, shop.South(), shop.Heated(time.July), south)
		}
	}
	for zone := range southern() {
		if _, err := time.LoadLocation(zone); err != nil {
			t.Errorf("%s is no zone: %v", zone, err)
		}
	}
	north := &Shop{Zone: "Australia/Melbourne", Hemisphere: North}
	if north.South() || north.SouthText() == "" {
		t.Error("the owner's word goes before the zone's, and is said")
	}
	shop := weekdays().Shop
	shop.Hemisphere = South
	f := seenAhead(t, SeasonRecords{Shop: shop, Now: monday})
	january, july := f.Forecast.Weeks[weeksBetween(f.From, "2027-01-11")], f.Forecast.Weeks[weeksBetween(f.From, "2027-07-12")]
	if !(july.All.Mean > 1.5*january.All.Mean) {
		t.Errorf("%.1f jobs in July, %.1f in January; want July to be the winter", july.All.Mean, january.All.Mean)
	}
	for _, want := range []string{"the southern hemisphere", "around July"} {
		if !strings.Contains(f.Model, want) {
			t.Errorf("got %q, want %q in it", f.Model, want)
		}
	}
}

func TestANewShopHasTheUsualShape(t *testing.T) {
	shop := weekdays().Shop
	for name, c := range map[string]struct {
		visits   []Visit
		expected int
		level    float64
		says     string
	}{
		"nothing known": {nil, 0, 5, "the usual shape of a heating season around 5 jobs a week"},
		"a guess":       {nil, 12, 12, "the usual shape of a heating season around your 12 jobs a week"},
		"half a year":   {steady(1, 9)[9*26:], 12, 9 / 0.8, "a whole year of your own is not in the books yet"},
	} {
		shop.Expected = c.expected
		f := seenAhead(t, SeasonRecords{Shop: shop, Visits: c.visits, Now: monday})
		if !strings.Contains(f.Model, c.says) {
			t.Errorf("%s: got %q, want %q in it", name, f.Model, c.says)
		}
		sum := 0.0
		for _, w := range f.Forecast.Weeks[:52] {
			sum += w.All.Mean / 52
		}
		if math.Abs(sum/c.level-1) > 0.25 {
			t.Errorf("%s: %.1f jobs a week, want about %.1f", name, sum, c.level)
		}
		january, july := f.Forecast.Weeks[weeksBetween(f.From, "2027-01-11")], f.Forecast.Weeks[weeksBetween(f.From, "2027-07-12")]
		if !(january.All.Mean > 1.4*july.All.Mean) {
			t.Errorf("%s: %.1f jobs in January, %.1f in July; want a winter", name, january.All.Mean, july.All.Mean)
		}
	}
}

func TestAGuessStandsInPlaceOfTheForecast(t *testing.T) {
	plain := seenAhead(t, SeasonRecords{Shop: weekdays().Shop, Visits: steady(3, 4), Now: monday})
	week := plain.From.AddDays(14)
	laid := plain.lay([]ArrivalGuess{{Monday: week, Kind: KindCracks, Jobs: 9}, {Monday: week.AddDays(7), Kind: KindSetUps, Jobs: 3}, {Monday: plain.From.AddDays(-7), Kind: KindCracks, Jobs: 40}, {Monday: plain.From.AddDays(7 * 60), Kind: KindCracks, Jobs: 40}})
	got := laid.Forecast.Weeks[2]
	if r := got.ByKind[KindCracks]; r.Mean != 9 || r.P10 >= 9 || r.P90 <= 9 {
		t.Errorf("cracks %+v, want 9 within a range", r)
	}
	if more := got.All.Mean - plain.Forecast.Weeks[2].All.Mean; math.Abs(more-(9-plain.Forecast.Weeks[2].ByKind[KindCracks].Mean)) > 0.3 {
		t.Errorf("all kinds grow by %.2f, want as much as the cracks", more)
	}
	if r := laid.Forecast.Weeks[3].ByKind[KindSetUps]; r.Mean != 3 {
		t.Errorf("a kind that never came: %+v, want 3", r)
	}
	if len(laid.Guesses) != 2 || plain.Forecast.Weeks[2].ByKind[KindCracks].Mean == 9 {
		t.Errorf("%d guesses are laid over, want the 2 of weeks ahead, and the forecast itself kept", len(laid.Guesses))
	}
	f := SeasonFacts{Facts: weekdays(), Visits: steady(3, 4)}
	f.Ahead = plain
	before, err := SeasonOf(f)
	if err != nil {
		t.Fatal(err)
	}
	f.Ahead = laid
	after, err := SeasonOf(f)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := before.Weeks[2], after.Weeks[2]; !(b.Hands.P50 > a.Hands.P50+15) || b.Guessed != 1 || !(b.Arrivals.P50 > a.Arrivals.P50) {
		t.Errorf("with 5 cracks of 4 hours more: %.0f hours, before %.0f", b.Hands.P50, a.Hands.P50)
	}
	if g := after.Guessed(); len(g) != 2 || !(g[0].Foretold.P50 < 9) {
		t.Errorf("beside the forecast: %+v, want both with what was foretold", g)
	}
	if zero := guessRange(0, 5); zero != (season.Range{}) {
		t.Errorf("none expected: %+v", zero)
	}
}

// Degrees are asked of the town's climate: 3 of them bring more in January, and
// nothing without a climate. The months are invented.
func TestAColderWinterInDegrees(t *testing.T) {
	f := SeasonFacts{Facts: weekdays()}
	for d := monday.AddDate(-3, 0, 0); d.Before(monday); d = d.AddDate(0, 0, 7) {
		n := 4
		if f.Shop.Heated(d.Month()) {
			n = 8
		}
		for range n {
			f.Visits = append(f.Visits, Visit{At: d.Add(time.Hour), Lead: templates.PhaseCracks, Minutes: 240})
		}
	}
	a, err := SeasonOf(f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Try(Change{Degrees: 3}); domain.FieldsOf(err)["degrees"] == "" || a.KnowsClimate() {
		t.Errorf("without a climate: got %v, want degrees refused", err)
	}
	c := &Climate{Town: "Kaldvik"}
	for i := range c.Months.Usual {
		c.Months.Usual[i] = season.Month{Celsius: 5 - 13*math.Cos(math.Pi*float64(i)/6), RH: 75}
	}
	f.Ahead = seenAhead(t, SeasonRecords{Shop: f.Shop, Visits: f.Visits, Climate: c, Now: f.Now})
	if a, err = SeasonOf(f); err != nil {
		t.Fatal(err)
	}
	now, then, err := a.Beside(Change{Degrees: 3})
	if err != nil {
		t.Fatal(err)
	}
	if more := then.Weeks[8].Arrivals.P50 / now.Weeks[8].Arrivals.P50; !(more > 1.01 && more < 1.6) {
		t.Errorf("3 degrees colder: %.3f of the jobs in January, want more", more)
	}
	if got := TriedAnswer(now, then); !strings.HasPrefix(got, "3 degrees colder outdoors: ") {
		t.Errorf("got %q", got)
	}
}

// What is foretold of a kind is shared among its routes as they came in that half of
// the year: in winter three frets in four lead to one route, in summer one.
func TestComingFollowsTheForecast(t *testing.T) {
	shop := weekdays().Shop
	var routes []Route
	for i, d := 0, monday.AddDate(-2, 0, 0); d.Before(monday); i, d = i+1, d.AddDate(0, 0, 7) {
		code := "FE"
		if shop.Heated(d.Month()) == (i%4 == 0) {
			code = "FD"
		}
		k := task(1, templates.PhaseFrets, 60, "0")
		k.Template = code
		routes = append(routes, Route{Agreed: d, Tasks: []job.Task{k}})
	}
	f := &SeasonForecast{From: "2026-11-23"}
	f.Forecast.Sizes = map[string]float64{KindFrets: 7}
	for w := range yearWeeks {
		f.Forecast.Weeks = append(f.Forecast.Weeks, season.ForecastWeek{Start: f.From.AddDays(7 * w), ByKind: map[string]season.Range{KindFrets: {Mean: 8 + float64(w)}}})
	}
	wednesday := monday.AddDate(0, 0, 2).Add(15 * time.Hour).Truncate(24 * time.Hour).Add(12 * time.Hour) // half past the week
	got := ComingOf(routes, f, shop, wednesday)
	if len(got) != 2 || got[0].Size != 7 {
		t.Fatalf("got %d kinds %+v, want both, as varying as frets", len(got), got)
	}
	late := wednesday.Sub(f.From.Time(time.UTC)).Hours() / 168
	total := got[0].PerWeek[1] + got[1].PerWeek[1]
	if math.Abs(total-(9+late)) > 1e-9 {
		t.Errorf("%.3f in the second week, want %.3f: the forecast between its weeks", total, 9+late)
	}
	for _, a := range got {
		if want := map[string]float64{"FE": 0.75, "FD": 0.25}[a.Name]; math.Abs(a.PerWeek[1]/total-want) > 0.05 {
			t.Errorf("%s has %.2f of them in winter, want about %.2f", a.Name, a.PerWeek[1]/total, want)
		}
	}
	for name, none := range map[string]*SeasonForecast{"no forecast": nil, "an empty one": {}} {
		if by := ComingOf(routes, none, shop, monday); len(by) != 2 || by[0].PerWeek[0] < 0.3 || by[0].PerWeek[0] > 1.2 {
			t.Errorf("%s: got %+v, want the monthly averages", name, by)
		}
	}
	if few := ComingOf(routes[:minRoutes-1], f, shop, monday); few != nil {
		t.Errorf("of %d routes: got %+v, want none", minRoutes-1, few)
	}
}

// The records as they were at a moment hold nothing that was only known later.
func TestPastRecordsKnowNothingOfLater(t *testing.T) {
	crack := task(1, templates.PhaseCracks, 60, "0")
	crack.Dropped = monday.AddDate(0, 0, 5)
	set := task(2, templates.PhaseSetUp, 30, "0")
	all := []*job.Job{{ID: 1, Approved: monday, Tasks: []job.Task{crack, set}}, {ID: 2, Approved: monday.AddDate(0, 0, 3)}, {ID: 3}}
	if got := visitsBy(all, monday.AddDate(0, 0, 1)); len(got) != 1 || got[0].Kind() != KindCracks || got[0].Minutes != 90 {
		t.Errorf("the day after: %+v, want one crack of 90 minutes", got)
	}
	if got := visitsBy(all, monday.AddDate(0, 0, 9)); len(got) != 2 || got[0].Kind() != KindSetUps || got[0].Minutes != 30 || got[1].Kind() != KindOther {
		t.Errorf("nine days later: %+v, want a set-up and one without a task", got)
	}
}

func TestClimateAnswers(t *testing.T) {
	c := &Climate{Town: "Kaldvik"}
	for i := range c.Months.Usual {
		c.Months.Usual[i] = season.Month{Celsius: 5 - 13*math.Cos(math.Pi*float64(i)/6), RH: 75}
	}
	if got, want := ClimateAnswer(c), "In Kaldvik the air of a room heated to 21 °C falls below 35 % in October to April, with nothing added to it."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	for i := range c.Months.Usual {
		c.Months.Usual[i] = season.Month{Celsius: 22, RH: 70}
	}
	if got := ClimateAnswer(c); !strings.Contains(got, "stays at 35 % and above all year") {
		t.Error(got)
	}
	if got := monthsText([]time.Month{1, 3, 12}); got != "March and December to January" {
		t.Error(got)
	}
	if got := monthsText([]time.Month{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}); got != "every month" {
		t.Error(got)
	}
}
