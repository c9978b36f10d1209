package queue

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

var moment0 = time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)

const unit = 60 // minutes in a unit of time of the instances

// dayAndNight is a plan that never closes.
func dayAndNight(people ...Person) Plan {
	return Plan{Start: moment0, Zone: time.UTC, Hours: allWeek(0, 1440), People: people}
}

func machines(n int) (out []Person) {
	for i := range n {
		out = append(out, Person{Name: fmt.Sprint("machine ", i)})
	}
	return out
}

// ranked plays a plan once with tasks taken in a given order: rank says the place of
// each task, by job and task. It returns the ends of the jobs in units.
func ranked(t testing.TB, p Plan, rank func(job, task int) int) []int {
	t.Helper()
	if err := p.Check(); err != nil {
		t.Fatal(err)
	}
	m, err := compile(p, 300)
	if err != nil {
		t.Fatal(err)
	}
	for j := range m.jobs {
		for i := m.jobs[j].from; i < m.jobs[j].to; i++ {
			m.tasks[i].slack = int32(rank(j, int(i-m.jobs[j].from)))
			m.tasks[i].flags &^= starter
		}
	}
	var ends []int
	for _, v := range m.run(Options{Replications: 1, Workers: 1}).finish {
		ends = append(ends, int(v)/unit)
	}
	return ends
}

// orders returns all orders of n jobs, as the place of each.
func orders(n int) (out [][]int) {
	var place func(done []int)
	place = func(done []int) {
		if len(done) == n {
			out = append(out, slices.Clone(done))
			return
		}
		for i := range n {
			if !slices.Contains(done, i) {
				place(append(done, i))
			}
		}
	}
	place(nil)
	return out
}

// placesOf turns a printed sequence, counted from 1, into the place of each job.
func placesOf(sequence []int) []int {
	out := make([]int, len(sequence))
	for place, job := range sequence {
		out[job-1] = place
	}
	return out
}

type instances struct {
	List []struct {
		Name     string
		Machines int
		P        []int
		Prec     [][2]int
		List     []int
		Makespan int
	} `json:"list_scheduling"`
	Pinedo []struct {
		Name     string
		P, R, D  []int
		W        []int
		Machine  [][]int `json:"p_by_machine"`
		Sequence []int   `json:"optimal_sequence"`
		Several  [][]int `json:"optimal_sequences"`
		Lateness *int    `json:"min_max_lateness_bruteforce"`
		Late     *int    `json:"min_late_jobs"`
		Tardy    *int    `json:"min_total_tardiness"`
		Weighted *int    `json:"min_weighted_tardiness"`
		Makespan *int    `json:"min_makespan"`
	}
	Johnson []struct {
		A, B     []int
		Sequence []int `json:"rule_sequence"`
		Makespan int
	}
}

func readJSON(t testing.TB, name string, into any) {
	t.Helper()
	file, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(file, into); err != nil {
		t.Fatal(err)
	}
}

func readInstances(t testing.TB) (in instances) {
	readJSON(t, "scheduling_instances.json", &in)
	return in
}

// Source: Graham 1969, see testdata: one machine more, shorter times or fewer rules
// make the whole longer. So the engine is a plain list scheduler that never idles.
func TestGraham(t *testing.T) {
	list := readInstances(t).List
	if len(list) != 5 {
		t.Fatalf("%d instances, want 5", len(list))
	}
	for _, in := range list {
		p := dayAndNight(machines(in.Machines)...)
		job := Job{ID: in.Name}
		for i, minutes := range in.P {
			k := Task{ID: strconv.Itoa(i + 1), Kind: Bench, Takes: Exactly(float64(minutes * unit))}
			for _, pair := range in.Prec {
				if pair[1] == i+1 {
					k.After = append(k.After, strconv.Itoa(pair[0]))
				}
			}
			job.Tasks = append(job.Tasks, k)
		}
		p.Jobs = []Job{job}
		places := placesOf(in.List)
		if got := ranked(t, p, func(_, task int) int { return places[task] }); got[0] != in.Makespan {
			t.Errorf("%s: makespan %d, want %d", in.Name, got[0], in.Makespan)
		}
	}
}

