package workshop

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
)

// Store is what the use cases need of a database.
type Store interface {
	// InTx runs fn in one transaction: all of it is kept, or nothing. When fn
	// loses a race for a lock it may run again.
	InTx(ctx context.Context, fn func(Tx) error) error
}

// Tx reads and writes inside one transaction. A record that is missing is a
// not-found error. Reads of a record that is about to change lock it. Saves
// check the version that was read, return a conflict when somebody was faster,
// and raise it. Adds set the identity in the value given.
type Tx interface {
	Shop(ctx context.Context) (*Shop, error)
	SaveShop(ctx context.Context, s *Shop) error // inserts when Version is 0

	Staff(ctx context.Context, id domain.StaffID) (*Staff, error)
	StaffByName(ctx context.Context, key string) (*Staff, error)
	StaffCount(ctx context.Context) (int, error)
	AddStaff(ctx context.Context, s *Staff) error
	SaveStaff(ctx context.Context, s *Staff) error
	AddToken(ctx context.Context, t *Token) error
	TokenByHash(ctx context.Context, hash string) (*Token, error)
	SaveToken(ctx context.Context, t *Token) error // times only
	Token(ctx context.Context, id int64) (*Token, error)

	Customer(ctx context.Context, id domain.CustomerID) (*customer.Customer, error)
	AddCustomer(ctx context.Context, c *customer.Customer) error
	SaveCustomer(ctx context.Context, c *customer.Customer) error
	Instrument(ctx context.Context, id domain.InstrumentID) (*customer.Instrument, error)
	AddInstrument(ctx context.Context, in *customer.Instrument) error
	SaveInstrument(ctx context.Context, in *customer.Instrument) error

	// Job loads a job with all its children and locks it.
	Job(ctx context.Context, id domain.JobID) (*job.Job, error)
	AddJob(ctx context.Context, j *job.Job) error
	// SaveJob writes the job with its derived stage, inserts children with
	// identity 0 (and sets it), and updates children that differ from what was read.
	SaveJob(ctx context.Context, j *job.Job) error
	AddSurvey(ctx context.Context, s *job.Survey) error
	LastSurvey(ctx context.Context, id domain.JobID) (*job.Survey, error)
	// RunningElsewhere returns the job on which a person's clock runs, 0 for none.
	RunningElsewhere(ctx context.Context, id domain.StaffID) (domain.JobID, domain.TaskID, error)
	// ClockedBetween returns a person's clockings that count and lie, in part, between
	// two moments; those that still run have no end.
	ClockedBetween(ctx context.Context, id domain.StaffID, from, to time.Time) ([]Stretch, error)
	// PlaceTaken returns the tag of the job that stands in a cabinet place, 0 for none.
	PlaceTaken(ctx context.Context, place string) (int, error)
	// HoldPrior returns what the shop's past holds tell of the next one.
	HoldPrior(ctx context.Context) (hold.Prior, error)

	Quote(ctx context.Context, id domain.QuoteID) (*quote.Quote, error)
	QuotesOf(ctx context.Context, id domain.JobID) ([]*quote.Quote, error) // oldest version first
	AddQuote(ctx context.Context, q *quote.Quote) error
	// SaveQuote writes the quote; the lines of a draft are replaced, those of a
	// quote that was said get their task and agreement written.
	SaveQuote(ctx context.Context, q *quote.Quote) error

	InvoiceOf(ctx context.Context, id domain.JobID) (*billing.Invoice, error)
	AddInvoice(ctx context.Context, inv *billing.Invoice) error
	PaymentsOf(ctx context.Context, id domain.JobID) ([]billing.Payment, error)
	AddPayment(ctx context.Context, p *billing.Payment) error

	Part(ctx context.Context, id domain.PartID) (*stock.Part, error)
	Parts(ctx context.Context) ([]stock.Part, error) // also the retired
	AddPart(ctx context.Context, p *stock.Part) error
	SavePart(ctx context.Context, p *stock.Part) error

	// Editions returns the newest edition of every task template.
	Editions(ctx context.Context) (map[string]quote.Edition, error)
	Edition(ctx context.Context, code string, number int) (quote.Edition, error)
	AddEdition(ctx context.Context, e EditionNote) error

	// Next takes the next number of a series, from 1 up. The series is locked
	// until the transaction ends, so a number of a transaction that fails is
	// not lost.
	Next(ctx context.Context, s Series) (int, error)
	// Note adds an entry to the diary.
	Note(ctx context.Context, e *Entry) error

	AirTx
	LearnTx
	PromiseTx
	PhotoTx
	ComebackTx
	ScenarioTx
	EraseTx
	ClimateTx
	GuessTx
	FeedTx
	LinkTx
	MailTx
	AccountTx
	BooksTx
	StockTx
	CounterTx
	SaleTx

	// ClaimKey returns the result kept under an idempotency key and true, or
	// claims the key for this transaction. A key claimed for another use is a
	// conflict.
	ClaimKey(ctx context.Context, k Key) (int64, bool, error)
	KeepResult(ctx context.Context, k Key, result int64) error
}

// Series is a run of numbers.
type Series string

// The series. Invoices have no gap; tags are never used again.
const (
	Tags     Series = "tags"
	Quotes   Series = "quotes"
	Invoices Series = "invoices"
	Receipts Series = "receipts"

	CreditNotes Series = "credit notes"
)

// Key is an idempotency key: the same key with the same use is done once.
type Key struct {
	Staff domain.StaffID
	Key   string
	Use   string // the action, with a hash of what was sent
	At    time.Time
}

// Entry is a line of a job's diary. Entries are never changed.
type Entry struct {
	ID     domain.EntryID
	Job    domain.JobID // 0 for what concerns no job
	At     time.Time
	By     string
	What   string // what happened, in words
	Before string // "" when nothing was replaced
	After  string
}

// EditionNote is a new edition of a task template.
type EditionNote struct {
	Code   string
	Number int // from 1 on each code
	Body   []byte
	Origin string // "built-in" or "shop"
	At     time.Time
	By     string
}
