package workshop

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"winterbench/domain/billing"
)

// LearnQueries are the reads of what clocked time became.
type LearnQueries interface {
	// SpentTasks reads the tasks of the jobs handed over from one moment to another
	// that were clocked or billed.
	SpentTasks(ctx context.Context, from, to time.Time) ([]SpentTask, error)
}

// SpentTask is what was clocked on one task and how it was billed.
type SpentTask struct {
	Template  string
	Collected time.Time // when its job was handed over
	billing.Spent
}

// UnbilledMonth is where the clocked time of the jobs handed over in a month went.
type UnbilledMonth struct {
	Key  string // as 2026-11
	Name string
	billing.Unbilled
}

// UnbilledReport is where clocked time went that was not billed, in the last twelve
// months.
type UnbilledReport struct {
	Months []UnbilledMonth // oldest first, also those without a job
	All    billing.Unbilled
	Answer string
}

// ReadUnbilled reads where the clocked time of the last twelve months went.
func ReadUnbilled(ctx context.Context, read Queries, now time.Time) (*UnbilledReport, error) {
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	tasks, err := read.SpentTasks(ctx, firstOfMonth(shop, now, 1-marginMonths), now)
	if err != nil {
		return nil, err
	}
	r := UnbilledFrom(tasks, shop, now)
	return &r, nil
}

// UnbilledFrom adds up tasks by the month in which their jobs were handed over.
func UnbilledFrom(tasks []SpentTask, shop *Shop, now time.Time) UnbilledReport {
	var r UnbilledReport
	at := map[string]int{}
	for i := range marginMonths {
		first := firstOfMonth(shop, now, i+1-marginMonths)
		at[first.Format("2006-01")] = i
		r.Months = append(r.Months, UnbilledMonth{Key: first.Format("2006-01"), Name: first.Format("Jan 2006")})
	}
	for _, t := range tasks {
		i, within := at[t.Collected.In(shop.Location()).Format("2006-01")]
		if !within {
			continue
		}
		u := billing.UnbilledOf(t.Spent)
		r.Months[i].Unbilled, r.All = r.Months[i].Plus(u), r.All.Plus(u)
	}
	r.Answer = unbilledAnswer(r.All)
	return r
}

// unbilledAnswer says how much was billed and what the most of the rest is.
func unbilledAnswer(u billing.Unbilled) string {
	if u.Clocked == 0 {
		return "Nothing that was handed over in the last twelve months has a clock on it."
	}
	text := fmt.Sprintf("Of %s clocked on what was handed over in twelve months, the bills pay for %s", hoursText(u.Clocked), hoursText(u.Billed))
	causes := u.Causes()
	slices.SortStableFunc(causes, func(a, b billing.Cause) int { return cmp.Compare(b.Seconds, a.Seconds) })
	if causes[0].Seconds < 1800 {
		return text + "; no cause took half an hour."
	}
	text += fmt.Sprintf("; most that is not billed: %s, %s", causes[0].Name, hoursText(causes[0].Seconds))
	if causes[1].Seconds >= 1800 {
		text += fmt.Sprintf(", then %s, %s", causes[1].Name, hoursText(causes[1].Seconds))
	}
	return text + "."
}

func hoursText(seconds int64) string { return fmt.Sprintf("%.1f h", float64(seconds)/3600) }