// flow is a flow shop: each job passes all machines in turn. times are by machine.
func flow(times [][]int) Plan {
	var people []Person
	for k := range times {
		people = append(people, Person{Name: fmt.Sprint("m", k), Skills: []string{fmt.Sprint("m", k)}})
	}
	p := dayAndNight(people...)
	for j := range times[0] {
		job := Job{ID: fmt.Sprint(j + 1)}
		for k := range times {
			step := Task{ID: fmt.Sprint(k), Kind: Bench, Skill: fmt.Sprint("m", k), Takes: Exactly(float64(times[k][j] * unit))}
			if k > 0 {
				step.After = []string{fmt.Sprint(k - 1)}
			}
			job.Tasks = append(job.Tasks, step)
		}
		p.Jobs = append(p.Jobs, job)
	}
	return p
}

func makespan(t testing.TB, p Plan, places []int) int {
	return slices.Max(ranked(t, p, func(job, _ int) int { return places[job] }))
}

// Source: Johnson 1954, see testdata: 47 is the least of all 120 orders.
func TestJohnson(t *testing.T) {
	for _, in := range readInstances(t).Johnson {
		p := flow([][]int{in.A, in.B})
		if got := makespan(t, p, placesOf(in.Sequence)); got != in.Makespan {
			t.Errorf("Johnson's sequence ends at %d, want %d", got, in.Makespan)
		}
		least := math.MaxInt
		for _, o := range orders(len(in.A)) {
			least = min(least, makespan(t, p, o))
		}
		if least != in.Makespan {
			t.Errorf("the best of all orders ends at %d, want %d", least, in.Makespan)
		}
	}
}

// Source: Pinedo's worked examples, see testdata; each optimum is the least of all
// orders played by the engine, and the printed sequence reaches it. 3.6.3 is 67.
func TestPinedo(t *testing.T) {
	seen := 0
	for _, in := range readInstances(t).Pinedo {
		p := flow(append(in.Machine, slices.DeleteFunc([][]int{in.P}, func(p []int) bool { return p == nil })...))
		for i, r := range in.R {
			p.Jobs[i].From = moment0.Add(time.Duration(r*unit) * time.Minute)
		}
		want, value := goal(in.D, in.W, in.Lateness, in.Late, in.Tardy, in.Weighted, in.Makespan)
		play := func(places []int) int { return value(ranked(t, p, func(job, _ int) int { return places[job] })) }
		least := math.MaxInt
		for _, o := range orders(len(p.Jobs)) {
			least = min(least, play(o))
		}
		if least != want {
			t.Errorf("%s: the least is %d, want %d", in.Name, least, want)
		}
		if in.Sequence != nil {
			in.Several = append(in.Several, in.Sequence)
		}
		for _, s := range in.Several {
			seen++
			if got := play(placesOf(s)); got != want {
				t.Errorf("%s: sequence %v gives %d, want %d", in.Name, s, got, want)
			}
		}
	}
	if seen != 7 {
		t.Errorf("%d sequences were played, want 7", seen)
	}
}

// goal returns what an instance measures and its least value.
func goal(d, w []int, lateness, late, tardy, weighted, makespan *int) (int, func(ends []int) int) {
	weight := func(i int) int {
		switch {
		case weighted != nil:
			return w[i]
		default:
			return 1
		}
	}
	switch {
	case makespan != nil:
		return *makespan, slices.Max[[]int]
	case lateness != nil:
		return *lateness, func(ends []int) int {
			worst := math.MinInt
			for i, e := range ends {
				worst = max(worst, e-d[i])
			}
			return worst
		}
	case late != nil:
		return *late, func(ends []int) (n int) {
			for i, e := range ends {
				if e > d[i] {
					n++
				}
			}
			return n
		}
	}
	want := tardy
	if weighted != nil {
		want = weighted
	}
	return *want, func(ends []int) (sum int) {
		for i, e := range ends {
			sum += weight(i) * max(0, e-d[i])
		}
		return sum
	}
}

