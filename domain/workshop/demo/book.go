package demo

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// book keeps the shop's records in memory while the history is made. The use
// cases write into it as into a database. It gives every identity. A use case
// that fails ends the whole season, so nothing is ever taken back.
type book struct {
	workshop.Tx // what the history never needs

	season   *workshop.Season
	editions map[string]quote.Edition
	older    map[string][]quote.Edition // by code, oldest first
	jobs     map[domain.JobID]*record
	ids      map[string]int64
	clocks   map[domain.StaffID]running
	stands   map[onJob]money.Amount           // on the accounts of the journal
	deposits map[domain.JobID][]billing.Entry // of the journal, that take, use or give back deposits
	shelf    shelf
}

// record is a job with everything that hangs on it.
type record struct {
	job      *job.Job
	surveys  []job.Survey
	quotes   []*quote.Quote
	invoice  *billing.Invoice
	payments []billing.Payment
}

type running struct {
	job  domain.JobID
	task domain.TaskID
}

func newBook() *book {
	return &book{
		season:   &workshop.Season{Series: map[workshop.Series]int{}},
		editions: map[string]quote.Edition{},
		older:    map[string][]quote.Edition{},
		jobs:     map[domain.JobID]*record{},
		ids:      map[string]int64{},
		clocks:   map[domain.StaffID]running{},
		stands:   map[onJob]money.Amount{},
		deposits: map[domain.JobID][]billing.Entry{},
		shelf:    newShelf(),
	}
}

// InTx runs fn at once.
func (b *book) InTx(_ context.Context, fn func(workshop.Tx) error) error { return fn(b) }

// id gives the next identity of a table when there is none yet.
func id[T ~int64](b *book, table string, v *T) {
	if *v == 0 {
		b.ids[table]++
		*v = T(b.ids[table])
	}
}

// Shop returns the settings.
func (b *book) Shop(context.Context) (*workshop.Shop, error) {
	s := b.season.Shop
	return &s, nil
}

// Customer returns a customer.
func (b *book) Customer(_ context.Context, id domain.CustomerID) (*customer.Customer, error) {
	if id < 1 || int(id) > len(b.season.Customers) {
		return nil, domain.NotFoundf("there is no customer %d", id)
	}
	return &b.season.Customers[id-1], nil
}

// AddCustomer keeps a new customer.
func (b *book) AddCustomer(_ context.Context, c *customer.Customer) error {
	id(b, "customers", &c.ID)
	b.season.Customers = append(b.season.Customers, *c)
	return nil
}

// Instrument returns an instrument.
func (b *book) Instrument(_ context.Context, id domain.InstrumentID) (*customer.Instrument, error) {
	if id < 1 || int(id) > len(b.season.Instruments) {
		return nil, domain.NotFoundf("there is no instrument %d", id)
	}
	return &b.season.Instruments[id-1], nil
}

// AddInstrument keeps a new instrument.
func (b *book) AddInstrument(_ context.Context, in *customer.Instrument) error {
	id(b, "instruments", &in.ID)
	b.season.Instruments = append(b.season.Instruments, *in)
	return nil
}

func (b *book) record(id domain.JobID) (*record, error) {
	r := b.jobs[id]
	if r == nil {
		return nil, domain.NotFoundf("there is no job %d", id)
	}
	return r, nil
}

// Job returns a job to be changed in place.
func (b *book) Job(_ context.Context, id domain.JobID) (*job.Job, error) {
	r, err := b.record(id)
	if err != nil {
		return nil, err
	}
	return r.job, nil
}

// AddJob keeps a new job.
func (b *book) AddJob(ctx context.Context, j *job.Job) error {
	id(b, "jobs", &j.ID)
	b.jobs[j.ID] = &record{job: j}
	b.season.Jobs = append(b.season.Jobs, j)
	return b.SaveJob(ctx, j)
}

