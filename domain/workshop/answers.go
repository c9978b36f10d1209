package workshop

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// File is everything about one job that a page or the API shows.
type File struct {
	Job      *job.Job
	Stage    job.Stage
	Quote    *quote.Quote // the agreed version, else the newest; nil for none
	Invoice  *billing.Invoice
	Balance  billing.Balance
	Held     *hold.Judgement // what the readings of the running hold say; nil when none runs
	Window   Window
	Answer   string // the one sentence
	Account  job.Account
	Pieces   []job.Piece
	NextStep string // what can be done now, in words; "" when the job is over
}

// FileOf puts a job's file together from what the store read.
// prior is what past holds tell of the one that runs.
func FileOf(shop *Shop, j *job.Job, versions []quote.Quote, inv *billing.Invoice, ps []billing.Payment, prior hold.Prior, now time.Time) File {
	f := File{Job: j, Stage: job.StageOf(j), Invoice: inv, Balance: billing.BalanceOf(inv, ps, shop.Coin())}
	ptrs := make([]*quote.Quote, len(versions))
	for i := range versions {
		ptrs[i] = &versions[i]
		if f.Quote == nil || versions[i].Version > f.Quote.Version {
			f.Quote = ptrs[i]
		}
	}
	if q := Agreed(ptrs); q != nil {
		f.Quote = q
	}
	zone := shop.Location()
	if h := j.OpenHold(); h != nil {
		says := Judge(h, j, shop.Hold, prior, now)
		f.Held = &says
	}
	f.Window = JobWindow(j, f.Quote, f.Held, now, zone)
	f.Account = job.AccountOf(j, now, zone)
	f.Pieces = job.PiecesOf(j, now)
	f.Answer = jobAnswer(f, shop, now)
	f.NextStep = nextStep(f)
	return f
}

// day writes a date as a person says it: Sat 12 Dec, with the year when it is
// another than today's.
func day(d, today domain.Date) string {
	t := d.Time(time.UTC)
	if string(d)[:4] != string(today)[:4] {
		return t.Format("Mon 2 Jan 2006")
	}
	return t.Format("Mon 2 Jan")
}

// jobAnswer says where the instrument is and when it is likely ready.
func jobAnswer(f File, shop *Shop, now time.Time) string {
	today := shop.Today(now)
	return strings.Join(strings.Fields(when(f, shop, now, today)+" "+where(f, shop, now, today)), " ")
}

func when(f File, shop *Shop, now time.Time, today domain.Date) string {
	j := f.Job
	var s string
	if !f.Window.IsZero() && !j.Approved.IsZero() {
		s = f.Window.Text(today)
	}
	if j.Promised != "" && !f.Stage.Over() && f.Stage != job.Ready && f.Stage != job.Declined {
		if j.Promised < today && !j.Approved.IsZero() {
			return fmt.Sprintf("We said %s: that day is over.", day(j.Promised, today)) + " " + s
		}
		if j.Promised >= today {
			s += fmt.Sprintf(" We said %s.", day(j.Promised, today))
		}
	}
	return s
}

func where(f File, shop *Shop, now time.Time, today domain.Date) string {
	j := f.Job
	switch f.Stage {
	case job.Arrived:
		if !j.Arrival.CaseOpened {
			return "The case is still closed: leave it until it is at room temperature, then survey it."
		}
		return "Here since " + ago(j.Arrival.At, now, shop) + ", not surveyed yet."
	case job.Surveyed:
		return "Surveyed " + ago(j.Surveyed, now, shop) + ", no quote said yet."
	case job.Quoted:
		return quotedWhere(f, today)
	case job.Approved:
		return "Approved " + ago(j.Approved, now, shop) + ", nothing begun yet."
	case job.InHold:
		return HoldAnswer(j.OpenHold(), *f.Held, now, shop)
	case job.Waiting:
		return waitingWhere(j, now, shop)
	case job.OnBench:
		return benchWhere(j)
	case job.Checked:
		return "Every check is through; the customer has not been called."
	case job.Ready:
		s := "Ready since " + ago(j.Ready, now, shop) + "."
		if f.Balance.Due > 0 {
			s += " To pay: " + shop.Currency.Show(f.Balance.Due) + "."
		}
		return s
	case job.Collected:
		return fmt.Sprintf("Collected by %s %s.", j.HandOver.To, ago(j.Collected, now, shop))
	case job.Declined:
		return "The customer said no. Hand it back as it came."
	case job.ClosedUnclaimed:
		return "Closed unclaimed " + ago(j.Unclaimed, now, shop) + "."
	}
	return ""
}

