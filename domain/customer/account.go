package customer

import (
	"fmt"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Account lets a customer take instruments along and pay later.
type Account struct {
	Days  int          // from the invoice to the last day to pay; 0 to 365
	Limit money.Amount // the most that may be owed at once; 0 lets nothing leave unpaid
}

// UsualDays is how long accounts are given; common practice, no source.
const UsualDays = 30

// Check returns an Invalid error that names each wrong field.
func (a Account) Check() error {
	f := domain.Fields{}
	if a.Days < 0 || a.Days > 365 {
		f.Add("account_days", "must be from 0 to 365 days")
	}
	if a.Limit < 0 {
		f.Add("account_limit", "must not be negative")
	}
	f.AddErr("account_limit", a.Limit.Check())
	return f.Err()
}

// Text says the terms in words.
func (a Account) Text(c money.Currency) string {
	return fmt.Sprintf("to pay within %d days, not more than %s at once", a.Days, c.Show(a.Limit))
}
