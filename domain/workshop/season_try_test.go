package workshop

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/season"
	"winterbench/templates"
)

// comes is a kind of job of which nothing comes by chance, so that the usual job
// alone is played.
func comes(name string, tasks ...queue.Task) queue.Arrival {
	return queue.Arrival{Name: name, PerWeek: make([]float64, comingWeeks), Size: usualSize, Tasks: tasks}
}

func handsOf(minutes float64) queue.Task {
	return queue.Task{ID: "1", Kind: queue.Bench, Skill: skillName(2), Takes: queue.Exactly(minutes)}
}

// usual plays the usual job that comes on a day, of which the end must be known.
func usual(t *testing.T, f Facts, c Change, on domain.Date) *queue.Window {
	t.Helper()
	w, err := usualJob(f, c, on)
	if err != nil || w == nil {
		t.Fatalf("%s: got %v and %v, want a window", c.Text(), w, err)
	}
	return w
}

// The ends are worked out by hand from the shop's hours: four hours of work.
func TestUsualJobGoesRoundAClosedWeek(t *testing.T) {
	f := weekdays()
	f.Coming = []queue.Arrival{comes("CC", handsOf(240))}
	for _, c := range []struct {
		name string
		what Change
		on   domain.Date
		want time.Time
	}{
		{"as it is", Change{}, "2026-11-23", monday.Add(4 * time.Hour)},
		{"a day that is over counts from now", Change{}, "2026-11-01", monday.Add(4 * time.Hour)},
		{"a week later", Change{}, "2026-11-30", monday.AddDate(0, 0, 7).Add(4 * time.Hour)},
		{"the week is closed", Change{ClosedWeek: "2026-11-26"}, "2026-11-23", monday.AddDate(0, 0, 7).Add(4 * time.Hour)},
		{"another week is closed", Change{ClosedWeek: "2026-12-02"}, "2026-11-23", monday.Add(4 * time.Hour)},
	} {
		if w := usual(t, f, c.what, c.on); !w.P50.Equal(c.want) || !w.P80.Equal(c.want) {
			t.Errorf("%s: likely %v, late %v; want %v", c.name, w.P50, w.P80, c.want)
		}
	}
}

// One hold of ten days stands in the only place; the usual job is four days in
// the cabinet. With a place more it goes in at once.
func TestUsualJobGetsThePlaceThatIsTried(t *testing.T) {
	f := weekdays()
	held := task(1, templates.PhaseHold, 20, "10")
	held.Hold = true
	f.Jobs = []*job.Job{{ID: 7, Approved: monday, Tasks: []job.Task{held}, Holds: []job.Hold{{ID: 1, Task: 1, Start: monday, Place: "place 1"}}}}
	f.Coming = []queue.Arrival{comes("RH", queue.Task{ID: "1", Kind: queue.Hold, Takes: queue.Exactly(4 * minutesADay)})}
	now, then := usual(t, f, Change{}, "2026-11-23"), usual(t, f, Change{Places: 1}, "2026-11-23")
	if want := monday.AddDate(0, 0, 14); !now.P80.Equal(want) {
		t.Errorf("behind the other it ends %v, want %v", now.P80, want)
	}
	if want := monday.AddDate(0, 0, 4); !then.P80.Equal(want) {
		t.Errorf("in a place of its own it ends %v, want %v", then.P80, want)
	}
	if got := daysSooner(now, then); got != 10 {
		t.Errorf("%d days sooner, want 10", got)
	}
	if got := daysSooner(then, now); got != -10 {
		t.Errorf("the other way round: %d, want -10", got)
	}
}

// Somebody works at the bench until Tuesday at one: twelve hours. One more
// person on Monday leaves the usual job nothing to wait for.
func TestUsualJobGetsTheHandsThatAreTried(t *testing.T) {
	f := weekdays()
	f.Jobs = []*job.Job{{ID: 7, Approved: monday, Tasks: []job.Task{task(1, templates.PhaseTouchUp, 12*60, "0")},
		Clockings: []job.Clocking{{Task: 1, Staff: 1, Name: "Runa", Start: monday}}}}
	f.Coming = []queue.Arrival{comes("CC", handsOf(240))}
	now, then := usual(t, f, Change{}, "2026-11-23"), usual(t, f, Change{Days: 1}, "2026-11-23")
	if want := monday.Add(32 * time.Hour); !now.P80.Equal(want) {
		t.Errorf("behind Runa's work it ends %v, want Tuesday at closing, %v", now.P80, want)
	}
	if want := monday.Add(4 * time.Hour); !then.P80.Equal(want) {
		t.Errorf("with one more person it ends %v, want %v", then.P80, want)
	}
}

