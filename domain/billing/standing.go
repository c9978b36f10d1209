package billing

import (
	"fmt"
	"slices"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Standing is what the books hold of one job: deposits that no invoice has used yet,
// and what is owed on its invoice. Owed less Held is what the customer still has to
// pay, below zero when the shop owes.
//
// Where the law taxes a deposit when it is taken, Tax is what of Held was posted as
// output tax. It goes as it came: with what is used or given back goes as much of each
// tax as belongs to it, and all of it with all, whatever the settings say by then.
type Standing struct {
	Held money.Amount // with its tax
	Tax  []TaxPart
	Owed money.Amount
}

// release takes an amount off what is held, at most all of it, and returns the tax in
// it.
func (s *Standing) release(amount money.Amount) ([]TaxPart, error) {
	tax, err := shareOf(amount, s.Held-SumOf(s.Tax), s.Tax)
	if err != nil {
		return nil, fmt.Errorf("share the tax on deposits: %w", err)
	}
	s.Held -= amount
	s.Tax = addedUp(append(turned(tax), s.Tax...))
	return tax, nil
}

// Issued is the entries of an invoice: what it earns, and as much of the deposits as
// it needs. A bill of nothing has none. L03, L04.
func (s *Standing) Issued(inv *Invoice) ([]Entry, error) {
	postings, err := PostInvoice(inv)
	if err != nil {
		return nil, fmt.Errorf("post invoice %d: %w", inv.Number, err)
	}
	e := Entry{
		Date: inv.Date, Event: InvoiceIssued, Text: fmt.Sprintf("invoice %d", inv.Number),
		Customer: inv.Customer, Job: inv.Job, Invoice: inv.ID, At: inv.IssuedAt, By: inv.IssuedBy,
	}
	var out []Entry
	if len(postings) > 0 {
		e.Postings = postings
		out = append(out, e)
	}
	s.Owed += inv.Totals.Total
	if use := min(s.Held, s.Owed); use > 0 {
		tax, err := s.release(use)
		if err != nil {
			return nil, err
		}
		e.Event, e.Text, e.Postings = DepositApplied, fmt.Sprintf("deposit used for invoice %d", inv.Number), PostDepositApplied(use, tax...)
		out = append(out, e)
		s.Owed -= use
	}
	return out, nil
}

// Paid is the entry of a deposit, a payment on the invoice, or money given back, on
// the shop's day. What is given back comes out of deposits first, then out of what
// a credit left on the invoice. A tip and what is kept as store credit stand apart.
// tax is what of a deposit is owed as output tax at once, see [DepositTax].
// L01, L02, L05, L06, L09, L27, L29.
func (s *Standing) Paid(p Payment, on domain.Date, tax ...TaxPart) (Entry, error) {
	e := Entry{
		Date: on, Event: PaymentTaken, Text: fmt.Sprintf("%s, receipt %d", p.Tender, p.Receipt),
		Job: p.Job, Invoice: p.Invoice, Payment: p.ID, At: p.At, By: p.By,
	}
	sum := p.Amount + p.Rounding
	held := money.Amount(0) // of it, on deposits
	switch {
	case p.Kind == Deposit:
		e.Event, held = DepositTaken, sum
		s.Held += held
		s.Tax = addedUp(append(slices.Clone(tax), s.Tax...))
	case sum < 0:
		held = -min(-sum, max(s.Held, 0))
		e.Event = PaymentReturned
		if held == sum {
			e.Event = DepositReturned
		}
		back, err := s.release(-held)
		if err != nil {
			return Entry{}, err
		}
		tax = turned(back)
	default:
		tax = nil
	}
	s.Owed -= sum - held
	var out posts
	out.debit(p.Tender.Where(), "", p.Laid())
	out.debit(CashRounding, "", p.Rounding)
	out.release(-held, turned(tax))
	out.credit(Receivables, "", sum-held)
	out.credit(StoreCredit, "", p.Kept)
	out.credit(TipsHeld, "", p.Tip)
	e.Postings = out.merged()
	return e, nil
}

// CostOf is the entry that moves what went into a job to cost of sales, or, for work
// that came back and is the shop's to pay, to the cost of warranty as far as there
// is no provision. Cost is below zero when more was put back than used. L18, L23, L25.
func CostOf(cost, provision money.Amount, ours bool) []Posting {
	if !ours {
		return PostJobCost(cost)
	}
	var out posts
	use := min(max(cost, 0), max(provision, 0))
	out.debit(WarrantyProvision, "", use)
	out.debit(WarrantyCost, "", cost-use)
	out.credit(WorkInProgress, "", cost)
	return out.merged()
}
