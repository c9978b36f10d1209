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
	return []Tender{Cash, "card", "bank transfer", "cheque", "mobile pay", FromCredit}
}

// Cash is the one tender that is rounded to the smallest coin.
const Cash Tender = "cash"

// FromCredit pays with what the shop keeps for the customer; giving back with it puts
// the money there.
const FromCredit Tender = "store credit"

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
	Job       domain.JobID     // 0 for a sale over the counter
	Invoice   domain.InvoiceID // 0 for a deposit before the invoice
	Kind      PaymentKind
	Tender    Tender
	Amount    money.Amount // that changed hands for the job; negative for a refund
	Rounding  money.Amount // taken off the balance besides Amount, by cash rounding; may be negative
	Given     money.Amount // cash laid on the counter; 0 when not noted
	Change    money.Amount // given back at once
	Reference string
	Receipt   int // from the receipts' series
	At        time.Time
	By        string
	Coin      money.Amount // the smallest step of cash on that day, 1 where cash was not rounded; 0 when not noted

	Tip     money.Amount // laid down besides Amount, for the staff; never the shop's
	Kept    money.Amount // laid down besides Amount, kept as the customer's store credit
	ByPayer bool         // by the payer of the invoice, not by the customer

	KeepOver bool // while it is taken: what goes beyond the balance is kept as store credit
}

// Laid is all that changed hands: the amount, the tip and what is kept as credit.
func (p Payment) Laid() money.Amount { return p.Amount + p.Tip + p.Kept }

// Balance is what is owed on a job.
type Balance struct {
	Total    money.Amount `json:"total"`    // of the invoice; 0 before it
	Paid     money.Amount `json:"paid"`     // deposits, payments and refunds, with cash rounding
	Deposits money.Amount `json:"deposits"` // of it before the invoice
	Due      money.Amount `json:"due"`      // negative: to be given back
	CashDue  money.Amount `json:"cash_due"` // the customer's own part of Due if it is paid in cash

	Credited   money.Amount `json:"credited"`    // by credit notes
	WrittenOff money.Amount `json:"written_off"` // given up, less what came in of it after all
	Recovered  money.Amount `json:"recovered"`   // came in after it was given up; in Paid too
	PayerDue   money.Amount `json:"payer_due"`   // of Due, what another is to pay
	PayerLost  money.Amount `json:"payer_lost"`  // of WrittenOff, what another was to pay
}

// OwnDue is what the customer owes, without what another is to pay.
func (b Balance) OwnDue() money.Amount { return b.Due - b.PayerDue }

// BalanceOf sums payments against an invoice, nil before there is one: its total less
// credit notes, what was given up and what was paid. Everything that says what is
// owed on a job goes by it.
func BalanceOf(inv *Invoice, ps []Payment, coin Coin) Balance {
	var b Balance
	var byPayer money.Amount
	for _, p := range ps {
		b.Paid += p.Amount + p.Rounding
		if p.Invoice == 0 {
			b.Deposits += p.Amount + p.Rounding
		}
		if p.ByPayer {
			byPayer += p.Amount + p.Rounding
		}
	}
	if inv != nil {
		b.Total, b.Credited = inv.Totals.Total, inv.CreditedTotal()
		if inv.WriteOff != nil {
			b.WrittenOff = inv.WriteOff.Amount
		}
	}
	b.Due = b.Total - b.Credited - b.WrittenOff - b.Paid
	if b.WrittenOff > 0 && b.Due < 0 {
		b.Recovered = min(-b.Due, b.WrittenOff)
		b.WrittenOff, b.Due = b.WrittenOff-b.Recovered, b.Due+b.Recovered
	}
	if inv != nil && inv.Payer != 0 {
		// What was credited is first no longer the payer's to pay.
		payer := max(inv.Totals.Total-inv.OwnPart-b.Credited, 0) - byPayer
		if inv.WriteOff == nil {
			b.PayerDue = payer
		} else {
			b.PayerLost = min(payer, b.WrittenOff)
		}
	}
	b.CashDue = coin.Round(b.OwnDue())
	return b
}

// dueBy is what one of the two owes, and that in cash.
func (b Balance) dueBy(payer bool, coin Coin) (due, cash money.Amount) {
	if payer {
		return b.PayerDue, coin.Round(b.PayerDue)
	}
	return b.OwnDue(), b.CashDue
}

