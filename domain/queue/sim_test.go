package queue

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
)

var berlin = zone("Europe/Berlin")

// oneBench is a plan of one person who works as in calendar_cases.csv.
func oneBench(start time.Time, jobs ...Job) Plan {
	return Plan{Start: start, Zone: start.Location(), People: []Person{{Name: "Ada", Hours: shortWeek()}}, Jobs: jobs, Places: 1}
}

func ends(t testing.TB, p Plan) (out []string) {
	t.Helper()
	r, err := Simulate(p, Options{Replications: 20})
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range r.Jobs {
		if j.P20 != j.P95 {
			t.Errorf("job %s: %v to %v, want one exact end", j.ID, j.P20, j.P95)
		}
		out = append(out, j.P50.Format("01-02 15:04"))
	}
	return out
}

func exactly(id string, kind Kind, minutes float64, after ...string) Task {
	return Task{ID: id, Kind: kind, Takes: Exactly(minutes), After: after}
}

// Source: testdata/calendar_cases.csv, through the whole engine; exact.
func TestWorkKeepsTheCalendar(t *testing.T) {
	for _, row := range table(t, "calendar_cases.csv") {
		p := oneBench(clock(t, berlin, row["start"]), Job{ID: "1", Tasks: []Task{exactly("a", Bench, number64(t, row["working_minutes"]))}})
		p.Closed = []Period{Day("2026-12-03")}
		want := clock(t, berlin, row["finish"]).Format("01-02 15:04")
		if got := ends(t, p); got[0] != want {
			t.Errorf("%s: got %s, want %s", row["why"], got[0], want)
		}
	}
}

// Berlin puts its clocks on at 02:00 on 29 March 2026 and back at 03:00 on 25
// October: the ends follow by hand.
func TestClockChangesInPlays(t *testing.T) {
	tests := []struct {
		name, start, want string
		kind              Kind
		minutes           float64
	}{
		{"a night of six hours has five", "2026-03-29T00:00", "03-29 06:00", Bench, 300},
		{"a minute more than the night is done the night after", "2026-03-29T00:00", "03-30 00:01", Bench, 301},
		{"a night of six hours has seven", "2026-10-25T00:00", "10-25 06:00", Bench, 420},
		{"glue takes its 24 hours, not a day of the calendar", "2026-03-28T12:00", "03-29 13:00", Wait, 1440},
		{"also in autumn", "2026-10-24T12:00", "10-25 11:00", Wait, 1440},
	}
	for _, tt := range tests {
		p := oneBench(clock(t, berlin, tt.start), Job{ID: "1", Tasks: []Task{exactly("a", tt.kind, tt.minutes)}})
		p.People[0].Hours = allWeek(0, 360)
		if got := ends(t, p); got[0] != tt.want {
			t.Errorf("%s: got %s, want %s", tt.name, got[0], tt.want)
		}
	}
}

