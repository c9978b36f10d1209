package workshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/templates"
)

// bench gathers what a sheet is priced with.
type bench struct {
	shop   *Shop
	shelf  quote.Shelf
	terms  quote.Terms
	survey *job.Survey // nil before the first
	job    *job.Job
}

func (w *Workshop) bench(ctx context.Context, tx Tx, j *job.Job, at time.Time) (b bench, err error) {
	b.job = j
	if b.shop, err = tx.Shop(ctx); err != nil {
		return b, err
	}
	c, err := tx.Customer(ctx, j.Customer)
	if err != nil {
		return b, err
	}
	b.terms = b.shop.Terms(at, c.Exempt)
	if b.survey, err = tx.LastSurvey(ctx, j.ID); err != nil && domain.KindOf(err) != domain.NotFound {
		return b, err
	}
	if err != nil {
		b.survey = nil
	}
	b.shelf, err = shelfOf(ctx, tx)
	return b, err
}

func shelfOf(ctx context.Context, tx Tx) (quote.Shelf, error) {
	editions, err := tx.Editions(ctx)
	if err != nil {
		return quote.Shelf{}, err
	}
	parts, err := tx.Parts(ctx)
	if err != nil {
		return quote.Shelf{}, err
	}
	shelf := quote.Shelf{Templates: editions, Parts: map[string]stock.Part{}}
	for _, p := range parts {
		if !p.Retired {
			shelf.Parts[p.Code] = p
		}
	}
	shelf.Older = func(code string, n int) (templates.Template, bool) {
		e, err := tx.Edition(ctx, code, n)
		return e.Template, err == nil
	}
	return shelf, nil
}

// caseRH is the humidity in the case at the last survey, 0 when not measured.
func (b bench) caseRH() decimal.Decimal {
	if b.survey == nil || !b.survey.CaseRH.Is() {
		return decimal.Zero
	}
	return b.survey.CaseRH.Value
}

// price fills in what the survey knows and builds the quote.
func (b bench) price(s quote.Sheet) (quote.Quote, error) {
	s.CaseRH = b.caseRH()
	if b.job.Comeback != nil {
		s.Share = b.job.Comeback.Share
	}
	if err := b.linked(s); err != nil {
		return quote.Quote{Job: b.job.ID}, err
	}
	if s.Because == "" && b.survey != nil {
		s.Because = b.survey.Because()
	}
	q, err := quote.Build(s, b.shelf, b.terms)
	q.Job = b.job.ID
	return q, err
}

// linked refuses rows of a comeback on a job that repeats none.
func (b bench) linked(s quote.Sheet) error {
	f := domain.Fields{}
	for i, r := range s.Rows {
		if r.Comeback && b.job.ComebackOf == 0 {
			f.Add(fmt.Sprintf("rows[%d].comeback", i), "link the earlier job first: only a comeback has rows that came back")
		}
	}
	return f.Err()
}

// PriceQuote prices a sheet for a job and keeps nothing. With an error the
// quote holds what could be priced.
func (w *Workshop) PriceQuote(ctx context.Context, by domain.Actor, id domain.JobID, s quote.Sheet) (quote.Quote, error) {
	var q quote.Quote
	if err := May(by, ActQuote); err != nil {
		return q, err
	}
	err := w.store.InTx(ctx, func(tx Tx) error {
		j, err := tx.Job(ctx, id)
		if err != nil {
			return err
		}
		b, err := w.bench(ctx, tx, j, w.Now())
		if err != nil {
			return err
		}
		q, err = b.price(s)
		return err
	})
	return q, err
}

