package workshop

import (
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/templates"
)

// monday is a Monday morning, when the test's shop opens.
var monday = time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC)

// weekdays is a shop that is open from nine to five on weekdays, with one person
// who can do everything and one place.
func weekdays() Facts {
	shop := &Shop{Zone: "UTC", Places: []string{"place 1"}}
	for i := range 5 {
		shop.Hours[i] = Hours{Open: "09:00", Close: "17:00"}
	}
	return Facts{Shop: shop, Staff: []Staff{{ID: 1, Name: "Runa", Active: true, Skill: 4}}, Now: monday}
}

func exact(n int) templates.Range { return templates.Range{Low: n, Typical: n, High: n} }

func exactDays(n string) templates.Days {
	d := decimal.RequireFromString(n)
	return templates.Days{Low: d, Typical: d, High: d}
}

// task is a step of exact length.
func task(id int, phase templates.Phase, minutes int, wait string) job.Task {
	return job.Task{ID: domain.TaskID(id), Template: "T" + strconv.Itoa(id), Name: "task", Phase: phase, Minutes: exact(minutes), WaitDays: exactDays(wait), Skill: 2}
}

// play returns the likely end of each job of exact figures.
func play(t *testing.T, f Facts) []time.Time {
	t.Helper()
	result, err := queue.Simulate(PlanOf(f), queue.Options{Replications: 20, Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	out := make([]time.Time, len(result.Jobs))
	for i, j := range result.Jobs {
		if !j.P20.Equal(j.P95) {
			t.Errorf("%s: ends from %v to %v, want one moment for exact figures", j.ID, j.P20, j.P95)
		}
		out[i] = j.P50
	}
	return out
}

// The ends are worked out by hand from the shop's hours.
func TestQueueCountsHandsWaitsAndTheQueueItself(t *testing.T) {
	frets := func(id domain.JobID) *job.Job {
		return &job.Job{ID: id, Approved: monday, Tasks: []job.Task{task(int(id), templates.PhaseTouchUp, 300, "0")}}
	}
	for _, c := range []struct {
		name string
		jobs []*job.Job
		want []time.Time
	}{
		{"five hours of hands", []*job.Job{frets(1)}, []time.Time{monday.Add(5 * time.Hour)}},
		{"the second waits for the bench and goes on next morning", []*job.Job{frets(1), frets(2)},
			[]time.Time{monday.Add(5 * time.Hour), monday.Add(24*time.Hour + 2*time.Hour)}},
		{"a wait runs through the night, work does not", []*job.Job{{ID: 3, Approved: monday, Tasks: []job.Task{
			task(1, templates.PhaseTouchUp, 60, "1"), task(2, templates.PhaseKit, 60, "0")}}},
			[]time.Time{monday.Add(24*time.Hour + 2*time.Hour)}},
		{"glue asks for a day at pitch", []*job.Job{{ID: 4, Approved: monday, Tasks: []job.Task{task(1, templates.PhaseBridge, 60, "0")}}},
			[]time.Time{monday.Add(25 * time.Hour)}},
	} {
		f := weekdays()
		f.Jobs = c.jobs
		if got := play(t, f); !slices.EqualFunc(got, c.want, time.Time.Equal) {
			t.Errorf("%s: ends %v, want %v", c.name, got, c.want)
		}
	}
}

func TestQueueHasOnePlaceForEachHold(t *testing.T) {
	held := func(id domain.JobID) *job.Job {
		t := task(1, templates.PhaseHold, 30, "4")
		t.Hold = true
		return &job.Job{ID: id, Approved: monday, Tasks: []job.Task{t}}
	}
	f := weekdays()
	f.Jobs = []*job.Job{held(1), held(2)}
	first := monday.Add(30*time.Minute + 4*24*time.Hour)
	got := play(t, f)
	if !got[0].Equal(first) || got[1].Before(first.Add(4*24*time.Hour)) {
		t.Errorf("with one place the holds end %v; want %v, and the second four days later", got, first)
	}
	f.Shop.Places = append(f.Shop.Places, "place 2")
	if got := play(t, f); got[1].After(first.Add(time.Hour)) {
		t.Errorf("with two places the second hold ends %v, want within the hour after %v", got[1], first)
	}
}

// The plan keeps the order that the bench is held to: a task is behind another
// exactly when [job.Job.Blocked] says that it comes after it.
func TestPlanKeepsTheOrderOfTheBench(t *testing.T) {
	hold, dry := task(2, templates.PhaseHold, 20, "5"), task(3, templates.PhaseCracks, 40, "1")
	hold.Hold, dry.Dry = true, true
	wet := task(4, templates.PhaseTouchUp, 30, "0") // needs no hold
	j := &job.Job{ID: 1, Approved: monday, Tasks: []job.Task{wet, dry, hold, task(1, templates.PhaseSurvey, 25, "0")}}
	f := weekdays()
	f.Jobs = []*job.Job{j}
	plan := PlanOf(f)
	after := map[string][]string{}
	for _, s := range plan.Jobs[0].Tasks {
		after[s.ID] = s.After
	}
	for i := range j.Tasks {
		a := &j.Tasks[i]
		for k := range j.Tasks {
			b := &j.Tasks[k]
			if a.ID == b.ID {
				continue
			}
			two := &job.Job{Approved: monday, Tasks: []job.Task{*a, *b}}
			blocked := two.Blocked(&two.Tasks[0]) != ""
			last := strconv.Itoa(int(b.ID))
			if !b.WaitDays.IsZero() {
				last += " wait"
			}
			if planned := slices.Contains(after[strconv.Itoa(int(a.ID))], last); planned != blocked {
				t.Errorf("task %d after task %d: the plan says %v, the bench says %v", a.ID, b.ID, planned, blocked)
			}
		}
	}
}

func TestPlanTakesUpWhatRuns(t *testing.T) {
	j := &job.Job{ID: 1, Approved: monday, Tasks: []job.Task{task(1, templates.PhaseTouchUp, 60, "2")}}
	j.Waits = []job.Wait{{Task: 1, Kind: "finish cure", Start: monday.Add(-24 * time.Hour), Until: monday.Add(5 * time.Hour)}}
	f := weekdays()
	f.Jobs = []*job.Job{j}
	if got := play(t, f); !got[0].Equal(monday.Add(5 * time.Hour)) {
		t.Errorf("a wait until 14:00 ends %v", got[0])
	}
	j.Waits = nil
	j.Clockings = []job.Clocking{{Task: 1, Staff: 1, Name: "Runa", Start: monday.Add(-40 * time.Minute)}}
	if got := play(t, f); !got[0].Equal(monday.Add(20*time.Minute + 48*time.Hour)) {
		t.Errorf("40 of 60 minutes are done and two days of cure follow: ends %v", got[0])
	}
}

func TestPlanSaysWhoIsMissing(t *testing.T) {
	f := weekdays()
	f.Staff[0].Skill = 1
	f.Jobs = []*job.Job{{ID: 1, Approved: monday, Tasks: []job.Task{task(1, templates.PhaseTouchUp, 60, "0")}}}
	if _, err := queue.Simulate(PlanOf(f), queue.Options{Seed: 1}); domain.KindOf(err) != domain.Invalid {
		t.Errorf("nobody has skill 2: got %v, want an invalid error", err)
	}
}

func TestComingIsWhatCameInEarlierYears(t *testing.T) {
	var routes []Route
	add := func(at time.Time, code string) {
		k := task(1, templates.PhaseTouchUp, 60, "0")
		k.Template = code
		routes = append(routes, Route{Agreed: at, Tasks: []job.Task{k}})
	}
	shop := weekdays().Shop
	from := monday.AddDate(-2, 0, 0)
	for d := from; d.Before(monday); d = d.AddDate(0, 0, 7) {
		add(d, "FE")
		if shop.Heated(d.Month()) { // three a week in winter, one in summer
			add(d.Add(time.Hour), "CG")
			add(d.Add(2*time.Hour), "CG")
		}
	}
	coming := Coming(routes, monday, shop)
	total := 0.0
	for _, a := range coming {
		total += a.PerWeek[0]
	}
	// ten of the days fall into the 60 days of November that the history has: 3.5
	if len(coming) != 2 || total < 2.5 || total > 3.6 {
		t.Errorf("%d kinds with %.2f a week in November; want 2 kinds, about 3 a week", len(coming), total)
	}
	if coming[0].Name != "CG" || coming[0].PerWeek[0] < 1.7 || coming[0].PerWeek[0] > 2.4 {
		t.Errorf("the first kind is %s with %.2f a week, want CG with about 2", coming[0].Name, coming[0].PerWeek[0])
	}
	if got := Coming(routes[:minRoutes-1], monday, shop); got != nil {
		t.Errorf("from %d routes came %d kinds, want none", minRoutes-1, len(got))
	}
}

func TestPromiseIsSaidOnAnOpenDay(t *testing.T) {
	shop := weekdays().Shop
	friday := monday.AddDate(0, 0, 4)
	saturday, sunday := friday.Add(26*time.Hour), friday.Add(50*time.Hour)
	r := queue.JobResult{Window: queue.Window{P50: friday, P80: saturday, P95: sunday}}
	for said, want := range map[Said]domain.Date{"": "2026-11-30", SaidEven: "2026-11-27", SaidLate: "2026-11-30", SaidSafe: "2026-11-30"} {
		shop.Said = said
		if got := promiseOf(r, shop).Say; got != want {
			t.Errorf("said %q: %s, want %s", said, got, want)
		}
	}
	p := Promise{Window: queue.Window{P50: monday.AddDate(0, 0, 18)}, Held: []queue.Held{{Cause: queue.InCabinet, Minutes: 11 * minutesADay}, {Cause: queue.Hands, Minutes: 7 * minutesADay}}}
	if got, want := p.HeldText(monday), "11 of 18 days are the cabinet."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