// The ends of these were worked out by hand with the hours of calendar_cases.csv, from
// Tuesday, 1 December 2026, 09:30.
func TestSmallPlansByHand(t *testing.T) {
	start := clock(t, berlin, "2026-12-01T09:30")
	due := func(day int) time.Time { return time.Date(2026, 12, day, 12, 0, 0, 0, berlin) }
	spent := func(k Task, minutes float64) Task { k.Spent = minutes; return k }
	begun := func(k Task, minutes float64) Task { k.Begun, k.Spent = true, minutes; return k }
	left := func(k Task, minutes float64) Task { a := Exactly(minutes); k.Begun, k.Left = true, &a; return k }
	by := func(k Task, name string) Task { k.By = name; return k }
	done := func(k Task) Task { k.Done = true; return k }
	clamped := func(k Task) Task { k.Clamp = "bar"; return k }
	tests := []struct {
		name string
		jobs []Job
		want []string
	}{
		{"a wait runs through the night", []Job{{ID: "1", Tasks: []Task{exactly("a", Bench, 30), exactly("w", Wait, 1440, "a"), exactly("b", Bench, 20, "w")}}}, []string{"12-02 10:20"}},
		{"the earlier date goes first", []Job{
			{ID: "1", Due: due(20), Tasks: []Task{exactly("a", Bench, 60)}},
			{ID: "2", Due: due(10), Tasks: []Task{exactly("a", Bench, 60)}},
		}, []string{"12-01 11:30", "12-01 10:30"}},
		{"waits still to come make a job more urgent", []Job{
			{ID: "1", Due: due(10), Tasks: []Task{exactly("a", Bench, 60)}},
			{ID: "2", Due: due(12), Tasks: []Task{exactly("a", Bench, 60), exactly("w", Wait, 5*1440, "a")}},
		}, []string{"12-01 11:30", "12-06 10:30"}},
		{"thirty minutes that start a wait go first", []Job{
			{ID: "1", Due: due(2), Tasks: []Task{exactly("a", Bench, 60)}},
			{ID: "2", Due: due(30), Tasks: []Task{exactly("a", Bench, 30), exactly("w", Wait, 60, "a")}},
		}, []string{"12-01 11:00", "12-01 11:00"}},
		{"thirty-one do not", []Job{
			{ID: "1", Due: due(2), Tasks: []Task{exactly("a", Bench, 60)}},
			{ID: "2", Due: due(30), Tasks: []Task{exactly("a", Bench, 31), exactly("w", Wait, 60, "a")}},
		}, []string{"12-01 10:30", "12-01 12:01"}},
		{"one place, two holds", []Job{
			{ID: "1", Due: due(20), Tasks: []Task{exactly("h", Hold, 600)}},
			{ID: "2", Due: due(10), Tasks: []Task{exactly("h", Hold, 1440)}},
		}, []string{"12-03 09:30", "12-02 09:30"}},
		{"a hold that runs keeps its place", []Job{
			{ID: "1", Tasks: []Task{exactly("h", Hold, 600)}},
			{ID: "2", Tasks: []Task{begun(exactly("h", Hold, 1440), 1000)}},
		}, []string{"12-03 09:30", "12-02 09:30"}},
		{"a hold that is over by night keeps its place until somebody takes it out", []Job{
			{ID: "1", Due: due(2), Tasks: []Task{exactly("h", Hold, 600)}},
			{ID: "2", Due: due(9), Tasks: []Task{exactly("h", Hold, 60)}},
		}, []string{"12-02 09:30", "12-02 10:30"}},
		{"a hold that another follows ends by night", []Job{
			{ID: "1", Tasks: []Task{exactly("h", Hold, 600), exactly("i", Hold, 840, "h")}},
		}, []string{"12-02 09:30"}},
		{"glue is dry by night", []Job{{ID: "1", Tasks: []Task{exactly("w", Wait, 600)}}}, []string{"12-01 19:30"}},
		{"what is known to be left counts", []Job{{ID: "1", Tasks: []Task{left(exactly("h", Hold, 99999), 90)}}}, []string{"12-01 11:00"}},
		{"holds that follow each other keep the place", []Job{
			{ID: "1", Due: due(10), Tasks: []Task{exactly("h", Hold, 60), exactly("i", Hold, 60, "h")}},
			{ID: "2", Due: due(2), From: start.Add(time.Minute), Tasks: []Task{exactly("h", Hold, 60)}},
		}, []string{"12-01 11:30", "12-01 13:00"}},
		{"who is at it stays at it", []Job{
			{ID: "1", Due: due(2), Tasks: []Task{exactly("a", Bench, 60)}},
			{ID: "2", Due: due(30), Tasks: []Task{by(spent(exactly("a", Bench, 60), 45), "Ada")}},
		}, []string{"12-01 10:45", "12-01 09:45"}},
		{"minutes spent are not worked again", []Job{{ID: "1", Tasks: []Task{spent(exactly("a", Bench, 60), 20)}}}, []string{"12-01 10:10"}},
		{"what is done is done", []Job{{ID: "1", Tasks: []Task{done(exactly("a", Bench, 600)), exactly("b", Bench, 10, "a")}}}, []string{"12-01 09:40"}},
		{"all done", []Job{{ID: "1", Tasks: []Task{done(exactly("a", Bench, 600))}}}, []string{"12-01 09:30"}},
		{"nothing begins before the job is here", []Job{{ID: "1", From: clock(t, berlin, "2026-12-02T11:00"), Tasks: []Task{exactly("a", Bench, 10)}}}, []string{"12-02 11:10"}},
		{"one clamp: the second waits until the first glue is dry", []Job{
			{ID: "1", Due: due(10), Tasks: []Task{clamped(exactly("a", Bench, 30)), clamped(exactly("w", Wait, 120, "a"))}},
			{ID: "2", Due: due(20), Tasks: []Task{clamped(exactly("a", Bench, 30)), clamped(exactly("w", Wait, 60, "a"))}},
			{ID: "3", Due: due(30), Tasks: []Task{exactly("a", Bench, 10)}},
		}, []string{"12-01 12:00", "12-01 13:30", "12-01 10:10"}},
		{"a wait takes a clamp by itself", []Job{
			{ID: "1", Due: due(10), Tasks: []Task{clamped(exactly("w", Wait, 60))}},
			{ID: "2", Due: due(20), Tasks: []Task{clamped(exactly("w", Wait, 60))}},
		}, []string{"12-01 10:30", "12-01 11:30"}},
		{"no minutes at all", []Job{{ID: "1", Tasks: []Task{exactly("a", Bench, 0), exactly("w", Wait, 0, "a"), exactly("h", Hold, 0, "w")}}}, []string{"12-01 09:30"}},
		{"a fork and a join", []Job{{ID: "1", Tasks: []Task{exactly("a", Wait, 60), exactly("b", Wait, 90), exactly("c", Bench, 30, "a", "b", "a")}}}, []string{"12-01 11:30"}},
	}
	for _, tt := range tests {
		p := oneBench(start, tt.jobs...)
		p.Clamps = []Clamp{{"bar", 1}}
		if diff := cmp.Diff(tt.want, ends(t, p)); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", tt.name, diff)
		}
	}
}