// SaveJob gives new children their identities and notes whose clock runs.
func (b *book) SaveJob(_ context.Context, j *job.Job) error {
	for i := range j.Marks {
		id(b, "marks", &j.Marks[i].ID)
	}
	for i := range j.Tasks {
		id(b, "tasks", &j.Tasks[i].ID)
	}
	for i := range j.Waits {
		id(b, "waits", &j.Waits[i].ID)
	}
	for i := range j.Holds {
		h := &j.Holds[i]
		id(b, "holds", &h.ID)
		for k := range h.Readings {
			id(b, "readings", &h.Readings[k].ID)
		}
	}
	for i := range j.Parts {
		id(b, "parts used", &j.Parts[i].ID)
	}
	for i := range j.Checks {
		id(b, "checks", &j.Checks[i].ID)
	}
	for i := range j.Contacts {
		id(b, "contacts", &j.Contacts[i].ID)
	}
	b.saveClocks(j)
	return nil
}

func (b *book) saveClocks(j *job.Job) {
	for i := range j.Clockings {
		c := &j.Clockings[i]
		id(b, "clockings", &c.ID)
		switch {
		case c.End.IsZero():
			b.clocks[c.Staff] = running{j.ID, c.Task}
		case b.clocks[c.Staff] == running{j.ID, c.Task}:
			delete(b.clocks, c.Staff)
		}
	}
}

// RunningElsewhere returns where a person's clock runs.
func (b *book) RunningElsewhere(_ context.Context, id domain.StaffID) (domain.JobID, domain.TaskID, error) {
	r := b.clocks[id]
	return r.job, r.task, nil
}

// ClockedBetween returns what of a person's clockings lies between two moments. The
// newest jobs are looked at: no correction goes further back.
func (b *book) ClockedBetween(_ context.Context, id domain.StaffID, from, to time.Time) ([]workshop.Stretch, error) {
	var out []workshop.Stretch
	jobs := b.season.Jobs
	for _, j := range jobs[max(len(jobs)-newest, 0):] {
		for _, c := range j.Counted() {
			if c.Staff == id && c.Start.Before(to) && (c.End.IsZero() || c.End.After(from)) {
				out = append(out, workshop.Stretch{ID: c.ID, Tag: j.Tag, Start: c.Start, End: c.End})
			}
		}
	}
	return out, nil
}

// newest is how many jobs a correction looks through.
const newest = 150

// PlaceTaken returns the tag of the job in a place of the cabinet.
func (b *book) PlaceTaken(_ context.Context, place string) (int, error) {
	for _, j := range b.season.Jobs {
		if h := j.OpenHold(); h != nil && h.Place == place {
			return j.Tag, nil
		}
	}
	return 0, nil
}

// HoldPrior knows nothing of the shop's past: the history is made without it.
func (b *book) HoldPrior(context.Context) (hold.Prior, error) { return hold.Prior{}, nil }

// AddSurvey keeps a survey.
func (b *book) AddSurvey(_ context.Context, s *job.Survey) error {
	id(b, "surveys", &s.ID)
	for i := range s.Findings {
		id(b, "findings", &s.Findings[i].ID)
	}
	r, err := b.record(s.Job)
	if err != nil {
		return err
	}
	r.surveys = append(r.surveys, *s)
	b.season.Surveys = append(b.season.Surveys, *s)
	return nil
}

// LastSurvey returns the newest survey of a job.
func (b *book) LastSurvey(_ context.Context, id domain.JobID) (*job.Survey, error) {
	r, err := b.record(id)
	if err != nil {
		return nil, err
	}
	if len(r.surveys) == 0 {
		return nil, domain.NotFoundf("job %d has no survey", id)
	}
	return &r.surveys[len(r.surveys)-1], nil
}

// Quote returns a quote to be changed in place.
func (b *book) Quote(_ context.Context, id domain.QuoteID) (*quote.Quote, error) {
	if id < 1 || int(id) > len(b.season.Quotes) {
		return nil, domain.NotFoundf("there is no quote %d", id)
	}
	return b.season.Quotes[id-1], nil
}

// QuotesOf returns the versions of a job, oldest first.
func (b *book) QuotesOf(_ context.Context, id domain.JobID) ([]*quote.Quote, error) {
	r, err := b.record(id)
	if err != nil {
		return nil, err
	}
	return r.quotes, nil
}

