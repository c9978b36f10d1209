package workshop

import (
	"math"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
	"winterbench/domain/season"
	"winterbench/templates"
)

// seasonWeeksOf are weeks from a Monday in December on that want so many hours
// of forty and one of six places.
func seasonWeeksOf(hours ...float64) []SeasonWeek {
	out := make([]SeasonWeek, len(hours))
	for i, h := range hours {
		out[i] = SeasonWeek{Monday: domain.Date("2026-12-28").AddDays(7 * i), Hands: Likely{P50: h}, HandsThere: 40, Places: Likely{P50: 1}, PlacesThere: 6}
	}
	return out
}

func TestSeasonAnswerNamesTheWeeks(t *testing.T) {
	busy := seasonWeeksOf(30, 31, 55, 58, 62, 57, 39)
	full := seasonWeeksOf(30)
	full[0].Places.P50 = 7.4
	mild := seasonWeeksOf(20, 30, 10)
	mild[1].OverChance = 0.31
	for _, c := range []struct {
		name                string
		weeks, places, days []SeasonWeek
		want                string
	}{
		{"hands are short, by 15, 18, 22 and 17 hours", busy, busy, seasonWeeksOf(30, 31, 39, 39, 40, 39, 39),
			"The weeks from week 2 of January to week 1 of February want 18 bench hours a week more than you have. Two more cabinet places would not help; one more bench day a week would be enough."},
		{"two runs", seasonWeeksOf(50, 30, 60, 60, 30, 41), seasonWeeksOf(50, 30, 60, 60, 30, 41), seasonWeeksOf(40, 30, 50, 50, 30, 30),
			"Weeks 2 and 3 of January want 20 bench hours a week more than you have. So do 2 other weeks. Two more cabinet places would not help; one more bench day a week would leave 2 such weeks."},
		{"places are short", full, seasonWeeksOf(30), full,
			"Week 5 of December wants 2 cabinet places more than you have. Two more cabinet places would be enough; one more bench day a week would not help."},
		{"neither helps", seasonWeeksOf(60), seasonWeeksOf(60), seasonWeeksOf(60),
			"Week 5 of December wants 20 bench hours more than you have. Neither two more cabinet places nor one more bench day a week would help."},
		{"all fits", mild, nil, nil,
			"The next 3 weeks want no more than you have. The fullest, week 1 of January, takes 75 of 100 bench hours, and 3 times in 10 more than there are."},
		{"nothing", nil, nil, nil, "Nobody can say what the season brings: there is nothing to go by yet."},
	} {
		if got := SeasonAnswer(c.weeks, c.places, c.days); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

func TestWeeksOfAMonthAreCountedByTheirThursday(t *testing.T) {
	for monday, want := range map[domain.Date]string{
		"2026-12-28": "week 5 of December", "2027-01-04": "week 1 of January", "2024-02-26": "week 5 of February", "2020-12-28": "week 5 of December",
	} {
		if got := WeekName(monday); got != want {
			t.Errorf("%s is %s, want %s", monday, got, want)
		}
	}
}

// A shop that nothing is known of, whose first job came last week, or that did
// nothing all year: no week wants anything.
func TestSeasonOfLittle(t *testing.T) {
	f := SeasonFacts{Facts: weekdays()}
	for name, visits := range map[string][]Visit{
		"no history": nil, "one visit yesterday": {{At: monday.AddDate(0, 0, -1), Lead: templates.PhaseCracks, Minutes: 60}},
		"only asked": {{At: monday.AddDate(-1, 0, 0), Asked: true}},
	} {
		f.Visits = visits
		a, err := SeasonOf(f)
		if err != nil || len(a.Weeks) != seasonWeeks || len(overWeeks(a.Weeks)) != 0 {
			t.Errorf("%s: %d weeks, %v over, %v", name, len(a.Weeks), overWeeks(a.Weeks), err)
		}
	}
}

// Forty hours a week are there. Twelve cracks of four hours each week want 48.
func TestSeasonOfASteadyShop(t *testing.T) {
	f := SeasonFacts{Facts: weekdays(), Money: AgreedMoney{Jobs: 10, Total: 100000}}
	for d := monday.AddDate(-3, 0, 0); d.Before(monday); d = d.AddDate(0, 0, 7) {
		for range 12 {
			f.Visits = append(f.Visits, Visit{At: d.Add(time.Hour), Lead: templates.PhaseCracks, Minutes: 240})
		}
	}
	a, err := SeasonOf(f)
	if err != nil {
		t.Fatal(err)
	}
	w := a.Weeks[5]
	if math.Abs(w.HandsThere-40) > 0.01 || w.Hands.P50 < 44 || w.Hands.P50 > 48.5 || !w.Over() || w.OverChance < 0.6 {
		t.Errorf("week 5: %+v, want about 48 of 40 hours", w)
	}
	if w.LastHands != 48 {
		t.Errorf("last year %.1f hours, want 48", w.LastHands)
	}
	now, then, err := a.Beside(Change{Days: 1})
	if err != nil {
		t.Fatal(err)
	}
	if then.Weeks[5].HandsThere != 46 || then.Backlog >= now.Backlog || then.Jobs <= now.Jobs {
		t.Errorf("a day more: %.1f h there, %.0f behind not %.0f, %.1f jobs not %.1f", then.Weeks[5].HandsThere, then.Backlog, now.Backlog, then.Jobs, now.Jobs)
	}
	if want := math.Round((then.Jobs - now.Jobs) * 10000); math.Abs(float64(then.Income)-want) > 1 {
		t.Errorf("income %d, want %.0f: the jobs done more at 100.00 each", then.Income, want)
	}
	closed, err := a.Try(Change{ClosedWeek: "2026-12-30"})
	if err != nil || closed.Weeks[5].HandsThere != 0 || closed.Weeks[4].HandsThere != 40 {
		t.Errorf("closed in the fifth week: %+v, %v", closed, err)
	}
	colder, err := a.Try(Change{Colder: 25})
	if err != nil || math.Abs(colder.Weeks[5].Arrivals.P50/w.Arrivals.P50-1.25) > 0.03 {
		t.Errorf("a quarter more: %.2f jobs after %.2f, %v", colder.Weeks[5].Arrivals.P50, w.Arrivals.P50, err)
	}
}

func TestSetUpsMoveToSummer(t *testing.T) {
	c := Change{SetUpsMoved: 50}
	january, july := time.Date(2027, 1, 14, 0, 0, 0, 0, time.UTC), time.Date(2027, 7, 14, 0, 0, 0, 0, time.UTC)
	for _, x := range []struct {
		kind string
		at   time.Time
		want float64
	}{{KindSetUps, january, 0.5}, {KindSetUps, july, 1}, {KindCracks, january, 1}} {
		if got := c.times(x.kind, weekdays().Shop.Heated(x.at.Month())); got != x.want {
			t.Errorf("%s in %v: times %.2f, want %.2f", x.kind, x.at.Month(), got, x.want)
		}
	}
	ahead := &SeasonForecast{From: "2026-11-23"}
	for w := range yearWeeks {
		ahead.Forecast.Weeks = append(ahead.Forecast.Weeks, season.ForecastWeek{Start: ahead.From.AddDays(7 * w), ByKind: map[string]season.Range{KindSetUps: {Mean: 2}}})
	}
	a := &SeasonAhead{from: ahead.From, Now: monday, Shop: weekdays().Shop, ahead: ahead}
	var got []float64
	for _, w := range a.changed(Change{SetUpsMoved: 100}).Weeks {
		got = append(got, w.ByKind[KindSetUps].Mean)
	}
	if got[8] != 0 || got[seasonWeeks-1] <= 2 {
		t.Errorf("all moved: %.2f in January and %.2f in May, want none and more than 2", got[8], got[seasonWeeks-1])
	}
}

func TestChangeSaysWhatCannotBe(t *testing.T) {
	today := domain.Date("2026-11-25")
	for name, c := range map[string]Change{
		"days": {Days: 6}, "hours": {Hours: 200}, "places": {Places: -1}, "set_ups_moved": {SetUpsMoved: 101}, "colder": {Colder: -5}, "closed_week": {ClosedWeek: "2026-11-20"},
	} {
		if fields := domain.FieldsOf(c.Check(today)); fields[name] == "" || len(fields) != 1 {
			t.Errorf("%+v: got %v, want %s alone", c, fields, name)
		}
	}
	for _, c := range []Change{{}, {ClosedWeek: "2026-11-23"}, {Days: 5, Hours: 60, Places: 40, SetUpsMoved: 100, Colder: 200}} {
		if err := c.Check(today); err != nil {
			t.Errorf("%+v: %v", c, err)
		}
	}
	if got, want := (Change{Hours: 12, Places: 1, ClosedWeek: "2026-12-30", SetUpsMoved: 40, Colder: 10}).Text(),
		"a part-time hand of 12 hours a week, one more cabinet place, 40 of 100 set-ups moved to summer, closed in the week of 28 December, 10 percent more work comes"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestMoreHoursLieOnOpenDays(t *testing.T) {
	week := Change{Days: 2, Hours: 10}.moreHours(weekdays().Shop)
	if got := week.Minutes(); got != 2*BenchDayHours*60+10*60 {
		t.Errorf("%d minutes a week, want 22 hours", got)
	}
	if len(week[0]) != 0 || len(week[6]) != 0 || week[1][0] != (queue.Span{From: 540, To: 540 + 8*60}) {
		t.Errorf("week %v: want nothing at the weekend and eight hours on Monday", week)
	}
}

func TestKindIsNamedByTheMainTask(t *testing.T) {
	for codes, want := range map[string]string{"CC CG RH SU": KindCracks, "BR RH": KindJoints, "FE SU": KindFrets, "SU": KindSetUps, "RH": KindOther, "": KindOther, "XX": KindOther} {
		if got := kindOfTasks(codes); got != want {
			t.Errorf("%q is %s, want %s", codes, got, want)
		}
	}
}