// DraftQuote keeps a sheet as the job's draft: it replaces the present draft,
// or becomes the next version when the newest was said. seen is the Lock of the
// draft that the caller saw, 0 for a new version.
func (w *Workshop) DraftQuote(ctx context.Context, by domain.Actor, id domain.JobID, s quote.Sheet, seen int) (domain.QuoteID, error) {
	qid, err := w.do(ctx, by, ActQuote, func(tx Tx, at time.Time) (int64, error) {
		j, err := loadJob(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		if err := quotable(ctx, tx, j); err != nil {
			return 0, err
		}
		b, err := w.bench(ctx, tx, j, at)
		if err != nil {
			return 0, err
		}
		q, err := b.price(s)
		if err != nil {
			return 0, err
		}
		q.Drafted, q.DraftedBy = at, by.Name
		return w.keepDraft(ctx, tx, by, at, &q, seen)
	})
	return domain.QuoteID(qid), err
}

// quotable refuses a quote on a job that is over or billed.
func quotable(ctx context.Context, tx Tx, j *job.Job) error {
	if s := job.StageOf(j); s.Over() {
		return domain.Conflictf("tag %d is %s; open a new job to quote again", j.Tag, s)
	}
	_, err := tx.InvoiceOf(ctx, j.ID)
	switch {
	case err == nil:
		return domain.Conflictf("the invoice of tag %d is issued; more work needs a new job", j.Tag)
	case domain.KindOf(err) != domain.NotFound:
		return err
	}
	return nil
}

func (w *Workshop) keepDraft(ctx context.Context, tx Tx, by domain.Actor, at time.Time, q *quote.Quote, seen int) (int64, error) {
	all, err := tx.QuotesOf(ctx, q.Job)
	if err != nil {
		return 0, err
	}
	if n := len(all); n > 0 && all[n-1].Said.IsZero() {
		last := all[n-1]
		if last.Lock != seen {
			return 0, domain.Conflictf("%s changed this draft meanwhile; look at it before you save yours", last.DraftedBy)
		}
		q.ID, q.Version, q.Lock = last.ID, last.Version, last.Lock
		return int64(q.ID), tx.SaveQuote(ctx, q)
	}
	if seen != 0 {
		return 0, domain.Conflictf("this draft was said to the customer meanwhile; save again to make a new version")
	}
	q.Version = len(all) + 1
	if err := tx.AddQuote(ctx, q); err != nil {
		return 0, err
	}
	return int64(q.ID), note(ctx, tx, q.Job, by, at, fmt.Sprintf("drafted version %d of the quote", q.Version), "", q.Currency.Show(q.Totals.Total))
}

// SayQuote fixes the draft, gives it its number and replaces earlier versions
// that have no answer. day is the date said to the customer, "" for none; it is kept
// with the window that the queue gives at this moment.
func (w *Workshop) SayQuote(ctx context.Context, by domain.Actor, id domain.QuoteID, day domain.Date) error {
	if err := May(by, ActSay); err != nil {
		return err
	}
	foretold, because, err := w.foretell(ctx, id)
	if err != nil {
		return err
	}
	return w.onQuote(ctx, by, ActSay, id, func(tx Tx, j *job.Job, q *quote.Quote, at time.Time) (did, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return did{}, err
		}
		today := shop.Today(at)
		if day != "" && day < today {
			return did{}, &domain.Error{Kind: domain.Invalid, Text: "the promised day is over", Fields: domain.Fields{"promised": "must be today or later"}}
		}
		if err := quotable(ctx, tx, j); err != nil {
			return did{}, err
		}
		if !q.Priced(j.Comeback) {
			return did{}, domain.Conflictf("who pays for the comeback was decided after version %d was priced; save it again, then say it", q.Version)
		}
		number, err := tx.Next(ctx, Quotes)
		if err != nil {
			return did{}, err
		}
		if err := q.Say(number, by, at, today); err != nil {
			return did{}, err
		}
		if err := replaceOlder(ctx, tx, q, at); err != nil {
			return did{}, err
		}
		before := string(j.Promised)
		j.Quoted = at
		if day != "" {
			j.Promised = day
		}
		if err := tx.AddPromise(ctx, promised(j.ID, q.ID, by, at, day, foretold, because)); err != nil {
			return did{}, err
		}
		return did{fmt.Sprintf("said version %d to the customer, %s", q.Version, q.Currency.Show(q.Totals.Total)), before, string(j.Promised)}, nil
	})
}

// replaceOlder marks older versions without an answer as replaced.
func replaceOlder(ctx context.Context, tx Tx, q *quote.Quote, at time.Time) error {
	all, err := tx.QuotesOf(ctx, q.Job)
	if err != nil {
		return err
	}
	for _, old := range all {
		if old.Version < q.Version && old.Answer == nil && old.Replaced.IsZero() {
			old.Replaced = at
			if err := tx.SaveQuote(ctx, old); err != nil {
				return err
			}
		}
	}
	return nil
}

// onQuote loads a quote with its job, lets fn decide, and saves both.
func (w *Workshop) onQuote(ctx context.Context, by domain.Actor, a Action, id domain.QuoteID, fn func(tx Tx, j *job.Job, q *quote.Quote, at time.Time) (did, error)) error {
	_, err := w.do(ctx, by, a, func(tx Tx, at time.Time) (int64, error) {
		q, err := tx.Quote(ctx, id)
		if err != nil {
			return 0, err
		}
		if seen, ok := ctx.Value(lockInContext{}).(int); ok && seen != q.Lock {
			return 0, domain.Conflictf("version %d changed meanwhile; look at it again", q.Version)
		}
		j, err := loadJob(ctx, tx, q.Job)
		if err != nil {
			return 0, err
		}
		d, err := fn(tx, j, q, at)
		if err != nil {
			return 0, err
		}
		if err := tx.SaveQuote(ctx, q); err != nil {
			return 0, err
		}
		if err := tx.SaveJob(ctx, j); err != nil {
			return 0, err
		}
		return int64(id), note(ctx, tx, j.ID, by, at, d.what, d.before, d.after)
	})
	return err
}

