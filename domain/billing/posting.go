package billing

import (
	"winterbench/domain/money"
)

// The functions of this file turn an event into its postings. They are pure and
// leave date, person and text to the caller. Sources stand beside the worked
// examples in testdata/ledger_examples.csv, by the number given.

// TaxPart is a part of a tax, by its name.
type TaxPart struct {
	Name   string
	Amount money.Amount
}

// PostDeposit posts a deposit that was taken; tax is what of it is owed as output
// tax at once, where the law taxes deposits. L01, L02.
func PostDeposit(p Payment, tax ...TaxPart) []Posting {
	var out posts
	out.debit(p.Tender.Where(), "", p.Amount)
	out.debit(CashRounding, "", p.Rounding)
	rest := p.Amount + p.Rounding
	for _, t := range tax {
		out.credit(OutputTax, t.Name, t.Amount)
		rest -= t.Amount
	}
	out.credit(CustomerDeposits, "", rest)
	return out.merged()
}

// PostInvoice posts an invoice, or a credit note when its amounts are below zero:
// the receivable, what each kind of line earns without tax and after discounts,
// and each tax. L03, L08, L31.
//
// Where prices include tax, each tax is shared over the lines that carry it by the
// largest remainder, so that revenue and taxes add up to the total.
func PostInvoice(inv *Invoice) ([]Posting, error) {
	var out posts
	t := inv.Totals
	out.debit(Receivables, "", t.Total)
	nets, err := Earned(inv)
	if err != nil {
		return nil, err
	}
	for i, l := range inv.Lines {
		out.credit(revenue[l.Kind], "", nets[i])
	}
	for _, x := range t.Taxes {
		out.credit(OutputTax, x.Name, x.Amount)
	}
	return out.merged(), nil
}

// Earned is what each line of an invoice earns without tax and after its share of
// the discount; the sum is the invoice's net.
func Earned(inv *Invoice) ([]money.Amount, error) {
	nets := make([]money.Amount, len(inv.Lines))
	for i, l := range inv.Totals.Lines {
		nets[i] = l.Net - l.Share
	}
	if !inv.TaxInside {
		return nets, nil
	}
	gross := append([]money.Amount(nil), nets...)
	for _, x := range inv.Totals.Taxes {
		if x.Amount == 0 {
			continue
		}
		shares, err := money.Allocate(x.Amount, carrying(x.Name, inv.Totals.Lines, gross))
		if err != nil {
			return nil, err
		}
		for i := range nets {
			nets[i] -= shares[i]
		}
	}
	return nets, nil
}

// carrying weighs the lines that carry a tax.
func carrying(tax string, lines []money.LineTotal, gross []money.Amount) []int64 {
	out := make([]int64, len(lines))
	for i, l := range lines {
		for _, name := range l.Taxes {
			if name == tax {
				out[i] = int64(gross[i].Abs())
			}
		}
	}
	return out
}

// PostDepositApplied moves deposits to the invoice that they pay; tax is what of the
// amount was owed as output tax since they were taken. The invoice posts its whole tax
// itself. L04.
func PostDepositApplied(amount money.Amount, tax ...TaxPart) []Posting {
	var out posts
	out.release(amount, tax)
	out.credit(Receivables, "", amount)
	return out.merged()
}

// release takes deposits off with the output tax that was posted with them.
func (p *posts) release(amount money.Amount, tax []TaxPart) {
	p.debit(CustomerDeposits, "", amount-SumOf(tax))
	for _, t := range tax {
		p.debit(OutputTax, t.Name, t.Amount)
	}
}

// PostPayment posts a payment on an invoice or its return: cash rounding has an
// account of its own and never touches a tax. over is what goes beyond the invoice
// to the customer's store credit, tip what the customer leaves for the staff.
// L05, L06, L09, L29.
func PostPayment(p Payment, over, tip money.Amount) []Posting {
	var out posts
	out.debit(p.Tender.Where(), "", p.Amount+tip)
	out.debit(CashRounding, "", p.Rounding)
	out.credit(Receivables, "", p.Amount+p.Rounding-over)
	out.credit(StoreCredit, "", over)
	out.credit(TipsHeld, "", tip)
	return out.merged()
}

// PostDepositReturned posts a deposit that was given back; tax is what of it was owed
// as output tax since it was taken. L27.
func PostDepositReturned(t Tender, amount money.Amount, tax ...TaxPart) []Posting {
	var out posts
	out.release(amount, tax)
	out.credit(t.Where(), "", amount)
	return out.merged()
}

// PostDepositForfeited keeps a deposit; tax is what of it the law takes. Whether a
// shop may keep it is the law of the place. L26.
func PostDepositForfeited(amount money.Amount, tax ...TaxPart) []Posting {
	var out posts
	out.debit(CustomerDeposits, "", amount)
	for _, t := range tax {
		out.credit(OutputTax, t.Name, t.Amount)
		amount -= t.Amount
	}
	out.credit(ForfeitedDeposits, "", amount)
	return out.merged()
}

