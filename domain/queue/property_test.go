package queue

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"winterbench/domain"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// step is what a play did with one task.
type step struct {
	task, person      int32
	since, begin, end int64
}

// trace plays one replication and returns all steps by task, and the model.
func trace(t interface{ Fatalf(string, ...any) }, p Plan, seed uint64, number int) (*model, *play, map[int32]step) {
	m, err := compile(p, 2*366)
	if err != nil {
		t.Fatalf("compile: %v", err)
	}
	s := newPlay(m)
	steps := map[int32]step{}
	s.record = func(i, person int32, since, begin, end int64) {
		if _, twice := steps[i]; twice {
			t.Fatalf("task %d begins twice", i)
		}
		steps[i] = step{i, person, since, begin, end}
	}
	s.replicate(seed, number)
	return m, s, steps
}

// anyPlan draws a small plan that can be played.
func anyPlan(rt *rapid.T) Plan {
	z := zone(rapid.SampledFrom([]string{"Europe/Berlin", "America/Halifax", "UTC"}).Draw(rt, "zone"))
	skills := []string{"", "wood", "frets"}
	p := Plan{
		Zone: z, Start: time.Date(2026, time.Month(rapid.IntRange(1, 12).Draw(rt, "month")), rapid.IntRange(1, 28).Draw(rt, "day"), 9, 0, 0, 0, z),
		Places: rapid.IntRange(1, 3).Draw(rt, "places"), Clamps: []Clamp{{"bar", rapid.IntRange(1, 2).Draw(rt, "bars")}},
		Common: rapid.SampledFrom([]float64{0, 0, 0.3}).Draw(rt, "common"), Horizon: 21,
	}
	p.Closed = []Period{Day(domain.DateOf(p.Start.AddDate(0, 0, 2)))}
	for i := range rapid.IntRange(1, 3).Draw(rt, "people") {
		who := Person{Name: fmt.Sprint("p", i), Hours: anyWeek(rt)}
		who.Hours[3] = []Span{{9 * 60, 12 * 60}, {13 * 60, 17 * 60}}
		if who.Skills = skills[1:]; i > 0 {
			who.Skills = skills[1:rapid.IntRange(1, 3).Draw(rt, "skills")]
		}
		p.People = append(p.People, who)
	}
	for i := range rapid.IntRange(1, 8).Draw(rt, "jobs") {
		j := Job{ID: fmt.Sprint("j", i), Tasks: anyTasks(rt)}
		if rapid.Bool().Draw(rt, "dated") {
			j.Due = p.Start.AddDate(0, 0, rapid.IntRange(-20, 60).Draw(rt, "due"))
		}
		if rapid.Bool().Draw(rt, "later") {
			j.From = p.Start.Add(time.Duration(rapid.IntRange(0, 20_000).Draw(rt, "from")) * time.Minute)
		}
		p.Jobs = append(p.Jobs, j)
	}
	if rapid.Bool().Draw(rt, "glue dries now") {
		k := Task{ID: "w", Kind: Wait, Takes: Exactly(3000), Clamp: "bar", Begun: true, Spent: 100}
		p.Jobs = append(p.Jobs, Job{ID: "drying", Tasks: []Task{k}})
	}
	if rapid.Bool().Draw(rt, "more come") {
		p.Coming = []Arrival{{Name: "a", PerWeek: []float64{2, 1}, Size: 5, Tasks: anyTasks(rt)}}
	}
	return p
}

func anyTasks(rt *rapid.T) (out []Task) {
	n := rapid.IntRange(1, 6).Draw(rt, "tasks")
	for i := range n {
		k := Task{ID: fmt.Sprint("t", i), Kind: rapid.SampledFrom(Kinds()).Draw(rt, "kind")}
		spread := rapid.SampledFrom([]float64{0, 0.2, 0.5}).Draw(rt, "spread")
		if k.Kind == Bench {
			k.Skill = rapid.SampledFrom([]string{"", "wood", "frets"}).Draw(rt, "skill")
			k.Takes = Lognormal(float64(rapid.IntRange(0, 300).Draw(rt, "minutes")), spread)
		} else {
			k.Takes = Lognormal(float64(rapid.IntRange(0, 6000).Draw(rt, "elapsed")), spread)
		}
		if k.Kind != Hold && rapid.IntRange(0, 3).Draw(rt, "clamped") == 0 {
			k.Clamp = "bar"
		}
		for before := range i {
			if rapid.IntRange(0, 2).Draw(rt, "after") == 0 {
				k.After = append(k.After, fmt.Sprint("t", before))
			}
		}
		out = append(out, k)
	}
	return out
}

