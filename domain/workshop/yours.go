package workshop

import (
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
)

// Yours is what a customer reads of their own job: no costs, no notes of the staff and
// nothing of anybody else.
type Yours struct {
	Answer string       // where the instrument is, what is next, by when
	Quote  *quote.Quote // the newest that was said; nil before
	Open   bool         // Quote waits for the answer
}

// YoursOf says a job to its customer.
func YoursOf(f *Folder, now time.Time) Yours {
	y, today := Yours{}, f.Shop.Today(now)
	for i := range f.Versions {
		if q := &f.Versions[i]; !q.Said.IsZero() && (y.Quote == nil || q.Version > y.Quote.Version) {
			y.Quote = q
		}
	}
	y.Open = y.Quote != nil && y.Quote.StateOn(today) == quote.Open && !f.Stage.Over() && f.Invoice == nil
	y.Answer = yoursWhere(f, y, now)
	if y.Open && !f.Job.Approved.IsZero() {
		y.Answer += " A new quote waits for your answer until " + day(y.Quote.ValidUntil, today) + "."
	}
	if text := yoursWhen(f, today); text != "" {
		y.Answer += " " + text
	}
	return y
}

// yoursWhere says where the instrument is and what is next.
func yoursWhere(f *Folder, y Yours, now time.Time) string {
	j, today := f.Job, f.Shop.Today(now)
	switch f.Stage {
	case job.Arrived:
		if !j.Arrival.CaseOpened {
			return "Your instrument warms up in its closed case; next we look at it."
		}
		return "Your instrument is with us since " + ago(j.Arrival.At, now, f.Shop) + "; next we look at it."
	case job.Surveyed:
		return "We have looked at your instrument; next is our quote."
	case job.Quoted:
		if y.Open {
			return "Our quote waits for your answer until " + day(y.Quote.ValidUntil, today) + "; the work begins after it."
		}
		return "Our quote is valid no more; call us for a new one."
	case job.Approved:
		return "You agreed to the work; next it goes to the bench."
	case job.InHold:
		return "Your instrument takes up moisture in our cabinet, until measurements say it is enough; then the work goes on."
	case job.Waiting:
		return yoursWait(j)
	case job.OnBench:
		return "Your instrument is at the bench; when all is done it is checked, and then we call you."
	case job.Checked:
		return "The work is done and checked; next we call you."
	case job.Ready:
		s := "Your instrument is ready: come and collect it."
		if due := f.Balance.OwnDue(); f.Invoice != nil && due > 0 {
			s += " To pay: " + f.Shop.Currency.Show(due) + "."
		}
		return s
	case job.Collected:
		return "Your instrument was collected " + ago(j.Collected, now, f.Shop) + "."
	case job.Declined:
		return "You said no to the work; your instrument can be collected as it came."
	}
	return "This job is closed; call us if you have a question."
}

// yoursWait says what the work waits for, without the names that the shop uses.
func yoursWait(j *job.Job) string {
	for _, w := range j.Waits {
		if !w.End.IsZero() {
			continue
		}
		switch w.Kind {
		case "customer answer":
			return "The work waits for your answer; call us."
		case "deposit":
			return "The work waits for your deposit."
		case job.PartOrdered:
			return "The work waits for a part that is ordered; then it goes on."
		case "glue clamp":
			return "Glue sets in the clamps; then the work goes on."
		case "finish cure":
			return "The finish hardens; then the work goes on."
		case "settle at pitch":
			return "The instrument settles under its strings; then the work goes on."
		case "cold case":
			return "Your instrument warms up in its closed case; then the work goes on."
		}
	}
	return "Your instrument waits for its turn; then the work goes on."
}

// yoursWhen repeats the day that was said, as long as it means something.
func yoursWhen(f *Folder, today domain.Date) string {
	if f.Job.Promised == "" || f.Stage.Over() || f.Stage == job.Ready || f.Stage == job.Declined {
		return ""
	}
	if f.Job.Promised < today {
		return fmt.Sprintf("We said %s: that day is over. Call us and we tell you how it stands.", day(f.Job.Promised, today))
	}
	if f.Job.Approved.IsZero() {
		return fmt.Sprintf("We said %s, if you agree in time.", day(f.Job.Promised, today))
	}
	return fmt.Sprintf("We said %s.", day(f.Job.Promised, today))
}
