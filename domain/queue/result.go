package queue

import (
	"cmp"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"winterbench/domain"
)

// run is all replications of a model.
type run struct {
	m         *model
	plays     int
	finish    []int32 // job after job, minutes in each replication
	nextPlace []int32
	held      []int64 // job after job, sums by cause
	causes    int
	short     bool
	windows   [][4]int32
	mean      []float64
}

const batch = 16 // replications a worker takes at once

// run plays all replications. Each has its own place in the answer and sums are of
// whole numbers, so it does not matter who plays which.
func (m *model) run(o Options) *run {
	n := o.Replications
	r := &run{m: m, plays: n, finish: make([]int32, m.real*n), nextPlace: make([]int32, n)}
	workers := o.Workers
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	workers = min(workers, (n+batch-1)/batch)
	plays := make([]*play, workers)
	var next atomic.Int64
	each(workers, func(w int) {
		s := newPlay(m)
		plays[w] = s
		for {
			from := int(next.Add(batch)) - batch
			if from >= n {
				return
			}
			for i := from; i < min(from+batch, n); i++ {
				s.replicate(o.Seed, i)
				r.keep(s, i)
			}
		}
	})
	r.causes = plays[0].causes
	r.held = plays[0].held
	for w, s := range plays {
		r.short = r.short || s.short
		if w > 0 {
			for i, v := range s.held {
				r.held[i] += v
			}
		}
	}
	r.quantiles(workers)
	return r
}

// each runs f(0) to f(n-1) at once and waits for all.
func each(n int, f func(w int)) {
	if n == 1 {
		f(0)
		return
	}
	var all sync.WaitGroup
	for w := range n {
		all.Go(func() { f(w) })
	}
	all.Wait()
}

// keep writes one replication into the answer.
func (r *run) keep(s *play, i int) {
	for j, t := range s.finish {
		r.finish[j*r.plays+i] = int32(min(t, never>>31))
	}
	r.nextPlace[i] = int32(min(s.nextPlace, r.m.horizon))
}

// quantiles reads the windows of all jobs, some jobs by each worker.
func (r *run) quantiles(workers int) {
	r.windows = make([][4]int32, r.m.real)
	r.mean = make([]float64, r.m.real)
	each(workers, func(w int) {
		scratch := make([]int32, r.plays)
		for j := w; j < r.m.real; j += workers {
			row := r.finish[j*r.plays : (j+1)*r.plays]
			sum := int64(0)
			for _, v := range row {
				sum += int64(v)
			}
			r.mean[j] = float64(sum) / float64(r.plays)
			copy(scratch, row)
			r.windows[j] = window(scratch)
		}
	})
}

var quantiles = [4]float64{0.20, 0.50, 0.80, 0.95}

// window returns the four quantiles; it moves the values about. A quantile p of n
// values is the one at place floor(pn)+1, counted from 1.
func window(values []int32) (out [4]int32) {
	from := 0
	for k, p := range quantiles {
		at := min(int(p*float64(len(values))), len(values)-1)
		choose(values[from:], at-from)
		out[k] = values[at]
		from = at
	}
	return out
}

// choose moves the k-th smallest value to place k, with none above it before and
// none below it behind: the selection of Hoare (1961), with the middle of three as
// pivot. When that goes badly, it sorts.
func choose(a []int32, k int) {
	for tries := 0; len(a) > 12; tries++ {
		if tries > 64 {
			break
		}
		x, y, z := a[0], a[len(a)/2], a[len(a)-1]
		pivot := max(min(x, y), min(max(x, y), z))
		i, j := 0, len(a)-1
		for i <= j {
			for a[i] < pivot {
				i++
			}
			for a[j] > pivot {
				j--
			}
			if i <= j {
				a[i], a[j] = a[j], a[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			a = a[:j+1]
		case k >= i:
			a, k = a[i:], k-i
		default:
			return
		}
	}
	slices.Sort(a)
}

// result turns minutes into moments. It returns a Conflict error for a job of which
// one play in twenty or more does not end within the horizon.
func (r *run) result(p Plan) (Result, error) {
	out := Result{Jobs: make([]JobResult, len(p.Jobs)), Plays: r.plays}
	for j, job := range p.Jobs {
		w := r.windows[j]
		if int64(w[3]) >= r.m.horizon {
			return Result{}, domain.Conflictf("job %q is not done within ten years: there is more work than the people and places can do; add hours, people or places, or take jobs off the list", job.ID)
		}
		out.Jobs[j] = JobResult{
			ID: job.ID, Window: r.window(w), Mean: r.at(int32(r.mean[j])),
			Late: r.late(j), Held: r.causesOf(j),
			finish: r.finish[j*r.plays : (j+1)*r.plays], origin: r.m.origin,
		}
	}
	if r.m.cabinet {
		w := r.window(window(slices.Clone(r.nextPlace)))
		out.NextPlace = &w
	}
	return out, nil
}

func (r *run) window(w [4]int32) Window {
	return Window{P20: r.at(w[0]), P50: r.at(w[1]), P80: r.at(w[2]), P95: r.at(w[3])}
}

func (r *run) at(minute int32) time.Time {
	return r.m.origin.Add(time.Duration(minute) * time.Minute)
}

// late returns the share of plays in which a job ends after its date.
func (r *run) late(j int) float64 {
	due := r.m.jobs[j].due
	n := 0
	for _, v := range r.finish[j*r.plays : (j+1)*r.plays] {
		if int64(v) > due {
			n++
		}
	}
	return float64(n) / float64(r.plays)
}

// causesOf lists what a job's time went into, most first.
func (r *run) causesOf(j int) []Held {
	var out []Held
	for i, sum := range r.held[j*r.causes : (j+1)*r.causes] {
		if sum > 0 {
			h := r.m.cause(i)
			h.Minutes = float64(sum) / float64(r.plays)
			out = append(out, h)
		}
	}
	slices.SortStableFunc(out, func(a, b Held) int { return cmp.Compare(b.Minutes, a.Minutes) })
	return out
}

// cause names the i-th sum of a job.
func (m *model) cause(i int) Held {
	switch resource := i - fixedCauses - len(m.skills); {
	case i == sumHands:
		return Held{Cause: Hands}
	case i == sumWaiting:
		return Held{Cause: Waiting}
	case i == sumInCabinet:
		return Held{Cause: InCabinet}
	case resource < 0:
		return Held{Cause: ForBench, Name: m.skills[i-fixedCauses]}
	case resource == 0:
		return Held{Cause: ForCabinet}
	default:
		return Held{Cause: ForClamp, Name: m.named[resource]}
	}
}