// No person does two tasks at once or works out of hours, no place and no clamp holds
// two, no task begins before those it waits for end, and all are done.
func TestRulesOfTheShop(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anyPlan(rt)
		if err := p.Check(); err != nil {
			rt.Fatalf("the plan is refused: %v", err)
		}
		m, s, steps := trace(rt, p, rapid.Uint64().Draw(rt, "seed"), 0)
		if s.short || s.open != 0 {
			rt.Fatalf("not all is done: %d jobs open", s.open)
		}
		nobodyTwice(rt, m, steps)
		nothingTwice(rt, m, steps)
		clampsThroughDrying(rt, p, steps)
		placesByHand(rt, m, steps)
		for i := range m.tasks[:m.jobs[m.real-1].to] {
			one, begun := steps[int32(i)]
			if !begun {
				rt.Fatalf("task %d never begins", i)
			}
			if one.begin < one.since || one.end < one.begin || one.since < m.jobs[m.tasks[i].job].release {
				rt.Fatalf("task %d goes backwards: %+v", i, one)
			}
			for _, n := range m.then(&m.tasks[i]) {
				if steps[n].since < one.end || steps[n].begin < one.end {
					rt.Fatalf("task %d begins at %d before task %d ends at %d", n, steps[n].begin, i, one.end)
				}
			}
		}
	})
}

func nobodyTwice(rt *rapid.T, m *model, steps map[int32]step) {
	byPerson := map[int32][]step{}
	for _, one := range steps {
		if one.person >= 0 {
			byPerson[one.person] = append(byPerson[one.person], one)
		}
	}
	for person, list := range byPerson {
		c := m.people[person].calendar
		slices.SortFunc(list, func(a, b step) int { return int(a.begin-b.begin)*10 + int(min(max(a.end-b.end, -1), 1)) })
		for i, one := range list {
			if i > 0 && one.begin < list[i-1].end {
				rt.Fatalf("person %d does two tasks at once: %+v and %+v", person, list[i-1], one)
			}
			k := m.tasks[one.task]
			if m.people[person].skills&(1<<k.class) == 0 {
				rt.Fatalf("person %d has not the skill for %+v", person, one)
			}
			if at := c.span(one.begin); at == len(c.start) || c.start[at] > one.begin {
				rt.Fatalf("person %d begins out of hours: %+v", person, one)
			}
			if one.end > one.begin && c.worked(one.end) == c.worked(one.end-1) {
				rt.Fatalf("person %d ends out of hours: %+v", person, one)
			}
		}
	}
}

// placesByHand checks that a place is given back while somebody works: a hold that is
// over by night goes on until the next opening.
func placesByHand(rt *rapid.T, m *model, steps map[int32]step) {
	for i, one := range steps {
		if k := m.tasks[i]; !k.is(inPlace) || !k.is(gives) {
			continue
		}
		open := slices.ContainsFunc(m.people, func(who personRow) bool {
			at := who.calendar.span(one.end)
			return at < len(who.calendar.start) && who.calendar.start[at] <= one.end
		})
		if !open {
			rt.Fatalf("hold %d gives its place back at minute %d, when nobody works", i, one.end)
		}
	}
}

// clampsThroughDrying counts by the names of the plan what stands in clamps: work and
// the wait right after it that names the same clamp, and the time between them.
func clampsThroughDrying(rt *rapid.T, p Plan, steps map[int32]step) {
	type change struct{ at, by int64 }
	var all []change
	first := int32(0)
	for _, j := range p.Jobs {
		index := map[string]int32{}
		for i, t := range j.Tasks {
			index[t.ID] = first + int32(i)
		}
		for i, t := range j.Tasks {
			if t.Clamp == "" {
				continue
			}
			one := steps[first+int32(i)]
			all = append(all, change{one.begin, 1}, change{one.end, -1})
			if len(t.After) == 1 { // in the clamp from the end of the one before
				before := j.Tasks[index[t.After[0]]-first]
				heirs := slices.ContainsFunc(j.Tasks, func(o Task) bool {
					return o.ID != t.ID && o.Clamp == t.Clamp && len(o.After) == 1 && o.After[0] == before.ID
				})
				if before.Clamp == t.Clamp && !heirs {
					all = append(all, change{steps[index[before.ID]].end, 1}, change{one.begin, -1})
				}
			}
		}
		first += int32(len(j.Tasks))
	}
	slices.SortFunc(all, func(a, b change) int { return int(a.at-b.at)*10 + int(a.by-b.by) })
	have := int64(0)
	for _, c := range all {
		if have += c.by; have > int64(p.Clamps[0].Count) {
			rt.Fatalf("%d clamps hold %d instruments at minute %d", p.Clamps[0].Count, have, c.at)
		}
	}
}