// AnswerQuote records what the customer said. A yes makes the agreed lines
// tasks and raises or keeps the limit that may be billed.
func (w *Workshop) AnswerQuote(ctx context.Context, by domain.Actor, id domain.QuoteID, a quote.Answer, lines []domain.LineID) error {
	return w.answer(ctx, by, ActAnswer, id, lines, func(Tx, *job.Job, *quote.Quote, time.Time) (quote.Answer, error) {
		if a.Channel == quote.ByLink { // that is for the customer alone to say
			a.Channel = ""
		}
		return a, nil
	})
}

// answer records what ask returns as the answer to a quote.
func (w *Workshop) answer(ctx context.Context, by domain.Actor, act Action, id domain.QuoteID, lines []domain.LineID, ask func(Tx, *job.Job, *quote.Quote, time.Time) (quote.Answer, error)) error {
	return w.onQuote(ctx, by, act, id, func(tx Tx, j *job.Job, q *quote.Quote, at time.Time) (did, error) {
		a, err := ask(tx, j, q, at)
		if err != nil {
			return did{}, err
		}
		b, err := w.bench(ctx, tx, j, at)
		if err != nil {
			return did{}, err
		}
		a.At, a.RecordedBy = at, by.Name
		if err := quotable(ctx, tx, j); err != nil {
			return did{}, err
		}
		if err := q.Take(a, lines, b.shop.Guard, b.terms.Today); err != nil {
			return did{}, err
		}
		endAnswerWait(j, at)
		if a.Outcome == quote.Denied {
			if j.Approved.IsZero() {
				j.Declined = at
			}
			return did{what: fmt.Sprintf("%s said no to version %d", a.Who, q.Version), after: a.Note}, nil
		}
		if j.Approved.IsZero() {
			j.Approved = at
		}
		if err := planTasks(ctx, tx, j, q, b, at); err != nil {
			return did{}, err
		}
		if err := w.reserve(ctx, tx, j, q, b.shelf, by, at); err != nil {
			return did{}, err
		}
		return did{
			what:  fmt.Sprintf("%s said yes to version %d (%s, %s)", a.Who, q.Version, a.Outcome, a.Channel),
			after: fmt.Sprintf("%s, not above %s", q.Currency.Show(q.YesTotal), q.Currency.Show(q.YesLimit)),
		}, nil
	})
}

// endAnswerWait ends a running wait for the customer's answer.
func endAnswerWait(j *job.Job, at time.Time) {
	for i := range j.Waits {
		if w := &j.Waits[i]; w.Kind == "customer answer" && w.End.IsZero() {
			w.End = at
		}
	}
}

// planTasks makes the tasks of an agreed quote; they are saved at once, because
// the lines must know their identities.
func planTasks(ctx context.Context, tx Tx, j *job.Job, q *quote.Quote, b bench, at time.Time) error {
	had := len(j.Tasks)
	fresh, err := quote.Plan(j, q, b.shelf, b.caseRH(), at)
	if err != nil {
		return err
	}
	j.Checked, j.CheckedBy, j.Ready = time.Time{}, "", time.Time{}
	if err := tx.SaveJob(ctx, j); err != nil {
		return err
	}
	for i, line := range fresh {
		q.Lines[line].Task = j.Tasks[had+i].ID
	}
	return nil
}

// NextSheet returns the sheet from which the next version of a job's quote is
// made: the present draft's, or that of the newest version with what was agreed
// marked, or an empty one.
func NextSheet(versions []quote.Quote) (sheet quote.Sheet, seen int) {
	if len(versions) == 0 {
		return quote.Sheet{Basis: quote.Estimate}, 0
	}
	q := versions[0] // newest first
	sheet = quote.Sheet{Basis: q.Basis, Rows: q.Rows(), Reason: q.Reason, Because: q.Because, Missing: q.Missing, Note: q.Note}
	if q.Discount > 0 {
		sheet.Discount = q.Currency.Text(q.Discount)
	}
	if q.Said.IsZero() {
		return sheet, q.Lock
	}
	if q.Answer != nil && q.Answer.Outcome == quote.Part { // what was refused is not offered again by itself
		sheet.Rows = slices.DeleteFunc(sheet.Rows, func(r quote.Row) bool { return !r.Agreed })
	}
	return sheet, 0
}
