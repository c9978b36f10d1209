package job

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/templates"
)

// Account sets bench time and waiting side by side, as quoted and as it went.
type Account struct {
	Tasks  []TaskAccount
	Quoted templates.Range // hands-on minutes of all tasks of the job
	Went   int             // minutes clocked so far, rounded once
	Hold   Days            // in hold
	Other  Days            // in other waits
	Idle   int             // whole days on which nobody touched it and nothing ran
	Total  int             // whole days from approval until checked, or until now
}

// TaskAccount is the account of one task.
type TaskAccount struct {
	Task   domain.TaskID
	Name   string
	Quoted templates.Range // minutes
	Went   int             // minutes clocked
}

// Days compares elapsed days: the range quoted and how many went by.
type Days struct {
	Quoted templates.Days
	Went   decimal.Decimal // one decimal
}

// Minutes returns the minutes clocked on a task, or on all with id 0, rounded
// half up to whole minutes once. A running clock counts up to now.
func (j *Job) Minutes(id domain.TaskID, now time.Time) int {
	var span time.Duration
	for _, c := range j.Counted() {
		if id != 0 && c.Task != id {
			continue
		}
		end := c.End
		if end.IsZero() {
			end = now
		}
		if end.After(c.Start) {
			span += end.Sub(c.Start)
		}
	}
	return int((span + 30*time.Second) / time.Minute)
}

// AccountOf draws up the account of j at the moment now, with days as zone has them.
func AccountOf(j *Job, now time.Time, zone *time.Location) Account {
	a := Account{Went: j.Minutes(0, now)}
	for _, t := range j.Tasks {
		if !t.Dropped.IsZero() {
			continue
		}
		a.Tasks = append(a.Tasks, TaskAccount{Task: t.ID, Name: t.Name, Quoted: t.Minutes, Went: j.Minutes(t.ID, now)})
		a.Quoted = a.Quoted.Plus(t.Minutes)
		if t.Hold {
			a.Hold.Quoted = a.Hold.Quoted.Plus(t.WaitDays)
		} else {
			a.Other.Quoted = a.Other.Quoted.Plus(t.WaitDays)
		}
	}
	for _, h := range j.Holds {
		a.Hold.Went = a.Hold.Went.Add(elapsed(h.Start, h.End, now))
	}
	for _, w := range j.Waits {
		a.Other.Went = a.Other.Went.Add(elapsed(w.Start, w.End, now))
	}
	a.Hold.Went, a.Other.Went = a.Hold.Went.Round(1), a.Other.Went.Round(1)
	a.Total, a.Idle = j.idleDays(now, zone)
	return a
}

func elapsed(start, end, now time.Time) decimal.Decimal {
	if end.IsZero() {
		end = now
	}
	if !end.After(start) {
		return decimal.Zero
	}
	return decimal.NewFromInt(int64(end.Sub(start)/time.Second)).DivRound(decimal.NewFromInt(86400), 6)
}

// idleDays counts the days between approval and the check, and those among
// them that no clocking, hold or wait touches.
func (j *Job) idleDays(now time.Time, zone *time.Location) (total, idle int) {
	if j.Approved.IsZero() {
		return 0, 0
	}
	end := now
	if !j.Checked.IsZero() {
		end = j.Checked
	}
	first, last := domain.DateOf(j.Approved.In(zone)), domain.DateOf(end.In(zone))
	touched := map[domain.Date]bool{}
	touch := func(from, to time.Time) {
		if to.IsZero() || to.After(end) {
			to = end
		}
		for d := domain.DateOf(from.In(zone)); d <= domain.DateOf(to.In(zone)); d = d.AddDays(1) {
			touched[d] = true
		}
	}
	for _, c := range j.Counted() {
		touch(c.Start, c.End)
	}
	for _, h := range j.Holds {
		touch(h.Start, h.End)
	}
	for _, w := range j.Waits {
		touch(w.Start, w.End)
	}
	for d := first; d < last; d = d.AddDays(1) {
		total++
		if !touched[d] {
			idle++
		}
	}
	return total, idle
}
