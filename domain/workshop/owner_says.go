package workshop

import (
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
)

// mostWorries is how many jobs the owner's desk lists.
const mostWorries = 10

// Worry is a job to worry about, with the reason.
type Worry struct {
	JobRow JobRow
	Why    string
	Alarm  bool // something is over or must stop now
	rank   int  // kinds of reasons, worst first
	days   int  // how bad of its kind
}

// WorriesOf lists the open jobs that want the owner's eye, each once, with its worst
// reason: a hold that must stop, a day that is over, a day that will likely pass, a
// crack that will not close, then what has stood too long. queue may be nil.
func WorriesOf(rows []JobRow, cabinet *Cabinet, queue *Queue, shop *Shop, now time.Time) []Worry {
	worst := map[domain.JobID]Worry{}
	put := func(w Worry) {
		if old, known := worst[w.JobRow.ID]; !known || w.before(old) {
			worst[w.JobRow.ID] = w
		}
	}
	byID := map[domain.JobID]JobRow{}
	for _, r := range rows {
		byID[r.ID] = r
		if w := standing(r, shop, now); w.Why != "" {
			put(w)
		}
	}
	for _, h := range cabinet.Held {
		r, open := byID[h.Job]
		switch {
		case !open:
		case h.Stop() != "":
			put(Worry{JobRow: r, Why: h.Stop(), Alarm: true, rank: 0})
		case h.Says.Verdict == hold.WillNotClose:
			put(Worry{JobRow: r, Why: "in the cabinet the crack will not close: another repair must be agreed", rank: 3})
		}
	}
	if queue != nil {
		for _, c := range queue.Calls {
			if w := passing(c, shop); w.Why != "" {
				put(w)
			}
		}
	}
	out := make([]Worry, 0, len(worst))
	for _, w := range worst {
		out = append(out, w)
	}
	slices.SortFunc(out, func(a, b Worry) int {
		switch {
		case a.before(b):
			return -1
		case b.before(a):
			return 1
		}
		return a.JobRow.Tag - b.JobRow.Tag
	})
	return out
}

// before reports whether w is worse than o.
func (w Worry) before(o Worry) bool {
	if w.rank != o.rank {
		return w.rank < o.rank
	}
	return w.days > o.days
}

// standing is the worry about a job that shows in its row; without a reason there is
// none. The days are our choice, no source.
func standing(r JobRow, shop *Shop, now time.Time) Worry {
	w, today := Worry{JobRow: r}, shop.Today(now)
	stood := domain.WholeDays(r.Since, now)
	if r.Late(today) {
		w.rank, w.days, w.Alarm = 1, r.Promised.DaysTo(today), true
		w.Why = fmt.Sprintf("we said %s: over for %s", day(r.Promised, today), dayCount(w.days))
		return w
	}
	w.days = stood
	switch {
	case r.Stage == job.Ready && stood > UnclaimedDays:
		w.rank, w.Why = 4, fmt.Sprintf("ready for %s and not collected", dayCount(stood))
	case r.Stage == job.Quoted && stood >= 7:
		w.rank, w.Why = 5, fmt.Sprintf("no answer to the quote for %s", dayCount(stood))
	case r.Stage == job.Checked && stood >= 3:
		w.rank, w.Why = 5, fmt.Sprintf("done for %s and nobody called", dayCount(stood))
	case (r.Stage == job.Arrived || r.Stage == job.Surveyed) && stood >= 7:
		w.rank, w.Why = 6, fmt.Sprintf("%s for %s without a quote", r.Stage, dayCount(stood))
	case (r.Stage == job.Approved || r.Stage == job.OnBench) && stood >= 21:
		w.rank, w.Why = 6, fmt.Sprintf("agreed, and nothing moved for %s", dayCount(stood))
	case r.Stage == job.Declined && stood >= 14:
		w.rank, w.Why = 7, fmt.Sprintf("declined %s ago and still here", dayCount(stood))
	}
	return w
}

// passing is the worry about a day that half of the plays or more end after.
func passing(c QueueRow, shop *Shop) Worry {
	zone := shop.Location()
	if !c.likelyPassed(zone) {
		return Worry{}
	}
	over := domain.WholeDays(c.due(zone), c.Promise.P50) + 1
	return Worry{JobRow: c.JobRow, rank: 2, days: over,
		Why: fmt.Sprintf("we said %s; likely %s too late", day(c.JobRow.Promised, shop.Today(c.due(zone).Add(-time.Hour))), dayCount(over))}
}

// weekSentence sets the week beside that of last winter, with a space before it.
func weekSentence(d *OwnerDesk) string {
	show := d.Shop.Currency.Show
	s := fmt.Sprintf(" This week so far: %s in, %s agreed", jobsText(d.Week.Arrived), show(d.Week.Agreed.Total))
	if !d.Then.Known {
		return s + "; there is no winter before to set beside it."
	}
	return s + fmt.Sprintf("; in the same days last winter: %s and %s.", jobsText(d.Then.Arrived), show(d.Then.Agreed.Total))
}