// network is the project of 14 activities; nobody is needed, only time.
func network(t testing.TB) (Plan, []map[string]string) {
	rows := table(t, "cpm_14_activities.csv")
	p := dayAndNight()
	job := Job{ID: "project"}
	for _, row := range rows {
		k := Task{ID: row["activity"], Kind: Wait, Takes: Exactly(weekMinutes * must(strconv.ParseFloat(row["mean"], 64)))}
		for _, before := range row["predecessors"] {
			k.After = append(k.After, string(before))
		}
		job.Tasks = append(job.Tasks, k)
	}
	p.Jobs = []Job{job}
	return p, rows
}

// Source: testdata/cpm.json. With the mean times the project takes 44 weeks, and each
// activity begins at its earliest start.
func TestCriticalPath(t *testing.T) {
	p, rows := network(t)
	r := must(Simulate(p, Options{Replications: 1}))
	if got, want := r.Jobs[0].P50, moment0.AddDate(0, 0, 7*44); !got.Equal(want) {
		t.Errorf("done at %v, want %v: 44 weeks", got, want)
	}
	m := must(compile(p, 400))
	s := newPlay(m)
	s.record = func(i, _ int32, _, begin, end int64) {
		for name, got := range map[string]int64{"ES": begin, "EF": end} {
			if want := must(strconv.ParseFloat(rows[i][name], 64)); float64(got)/weekMinutes != want {
				t.Errorf("activity %s: %s is week %v, want %v", rows[i]["activity"], name, float64(got)/weekMinutes, want)
			}
		}
	}
	s.replicate(1, 0)
}

// Source: testdata/cpm.json: 2,000,000 draws of an independent program with the beta
// distributions of the three estimates. Tolerance 0.002 for the chance, 0.02 for the mean.
func TestProjectAtRandom(t *testing.T) {
	var want struct {
		Draws struct {
			Mean   float64   `json:"mean"`
			Chance float64   `json:"P_le_47"`
			Points []float64 `json:"P50_P80_P95"`
		} `json:"montecarlo_beta_2e6"`
	}
	readJSON(t, "cpm.json", &want)
	p, rows := network(t)
	m := must(compile(p, MaxDays))
	for i, row := range rows {
		v := func(name string) float64 { return must(strconv.ParseFloat(row[name], 64)) }
		low, likely, high := v("optimistic"), v("most_likely"), v("pessimistic")
		if low == high {
			continue
		}
		b := distuv.Beta{Alpha: 1 + 4*(likely-low)/(high-low), Beta: 1 + 4*(high-likely)/(high-low)}
		m.draws[i].table, m.draws[i].scale = uint16(len(m.tables)), weekMinutes
		m.tables = append(m.tables, ofQuantiles(func(p float64) float64 { return low + (high-low)*b.Quantile(p) }))
	}
	const plays = 200_000
	r := m.run(Options{Replications: plays, Seed: 3})
	n := 0
	for _, v := range r.finish {
		if v <= 47*weekMinutes {
			n++
		}
	}
	if got := float64(n) / plays; math.Abs(got-want.Draws.Chance) > 0.002 {
		t.Errorf("chance to be done by week 47: %.4f, want %.4f", got, want.Draws.Chance)
	}
	if got := r.mean[0] / weekMinutes; math.Abs(got-want.Draws.Mean) > 0.02 {
		t.Errorf("mean %.3f weeks, want %.3f", got, want.Draws.Mean)
	}
	for i, w := range want.Draws.Points {
		if got := float64(r.windows[0][i+1]) / weekMinutes; math.Abs(got-w) > 0.05 {
			t.Errorf("quantile %v: week %.2f, want %.2f", quantiles[i+1], got, w)
		}
	}
}
