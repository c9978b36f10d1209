package billing

import (
	"winterbench/domain"
	"winterbench/domain/money"
)

// PayOut is store credit that a customer gets back in money.
type PayOut struct {
	Amount money.Amount // above 0
	Tender Tender
	To     string // who gets it, such as the customer's name
}

// Check tidies a pay-out out of what there is. It returns an Invalid error that names
// each wrong field, and a conflict when there is less: it may have been spent just now.
// In cash goes out what coins make; what is left below a coin stays, or goes in another
// way. Common practice, no source.
func (p *PayOut) Check(there money.Amount, coin Coin, c money.Currency) error {
	f := domain.Fields{}
	p.To = domain.Line(f, "to", p.To, 80, true)
	domain.OneOf(f, "tender", p.Tender, Tenders())
	switch {
	case p.Amount <= 0:
		f.Add("amount", "must be more than 0")
	case p.Tender == FromCredit:
		f.Add("tender", "is what is paid out; choose with what money")
	case p.Tender == Cash && p.Amount%coin.Smallest() != 0:
		f.Add("amount", "cannot be paid in coins; the step is %s, so at most %s goes out in cash", c.Show(coin.Step), c.Show(there-there%coin.Smallest()))
	}
	f.AddErr("amount", p.Amount.Check())
	if err := f.Err(); err != nil {
		return err
	}
	if p.Amount > there {
		return domain.Conflictf("the customer has %s of store credit, less than %s", c.Show(there), c.Show(p.Amount))
	}
	return nil
}

// PostCreditPaidOut posts store credit paid out in money: the liability of L29 ends as
// that of a deposit does in L27. Common practice, no source for store credit itself.
func PostCreditPaidOut(t Tender, amount money.Amount) []Posting {
	return move(StoreCredit, t.Where(), amount)
}

// CreditPaidOut is store credit paid out in money.
const CreditPaidOut Event = "store credit paid out"
