package workshop

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
	"winterbench/domain/wood"
	"winterbench/templates"
)

// Queries are the reads that pages and API make outside a transaction of work.
// A record that is missing is a not-found error. Lists come newest first unless
// said otherwise.
type Queries interface {
	ShopSettings(ctx context.Context) (*Shop, error) // not found before the first settings
	StaffList(ctx context.Context) ([]Staff, error)  // by name
	StaffMember(ctx context.Context, id domain.StaffID) (*Staff, error)
	TokensOf(ctx context.Context, id domain.StaffID) ([]Token, error)

	CustomerByID(ctx context.Context, id domain.CustomerID) (*customer.Customer, error)
	Customers(ctx context.Context, words string, p Page) ([]CustomerRow, int, error) // by name; words match name, phone, email
	InstrumentByID(ctx context.Context, id domain.InstrumentID) (*customer.Instrument, error)
	InstrumentsOf(ctx context.Context, id domain.CustomerID) ([]customer.Instrument, error)

	JobByID(ctx context.Context, id domain.JobID) (*job.Job, error)
	JobByTag(ctx context.Context, tag int) (domain.JobID, error)
	Jobs(ctx context.Context, f JobFilter, p Page) ([]JobRow, int, error)
	SurveysOf(ctx context.Context, id domain.JobID) ([]job.Survey, error)
	DiaryOf(ctx context.Context, id domain.JobID) ([]Entry, error) // newest first
	OpenTasks(ctx context.Context) ([]TaskRow, error)              // of approved jobs that are not checked, by tag and phase
	OpenHolds(ctx context.Context) ([]HoldRow, error)              // by place
	RunningClocks(ctx context.Context) ([]ClockRow, error)         // longest first
	HoldPrior(ctx context.Context) (hold.Prior, error)             // what the shop's past holds tell of the next

	QuoteByID(ctx context.Context, id domain.QuoteID) (*quote.Quote, error)
	QuotesOfJob(ctx context.Context, id domain.JobID) ([]quote.Quote, error) // newest version first
	InvoiceByID(ctx context.Context, id domain.InvoiceID) (*billing.Invoice, error)
	InvoiceOfJob(ctx context.Context, id domain.JobID) (*billing.Invoice, error)
	Invoices(ctx context.Context, p Page) ([]InvoiceRow, int, error)
	PaymentsOfJob(ctx context.Context, id domain.JobID) ([]billing.Payment, error) // oldest first
	PaymentByID(ctx context.Context, id domain.PaymentID) (*billing.Payment, error)

	PartList(ctx context.Context) ([]stock.Part, error) // by name, also the retired
	PartByID(ctx context.Context, id domain.PartID) (*stock.Part, error)
	NewestEditions(ctx context.Context) (map[string]quote.Edition, error)
	EditionOf(ctx context.Context, code string, number int) (quote.Edition, error)
	EditionsOf(ctx context.Context, code string) ([]EditionNote, error) // newest first

	AirQueries
	PhotoQueries
	EraseQueries
	ComebackQueries
	QueueQueries
	PromiseQueries
	SeasonQueries
	LastingQueries
	LearnQueries
	DeskQueries
	FeedQueries
	LinkQueries
	MailQueries
	BooksQueries
	StockQueries
	AccountQueries
	CounterQueries
	SaleQueries
	AuditQueries

	// Find answers the search field: customers by name, phone or email,
	// instruments by maker, model or serial, jobs by tag. At most limit of each.
	Find(ctx context.Context, words string, limit int) (Found, error)
}

// Page is a stretch of a long list.
type Page struct {
	Offset int
	Limit  int // 1 to 200
}

// JobFilter chooses jobs. Empty fields choose all.
type JobFilter struct {
	Stages     []job.Stage
	Open       bool // neither collected nor closed
	Customer   domain.CustomerID
	Instrument domain.InstrumentID
	Oldest     bool           // oldest first
	Recheck    [2]domain.Date // collected, to be looked at again from the first to the second day, and not done
}

// JobRow is a job in a list.
type JobRow struct {
	ID         domain.JobID
	Tag        int
	Stage      job.Stage
	Since      time.Time // when the stage began
	Arrived    time.Time
	Customer   domain.CustomerID
	Name       string // of the customer
	Phone      string
	Contact    customer.Contact
	Instrument domain.InstrumentID
	Title      string // of the instrument
	Complaint  string
	Rack       string
	Cold       bool // the case came in from the cold and was not opened yet
	Promised   domain.Date
	Recheck    domain.Date // the day said for another look at hand-over, "" for none
	Waits      string      // kind of the running wait or hold place, "" for none
	WaitUntil  time.Time
	TasksOpen  int
	TasksDone  int
	Total      money.Amount // of the invoice; 0 before it
	Agreed     money.Amount // total of the agreed quote; 0 before it
	Paid       money.Amount
	Credited   money.Amount // by credit notes, and given up for good
	Comeback   bool
}

// Due is what is left to pay of the invoice.
func (r JobRow) Due() money.Amount { return r.Total - r.Credited - r.Paid }

// CustomerRow is a customer in a list.
type CustomerRow struct {
	ID          domain.CustomerID
	Name        string
	Phone       string
	Email       string
	Instruments int
	OpenJobs    int
}

// TaskRow is an open task on the bench.
type TaskRow struct {
	Job      domain.JobID
	Tag      int
	Title    string // of the instrument
	Promised domain.Date
	Task     job.Task
	Blocked  string    // why it is not free, "" when it is
	Until    time.Time // when the reason is expected to end; zero when nobody knows
	Clocked  int       // minutes so far
	InHold   bool      // the task is a hold that runs
	Served   bool      // the task is a hold that has ended as served: it wants only to be finished
	Hands    string    // who has the clock running on it
}

// HoldRow is a running hold.
type HoldRow struct {
	Job      domain.JobID
	Tag      int
	Title    string
	Task     domain.TaskID
	Hold     domain.HoldID
	Place    string
	Start    time.Time
	Days     templates.Days // as quoted
	Readings int
	LastAt   time.Time
	RH       wood.Measure // the newest of each that was measured
	Gap      wood.Measure
	Weight   wood.Measure
	Record   job.Hold // the hold itself with all its readings
}

// ClockRow is a running clock.
type ClockRow struct {
	Staff domain.StaffID
	Name  string
	Job   domain.JobID
	Tag   int
	Task  domain.TaskID
	What  string
	Since time.Time
}

// InvoiceRow is an invoice in a list.
type InvoiceRow struct {
	ID     domain.InvoiceID
	Number int
	Date   domain.Date
	Job    domain.JobID
	Tag    int
	Name   string
	Total  money.Amount
	Paid   money.Amount

	Credited money.Amount // by credit notes, and given up for good
}

// Due is what is still to be paid; below 0 it is to be given back.
func (r InvoiceRow) Due() money.Amount { return r.Total - r.Credited - r.Paid }

// Found is the answer to a search.
type Found struct {
	Customers   []CustomerRow
	Instruments []InstrumentRow
	Jobs        []JobRow
}

// InstrumentRow is an instrument in a list.
type InstrumentRow struct {
	ID     domain.InstrumentID
	Owner  domain.CustomerID
	Name   string // of the owner
	Title  string
	Serial string
	Jobs   int
}