// PostCardSettled posts card takings that reached the bank less a fee. L07.
func PostCardSettled(taken, fee money.Amount) []Posting {
	var out posts
	out.debit(Bank, "", taken-fee)
	out.debit(PaymentFees, "", fee)
	out.credit(CardClearing, "", taken)
	return out.merged()
}

// PostDiscountTaken posts what was paid less for early payment; output tax stays. L28.
func PostDiscountTaken(t Tender, paid, less money.Amount) []Posting {
	var out posts
	out.debit(t.Where(), "", paid)
	out.debit(SalesDiscounts, "", less)
	out.credit(Receivables, "", paid+less)
	return out.merged()
}

// PostWriteOff posts a debt that will not be paid; tax is what of it may be taken
// back, nothing where the law allows none. L11.
func PostWriteOff(owed money.Amount, tax ...TaxPart) []Posting {
	var out posts
	loss := owed
	for _, t := range tax {
		loss -= t.Amount
	}
	out.debit(BadDebts, "", loss)
	for _, t := range tax {
		out.debit(OutputTax, t.Name, t.Amount)
	}
	out.credit(Receivables, "", owed)
	return out.merged()
}

// PostAllowance sets up a loss allowance before a write-off. L12.
func PostAllowance(amount money.Amount) []Posting { return move(BadDebts, LossAllowance, amount) }

// PostReceived posts parts that came before the supplier's bill. L14.
func PostReceived(cost money.Amount) []Posting { return move(PartsStock, NotInvoiced, cost) }

// PostReceivedBilled posts parts that came with the supplier's bill; tax is what of
// it can be recovered, the rest is cost. L13.
func PostReceivedBilled(cost, tax money.Amount) []Posting {
	var out posts
	out.debit(PartsStock, "", cost)
	out.debit(InputTax, "", tax)
	out.credit(Payables, "", cost+tax)
	return out.merged()
}

// PostSupplierBill posts the bill for parts received before at the expected cost.
// shelf and gone are the price difference on what lies there still and on what has
// left, see [stock.Level.Reprice]. L15.
func PostSupplierBill(expected, shelf, gone, tax money.Amount) []Posting {
	var out posts
	out.debit(NotInvoiced, "", expected)
	out.debit(PartsStock, "", shelf)
	out.debit(CostOfParts, "", gone)
	out.debit(InputTax, "", tax)
	out.credit(Payables, "", expected+shelf+gone+tax)
	return out.merged()
}

// PostUsed posts parts fitted in a job that is not invoiced yet. L18.
func PostUsed(cost money.Amount) []Posting { return move(WorkInProgress, PartsStock, cost) }

// PostJobCost moves the parts of a job to cost of sales with its invoice. L18.
func PostJobCost(cost money.Amount) []Posting { return move(CostOfParts, WorkInProgress, cost) }

// PostSold posts the cost of parts sold over the counter. L16.
func PostSold(cost money.Amount) []Posting { return move(CostOfParts, PartsStock, cost) }

// PostPutBack posts parts put back on the shelf, fit for sale, out of an invoiced
// job or a sale, at the cost at which they left. L10.
func PostPutBack(cost money.Amount) []Posting { return move(PartsStock, CostOfParts, cost) }

// PostScrapped posts parts that were broken or spoiled. L19.
func PostScrapped(cost money.Amount) []Posting { return move(ScrapLoss, PartsStock, cost) }

// PostCounted posts the difference that a count found, below zero when parts are
// missing. L20, L21.
func PostCounted(difference money.Amount) []Posting {
	return move(PartsStock, CountDifference, difference)
}

// PostWrittenDown posts a write-down to what parts can be sold for. L22.
func PostWrittenDown(amount money.Amount) []Posting { return move(StockWriteDown, PartsStock, amount) }

// PostSupplies posts consumables used up in the shop. L32.
func PostSupplies(cost money.Amount) []Posting { return move(SuppliesUsed, SuppliesStock, cost) }

// PostProvision sets up a warranty provision. L24.
func PostProvision(amount money.Amount) []Posting {
	return move(WarrantyCost, WarrantyProvision, amount)
}

// PostWarranty posts parts for a repair that came back and is not charged, as far
// as there is a provision out of it. L23, L25.
func PostWarranty(cost, provision money.Amount) []Posting {
	var out posts
	use := min(cost, max(provision, 0))
	out.debit(WarrantyProvision, "", use)
	out.debit(WarrantyCost, "", cost-use)
	out.credit(PartsStock, "", cost)
	return out.merged()
}

// PostTaxRemitted posts output tax less input tax paid to the authority. L30.
func PostTaxRemitted(output, input money.Amount) []Posting {
	var out posts
	out.debit(OutputTax, "", output)
	out.credit(InputTax, "", input)
	out.credit(Bank, "", output-input)
	return out.merged()
}

// move takes an amount from one account to another, the other way when it is below
// zero.
func move(debit, credit Account, amount money.Amount) []Posting {
	var out posts
	out.debit(debit, "", amount)
	out.credit(credit, "", amount)
	return out
}
