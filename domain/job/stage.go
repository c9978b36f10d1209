package job

import "time"

// Stage says how far a job is. It follows from facts and is never set by hand.
type Stage string

// The stages.
const (
	Arrived         Stage = "arrived"
	Surveyed        Stage = "surveyed"
	Quoted          Stage = "quoted"
	Approved        Stage = "approved"
	InHold          Stage = "in hold"
	OnBench         Stage = "on the bench"
	Waiting         Stage = "waiting"
	Checked         Stage = "checked"
	Ready           Stage = "ready"
	Collected       Stage = "collected"
	Declined        Stage = "declined"
	ClosedUnclaimed Stage = "closed unclaimed"
)

// Stages lists the stages from the door to the door, then the two other ends.
func Stages() []Stage {
	return []Stage{Arrived, Surveyed, Quoted, Approved, InHold, OnBench, Waiting, Checked, Ready, Collected, Declined, ClosedUnclaimed}
}

// Over reports whether the instrument has left the shop's care in this job.
func (s Stage) Over() bool { return s == Collected || s == ClosedUnclaimed }

// StageOf derives the stage of j from its facts.
//
// The ends win over everything. A declined job stays declined until a later
// quote is said or approved. Between approval and the check, what happens now
// decides: a running hold, else a running clock, else a running wait, else
// whether anything was begun.
func StageOf(j *Job) Stage {
	switch {
	case !j.Collected.IsZero():
		return Collected
	case !j.Unclaimed.IsZero():
		return ClosedUnclaimed
	case !j.Ready.IsZero():
		return Ready
	case !j.Checked.IsZero():
		return Checked
	case !j.Approved.IsZero():
		return benchStage(j)
	case !j.Declined.IsZero() && !j.Quoted.After(j.Declined):
		return Declined
	case !j.Quoted.IsZero():
		return Quoted
	case !j.Surveyed.IsZero():
		return Surveyed
	}
	return Arrived
}

func benchStage(j *Job) Stage {
	begun := false
	for _, c := range j.Clockings {
		begun = true
		if c.End.IsZero() {
			return OnBench
		}
	}
	for _, h := range j.Holds {
		begun = true
		if h.End.IsZero() {
			return InHold
		}
	}
	for _, w := range j.Waits {
		begun = begun || w.Task != 0
		if w.End.IsZero() {
			return Waiting
		}
	}
	for _, t := range j.Tasks {
		begun = begun || !t.Done.IsZero()
	}
	if begun {
		return OnBench
	}
	return Approved
}

// StageSince returns when the present stage began, as the facts tell it.
func StageSince(j *Job) time.Time {
	last := j.Arrival.At
	later := func(ts ...time.Time) {
		for _, t := range ts {
			if t.After(last) {
				last = t
			}
		}
	}
	later(j.Surveyed, j.Quoted, j.Approved, j.Declined, j.Checked, j.Ready, j.Collected, j.Unclaimed)
	if !j.Checked.IsZero() || j.Approved.IsZero() {
		return last
	}
	for _, c := range j.Clockings {
		later(c.Start, c.End)
	}
	for _, h := range j.Holds {
		later(h.Start, h.End)
	}
	for _, w := range j.Waits {
		later(w.Start, w.End)
	}
	return last
}