// Of several people the least skilled takes what anyone can do, and only those with
// the skill take the rest.
func TestSkills(t *testing.T) {
	start := clock(t, berlin, "2026-12-01T09:30")
	p := oneBench(start,
		Job{ID: "1", Due: start.AddDate(0, 0, 1), Tasks: []Task{exactly("a", Bench, 60)}},
		Job{ID: "2", Due: start.AddDate(0, 0, 9), Tasks: []Task{{ID: "f", Kind: Bench, Skill: "frets", Takes: Exactly(60)}}})
	p.People = []Person{{Name: "Ada", Skills: []string{"frets"}, Hours: shortWeek()}, {Name: "Ben", Hours: shortWeek(), Away: []Period{Day("2026-12-02")}}}
	if diff := cmp.Diff([]string{"12-01 10:30", "12-01 10:30"}, ends(t, p)); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	p.Start = clock(t, berlin, "2026-12-02T09:30") // Ben is away
	if diff := cmp.Diff([]string{"12-02 10:30", "12-02 11:30"}, ends(t, p)); diff != "" {
		t.Errorf("Ben is away: (-want +got)\n%s", diff)
	}
}

// What is overdue and starts a wait comes first of all, and still only by those who
// can do it.
func TestOverdueWorkKeepsItsSkill(t *testing.T) {
	start := clock(t, berlin, "2026-12-02T09:30")
	p := oneBench(start, Job{ID: "1", Due: start.AddDate(0, 0, -20), Tasks: []Task{{ID: "f", Kind: Bench, Skill: "frets", Takes: Exactly(20)}, exactly("w", Wait, 60, "f")}})
	p.People = []Person{{Name: "Ada", Skills: []string{"frets"}, Hours: shortWeek(), Away: []Period{Day("2026-12-02")}}, {Name: "Ben", Hours: shortWeek()}}
	if diff := cmp.Diff([]string{"12-03 10:50"}, ends(t, p)); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func TestCausesAndNextPlace(t *testing.T) {
	start := clock(t, berlin, "2026-12-01T09:30")
	p := oneBench(start,
		Job{ID: "1", Due: start.AddDate(0, 0, 1), Tasks: []Task{exactly("h", Hold, 600)}},
		Job{ID: "2", Due: start.AddDate(0, 0, 2), Tasks: []Task{exactly("h", Hold, 300), exactly("b", Bench, 60, "h"), exactly("w", Wait, 30, "b")}})
	r := must(Simulate(p, Options{Replications: 5}))
	want := []Held{{Cause: ForCabinet, Minutes: 1440}, {Cause: InCabinet, Minutes: 300}, {Cause: Hands, Minutes: 60}, {Cause: Waiting, Minutes: 30}}
	if diff := cmp.Diff(want, r.Jobs[1].Held); diff != "" {
		t.Errorf("(-want +got)\n%s", diff) // the first hold is over at 19:30 and taken out at 09:30
	}
	if b, ok := r.Jobs[1].Binding(); !ok || b.Cause != ForCabinet {
		t.Errorf("got %+v, want the cabinet to hold it back", b)
	}
	if b, ok := r.Jobs[0].Binding(); ok {
		t.Errorf("the first waits for nothing, got %+v", b)
	}
	if got, want := r.NextPlace.P50, start.Add((1440+300)*time.Minute); !got.Equal(want) {
		t.Errorf("a place is free at %v, want %v", got, want)
	}
	if r.Jobs[0].Late != 0 || r.Jobs[1].Late != 0 || r.Jobs[1].Chance(start) != 0 || r.Jobs[1].Chance(r.Jobs[1].P50) != 1 {
		t.Errorf("got %+v, want nothing late", r.Jobs)
	}
	p.Jobs[1].Due = start
	if late := must(Simulate(p, Options{Replications: 5})).Jobs[1].Late; late != 1 {
		t.Errorf("late in %v of the plays, want in all", late)
	}
	p.Places = 2
	if got := must(Simulate(p, Options{Replications: 5})).NextPlace.P95; !got.Equal(start.Add(300 * time.Minute)) {
		t.Errorf("two places: one is free at %v, want after the shorter hold", got)
	}
}

// The places of three running holds stay taken though there are only two. What is over
// at closing time or later is taken out at the next opening.
func TestOverfullCabinet(t *testing.T) {
	start := clock(t, berlin, "2026-12-01T09:30")
	p := oneBench(start)
	for i := range 4 {
		k := exactly("h", Hold, float64(60*(i+1)))
		k.Begun = i < 3
		p.Jobs = append(p.Jobs, Job{ID: fmt.Sprint(i), Tasks: []Task{k}})
	}
	p.Places = 2
	if diff := cmp.Diff([]string{"12-01 10:30", "12-01 11:30", "12-01 13:00", "12-02 09:30"}, ends(t, p)); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

// The mean and the variance of a negative binomial count: m and m + m²/size; of a
// Poisson count both are m. Bounds: five standard errors.
func TestArrivalsOfAWeek(t *testing.T) {
	for _, size := range []float64{0, 4} {
		p := dayAndNight(machines(1)...)
		p.Jobs = []Job{{ID: "1", Tasks: []Task{exactly("a", Bench, 1)}}}
		p.Coming = []Arrival{{Name: "a", PerWeek: []float64{6, 0, 3}, Size: size, Tasks: []Task{exactly("a", Wait, 1)}}}
		p.Horizon = 28
		s := newPlay(must(compile(p, 400)))
		const plays = 20_000
		var sum, squares [4]float64
		for i := range plays {
			var n [4]float64
			s.record = func(i, _ int32, _, begin, _ int64) {
				if int(s.m.tasks[i].job) >= s.m.real {
					n[begin/weekMinutes]++
				}
			}
			s.reset(8, i)
			s.start()
			s.settle(0)
			for t := s.soonest(); t < never; t = s.soonest() {
				s.step(t)
			}
			for w := range n {
				sum[w] += n[w]
				squares[w] += n[w] * n[w]
			}
		}
		for w, m := range []float64{6, 0, 3, 3} {
			mean := sum[w] / plays
			variance := squares[w]/plays - mean*mean
			want := m
			if size > 0 {
				want += m * m / size
			}
			if math.Abs(mean-m) > 5*math.Sqrt(want/plays) {
				t.Errorf("size %v, week %d: mean %.3f, want %v", size, w, mean, m)
			}
			if math.Abs(variance-want) > 0.08*want {
				t.Errorf("size %v, week %d: variance %.3f, want %v", size, w, variance, want)
			}
		}
	}
}

// Jobs that come with nearer dates overtake: windows without them are too early.
func TestComingJobsMakeItLater(t *testing.T) {
	with := busyShop(60)
	without := with
	without.Coming = nil
	with.Allowance = 2 * dayMinutes // what comes is wanted soon
	a50, a80 := totals(t, with)
	b50, b80 := totals(t, without)
	if a50 < b50+0.5 || a80 < b80+0.5 {
		t.Errorf("P50 and P80 %.2f and %.2f days with jobs to come, %.2f and %.2f without; want at least half a day later", a50, a80, b50, b80)
	}
}

// A common factor widens windows.
func TestCommonFactorWidens(t *testing.T) {
	p := oneBench(clock(t, berlin, "2026-12-01T09:30"))
	job := Job{ID: "1"}
	for i := range 8 {
		job.Tasks = append(job.Tasks, Task{ID: fmt.Sprint(i), Kind: Bench, Takes: Lognormal(100, 0.3)})
	}
	p.Jobs = []Job{job}
	narrow := must(Simulate(p, Options{Seed: 1})).Jobs[0]
	p.Common = 0.4
	wide := must(Simulate(p, Options{Seed: 1})).Jobs[0]
	if n, w := narrow.P95.Sub(narrow.P20), wide.P95.Sub(wide.P20); w < n*3/2 {
		t.Errorf("P20 to P95 is %v with the factor, %v without; want much more", w, n)
	}
}

// A list that ends within two years in most plays but not in all is laid out for ten;
// one that ends in none is refused, and nothing hangs.
func TestLongLists(t *testing.T) {
	start := clock(t, berlin, "2026-12-01T09:30")
	p := oneBench(start)
	for i := range 400 {
		p.Jobs = append(p.Jobs, Job{ID: fmt.Sprint(i), Tasks: []Task{exactly("a", Bench, 1200)}})
	}
	r, err := Simulate(p, Options{Replications: 3})
	if err != nil {
		t.Fatal(err)
	}
	weeks := 0.0 // 480,000 minutes at 1,320 a week are 363.6 weeks
	for _, j := range r.Jobs {
		weeks = max(weeks, j.P50.Sub(start).Hours()/24/7)
	}
	if math.Abs(weeks-363.6) > 1 {
		t.Errorf("the last ends after %.1f weeks, want 363.6", weeks)
	}
	for i := range p.Jobs {
		p.Jobs[i].Tasks[0].Takes = Exactly(3000)
	}
	_, err = Simulate(p, Options{Replications: 3})
	if domain.KindOf(err) != domain.Conflict || !strings.Contains(err.Error(), "not done within ten years") || !strings.Contains(err.Error(), `job "`) {
		t.Errorf("got %v, want a conflict that names a job", err)
	}
}

func TestPlanRefusals(t *testing.T) {
	fine := func() Plan {
		return Plan{
			Start: clock(t, berlin, "2026-12-01T09:30"), Zone: berlin, Places: 1, Clamps: []Clamp{{"bar", 1}},
			People: []Person{{Name: "Ada", Skills: []string{"wood"}, Hours: shortWeek()}},
			Jobs:   []Job{{ID: "318", Tasks: []Task{exactly("a", Bench, 60), exactly("b", Hold, 60, "a")}}},
			Coming: []Arrival{{Name: "x", PerWeek: []float64{1}, Tasks: []Task{exactly("a", Bench, 60)}}},
		}
	}
	first := func(p *Plan) *Task { return &p.Jobs[0].Tasks[0] }
	tests := []struct {
		name  string
		wrong func(*Plan)
		field string
		want  string
	}{
		{"a ring", func(p *Plan) { first(p).After = []string{"b"} }, "jobs[0].tasks", `job "318": the tasks wait for each other in a ring, a after b after a`},
		{"after itself", func(p *Plan) { first(p).After = []string{"a"} }, "jobs[0].tasks[0].after", "comes after itself"},
		{"after nothing known", func(p *Plan) { first(p).After = []string{"z"} }, "jobs[0].tasks[0].after", `comes after "z", which the job does not have`},
		{"after too many", func(p *Plan) { first(p).After = make([]string, 60) }, "jobs[0].tasks[0].after", ""},
		{"a skill nobody has", func(p *Plan) { first(p).Skill = "gold" }, "jobs[0].tasks[0].skill", `job "318", task "a": nobody has the skill "gold"; give it to a person or change the task`},
		{"nobody at all", func(p *Plan) { p.People = nil }, "people", `job "318", task "a": needs a person`},
		{"zero hours", func(p *Plan) { p.People[0].Hours = Week{} }, "people[0].hours", "Ada has no hours"},
		{"hours that overlap", func(p *Plan) { p.People[0].Hours[1] = []Span{{1, 5}, {4, 8}} }, "people[0].hours", "overlap"},
		{"closed for ever", func(p *Plan) { p.Closed = []Period{{"2026-01-01", "2199-01-01"}} }, "people", "Ada has not one open minute"},
		{"closed on no day", func(p *Plan) { p.Closed = []Period{Day("never")} }, "closed[0]", "is no date"},
		{"away on no day", func(p *Plan) { p.People[0].Away = []Period{Day("x")} }, "people[0].away[0]", "is no date"},
		{"no tasks", func(p *Plan) { p.Jobs[0].Tasks = nil }, "jobs[0].tasks", `job "318" has 0 tasks; it must have 1 to 50`},
		{"no jobs", func(p *Plan) { p.Jobs = nil }, "jobs", "must be from 1 to 5000"},
		{"too many people", func(p *Plan) { p.People = make([]Person, 65) }, "people", "too many"},
		{"too many clamps", func(p *Plan) { p.Clamps = make([]Clamp, 61) }, "clamps", "too many"},
		{"no place for a hold", func(p *Plan) { p.Places = 0 }, "cabinet_places", `job "318", task "b": needs a place in the cabinet, and there is none`},
		{"places below 0", func(p *Plan) { p.Places = -1 }, "cabinet_places", "must be from 0 to 10000"},
		{"a job twice", func(p *Plan) { p.Jobs = append(p.Jobs, p.Jobs[0]) }, "jobs[1].id", `"318" is there twice`},
		{"a task twice", func(p *Plan) { p.Jobs[0].Tasks[1].ID = "a" }, "jobs[0].tasks[1].id", `"a" is there twice`},
		{"a person twice", func(p *Plan) { p.People = append(p.People, p.People[0]) }, "people[1].name", `"Ada" is there twice`},
		{"no name", func(p *Plan) { p.Jobs[0].ID = "" }, "jobs[0].id", "is needed"},
		{"a long name", func(p *Plan) { p.Jobs[0].ID = strings.Repeat("x", 201) }, "jobs[0].id", "too long"},
		{"no kind", func(p *Plan) { first(p).Kind = "saw" }, "jobs[0].tasks[0].kind", "must be one of: bench, wait, hold"},
		{"a wait with a skill", func(p *Plan) { p.Jobs[0].Tasks[1].Skill = "wood" }, "jobs[0].tasks[1].skill", "nobody works on a hold"},
		{"a hold with a clamp", func(p *Plan) { p.Jobs[0].Tasks[1].Clamp = "bar" }, "jobs[0].tasks[1].clamp", "no clamp"},
		{"no such clamp", func(p *Plan) { first(p).Clamp = "y" }, "jobs[0].tasks[0].clamp", `there is no clamp "y"`},
		{"a clamp of none", func(p *Plan) { p.Clamps[0].Count = 0 }, "clamps[0].count", "must be from 1"},
		{"nobody of that name", func(p *Plan) { first(p).By = "Zoe" }, "jobs[0].tasks[0].by", `nobody named "Zoe"`},
		{"two at once", func(p *Plan) {
			first(p).By = "Ada"
			p.Jobs = append(p.Jobs, Job{ID: "2", Tasks: []Task{{ID: "a", Kind: Bench, By: "Ada"}}})
		}, "jobs[1].tasks[0].by", "Ada is at another task too"},
		{"bench work that runs alone", func(p *Plan) { first(p).Begun = true }, "jobs[0].tasks[0].begun", "names who is at it"},
		{"negative minutes", func(p *Plan) { first(p).Takes.Median = -1 }, "jobs[0].tasks[0].minutes", "must be from 0 to ten years"},
		{"no number", func(p *Plan) { first(p).Takes.Median = math.NaN() }, "jobs[0].tasks[0].minutes", "must be from 0 to ten years"},
		{"a wide spread", func(p *Plan) { first(p).Takes.Spread = 4 }, "jobs[0].tasks[0].minutes", "spread of 4"},
		{"points that fall", func(p *Plan) { first(p).Takes = Range(5, 4, 3) }, "jobs[0].tasks[0].minutes", "do not rise"},
		{"points outside", func(p *Plan) { first(p).Takes.Points = []Point{{1, 5}} }, "jobs[0].tasks[0].minutes", "chances between 0 and 1"},
		{"six points", func(p *Plan) { first(p).Takes.Points = make([]Point, 6) }, "jobs[0].tasks[0].minutes", "at most 5"},
		{"left below 0", func(p *Plan) { a := Exactly(-5); first(p).Left = &a }, "jobs[0].tasks[0].left", "must be from 0"},
		{"spent below 0", func(p *Plan) { first(p).Spent = -5 }, "jobs[0].tasks[0].spent", "must be from 0"},
		{"wanted in a hundred years", func(p *Plan) { p.Jobs[0].Due = p.Start.AddDate(100, 0, 0) }, "jobs[0].due", "within twenty years"},
		{"comes in ten years", func(p *Plan) { p.Jobs[0].From = p.Start.AddDate(10, 0, 0) }, "jobs[0].from", "within two years"},
		{"no start", func(p *Plan) { p.Start = time.Time{} }, "start", "2000 to 2199"},
		{"no zone", func(p *Plan) { p.Zone = nil }, "timezone", "is needed"},
		{"shop hours", func(p *Plan) { p.Hours[0] = []Span{{5, 4}} }, "hours", "no stretch of a day"},
		{"no weeks", func(p *Plan) { p.Coming[0].PerWeek = nil }, "arrivals[0].per_week", "1 to 60 weeks"},
		{"a rate below 0", func(p *Plan) { p.Coming[0].PerWeek = []float64{-1} }, "arrivals[0].per_week", "must be from 0 to 1000"},
		{"a size of nothing", func(p *Plan) { p.Coming[0].Size = -1 }, "arrivals[0].size", "must be from"},
		{"what comes has begun", func(p *Plan) { p.Coming[0].Tasks[0].Spent = 5 }, "arrivals[0].tasks[0]", "has begun"},
		{"too many kinds come", func(p *Plan) { p.Coming = make([]Arrival, 51) }, "arrivals", "too many kinds"},
		{"an arrival twice", func(p *Plan) { p.Coming = append(p.Coming, p.Coming[0]) }, "arrivals[1].name", "is there twice"},
		{"a common factor below 0", func(p *Plan) { p.Common = -1 }, "common", "must be from 0"},
		{"too many skills", func(p *Plan) {
			for i := range 65 {
				s := fmt.Sprint("s", i)
				p.People[0].Skills = append(p.People[0].Skills, s)
				p.Jobs = append(p.Jobs, Job{ID: s, Tasks: []Task{{ID: "a", Kind: Bench, Skill: s}}})
			}
		}, "jobs", "different skills"},
		{"too much that comes", func(p *Plan) {
			p.Coming[0].PerWeek = []float64{1000}
			for i := range 49 {
				p.Coming[0].Tasks = append(p.Coming[0].Tasks, exactly(fmt.Sprint(i), Bench, 1))
			}
			for i := range 2 {
				p.Coming = append(p.Coming, Arrival{Name: fmt.Sprint(i), PerWeek: []float64{1000}, Tasks: p.Coming[0].Tasks})
			}
		}, "arrivals", "bring too many tasks"},
		{"too much work", func(p *Plan) {
			for i := range 49 {
				p.Coming[0].Tasks = append(p.Coming[0].Tasks, exactly(fmt.Sprint(i), Bench, 1))
			}
			p.Coming[0].PerWeek = []float64{100}
		}, "replications", "are too many for 1000 plays; at most"},
	}
	if err := fine().Check(); err != nil {
		t.Fatal(err)
	}
	for _, tt := range tests {
		p := fine()
		tt.wrong(&p)
		_, err := Simulate(p, Options{})
		if got := domain.FieldsOf(err)[tt.field]; domain.KindOf(err) != domain.Invalid || got == "" || !strings.Contains(got, tt.want) {
			t.Errorf("%s: got %v, want an invalid error with %q: %q", tt.name, err, tt.field, tt.want)
		}
	}
	for _, n := range []int{-1, MaxReplications + 1} {
		if _, err := Simulate(fine(), Options{Replications: n}); domain.FieldsOf(err)["replications"] == "" {
			t.Errorf("%d replications: got %v", n, err)
		}
	}
}

// The heart of the plays makes nothing: replications more cost no allocation.
func TestPlaysAllocateNothing(t *testing.T) {
	s := newPlay(must(compile(busyShop(60), 800)))
	for i := range 50 {
		s.replicate(1, i) // the heap grows to its size
	}
	number := 0
	if n := testing.AllocsPerRun(100, func() { s.replicate(1, number%50); number++ }); n > 0 {
		t.Errorf("%v allocations a replication, want none", n)
	}
}

// window is the order statistic floor(pn)+1 of testdata/tolerance.json.
func TestWindowQuantiles(t *testing.T) {
	for _, n := range []int{1, 2, 5, 20, 333, 1000} {
		values := make([]int32, n)
		for i := range values {
			values[i] = int32((i*7919 + 13) % n) // all numbers below n, mixed, when n has no factor 7919
		}
		got := window(values)
		for k, p := range quantiles {
			if want := int32(min(int(p*float64(n)), n-1)); got[k] != want {
				t.Errorf("%d values: quantile %v is %d, want %d", n, p, got[k], want)
			}
		}
	}
}
