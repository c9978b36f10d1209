package billing

import (
	"cmp"
	"slices"

	"winterbench/domain/money"
)

// depositEvents are those that take deposits, use them or give them back. Money given
// back on an invoice can come out of a deposit in part.
var depositEvents = []Event{DepositTaken, DepositApplied, DepositReturned, PaymentReturned}

// DepositEvents lists the events whose output tax is tax on deposits: these post none
// otherwise.
func DepositEvents() []Event { return slices.Clone(depositEvents) }

// OnDeposits says whether output tax of the event is tax on deposits.
func (e Event) OnDeposits() bool { return slices.Contains(depositEvents, e) }

// DepositTax is what of a deposit is output tax where the law taxes a deposit when it is
// taken: the deposit is shared over the net and each tax of what was agreed, by the
// largest remainder, so that a deposit of all that was agreed has its taxes to the
// cent. Taxes that come to nothing are left out.
// Source: Directive 2006/112/EC Art. 65, HMRC VAT guide para 14.2.3; that the shares are
// those of the agreed totals is our own reading, no source. L02.
func DepositTax(deposit money.Amount, agreed money.Totals) ([]TaxPart, error) {
	taxes := make([]TaxPart, len(agreed.Taxes))
	for i, t := range agreed.Taxes {
		taxes[i] = TaxPart{Name: t.Name, Amount: t.Amount}
	}
	return shareOf(deposit, agreed.Net, taxes)
}

// shareOf shares an amount over what is no tax and the taxes and returns the parts of
// the taxes, those of nothing left out.
func shareOf(amount, net money.Amount, taxes []TaxPart) ([]TaxPart, error) {
	weights, all := []int64{int64(max(net, 0))}, int64(0)
	for _, t := range taxes {
		weights = append(weights, int64(max(t.Amount, 0)))
		all += weights[len(weights)-1]
	}
	if amount == 0 || all == 0 {
		return nil, nil
	}
	shares, err := money.Allocate(amount, weights)
	if err != nil {
		return nil, err
	}
	var out []TaxPart
	for i, t := range taxes {
		if a := shares[i+1]; a != 0 {
			out = append(out, TaxPart{Name: t.Name, Amount: a})
		}
	}
	return out, nil
}

// TaxOnDeposits is the tax on deposits that entries posted and did not take back, by
// name.
func TaxOnDeposits(entries ...Entry) []TaxPart {
	var all []TaxPart
	for _, e := range entries {
		if !e.Event.OnDeposits() {
			continue
		}
		for _, p := range e.Postings {
			if p.Account == OutputTax {
				all = append(all, TaxPart{Name: p.Detail, Amount: p.Credit - p.Debit})
			}
		}
	}
	return addedUp(all)
}

// SumOf adds parts of taxes up.
func SumOf(taxes []TaxPart) money.Amount {
	var sum money.Amount
	for _, t := range taxes {
		sum += t.Amount
	}
	return sum
}

// addedUp adds up parts of the same name, by name; what comes to nothing is left out.
func addedUp(taxes []TaxPart) []TaxPart {
	var out []TaxPart
	for _, t := range taxes {
		i := slices.IndexFunc(out, func(o TaxPart) bool { return o.Name == t.Name })
		if i < 0 {
			out = append(out, t)
			continue
		}
		out[i].Amount += t.Amount
	}
	out = slices.DeleteFunc(out, func(t TaxPart) bool { return t.Amount == 0 })
	slices.SortFunc(out, func(a, b TaxPart) int { return cmp.Compare(a.Name, b.Name) })
	return out
}

func turned(taxes []TaxPart) []TaxPart {
	out := make([]TaxPart, len(taxes))
	for i, t := range taxes {
		out[i] = TaxPart{Name: t.Name, Amount: -t.Amount}
	}
	return out
}
