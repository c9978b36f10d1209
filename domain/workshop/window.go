package workshop

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// Window is when a job is likely ready. It comes out of the queue where that can be
// played; else from the waits of the templates alone, counted from a day.
type Window struct {
	Earliest domain.Date `json:"earliest"`
	Likely   domain.Date `json:"likely"`
	Late     domain.Date `json:"late"`
	ByQueue  bool        `json:"by_queue"` // out of the real queue, where Late is the day to say; else the waits alone
	Because  string      `json:"because"`  // what the time goes into, or why the queue has no answer; may be ""
}

// IsZero reports whether there is no window.
func (w Window) IsZero() bool { return w.Likely == "" }

// WindowFrom counts elapsed days from a day, each rounded up to whole days.
func WindowFrom(start domain.Date, d templates.Days) Window {
	on := func(days decimal.Decimal) domain.Date { return start.AddDays(int(days.Ceil().IntPart())) }
	return Window{Earliest: on(d.Low), Likely: on(d.Typical), Late: on(d.High)}
}

// JobWindow is the window of a job: for a quote on the table all of its days
// from today, for agreed work the waits that are still ahead, of a running hold
// what its readings foretell. A job that is checked or over has none. held is
// what those readings say, nil when no hold runs; one that will not close waits
// for a decision, and nobody knows the day.
func JobWindow(j *job.Job, q *quote.Quote, held *hold.Judgement, now time.Time, zone *time.Location) Window {
	if q == nil || !j.Checked.IsZero() || job.StageOf(j).Over() {
		return Window{}
	}
	today := domain.DateOf(now.In(zone))
	if j.Approved.IsZero() {
		return WindowFrom(today, q.Days)
	}
	if held != nil && held.Verdict == hold.WillNotClose {
		return Window{}
	}
	return WindowFrom(today, daysAhead(j, q, held, now))
}

// daysAhead sums the waits of the open tasks, phase by phase as
// [templates.WindowDays] does, less what has gone by of those that run. What
// the quote had beside them, the day at pitch, is still to come.
func daysAhead(j *job.Job, q *quote.Quote, held *hold.Judgement, now time.Time) templates.Days {
	all, left := map[templates.Phase]templates.Days{}, map[templates.Phase]templates.Days{}
	for i := range j.Tasks {
		t := &j.Tasks[i]
		if !t.Dropped.IsZero() || t.Phase == templates.PhaseFollowUp {
			continue
		}
		all[t.Phase] = longer(all[t.Phase], t.WaitDays)
		if t.Open() {
			left[t.Phase] = longer(left[t.Phase], taskAhead(j, t, held, now))
		}
	}
	var planned, ahead templates.Days
	for _, d := range all {
		planned = planned.Plus(d)
	}
	for _, d := range left {
		ahead = ahead.Plus(d)
	}
	rest := decimal.Max(q.Days.Typical.Sub(planned.Typical), decimal.Zero)
	return ahead.Plus(templates.Days{Low: rest, Typical: rest, High: rest})
}

func longer(a, b templates.Days) templates.Days {
	return templates.Days{Low: decimal.Max(a.Low, b.Low), Typical: decimal.Max(a.Typical, b.Typical), High: decimal.Max(a.High, b.High)}
}

// foretold is what the readings foretell of the rest of a hold, false when they
// do not: a hold that will not close waits for a decision.
func foretold(held *hold.Judgement, now time.Time) (templates.Days, bool) {
	if held == nil || !held.Ready.Known {
		return templates.Days{}, false
	}
	left := func(t time.Time) decimal.Decimal { return daysOf(max(t.Sub(now), 0)) }
	return templates.Days{Low: left(held.Ready.P10), Typical: left(held.Ready.P50), High: left(held.Ready.P90)}, true
}

// taskAhead is what is left of a task's wait, of a running hold by its
// readings. A wait with an expected end lasts
// until then; a wait that outlasts its figures counts as one more day.
func taskAhead(j *job.Job, t *job.Task, held *hold.Judgement, now time.Time) templates.Days {
	if t.Hold && j.Served(t.ID) {
		return templates.Days{} // what is left is to mark it as finished
	}
	var began time.Time
	for _, h := range j.Holds {
		if h.Task == t.ID && h.End.IsZero() {
			if d, ok := foretold(held, now); ok {
				return d
			}
			began = h.Start
		}
	}
	for _, w := range j.Waits {
		if w.Task != t.ID || !w.End.IsZero() {
			continue
		}
		if w.Until.After(now) {
			d := daysOf(w.Until.Sub(now))
			return templates.Days{Low: d, Typical: d, High: d}
		}
		began = w.Start
	}
	if began.IsZero() {
		return t.WaitDays
	}
	gone, day := daysOf(now.Sub(began)), decimal.NewFromInt(1)
	rest := func(d decimal.Decimal) decimal.Decimal { return decimal.Max(d.Sub(gone), decimal.Zero) }
	return templates.Days{Low: rest(t.WaitDays.Low), Typical: decimal.Max(rest(t.WaitDays.Typical), day), High: decimal.Max(rest(t.WaitDays.High), day)}
}

func daysOf(d time.Duration) decimal.Decimal {
	return decimal.NewFromInt(int64(d/time.Minute)).DivRound(decimal.NewFromInt(24*60), 4)
}
