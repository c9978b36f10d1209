package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/queue"
	"winterbench/domain/quote"
)

// PromiseMade is what a customer was told of the day, each time a quote was said or
// the day was moved, with the window that the queue gave then. Rows are never changed.
type PromiseMade struct {
	ID      int64
	Job     domain.JobID
	Quote   domain.QuoteID // 0 when the day alone was moved
	At      time.Time
	By      string
	Said    domain.Date   // "" when no day was said
	Window  *queue.Window // nil when the queue could not be played
	Because string        // what the time goes into; why it could not be played; why the day was moved
}

// PromiseTx is what promises need of a transaction.
type PromiseTx interface {
	// AddPromise adds a row to the ledger of promises.
	AddPromise(ctx context.Context, p *PromiseMade) error
}

// PromiseQueries are the reads about promises.
type PromiseQueries interface {
	// PromisesOf reads what was told about one job, oldest first.
	PromisesOf(ctx context.Context, id domain.JobID) ([]PromiseMade, error)
	// PromisesKept reads what was told from a moment on, with what became of each
	// job, by job and then oldest first.
	PromisesKept(ctx context.Context, from time.Time) ([]PromiseKept, error)
}

// PromiseKept is a promise with what became of its job.
type PromiseKept struct {
	PromiseMade
	Tag      int
	Approved time.Time // zero when it never was
	Checked  time.Time // when the work was done and looked over; zero when it is not
}

// WithOutlook lets the use cases ask the queue: what is said of a day is then kept
// with the window that the queue gave.
func WithOutlook(o *Outlook) Option { return func(w *Workshop) { w.outlook = o } }

// foretell asks the queue for a quote before it is said. It returns nil and the
// reason when the queue has no answer: a day can be said all the same.
func (w *Workshop) foretell(ctx context.Context, id domain.QuoteID) (*Promise, string, error) {
	if w.outlook == nil {
		return nil, "", nil
	}
	q, err := w.outlook.read.QuoteByID(ctx, id)
	if err != nil {
		return nil, "", err
	}
	surveys, err := w.outlook.read.SurveysOf(ctx, q.Job)
	if err != nil {
		return nil, "", err
	}
	var last *job.Survey
	if len(surveys) > 0 {
		last = &surveys[0] // the newest comes first
	}
	asked, err := w.outlook.Ask(ctx, q, quote.Shelf{}, last)
	switch {
	case err != nil || asked == nil:
		return nil, "", err
	case asked.Trouble != "":
		return nil, asked.Trouble, nil
	}
	return &asked.Promise, asked.Promise.HeldText(w.Now()), nil
}

// promised is the row of a promise.
func promised(j domain.JobID, q domain.QuoteID, by domain.Actor, at time.Time, said domain.Date, p *Promise, because string) *PromiseMade {
	row := &PromiseMade{Job: j, Quote: q, At: at, By: by.Name, Said: said, Because: because}
	if p != nil {
		w := p.Window
		row.Window = &w
	}
	return row
}

// MoveDay tells the customer another day for agreed work that is not done: the new
// day and the reason stand in the ledger of promises and in the diary.
func (w *Workshop) MoveDay(ctx context.Context, by domain.Actor, id domain.JobID, to domain.Date, why string) error {
	f := domain.Fields{}
	why = domain.Line(f, "why", why, 200, true)
	if _, err := domain.ParseDate(string(to)); err != nil {
		f.AddErr("promised", err)
	}
	if err := f.Err(); err != nil {
		return err
	}
	live, err := w.outlook.OfJob(ctx, id)
	if err != nil {
		return err
	}
	return w.onJob(ctx, by, ActSay, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		if j.Approved.IsZero() || !j.Checked.IsZero() || job.StageOf(j).Over() {
			return did{}, domain.Conflictf("tag %d is %s: a day is moved while agreed work is not done", j.Tag, job.StageOf(j))
		}
		shop, err := tx.Shop(ctx)
		if err != nil {
			return did{}, err
		}
		if to < shop.Today(at) {
			return did{}, &domain.Error{Kind: domain.Invalid, Text: "that day is over", Fields: domain.Fields{"promised": "must be today or later"}}
		}
		before := j.Promised
		if before == to {
			return did{}, domain.Conflictf("%s is what we said already", to)
		}
		j.Promised = to
		if err := tx.AddPromise(ctx, promised(j.ID, 0, by, at, to, live, why)); err != nil {
			return did{}, err
		}
		return did{"told the customer another day: " + why, string(before), string(to)}, nil
	})
}

// Days is a promise by days on which the shop is open; Late is the day to say.
func (p Promise) Days(shop *Shop, now time.Time) Window {
	return Window{
		Earliest: openDay(shop, p.P20), Likely: p.Likely(shop), Late: p.Say,
		ByQueue: true, Because: p.HeldText(now),
	}
}

// WindowOfQuote is what the queue says of a quote; without an answer of it the
// waits alone, with the reason.
func WindowOfQuote(q *quote.Quote, a *Asked, shop *Shop, now time.Time) Window {
	if a != nil && a.Trouble == "" {
		return a.Promise.Days(shop, now)
	}
	if a == nil {
		return WindowFrom(shop.Today(now), q.Days)
	}
	days := q.Days
	if a.Ahead != nil {
		days = *a.Ahead
	}
	w := WindowFrom(shop.Today(now), days)
	w.Because = a.Trouble
	return w
}

// Text says a window to a person.
func (w Window) Text(today domain.Date) string {
	if w.IsZero() {
		return ""
	}
	s := fmt.Sprintf("Likely ready %s, by the waits alone; the queue is not in it.", day(w.Likely, today))
	if w.ByQueue {
		s = fmt.Sprintf("Likely ready %s; say %s.", day(w.Likely, today), day(w.Late, today))
		if w.Likely == w.Late {
			s = fmt.Sprintf("Likely ready %s; say that day.", day(w.Likely, today))
		}
	}
	if w.Because != "" {
		s += " " + w.Because
	}
	return s
}

// ByQueue puts what the queue says into the file of a job; nil changes nothing.
func (f *File) ByQueue(p *Promise, shop *Shop, now time.Time) {
	if p == nil {
		return
	}
	f.Window = p.Days(shop, now)
	f.Answer = jobAnswer(*f, shop, now)
}
