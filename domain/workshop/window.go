package workshop

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/templates"
)

// Window is when a job is likely ready, counted from a day. It comes from the
// waits of the templates alone: the queue in front of the bench is not in it.
type Window struct {
	Earliest domain.Date `json:"earliest"`
	Likely   domain.Date `json:"likely"`
	Late     domain.Date `json:"late"`
}

// IsZero reports whether there is no window.
func (w Window) IsZero() bool { return w.Likely == "" }

// WindowFrom counts elapsed days from a day, each rounded up to whole days.
func WindowFrom(start domain.Date, d templates.Days) Window {
	on := func(days decimal.Decimal) domain.Date { return start.AddDays(int(days.Ceil().IntPart())) }
	return Window{Earliest: on(d.Low), Likely: on(d.Typical), Late: on(d.High)}
}

// JobWindow is the window of a job: for agreed work from the day of the yes,
// for a quote on the table from today. It never lies in the past. A job that
// is checked or over has none.
func JobWindow(j *job.Job, q *quote.Quote, today domain.Date, zone *time.Location) Window {
	if q == nil || !j.Checked.IsZero() || job.StageOf(j).Over() {
		return Window{}
	}
	start := today
	if !j.Approved.IsZero() {
		start = domain.DateOf(j.Approved.In(zone))
	}
	w := WindowFrom(start, q.Days)
	w.Earliest, w.Likely, w.Late = max(w.Earliest, today), max(w.Likely, today), max(w.Late, today)
	return w
}
