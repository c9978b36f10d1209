package billing

import (
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// WriteOff gives up what is still owed on an invoice. It is never changed.
type WriteOff struct {
	ID      int64
	Invoice domain.InvoiceID
	Job     domain.JobID // 0 of a sale over the counter
	Amount  money.Amount // above 0
	Tax     money.Amount // of it, taken back from the authority; 0 where the law allows none
	Reason  string
	Date    domain.Date
	At      time.Time
	By      string
}

// GiveUp draws up the write-off of all that is owed on an invoice. With takeTax its
// share of each tax is taken back from the authority: whether and when that is lawful
// differs from place to place, so the owner says it. The parts of taxes are returned
// for the journal. It returns an Invalid error without a reason and a conflict when
// nothing is owed. L11.
func GiveUp(inv *Invoice, b Balance, takeTax bool, reason string) (WriteOff, []TaxPart, error) {
	f := domain.Fields{}
	o := WriteOff{Invoice: inv.ID, Job: inv.Job, Amount: b.Due, Reason: domain.Line(f, "reason", reason, 200, true)}
	if err := f.Err(); err != nil {
		return o, nil, err
	}
	if b.Due <= 0 {
		return o, nil, domain.Conflictf("nothing is owed on %s, so there is nothing to give up", inv.Label())
	}
	if !takeTax || inv.Totals.Tax == 0 {
		return o, nil, nil
	}
	weights := []int64{int64(inv.Totals.Net)}
	for _, t := range inv.Totals.Taxes {
		weights = append(weights, int64(t.Amount))
	}
	shares, err := money.Allocate(b.Due, weights)
	if err != nil {
		return o, nil, fmt.Errorf("share the taxes of %s: %w", inv.Label(), err)
	}
	var taxes []TaxPart
	for i, t := range inv.Totals.Taxes {
		o.Tax += shares[i+1]
		if shares[i+1] != 0 {
			taxes = append(taxes, TaxPart{Name: t.Name, Amount: shares[i+1]})
		}
	}
	return o, taxes, nil
}

// PostTipsPaidOut posts tips handed on to the staff: they never were the shop's.
func PostTipsPaidOut(t Tender, amount money.Amount) []Posting {
	return move(TipsHeld, t.Where(), amount)
}

// TipsPaidOut is tips handed on to the staff.
const TipsPaidOut Event = "tips paid out"
