package billing

import (
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Tender is what a payment is made with.
type Tender string

// Tenders lists what the shop takes. Source: common practice, no source.
func Tenders() []Tender {
	return []Tender{Cash, "card", "bank transfer", "cheque", "mobile pay"}
}

// Cash is the one tender that is rounded to the smallest coin.
const Cash Tender = "cash"

// PaymentKind says what a payment is for.
type PaymentKind string

// The kinds.
const (
	Deposit PaymentKind = "deposit" // before the invoice
	Settle  PaymentKind = "payment" // on the invoice
	Refund  PaymentKind = "refund"  // money back; the amount is negative
)

// Payment is money taken or given back. Payments are never changed.
type Payment struct {
	ID        domain.PaymentID
	Job       domain.JobID
	Invoice   domain.InvoiceID // 0 for a deposit before the invoice
	Kind      PaymentKind
	Tender    Tender
	Amount    money.Amount // that changed hands; negative for a refund
	Rounding  money.Amount // taken off the balance besides Amount, by cash rounding; may be negative
	Given     money.Amount // cash laid on the counter; 0 when not noted
	Change    money.Amount // given back at once
	Reference string
	Receipt   int // from the receipts' series
	At        time.Time
	By        string
}

// Balance is what is owed on a job.
type Balance struct {
	Total    money.Amount `json:"total"`    // of the invoice; 0 before it
	Paid     money.Amount `json:"paid"`     // deposits, payments and refunds, with cash rounding
	Deposits money.Amount `json:"deposits"` // of it before the invoice
	Due      money.Amount `json:"due"`      // negative: to be given back
	CashDue  money.Amount `json:"cash_due"` // Due if it is paid in cash
}

// BalanceOf sums payments against an invoice, nil before there is one.
func BalanceOf(inv *Invoice, ps []Payment, coin Coin) Balance {
	var b Balance
	if inv != nil {
		b.Total = inv.Totals.Total
	}
	for _, p := range ps {
		b.Paid += p.Amount + p.Rounding
		if p.Invoice == 0 {
			b.Deposits += p.Amount + p.Rounding
		}
	}
	b.Due = b.Total - b.Paid
	b.CashDue = coin.Round(b.Due)
	return b
}

// Coin is the smallest cash step and how halves go.
type Coin struct {
	Step money.Amount
	Mode money.Mode
}

// Round brings an amount to the step; a step of 0 or 1 changes nothing.
func (c Coin) Round(a money.Amount) money.Amount {
	if c.Step <= 1 {
		return a
	}
	return money.RoundStep(a, c.Step, c.Mode)
}

// Take checks a payment against the balance and completes it: what it settles
// by cash rounding and the change. room is how much a deposit may come to at
// most, used before the invoice.
func Take(p Payment, b Balance, invoiced bool, room money.Amount, coin Coin) (Payment, error) {
	f := domain.Fields{}
	domain.OneOf(f, "tender", p.Tender, Tenders())
	p.Reference = domain.Line(f, "reference", p.Reference, 80, false)
	if p.Amount <= 0 {
		f.Add("amount", "must be more than 0")
	}
	if p.Given != 0 && p.Tender != Cash {
		f.Add("given", "is for cash only")
	}
	if p.Tender == Cash && coin.Round(p.Amount) != p.Amount && p.Amount != b.Due {
		f.Add("amount", "cannot be paid in coins; the step is %d in the smallest unit", coin.Step)
	}
	if err := f.Err(); err != nil {
		return p, err
	}
	p.Kind = Settle
	limit := b.Due
	if !invoiced {
		p.Kind, limit = Deposit, room
	}
	if p.Tender == Cash && invoiced && (p.Amount == b.CashDue || p.Amount == b.Due) {
		p.Amount, p.Rounding = b.CashDue, b.Due-b.CashDue
	}
	if p.Amount+p.Rounding > limit {
		return p, &OverpaidError{Amount: p.Amount, Limit: max(limit, 0)}
	}
	if p.Given == 0 {
		return p, nil
	}
	if p.Given < p.Amount {
		return p, &domain.Error{Kind: domain.Invalid, Text: "less was given than the amount", Fields: domain.Fields{"given": "is less than the amount"}}
	}
	p.Change = p.Given - p.Amount
	return p, nil
}

// OverpaidError reports a payment above what is owed.
type OverpaidError struct {
	Amount, Limit money.Amount
	Currency      money.Currency // for the text; may be zero
}

// Error says what would be right.
func (e *OverpaidError) Error() string {
	if e.Currency.Code == "" {
		return "that is more than is owed"
	}
	if e.Limit == 0 {
		return "nothing is owed, so nothing can be taken"
	}
	return "that is more than is owed: at most " + e.Currency.Show(e.Limit) + "; note what was laid on the counter as given"
}

// ErrorKind makes it a conflict: another payment may have come first.
func (e *OverpaidError) ErrorKind() domain.Kind { return domain.Conflict }

// GiveBack checks a refund of amount (above 0) against an overpaid balance.
func GiveBack(p Payment, b Balance, coin Coin) (Payment, error) {
	f := domain.Fields{}
	domain.OneOf(f, "tender", p.Tender, Tenders())
	p.Reference = domain.Line(f, "reference", p.Reference, 80, false)
	if p.Amount <= 0 {
		f.Add("amount", "must be more than 0")
	}
	if err := f.Err(); err != nil {
		return p, err
	}
	owed := -b.Due
	p.Kind = Refund
	if p.Tender == Cash && (p.Amount == owed || p.Amount == coin.Round(owed)) {
		p.Amount, p.Rounding = -coin.Round(owed), coin.Round(owed)-owed
		return p, nil
	}
	if p.Amount > owed {
		return p, domain.Conflictf("that is more than the shop owes on this job")
	}
	p.Amount = -p.Amount
	return p, nil
}
