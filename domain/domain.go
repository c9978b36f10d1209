// Package domain holds the words that all parts of the program share: typed
// identities, errors a person may read, who acts, and what time it is.
//
// Nothing in this folder or below it knows HTTP, SQL, HTML or PDF.
package domain

import "time"

// Identities are positive whole numbers given by the store; 0 means "not yet
// stored". Each is a type of its own, so that a part cannot be passed for a job.
type (
	StaffID      int64
	CustomerID   int64
	InstrumentID int64
	JobID        int64
	SurveyID     int64
	QuoteID      int64
	LineID       int64
	TaskID       int64
	WaitID       int64
	HoldID       int64
	ReadingID    int64
	ClockingID   int64
	PartID       int64
	InvoiceID    int64
	CreditNoteID int64
	PaymentID    int64
	EntryID      int64
	AirPlaceID   int64
	AirReadingID int64
	MeterID      int64
	PhotoID      int64
	SupplierID   int64
	PurchaseID   int64
	ReceiptID    int64
	CountID      int64
)

// Clock tells the time. Rules never read a clock; they are given the moment.
type Clock interface {
	Now() time.Time
}

// SystemClock is the machine's clock in UTC and whole microseconds, the finest
// moment that both databases keep.
type SystemClock struct{}

// Now returns the present moment.
func (SystemClock) Now() time.Time { return Moment(time.Now()) }

// FixedClock always says the same moment. It serves tests and the demo.
type FixedClock time.Time

// Now returns the fixed moment.
func (c FixedClock) Now() time.Time { return Moment(time.Time(c)) }

// Moment brings t to UTC and whole microseconds.
func Moment(t time.Time) time.Time { return t.UTC().Truncate(time.Microsecond) }
