package workshop

import (
	"context"
	"time"

	"winterbench/domain"
)

// told reads what was said last of the day of each agreed job, by job.
func (o *Outlook) told(ctx context.Context, f Facts) (map[domain.JobID]PromiseMade, error) {
	oldest := f.Now
	for _, j := range f.Jobs {
		if j.Approved.Before(oldest) {
			oldest = j.Approved
		}
	}
	// a quote is said before the yes, at most so many days as it is valid
	rows, err := o.read.PromisesKept(ctx, oldest.AddDate(0, 0, -f.Shop.ValidDays-1))
	if err != nil {
		return nil, err
	}
	out := map[domain.JobID]PromiseMade{}
	for _, r := range rows {
		if r.Said != "" {
			out[r.Job] = r.PromiseMade // of each job the oldest comes first
		}
	}
	return out, nil
}

// since sets the play beside what was said. Without a window of that moment the day
// itself is the measure.
func (r *QueueRow) since(said PromiseMade, shop *Shop) {
	if r.JobRow.Promised == "" {
		return
	}
	from := r.JobRow.Promised
	if said.Said == from && said.Window != nil {
		r.Told, from = said.Window, openDay(shop, said.Window.P80)
	}
	r.Moved = openDaysAfter(shop, from, openDay(shop, r.Promise.P80))
}

// openDaysAfter counts the days after one up to another on which the shop is open; 0
// when the other is not later. More than [MostOpenDays] count as that many.
func openDaysAfter(shop *Shop, from, to domain.Date) int {
	if to <= from {
		return 0
	}
	if to.Time(time.UTC).Sub(from.Time(time.UTC)) >= MostOpenDays*24*time.Hour {
		return MostOpenDays
	}
	days, err := OpenDays(shop, nil, from.AddDays(1), to)
	if err != nil {
		return MostOpenDays
	}
	n := 0
	for _, d := range days {
		if d.Minutes > 0 {
			n++
		}
	}
	return n
}
