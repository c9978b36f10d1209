package workshop

import (
	"winterbench/domain/air"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/photo"
	"winterbench/domain/quote"
	"winterbench/domain/stock"
)

// Season is a whole shop with its history, as plain values with all identities
// given: what the demo invents and a store loads into an empty database.
type Season struct {
	Shop        Shop
	Staff       []Staff // without password hashes
	Customers   []customer.Customer
	Instruments []customer.Instrument
	Parts       []stock.Part
	Suppliers   []stock.Supplier
	Levels      []Shelf
	Moves       []MoveRow // oldest first
	Editions    []EditionNote
	AirPlaces   []air.Place
	Meters      []air.Meter   // with their calibrations
	AirReadings []air.Reading // a correction after what it replaces
	AirAnswers  []air.Answer
	Jobs        []*job.Job
	Surveys     []job.Survey
	Quotes      []*quote.Quote
	Promises    []PromiseMade
	Invoices    []*billing.Invoice
	Payments    []billing.Payment
	Journal     []billing.Entry // of the books, oldest first
	Diary       []Entry
	Photos      []photo.Photo

	Reservations []*stock.Reservation
	Orders       []*stock.Order
	Receipts     []*stock.Receipt
	Counts       []*stock.CountSheet

	Pictures map[string][]byte // the files of the photos, by name
	Series   map[Series]int    // the last number given in each series
}
