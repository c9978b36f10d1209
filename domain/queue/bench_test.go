package queue

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"syscall"
	"testing"
	"time"
)

// busyShop is an invented shop: three people, twelve places, so many jobs of some
// five tasks each in seven kinds of routes, and jobs to come.
func busyShop(jobs int) Plan {
	z, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		panic(err)
	}
	r := rand.New(rand.NewPCG(1, 2))
	days := func(names ...time.Weekday) (w Week) {
		for _, d := range names {
			w[d] = []Span{{9 * 60, 12*60 + 30}, {13 * 60, 17 * 60}}
		}
		return w
	}
	p := Plan{
		Start: time.Date(2026, 11, 23, 9, 0, 0, 0, z), Zone: z, Places: 12,
		Closed: []Period{{"2026-12-24", "2027-01-02"}},
		Clamps: []Clamp{{"bridge", 2}},
		People: []Person{
			{Name: "Ada", Skills: []string{"setup", "wood", "frets"}, Hours: days(1, 2, 3, 4, 5)},
			{Name: "Ben", Skills: []string{"setup", "wood"}, Hours: days(2, 3, 4, 5)},
			{Name: "Cem", Skills: []string{"setup"}, Hours: days(3, 4, 5)},
		},
	}
	for i := range jobs {
		p.Jobs = append(p.Jobs, Job{
			ID: fmt.Sprint(300 + i), Due: p.Start.AddDate(0, 0, 5+r.IntN(5+jobs/4)), Tasks: route(r.IntN(7), 0.8+0.4*r.Float64()),
		})
	}
	for i := range 7 {
		p.Coming = append(p.Coming, Arrival{Name: fmt.Sprint("kind ", i), PerWeek: []float64{1, 1.2}, Size: 10, Tasks: route(i, 1)})
	}
	return p
}

func bench(id, skill string, minutes float64, after ...string) Task {
	return Task{ID: id, Kind: Bench, Skill: skill, Takes: Lognormal(minutes, 0.35), After: after}
}

func wait(id string, days float64, after ...string) Task {
	return Task{ID: id, Kind: Wait, Takes: Lognormal(days*dayMinutes, 0.2), After: after}
}

func hold(id string, days float64, after ...string) Task {
	return Task{ID: id, Kind: Hold, Takes: Lognormal(days*dayMinutes, 0.4), After: after}
}

func route(kind int, size float64) []Task {
	set := bench("set up", "setup", 45*size, "ready")
	check := bench("check", "setup", 15)
	check.After = []string{"set up"}
	switch kind {
	case 0:
		return []Task{bench("ready", "setup", 20), set, check}
	case 1:
		return []Task{bench("case", "setup", 15), hold("dry", 7, "case"), bench("ready", "wood", 60*size, "dry"), wait("glue", 1, "ready"), set, check}
	case 2:
		return []Task{bench("frets out", "frets", 90*size), bench("ready", "frets", 150*size, "frets out"), set, check}
	case 3:
		g := bench("glue up", "wood", 40*size, "clean")
		w := wait("ready", 1, "glue up")
		g.Clamp, w.Clamp = "bridge", "bridge"
		return []Task{bench("clean", "wood", 70*size), g, w, set, check}
	case 4:
		return []Task{wait("part", 5), bench("fit", "wood", 80*size, "part"), wait("ready", 1, "fit"), set, check}
	case 5:
		return []Task{bench("case", "setup", 15), hold("dry", 9, "case"), bench("crack", "wood", 50*size, "dry"), wait("glue", 1, "crack"),
			bench("cleats", "wood", 45*size, "glue"), wait("ready", 1, "cleats"), set, check}
	}
	return []Task{bench("look", "setup", 20), wait("ready", 2, "look"), set, check}
}

// processorTime is what all threads of this process have used; other work on the
// machine is not in it.
func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Simulate at the size of the claim in docs/speed.md, and beyond. One worker per
// processor, and one alone; with the jobs of the next 90 days, and the queue as closed.
func BenchmarkSimulate(b *testing.B) {
	for _, jobs := range []int{50, 200, 400, 2000} {
		for _, coming := range []bool{true, false} {
			p := busyShop(jobs)
			if !coming {
				p.Coming = nil
			}
			for _, workers := range []int{1, 2} {
				b.Run(fmt.Sprintf("jobs=%d/tasks=%d/coming=%t/workers=%d", jobs, tasksIn(p), coming, workers), func(b *testing.B) {
					simulateOften(b, p, workers)
				})
			}
		}
	}
}

func tasksIn(p Plan) (n int) {
	for _, j := range p.Jobs {
		n += len(j.Tasks)
	}
	return n
}

func simulateOften(b *testing.B, p Plan, workers int) {
	if workers > runtime.GOMAXPROCS(0) {
		b.Skip("not that many processors")
	}
	b.ReportAllocs()
	best, least := time.Hour, time.Hour
	for b.Loop() {
		wall, cpu := time.Now(), processorTime()
		if _, err := Simulate(p, Options{Replications: 1000, Seed: 1, Workers: workers}); err != nil {
			b.Fatal(err)
		}
		best, least = min(best, time.Since(wall)), min(least, processorTime()-cpu)
	}
	b.ReportMetric(best.Seconds()*1000, "best-ms")
	b.ReportMetric(least.Seconds()*1000, "best-cpu-ms")
}
