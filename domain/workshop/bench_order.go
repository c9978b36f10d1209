package workshop

import (
	"context"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/templates"
)

// Ordered is a free task with the reason for its place on the bench's list.
type Ordered struct {
	TaskRow
	Quick bool          // short, and it starts a wait: it goes first
	Spare time.Duration // until it must be begun to keep the promise; below 0 when that is past
}

// BenchOrder sorts free tasks as [queue.OrderRule] says. jobs are the agreed jobs
// that the tasks belong to; a task of a job that is missing counts as if it were
// the last of it.
func BenchOrder(free []TaskRow, jobs []*job.Job, f Facts) []Ordered {
	byID := map[domain.JobID]*job.Job{}
	for _, j := range jobs {
		byID[j.ID] = j
	}
	ready := make([]queue.Ready, len(free))
	for i, r := range free {
		ready[i] = readyOf(r, byID[r.Job], f)
		ready[i].Task = strconv.Itoa(i)
	}
	out := make([]Ordered, 0, len(free))
	for _, k := range queue.Order(ready, f.Now) {
		i, _ := strconv.Atoi(k.Task)
		out = append(out, Ordered{TaskRow: free[i], Quick: k.Quick, Spare: k.Spare})
	}
	return out
}

func readyOf(r TaskRow, j *job.Job, f Facts) queue.Ready {
	left := max(float64(r.Task.Minutes.Typical-r.Clocked), 1)
	out := queue.Ready{Job: jobKey(r.Job), Minutes: left, Left: left, StartsWait: startsWait(r)}
	if r.Promised != "" {
		out.Due = r.Promised.AddDays(1).Time(f.Shop.Location())
	}
	if j != nil {
		out.Left = max(left, longestWay(routeOf(j, f).Tasks))
	}
	return out
}

// startsWait reports whether the cabinet or the glue goes on by itself once the
// hands of a task are done.
func startsWait(r TaskRow) bool {
	return !r.Served && (r.Task.Hold || !r.Task.WaitDays.IsZero() && r.Task.Phase != templates.PhaseFollowUp)
}

// longestWay is the typical minutes along the longest chain of steps, each
// counted from the end of those before it.
func longestWay(steps []queue.Task) float64 {
	end, longest := map[string]float64{}, 0.0
	for _, s := range steps { // steps come after those they follow
		from := 0.0
		for _, b := range s.After {
			from = max(from, end[b])
		}
		end[s.ID] = from + s.TypicalLeft()
		longest = max(longest, end[s.ID])
	}
	return longest
}

// Order sorts the free tasks of the bench by what is left of their jobs.
func (o *Outlook) Order(ctx context.Context, free []TaskRow) ([]Ordered, error) {
	f, err := o.now(ctx)
	if err != nil {
		return nil, err
	}
	return BenchOrder(free, f.Jobs, f), nil
}

// SpareText says how much time is left before a task must be begun: "2 days to
// spare", "late by 3 days".
func (o Ordered) SpareText() string {
	if o.Promised == "" {
		return "no day was said"
	}
	days := int(o.Spare.Hours() / 24)
	switch {
	case o.Spare < 0 && days == 0:
		return "must begin now"
	case days == -1:
		return "late by one day"
	case o.Spare < 0:
		return "late by " + strconv.Itoa(-days) + " days"
	case days == 0:
		return "must begin today"
	case days == 1:
		return "one day to spare"
	}
	return strconv.Itoa(days) + " days to spare"
}