func quotedWhere(f File, today domain.Date) string {
	q := f.Quote
	if q == nil {
		return "A quote was said."
	}
	if q.ValidUntil < today {
		return fmt.Sprintf("Version %d lapsed on %s without an answer; make a new version.", q.Version, day(q.ValidUntil, today))
	}
	return fmt.Sprintf("Waits for the customer's answer to version %d: %s, valid until %s.", q.Version, q.Currency.Show(q.Totals.Total), day(q.ValidUntil, today))
}

func lastGap(h *job.Hold) string {
	for _, r := range slices.Backward(h.Standing()) {
		if g := r.Gap; g.Is() {
			return ", crack still " + g.Text()
		}
	}
	return ""
}

func waitingWhere(j *job.Job, now time.Time, shop *Shop) string {
	for _, w := range j.Waits {
		if !w.End.IsZero() {
			continue
		}
		s := "Waits for " + w.Kind
		if t, err := j.Task(w.Task); err == nil {
			s += " after " + strings.ToLower(t.Name[:1]) + t.Name[1:]
		}
		if w.Until.IsZero() {
			return s + ", since " + ago(w.Start, now, shop) + "."
		}
		if w.Until.Before(now) {
			return s + "; that should be over."
		}
		return s + " until " + at(w.Until, now, shop) + "."
	}
	return ""
}

func benchWhere(j *job.Job) string {
	var hands []string
	for _, c := range j.Clockings {
		if c.End.IsZero() {
			if t, err := j.Task(c.Task); err == nil {
				hands = append(hands, c.Name+" works on "+strings.ToLower(t.Name[:1])+t.Name[1:])
			}
		}
	}
	if len(hands) > 0 {
		return strings.Join(hands, "; ") + "."
	}
	served := ""
	for i := range j.Tasks {
		t := &j.Tasks[i]
		switch {
		case !t.Open() || j.Blocked(t) != "":
		case t.Hold && j.Served(t.ID):
			served = t.Name
		default:
			return "Free at the bench; next is " + strings.ToLower(t.Name[:1]) + t.Name[1:] + "."
		}
	}
	if served != "" {
		return served + " has served and wants only to be marked as finished."
	}
	return "All tasks are finished; the quality check is next."
}

// ago names a past moment: today 14:20, yesterday, Tue 3 Nov.
func ago(t, now time.Time, shop *Shop) string {
	today, d := shop.Today(now), shop.Today(t)
	switch d {
	case today:
		return "today " + t.In(shop.Location()).Format("15:04")
	case today.AddDays(-1):
		return "yesterday"
	}
	return day(d, today)
}

// at names a coming moment: 14:20, tomorrow 9:00, Tue 3 Nov 14:20.
func at(t, now time.Time, shop *Shop) string {
	today, d := shop.Today(now), shop.Today(t)
	clock := t.In(shop.Location()).Format("15:04")
	switch d {
	case today:
		return clock
	case today.AddDays(1):
		return "tomorrow " + clock
	}
	return day(d, today) + " " + clock
}

// nextStep names what moves the job on.
func nextStep(f File) string {
	switch f.Stage {
	case job.Arrived:
		if !f.Job.Arrival.CaseOpened {
			return "open the case when it has warmed"
		}
		return "survey it"
	case job.Surveyed:
		return "build a quote"
	case job.Quoted:
		return "record the customer's answer"
	case job.Approved, job.OnBench, job.Waiting, job.InHold:
		return "work on it"
	case job.Checked:
		return "call the customer"
	case job.Ready, job.Declined:
		return "hand it over"
	}
	return ""
}

