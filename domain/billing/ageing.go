package billing

import (
	"winterbench/domain"
	"winterbench/domain/money"
)

// Open is an invoice that is not settled on a day.
type Open struct {
	Invoice  domain.InvoiceID
	Number   int
	Job      domain.JobID
	Customer domain.CustomerID
	Date     domain.Date  // of the invoice
	Due      domain.Date  // when it is to be paid at the latest; "" is the day of the invoice
	Owed     money.Amount // what is left; below 0 is owed to the customer
}

// Late is how many days after its due date an invoice stands open; 0 when it is
// not late.
func (o Open) Late(on domain.Date) int {
	due := o.Due
	if due == "" {
		due = o.Date
	}
	return max(due.DaysTo(on), 0)
}

// AgeSteps are the last days of each age of a debt but the oldest. The first, 0, is
// what is not due yet. Steps of 30 days are common practice, no source.
var AgeSteps = [4]int{0, 30, 60, 90}

// Ages is what is owed by how late it is: not due, up to 30 days, up to 60, up to
// 90, and later.
type Ages [5]money.Amount

// AgeNames are the names of the ages.
var AgeNames = [5]string{"not due", "1 to 30 days late", "31 to 60 days late", "61 to 90 days late", "over 90 days late"}

// Sum is all that is owed.
func (a Ages) Sum() money.Amount {
	var sum money.Amount
	for _, x := range a {
		sum += x
	}
	return sum
}

// AgeOf is the place in [Ages] of a debt that is so many days late.
func AgeOf(late int) int {
	for i, last := range AgeSteps {
		if late <= last {
			return i
		}
	}
	return len(AgeSteps)
}

// Ageing adds up what is owed by how late it is on a day. What the shop owes stands
// in the first age, so that the sum is that of all invoices.
func Ageing(open []Open, on domain.Date) Ages {
	var out Ages
	for _, o := range open {
		at := 0
		if o.Owed > 0 {
			at = AgeOf(o.Late(on))
		}
		out[at] += o.Owed
	}
	return out
}