// AddQuote keeps a new version.
func (b *book) AddQuote(_ context.Context, q *quote.Quote) error {
	id(b, "quotes", &q.ID)
	for i := range q.Lines {
		id(b, "lines", &q.Lines[i].ID)
	}
	r, err := b.record(q.Job)
	if err != nil {
		return err
	}
	r.quotes = append(r.quotes, q)
	b.season.Quotes = append(b.season.Quotes, q)
	return nil
}

// SaveQuote has nothing to do: quotes are changed in place.
func (b *book) SaveQuote(context.Context, *quote.Quote) error { return nil }

// InvoiceOf returns the invoice of a job.
func (b *book) InvoiceOf(_ context.Context, id domain.JobID) (*billing.Invoice, error) {
	r, err := b.record(id)
	if err != nil {
		return nil, err
	}
	if r.invoice == nil {
		return nil, domain.NotFoundf("job %d has no invoice", id)
	}
	return r.invoice, nil
}

// AddInvoice keeps an invoice.
func (b *book) AddInvoice(_ context.Context, inv *billing.Invoice) error {
	id(b, "invoices", &inv.ID)
	if inv.Job != 0 {
		r, err := b.record(inv.Job)
		if err != nil {
			return err
		}
		r.invoice = inv
	}
	b.season.Invoices = append(b.season.Invoices, inv)
	return nil
}

// PaymentsOf returns the payments of a job, oldest first.
func (b *book) PaymentsOf(_ context.Context, id domain.JobID) ([]billing.Payment, error) {
	r, err := b.record(id)
	if err != nil {
		return nil, err
	}
	return r.payments, nil
}

// AddPromise keeps what was told of a day.
func (b *book) AddPromise(_ context.Context, p *workshop.PromiseMade) error {
	id(b, "promises", &p.ID)
	b.season.Promises = append(b.season.Promises, *p)
	return nil
}

// AddPayment keeps a payment.
func (b *book) AddPayment(_ context.Context, p *billing.Payment) error {
	id(b, "payments", &p.ID)
	if p.Job != 0 {
		r, err := b.record(p.Job)
		if err != nil {
			return err
		}
		r.payments = append(r.payments, *p)
	}
	b.season.Payments = append(b.season.Payments, *p)
	return nil
}

// Part returns a part.
func (b *book) Part(_ context.Context, id domain.PartID) (*stock.Part, error) {
	if id < 1 || int(id) > len(b.season.Parts) {
		return nil, domain.NotFoundf("there is no part %d", id)
	}
	return &b.season.Parts[id-1], nil
}

// Parts returns all parts.
func (b *book) Parts(context.Context) ([]stock.Part, error) { return b.season.Parts, nil }

// Editions returns the newest edition of every template. It must not be changed.
func (b *book) Editions(context.Context) (map[string]quote.Edition, error) { return b.editions, nil }

// Edition returns one edition of a template.
func (b *book) Edition(_ context.Context, code string, number int) (quote.Edition, error) {
	if all := b.older[code]; number >= 1 && number <= len(all) {
		return all[number-1], nil
	}
	return quote.Edition{}, domain.NotFoundf("there is no edition %d of %s", number, code)
}

// AddEdition keeps a new edition of a template.
func (b *book) AddEdition(_ context.Context, e workshop.EditionNote) error {
	t, err := templates.Parse(e.Code+".toml", e.Body)
	if err != nil {
		return err
	}
	kept := quote.Edition{BuiltIn: e.Origin == workshop.BuiltIn, Number: e.Number, Template: t}
	b.editions[e.Code] = kept
	b.older[e.Code] = append(b.older[e.Code], kept)
	b.season.Editions = append(b.season.Editions, e)
	return nil
}

// Next takes the next number of a series.
func (b *book) Next(_ context.Context, s workshop.Series) (int, error) {
	b.season.Series[s]++
	return b.season.Series[s], nil
}

// Note adds to the diary.
func (b *book) Note(_ context.Context, e *workshop.Entry) error {
	id(b, "entries", &e.ID)
	b.season.Diary = append(b.season.Diary, *e)
	return nil
}