// DeskAnswer says what waits for the counter: rows are the open jobs.
func DeskAnswer(rows []JobRow, today domain.Date) string {
	var survey, quoteIt, answer, call, pickup, late int
	for _, r := range rows {
		switch r.Stage {
		case job.Arrived:
			survey++
		case job.Surveyed:
			quoteIt++
		case job.Quoted:
			answer++
		case job.Checked:
			call++
		case job.Ready:
			pickup++
		}
		if r.Late(today) {
			late++
		}
	}
	if len(rows) == 0 {
		return "The shop is empty: nothing waits for you."
	}
	var parts []string
	add := func(n int, one, many string) {
		if n == 1 {
			parts = append(parts, "one "+one)
		} else if n > 1 {
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	add(late, "promise is over", "promises are over")
	add(call, "to call: it is ready", "to call: they are ready")
	add(quoteIt, "to quote", "to quote")
	add(answer, "waits for an answer", "wait for an answer")
	add(survey, "to survey", "to survey")
	add(pickup, "waits to be collected", "wait to be collected")
	s := fmt.Sprintf("%d instruments are in the house", len(rows))
	if len(rows) == 1 {
		s = "One instrument is in the house"
	}
	if len(parts) == 0 {
		return s + "; none of them needs the counter now."
	}
	return s + ": " + strings.Join(parts, ", ") + "."
}

// Late reports whether the promised day of an unfinished job is over.
func (r JobRow) Late(today domain.Date) bool {
	if r.Promised == "" || r.Promised >= today {
		return false
	}
	switch r.Stage {
	case job.Approved, job.InHold, job.OnBench, job.Waiting, job.Checked:
		return true
	}
	return false
}

// BenchRows puts the reasons of the shop to the open tasks: what somebody works
// on and a hold that runs are no free work, and a hold that has no place must
// wait for it. taken is how
// many places are in use.
func BenchRows(rows []TaskRow, taken int, shop *Shop) []TaskRow {
	out := slices.Clone(rows)
	for i := range out {
		r := &out[i]
		switch {
		case r.Blocked == "" && r.Hands != "" && !r.Task.Hold:
			r.Blocked = r.Hands + " works on it"
		case r.Blocked != "" || !r.Task.Hold || r.Served:
		case r.InHold:
			r.Blocked = "is in the cabinet"
		case taken >= len(shop.Places):
			r.Blocked = "the cabinet is full"
		}
	}
	return out
}

// startsHold reports whether doing this means to begin a hold.
func (r *TaskRow) startsHold() bool { return r.Task.Hold && !r.Served && !r.InHold }

// BenchAnswer says what is free at the bench; rows come from [BenchRows].
func BenchAnswer(rows []TaskRow, now time.Time, shop *Shop) string {
	free, blocked := 0, 0
	var first *TaskRow
	var next time.Time
	for i := range rows {
		r := &rows[i]
		if r.Blocked != "" {
			blocked++
			if !r.Until.IsZero() && r.Until.After(now) && (next.IsZero() || r.Until.Before(next)) {
				next = r.Until
			}
			continue
		}
		free++
		if first == nil || (r.startsHold() && !first.startsHold()) {
			first = r
		}
	}
	if free == 0 && blocked == 0 {
		return "Nothing waits at the bench."
	}
	s := "Nothing is free to do now."
	if free == 1 {
		s = "One thing is free to do."
	} else if free > 1 {
		s = fmt.Sprintf("%d things are free to do.", free)
	}
	if !next.IsZero() {
		s += " The next wait ends " + at(next, now, shop) + "."
	}
	if first != nil && first.startsHold() {
		s += fmt.Sprintf(" Start the hold of tag %d first: it works while you don't.", first.Tag)
	}
	return s
}

// QuoteAnswer says what a quote comes to and when the work would be ready. w is
// what [WindowOfQuote] gives.
func QuoteAnswer(q *quote.Quote, w Window, today domain.Date) string {
	s := w.Text(today)
	if !w.ByQueue && q.Hold.Typical.Sign() > 0 {
		s += fmt.Sprintf(" %s of %s days are the cabinet.", q.Hold.Typical.Ceil(), q.Days.Typical.Ceil())
	}
	if q.Basis == quote.Estimate {
		return s + fmt.Sprintf(" About %s, not above %s.", q.Currency.Show(q.Totals.Total), q.Currency.Text(q.Ceiling))
	}
	return s + fmt.Sprintf(" %s, firm.", q.Currency.Show(q.Totals.Total))
}

// OwnerAnswer says what the owner should look at: rows are the open jobs.
func OwnerAnswer(rows []JobRow, now time.Time, shop *Shop) string {
	today := shop.Today(now)
	var late, old int
	var owed, agreed money.Amount
	for _, r := range rows {
		if r.Late(today) {
			late++
		}
		if r.Stage == job.Ready && now.Sub(r.Since) > 30*24*time.Hour {
			old++
		}
		if r.Total > 0 {
			owed += r.Due()
		} else {
			agreed += r.Agreed
		}
	}
	s := "Every promise still stands."
	if late == 1 {
		s = "One promise is over."
	} else if late > 1 {
		s = fmt.Sprintf("%d promises are over.", late)
	}
	if old > 0 {
		s += fmt.Sprintf(" %d ready for more than 30 days and not collected.", old)
	}
	return s + fmt.Sprintf(" Work agreed and not billed: %s; billed and not paid: %s.", shop.Currency.Show(agreed), shop.Currency.Show(owed))
}
