package queue

import (
	"cmp"
	"slices"
	"time"
)

// OrderRule is the bench order in one sentence, for the people at the bench.
const OrderRule = "First the quick jobs that start a wait, because the cabinet and the glue work while you don't; then whatever has the least spare time before its promised day."

// Ready is a task that somebody could begin now.
type Ready struct {
	Job, Task  string
	Due        time.Time // the job's date; zero for none
	Minutes    float64   // typical bench minutes of this task still to do
	Left       float64   // typical minutes to the end of the job along its longest way, this task and all waits included
	StartsWait bool      // a wait or hold comes right after it
}

// Ranked is a Ready with the reason for its place.
type Ranked struct {
	Ready
	Slack time.Time     // the latest moment to begin it and still be in time
	Spare time.Duration // from now to Slack; below 0 when it is late already
	Quick bool          // it is short and starts a wait, so it goes first
}

// Order sorts tasks in the order the bench takes them, as OrderRule says; equal ones
// stay as they were given. It is the rule by which Simulate gives out work. A job
// without a date counts as wanted UsualAllowance after its own work and waits.
func Order(tasks []Ready, now time.Time) []Ranked {
	out := make([]Ranked, len(tasks))
	for i, t := range tasks {
		out[i] = rank(t, now)
	}
	slices.SortStableFunc(out, func(a, b Ranked) int {
		return cmp.Compare(key(a.Quick, minutesOf(a.Spare)), key(b.Quick, minutesOf(b.Spare)))
	})
	return out
}

func rank(t Ready, now time.Time) Ranked {
	due := t.Due
	if due.IsZero() {
		due = now.Add(minutes(t.Left + UsualAllowance))
	}
	slack := due.Add(-minutes(t.Left))
	return Ranked{Ready: t, Slack: slack, Spare: slack.Sub(now), Quick: t.StartsWait && t.Minutes <= starterMinutes}
}

func minutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }

func minutesOf(d time.Duration) int32 { return int32(min(max(d/time.Minute, -farthest), farthest)) }