// nothingTwice counts for each resource how many tasks have it at once.
func nothingTwice(rt *rapid.T, m *model, steps map[int32]step) {
	for r := range m.places {
		type change struct{ at, by int64 }
		var all []change
		for i, one := range steps {
			if int(m.tasks[i].resource) == r {
				all = append(all, change{one.begin, 1}, change{one.end, -1})
			}
		}
		slices.SortFunc(all, func(a, b change) int { return int(a.at-b.at)*10 + int(a.by-b.by) })
		have, there := int64(0), int64(m.places[r])
		for _, u := range m.running {
			if int(m.tasks[u.task].resource) == r {
				there++ // taken before the start
			}
		}
		for _, c := range all {
			if have += c.by; have > there {
				rt.Fatalf("resource %d of %d is held %d times at minute %d", r, there, have, c.at)
			}
		}
	}
}

// Every minute of a job has one cause, any number of workers gives the same bytes,
// and windows do not go back.
func TestAnswersAreWholeAndTheSame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anyPlan(rt)
		o := Options{Replications: 40, Seed: rapid.Uint64().Draw(rt, "seed"), Workers: 1}
		one, err := Simulate(p, o)
		if err != nil {
			rt.Fatalf("refused: %v", err)
		}
		o.Workers = 2
		if two := must(Simulate(p, o)); !cmp.Equal(one, two, cmp.AllowUnexported(JobResult{})) {
			rt.Fatalf("two workers differ from one: %s", cmp.Diff(one, two, cmp.AllowUnexported(JobResult{})))
		}
		for i, j := range one.Jobs {
			if j.P50.Before(j.P20) || j.P80.Before(j.P50) || j.P95.Before(j.P80) || j.P20.Before(p.Start) {
				rt.Fatalf("job %s: the window goes back: %+v", j.ID, j.Window)
			}
			from := p.Start
			if p.Jobs[i].From.After(from) {
				from = p.Jobs[i].From
			}
			sum := 0.0
			for _, h := range j.Held {
				sum += h.Minutes
			}
			if want := j.Mean.Sub(from).Minutes(); math.Abs(sum-want) > 1 {
				rt.Fatalf("job %s: causes add up to %v minutes, want %v: %+v", j.ID, sum, want, j.Held)
			}
			if c := j.Chance(j.P80); c < 0.8 {
				rt.Fatalf("job %s: chance %v to be done by its P80", j.ID, c)
			}
		}
	})
}

// Adding a job changes no draw of another job's tasks.
func TestDrawsHangOnNames(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := anyPlan(rt)
		q := p
		q.Jobs = append([]Job{{ID: "new", Tasks: anyTasks(rt)}}, p.Jobs...)
		a, b := newPlay(must(compile(p, 400))), newPlay(must(compile(q, 400)))
		for _, s := range []*play{a, b} {
			s.reset(3, 4)
			for j := range int32(len(s.m.jobs)) {
				s.fresh(j)
			}
		}
		shift := len(q.Jobs[0].Tasks)
		for i := range a.tasks {
			if x, y := a.tasks[i].takes, b.tasks[i+shift].takes; x != y {
				rt.Fatalf("task %d takes %d minutes alone and %d beside another job", i, x, y)
			}
		}
	})
}

// totals is the mean of the jobs' P50 and P80 in days.
func totals(t *testing.T, p Plan) (p50, p80 float64) {
	t.Helper()
	r, err := Simulate(p, Options{Replications: 400, Seed: 11})
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range r.Jobs {
		p50 += j.P50.Sub(p.Start).Hours() / 24 / float64(len(r.Jobs))
		p80 += j.P80.Sub(p.Start).Hours() / 24 / float64(len(r.Jobs))
	}
	return p50, p80
}

// More hands, places or clamps never make the whole later by more than noise: 2 % of
// the mean window, a bound of our own; a single replication may go either way (Graham).
func TestMoreCapacityIsNotLater(t *testing.T) {
	base := busyShop(60)
	base.Places = 3
	changes := map[string]func(*Plan){
		"two more places": func(p *Plan) { p.Places += 2 },
		"a clamp more":    func(p *Plan) { p.Clamps = []Clamp{{"bridge", 3}} },
		"a person more": func(p *Plan) {
			p.People = append(slices.Clone(p.People), Person{Name: "Dag", Skills: []string{"setup", "wood"}, Hours: p.People[1].Hours})
		},
		"a day more": func(p *Plan) {
			p.People = slices.Clone(p.People)
			p.People[1].Hours[1] = p.People[1].Hours[2]
		},
		"no closed days": func(p *Plan) { p.Closed = nil },
	}
	p50, p80 := totals(t, base)
	for name, change := range changes {
		p := base
		change(&p)
		more50, more80 := totals(t, p)
		if more50 > 1.02*p50 || more80 > 1.02*p80 {
			t.Errorf("%s: P50 %.2f and P80 %.2f days on average, before %.2f and %.2f", name, more50, more80, p50, p80)
		}
	}
	less := base
	less.People = base.People[:2]
	if l50, l80 := totals(t, less); l50 < p50 || l80 < p80 {
		t.Errorf("one person less: P50 %.2f and P80 %.2f days, before %.2f and %.2f; want later", l50, l80, p50, p80)
	}
}
