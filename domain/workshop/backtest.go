package workshop

import (
	"slices"
	"time"

	"winterbench/domain/job"
	"winterbench/domain/queue"
)

// Kept says how often a job was done within the window that the queue gave on
// the day after its yes: each share is of Jobs.
type Kept struct {
	Jobs               int
	P20, P50, P80, P95 int
}

// Share is n of the jobs, 0 without any.
func (k Kept) Share(n int) float64 {
	if k.Jobs == 0 {
		return 0
	}
	return float64(n) / float64(k.Jobs)
}

// AsOf is a job as it stood at a moment in the past, nil when it was not agreed
// by then or already checked. What was agreed later stands in it as well, for a
// task does not keep the day of its own yes.
func AsOf(j *job.Job, at time.Time) *job.Job {
	if j.Approved.IsZero() || j.Approved.After(at) || over(j, at) {
		return nil
	}
	back := *j
	back.Checked, back.CheckedBy, back.Ready, back.Collected, back.Unclaimed = time.Time{}, "", time.Time{}, time.Time{}, time.Time{}
	back.Tasks = slices.DeleteFunc(slices.Clone(j.Tasks), func(t job.Task) bool { return !t.Dropped.IsZero() })
	for i := range back.Tasks {
		forget(&back.Tasks[i].Done, at)
	}
	back.Waits = slices.DeleteFunc(slices.Clone(j.Waits), func(w job.Wait) bool { return w.Start.After(at) })
	for i := range back.Waits {
		forget(&back.Waits[i].End, at)
	}
	back.Clockings = slices.DeleteFunc(slices.Clone(j.Clockings), func(c job.Clocking) bool { return c.Start.After(at) })
	for i := range back.Clockings {
		forget(&back.Clockings[i].End, at)
	}
	back.Holds = slices.DeleteFunc(slices.Clone(j.Holds), func(h job.Hold) bool { return h.Start.After(at) })
	for i := range back.Holds {
		h := &back.Holds[i]
		forget(&h.End, at)
		h.Readings = slices.DeleteFunc(slices.Clone(h.Readings), func(r job.Reading) bool { return r.At.After(at) })
	}
	return &back
}

func over(j *job.Job, at time.Time) bool {
	return slices.ContainsFunc([]time.Time{j.Checked, j.Collected, j.Unclaimed}, func(t time.Time) bool { return !t.IsZero() && !t.After(at) })
}

// forget takes back what happened after a moment.
func forget(t *time.Time, at time.Time) {
	if t.After(at) {
		*t = time.Time{}
	}
}

// Backtest compares each job with the window that it had on the day after its yes;
// see [Replay].
func Backtest(f Facts, all []*job.Job, from, to time.Time, every int, o queue.Options) (Kept, error) {
	var k Kept
	err := Replay(f, all, from, to, every, o, func(j *job.Job, r queue.JobResult) {
		if !j.Checked.IsZero() {
			k.add(r, j.Checked)
		}
	})
	return k, err
}

// Replay plays the queue as it stood every so many days from one moment to another,
// and tells of each job that was agreed since the play before. The shop and its people
// are taken as they are now; each play knows only what had been agreed before it.
func Replay(f Facts, all []*job.Job, from, to time.Time, every int, o queue.Options, tell func(j *job.Job, r queue.JobResult)) error {
	var drawn time.Time // what history tells is read anew every two weeks
	for at := from; at.Before(to); at = at.AddDate(0, 0, every) {
		f.Now = at
		if at.Sub(drawn) > 14*24*time.Hour {
			ahead, err := Foretell(SeasonRecords{Shop: f.Shop, Visits: visitsBy(all, at), Now: at, NoScore: true})
			if err != nil {
				return err
			}
			f.Coming, drawn = ComingOf(routesBy(all, at), ahead, f.Shop, at), at
			f.Own = LearnMinutes(doneBy(all, at), nil)
		}
		then := f
		then.Jobs = nil
		fresh := map[string]*job.Job{}
		for _, j := range all {
			if back := AsOf(j, at); back != nil {
				then.Jobs = append(then.Jobs, back)
				if j.Approved.After(at.AddDate(0, 0, -every)) {
					fresh[jobKey(j.ID)] = j
				}
			}
		}
		plan := PlanOf(then)
		if len(fresh) == 0 || len(plan.Jobs) == 0 {
			continue
		}
		result, err := queue.Simulate(plan, o)
		if err != nil {
			return err
		}
		for _, r := range result.Jobs {
			if j, ok := fresh[r.ID]; ok {
				tell(j, r)
			}
		}
	}
	return nil
}

func (k *Kept) add(r queue.JobResult, end time.Time) {
	k.Jobs++
	for _, q := range []struct {
		n  *int
		at time.Time
	}{{&k.P20, r.P20}, {&k.P50, r.P50}, {&k.P80, r.P80}, {&k.P95, r.P95}} {
		if !end.After(q.at) {
			*q.n++
		}
	}
}

// routesBy are the routes that had been agreed at a moment, oldest first, with what
// was dropped only later still in them.
func routesBy(all []*job.Job, at time.Time) []Route {
	var out []Route
	for _, j := range all {
		if j.Approved.IsZero() || j.Approved.After(at) {
			continue
		}
		r := Route{Job: j.ID, Agreed: j.Approved}
		for _, t := range j.Tasks {
			if t.Dropped.IsZero() || t.Dropped.After(at) {
				r.Tasks = append(r.Tasks, t)
			}
		}
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Route) int { return a.Agreed.Compare(b.Agreed) })
	return out
}
