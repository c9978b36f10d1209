package audit

import (
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
)

// Facts are one job with what hangs on it, as far as the rules look at it.
type Facts struct {
	Job          *job.Job // with its tasks, waits, holds, readings and clockings, each in the order of the identities
	Stage        string   // as it is written on the job
	Since        time.Time
	Quotes       []*quote.Quote                       // by version
	Totals       map[domain.QuoteID]money.Amount      // of the quotes, as lists show them
	Invoice      *billing.Invoice                     // nil before it is issued
	InvoiceTotal money.Amount                         // as lists show it
	Credited     map[domain.CreditNoteID]money.Amount // by each credit note, as lists show it
	Payments     []billing.Payment
	Promises     []Promise // oldest first
	Named        []Named   // rows that name a task

	Entries  []billing.Entry // of the journal, in the order of the identities
	Moves    []stock.Move    // of parts, likewise
	Reopened map[domain.TaskID]bool
}

// Promise is a day that the customer was told.
type Promise struct {
	ID    int64
	Quote domain.QuoteID // 0 when the day alone was moved
	Said  domain.Date    // "" when no day was said
}

// Named is a row of another kind that names a task of the job.
type Named struct {
	What string // such as "parts used"
	ID   int64
	Task domain.TaskID
}

// name is the job in a text.
func (f *Facts) name() string {
	if f.Job.ID == 0 {
		return "sale over the counter"
	}
	return fmt.Sprintf("tag %d (job %d)", f.Job.Tag, f.Job.ID)
}

// Job holds one job against the rules that need no other.
func (a *Audit) Job(f *Facts) {
	a.report.Jobs++
	a.stage(f)
	a.belongs(f)
	for _, q := range f.Quotes {
		a.quote(f, q)
	}
	a.invoice(f)
	a.payments(f)
	a.stretches(f)
	a.tasks(f)
	a.holds(f)
	a.promise(f)
	a.books(f)
	if f.Job.ComebackOf != 0 {
		a.links[f.Job.ID] = f.Job.ComebackOf
	}
}

func (a *Audit) stage(f *Facts) {
	a.looked(stageRule, 1)
	if want := job.StageOf(f.Job); f.Stage != string(want) {
		a.broken(stageRule, f.Job.ID, "%s is written down as %q; its facts say %q", f.name(), f.Stage, want)
		return
	}
	if want := job.StageSince(f.Job); !f.Since.Equal(want) {
		a.broken(stageRule, f.Job.ID, "%s is written down as %q since %s; its facts say since %s", f.name(), f.Stage, when(f.Since), when(want))
	}
}

func (a *Audit) belongs(f *Facts) {
	tasks, quotes := map[domain.TaskID]bool{}, map[domain.QuoteID]bool{}
	for _, t := range f.Job.Tasks {
		tasks[t.ID] = true
	}
	for _, q := range f.Quotes {
		quotes[q.ID] = true
	}
	a.looked(belongRule, len(f.Named)+len(f.Payments)+len(f.Promises))
	for _, n := range f.Named {
		if n.Task != 0 && !tasks[n.Task] {
			a.broken(belongRule, f.Job.ID, "%s: %s %d names task %d, which is not of this job", f.name(), n.What, n.ID, n.Task)
		}
	}
	for _, p := range f.Promises {
		if p.Quote != 0 && !quotes[p.Quote] {
			a.broken(belongRule, f.Job.ID, "%s: promise %d names quote %d, which is not of this job", f.name(), p.ID, p.Quote)
		}
	}
	if v := f.Invoice; v != nil && v.Quote != 0 && !quotes[v.Quote] {
		a.broken(belongRule, f.Job.ID, "%s: invoice %d names quote %d, which is not of this job", f.name(), v.Number, v.Quote)
	}
	if v := f.Invoice; v != nil && v.Customer != f.Job.Customer {
		a.broken(belongRule, f.Job.ID, "%s: invoice %d is for customer %d, the job for customer %d", f.name(), v.Number, v.Customer, f.Job.Customer)
	}
	for _, p := range f.Payments {
		if p.Invoice != 0 && (f.Invoice == nil || p.Invoice != f.Invoice.ID) {
			a.broken(belongRule, f.Job.ID, "%s: payment %d names invoice %d, which is not of this job", f.name(), p.ID, p.Invoice)
		}
	}
}

// promise holds the promised day against what the customer was told last. Jobs
// that were promised before the ledger of promises was kept have no row in it.
func (a *Audit) promise(f *Facts) {
	if len(f.Promises) == 0 {
		return
	}
	a.looked(promiseRule, 1)
	told := domain.Date("")
	for _, p := range f.Promises {
		if p.Said != "" {
			told = p.Said
		}
	}
	if told != "" && f.Job.Promised != told {
		a.broken(promiseRule, f.Job.ID, "%s is promised for %s; the customer was last told %s", f.name(), dayOr(f.Job.Promised), told)
	}
}

func dayOr(d domain.Date) string {
	if d == "" {
		return "no day"
	}
	return string(d)
}