// claimOn is what may be taken of one of the two, and that in cash: what is due, or,
// of a debt that was given up, what is still missing of it.
func (b Balance) claimOn(payer bool, coin Coin) (claim, cash money.Amount) {
	claim, cash = b.dueBy(payer, coin)
	if b.Due == 0 && b.WrittenOff > 0 {
		if claim = b.PayerLost; !payer {
			claim = min(b.WrittenOff-b.PayerLost, b.WrittenOff)
		}
		cash = coin.Round(claim)
	}
	return claim, cash
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

// Smallest is the step as it is kept with a payment: 1 where cash is not rounded.
func (c Coin) Smallest() money.Amount { return max(c.Step, 1) }

// Take checks a payment against the balance and completes it: what it settles
// by cash rounding, what is kept as store credit and the change. room is how much a
// deposit may come to at most, used before the invoice. What comes in on a debt that was
// given up is taken up to what is missing of it, see [Recovery].
func Take(p Payment, b Balance, invoiced bool, room money.Amount, coin Coin) (Payment, error) {
	due, cash := b.claimOn(p.ByPayer, coin)
	if err := p.check(due, coin); err != nil {
		return p, err
	}
	p.Kind, p.Coin = Settle, coin.Smallest()
	limit := due
	if !invoiced {
		p.Kind, limit = Deposit, room
	}
	if invoiced && p.KeepOver {
		p.keep(due, cash)
	}
	if p.Tender == Cash && invoiced && (p.Amount == cash || p.Amount == due) {
		p.Amount, p.Rounding = cash, due-cash
	}
	if p.Amount+p.Rounding > limit {
		return p, &OverpaidError{Amount: p.Amount, Limit: max(limit, 0)}
	}
	if p.Given == 0 {
		return p, nil
	}
	if p.Given < p.Laid() {
		return p, &domain.Error{Kind: domain.Invalid, Text: "less was given than the amount", Fields: domain.Fields{"given": "is less than the amount"}}
	}
	p.Change = p.Given - p.Laid()
	return p, nil
}

// check returns an Invalid error that names each field that is wrong in itself.
func (p *Payment) check(due money.Amount, coin Coin) error {
	f := domain.Fields{}
	domain.OneOf(f, "tender", p.Tender, Tenders())
	p.Reference = domain.Line(f, "reference", p.Reference, 80, false)
	if p.Amount <= 0 {
		f.Add("amount", "must be more than 0")
	}
	if p.Given != 0 && p.Tender != Cash {
		f.Add("given", "is for cash only")
	}
	if p.Tender == Cash && coin.Round(p.Amount) != p.Amount && p.Amount != due {
		f.Add("amount", "cannot be paid in coins; the step is %d in the smallest unit", coin.Step)
	}
	switch {
	case p.Tip < 0:
		f.Add("tip", "must not be negative")
	case p.Tip > 0 && p.Tender == FromCredit:
		f.Add("tip", "cannot be left out of store credit")
	case p.Tip > 0 && p.ByPayer:
		f.Add("tip", "is left by the customer, not by who else pays")
	case p.Tender == Cash && coin.Round(p.Tip) != p.Tip:
		f.Add("tip", "cannot be paid in coins; the step is %d in the smallest unit", coin.Step)
	}
	if p.ByPayer && p.Tender == FromCredit {
		f.Add("tender", "is the customer's own; let the payer pay in another way")
	}
	if p.KeepOver && (p.Tender == FromCredit || p.ByPayer) {
		f.Add("keep_over", "is for money that the customer lays down")
	}
	return f.Err()
}

// keep puts what is above the balance aside as store credit.
func (p *Payment) keep(due, cash money.Amount) {
	if p.Tender == Cash {
		if p.Amount == due { // all of it, which Take rounds
			return
		}
		due = cash
	}
	if due > 0 && p.Amount > due {
		p.Kept, p.Amount = p.Amount-due, due
	}
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

// BeyondError reports money to be given back beyond what the shop owes.
type BeyondError struct {
	Limit    money.Amount
	Currency money.Currency // for the text; may be zero
}

// Error says what would be right.
func (e *BeyondError) Error() string {
	const way = "money goes back only out of an overpayment or a credit note, so issue a credit note first"
	if e.Currency.Code == "" || e.Limit == 0 {
		return "nothing beyond what the shop owes on this job can be given back: " + way
	}
	return "at most " + e.Currency.Show(e.Limit) + " can be given back, what the shop owes on this job; to give back more, " + way
}

// ErrorKind makes it a conflict: somebody else may have given it back already.
func (e *BeyondError) ErrorKind() domain.Kind { return domain.Conflict }

// GiveBack checks a refund of amount (above 0) against an overpaid balance.
func GiveBack(p Payment, b Balance, coin Coin) (Payment, error) {
	f := domain.Fields{}
	domain.OneOf(f, "tender", p.Tender, Tenders())
	p.Reference = domain.Line(f, "reference", p.Reference, 80, false)
	if p.Amount <= 0 {
		f.Add("amount", "must be more than 0")
	}
	if p.Tip != 0 || p.KeepOver {
		f.Add("tip", "does not go with money given back")
	}
	if p.ByPayer && p.Tender == FromCredit {
		f.Add("tender", "is the customer's own; give it back to the payer in another way")
	}
	if err := f.Err(); err != nil {
		return p, err
	}
	due, _ := b.dueBy(p.ByPayer, coin)
	owed := -due
	p.Kind, p.Coin = Refund, coin.Smallest()
	if p.Tender == Cash && owed > 0 && (p.Amount == owed || p.Amount == coin.Round(owed)) {
		p.Amount, p.Rounding = -coin.Round(owed), coin.Round(owed)-owed
		return p, nil
	}
	if p.Amount > owed {
		return p, &BeyondError{Limit: max(owed, 0)}
	}
	if p.Tender == Cash && coin.Round(p.Amount) != p.Amount {
		f.Add("amount", "cannot be paid in coins; the step is %d in the smallest unit", coin.Step)
		return p, f.Err()
	}
	p.Amount = -p.Amount
	return p, nil
}
