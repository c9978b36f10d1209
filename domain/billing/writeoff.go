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
	taxes, err := taxesIn(inv, b.Due)
	for _, t := range taxes {
		o.Tax += t.Amount
	}
	return o, taxes, err
}

// taxesIn is the share of each tax of an invoice in an amount of it.
func taxesIn(inv *Invoice, amount money.Amount) ([]TaxPart, error) {
	weights := []int64{int64(inv.Totals.Net)}
	for _, t := range inv.Totals.Taxes {
		weights = append(weights, int64(t.Amount))
	}
	shares, err := money.Allocate(amount, weights)
	if err != nil {
		return nil, fmt.Errorf("share the taxes of %s: %w", inv.Label(), err)
	}
	var taxes []TaxPart
	for i, t := range inv.Totals.Taxes {
		if shares[i+1] != 0 {
			taxes = append(taxes, TaxPart{Name: t.Name, Amount: shares[i+1]})
		}
	}
	return taxes, nil
}

// Recovery puts back what came in on a debt that was given up, so that the payment
// finds it owed: the loss is less by it, and of each tax that was taken back as much is
// owed again as of the debt came in. before is what had come in of it before; when all
// of it has, each tax is back to the cent.
//
// Common practice, no source, for the posting; that the tax is owed again in proportion
// is from memory, and whether and when is for the law of the place.
func Recovery(inv *Invoice, before, amount money.Amount) ([]Posting, error) {
	var out posts
	out.debit(Receivables, "", amount)
	loss := amount
	if o := inv.WriteOff; o.Tax != 0 {
		taxes, err := taxesIn(inv, o.Amount)
		if err != nil {
			return nil, err
		}
		for _, t := range taxes {
			back := partPaid(t.Amount, before+amount, o.Amount) - partPaid(t.Amount, before, o.Amount)
			out.credit(OutputTax, t.Name, back)
			loss -= back
		}
	}
	out.credit(BadDebts, "", loss)
	return out.merged(), nil
}

// Recoveries are the payments that came in after the debt on an invoice was given up,
// out of all on it, oldest first. A debt is given up whole, so that they are the last
// ones, which together bring in more than was owed beside it.
func Recoveries(inv *Invoice, ps []Payment) []Payment {
	if inv == nil || inv.WriteOff == nil {
		return nil
	}
	left := BalanceOf(inv, ps, Coin{}).Recovered
	from := len(ps)
	for from > 0 && left > 0 && ps[from-1].Kind == Settle {
		from--
		left -= ps[from].Amount + ps[from].Rounding
	}
	return ps[from:]
}

// PostTipsPaidOut posts tips handed on to the staff: they never were the shop's.
func PostTipsPaidOut(t Tender, amount money.Amount) []Posting {
	return move(TipsHeld, t.Where(), amount)
}

// TipsPaidOut is tips handed on to the staff.
const TipsPaidOut Event = "tips paid out"