// What is not known, or cannot be played, is no fault: there is just no day.
func TestUsualJobIsNotKnown(t *testing.T) {
	known := []queue.Arrival{comes("CC", handsOf(240))}
	for name, change := range map[string]func(f *Facts){
		"nothing is known to come": func(f *Facts) { f.Coming = nil },
		"nobody has the skill":     func(f *Facts) { f.Staff[0].Skill = 1 },
		"nobody works":             func(f *Facts) { f.Staff = nil },
	} {
		f := weekdays()
		f.Coming = known
		change(&f)
		if w, err := usualJob(f, Change{}, "2026-11-23"); w != nil || err != nil {
			t.Errorf("%s: got %v and %v, want neither", name, w, err)
		}
	}
	w := &queue.Window{P80: monday}
	if daysSooner(nil, w) != 0 || daysSooner(w, nil) != 0 {
		t.Error("without two days there is none sooner")
	}
}

// The thirteen weeks from 23 November on are all of heated months, so the set-ups
// of all are fewer: 4 times 1.25 are 5, and half of them 2.5.
func TestWhatComesIsChangedInThePlan(t *testing.T) {
	now := []queue.Arrival{comes("CC RH"), comes("SU")}
	for i := range now {
		for w := range now[i].PerWeek {
			now[i].PerWeek[w] = 4
		}
	}
	got := Change{Colder: 25, SetUpsMoved: 50}.coming(now, weekdays().Shop, monday, nil)
	for w := range comingWeeks {
		if got[0].PerWeek[w] != 5 || got[1].PerWeek[w] != 2.5 {
			t.Errorf("week %d: %.2f cracks and %.2f set-ups, want 5 and half as many", w, got[0].PerWeek[w], got[1].PerWeek[w])
		}
	}
	if now[0].PerWeek[0] != 4 || now[1].PerWeek[0] != 4 {
		t.Error("the queue's own arrivals were changed")
	}
}

func TestAChangeIsSetBesideTheSeason(t *testing.T) {
	f := SeasonFacts{Facts: weekdays()}
	f.Coming = []queue.Arrival{comes("CC", handsOf(240))}
	f.Ahead = &SeasonForecast{From: "2026-11-23"} // foretold: nothing at all
	for w := range yearWeeks {
		f.Ahead.Forecast.Weeks = append(f.Ahead.Forecast.Weeks, season.ForecastWeek{Start: f.Ahead.From.AddDays(7 * w)})
	}
	a, err := SeasonOf(f)
	if err != nil {
		t.Fatal(err)
	}
	now, then, err := a.Beside(Change{ClosedWeek: "2026-11-23"})
	if err != nil {
		t.Fatal(err)
	}
	if got := daysSooner(now.Window, then.Window); got != -7 || then.Income != 0 {
		t.Errorf("closed this week: %d days and an income of %d, want 7 later and none, for no job is known to bring any", got, then.Income)
	}
	want := "Closed in the week of 23 November: no week wants too much, as without it; the usual job is ready 7 days later."
	if got := TriedAnswer(now, then); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	_, _, err = a.Beside(Change{Days: 6})
	if fields := domain.FieldsOf(err); fields["days"] == "" {
		t.Errorf("six more days a week: got %v, want the field days named", err)
	}
}

func TestTriedAnswer(t *testing.T) {
	ends := func(days int) *queue.Window { return &queue.Window{P80: monday.AddDate(0, 0, days)} }
	now := &Tried{Over: 4, Backlog: 31, Window: ends(20)}
	for _, c := range []struct {
		name string
		then Tried
		want string
	}{
		{"nothing", Tried{}, "Turn something and see what it does: to the weeks that want too much, to the cabinet and to the day you can say."},
		{"all better", Tried{What: Change{Days: 1}, Over: 1, Backlog: 12, Window: ends(17)},
			"One more bench day a week: 1 week wants too much, not 4; at the worst you are 12 bench hours behind, not 31; the usual job is ready 3 days sooner."},
		{"one day, and no week", Tried{What: Change{Days: 2}, Backlog: 31.4, Window: ends(19)},
			"2 more bench days a week: no week wants too much, not 4; the usual job is ready 1 day sooner."},
		{"worse", Tried{What: Change{Colder: 20}, Over: 6, Backlog: 44, Window: ends(22)},
			"20 percent more work comes: 6 weeks want too much, not 4; at the worst you are 44 bench hours behind, not 31; the usual job is ready 2 days later."},
		{"all the same, and no day", Tried{What: Change{Places: 1}, Over: 4, Backlog: 31}, "One more cabinet place: 4 weeks want too much, as without it."},
	} {
		if got := TriedAnswer(now, &c.then); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

func TestNothingChangedIsSaidSo(t *testing.T) {
	if got := (Change{}).Text(); got != "nothing changed" {
		t.Errorf("got %q, want that nothing is changed", got)
	}
	for closed, want := range map[domain.Date]string{"soon": "", "2027-09-01": "beyond the weeks"} {
		fields := domain.FieldsOf(Change{ClosedWeek: closed}.Check("2026-11-25"))
		if got := fields["closed_week"]; got == "" || want != "" && !strings.Contains(got, want) {
			t.Errorf("closed in the week of %q: got %q, want it refused with %q", closed, got, want)
		}
	}
}
