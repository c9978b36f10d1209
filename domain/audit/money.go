package audit

import (
	"fmt"

	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// sameTotals compares kept totals with computed ones and says the first that
// differs, "" when none does.
func sameTotals(c money.Currency, kept, now money.Totals) string {
	for _, x := range []struct {
		name      string
		kept, now money.Amount
	}{
		{"total", kept.Total, now.Total}, {"net", kept.Net, now.Net}, {"tax", kept.Tax, now.Tax},
		{"sum of the lines", kept.Sum, now.Sum}, {"discount", kept.Discount, now.Discount},
	} {
		if x.kept != x.now {
			return fmt.Sprintf("its %s is kept as %s; its lines come to %s", x.name, c.Show(x.kept), c.Show(x.now))
		}
	}
	if len(kept.Lines) != len(now.Lines) || len(kept.Taxes) != len(now.Taxes) {
		return fmt.Sprintf("totals are kept of %d lines and %d taxes; it has %d and %d", len(kept.Lines), len(kept.Taxes), len(now.Lines), len(now.Taxes))
	}
	for i := range now.Lines {
		if kept.Lines[i].Net != now.Lines[i].Net || kept.Lines[i].Share != now.Lines[i].Share {
			return fmt.Sprintf("line %d is kept as %s less %s; it comes to %s less %s", i+1,
				c.Show(kept.Lines[i].Net), c.Show(kept.Lines[i].Share), c.Show(now.Lines[i].Net), c.Show(now.Lines[i].Share))
		}
	}
	for i, t := range now.Taxes {
		if kept.Taxes[i].Name != t.Name || kept.Taxes[i].Amount != t.Amount || kept.Taxes[i].Base != t.Base {
			return fmt.Sprintf("tax %d is kept as %s %s on %s; it is %s %s on %s", i+1,
				kept.Taxes[i].Name, c.Show(kept.Taxes[i].Amount), c.Show(kept.Taxes[i].Base), t.Name, c.Show(t.Amount), c.Show(t.Base))
		}
	}
	return ""
}

// lineNets compares the nets kept on the lines with the totals, "" when they agree.
func lineNets(c money.Currency, nets []money.Amount, t money.Totals) string {
	for i, n := range nets {
		if i < len(t.Lines) && n != t.Lines[i].Net {
			return fmt.Sprintf("line %d holds %s; it comes to %s", i+1, c.Show(n), c.Show(t.Lines[i].Net))
		}
	}
	return ""
}

// wrongTotals says what is wrong with the totals of a document, "" for nothing.
func wrongTotals(b money.Bill, kept money.Totals, column money.Amount, nets []money.Amount) string {
	now, err := money.Sum(b)
	if err != nil {
		return "its lines cannot be added up: " + err.Error()
	}
	if column != kept.Total {
		return fmt.Sprintf("its total stands as %s for lists and as %s on the paper", b.Currency.Show(column), b.Currency.Show(kept.Total))
	}
	if why := sameTotals(b.Currency, kept, now); why != "" {
		return why
	}
	return lineNets(b.Currency, nets, now)
}

func (a *Audit) quote(f *Facts, q *quote.Quote) {
	a.looked(totalsRule, 1)
	nets := make([]money.Amount, len(q.Lines))
	for i, l := range q.Lines {
		nets[i] = l.Net
	}
	if why := wrongTotals(q.Bill(), q.Totals, f.Totals[q.ID], nets); why != "" {
		a.broken(totalsRule, f.Job.ID, "%s, version %d of the quote (quote %d): %s", f.name(), q.Version, q.ID, why)
		return
	}
	if q.Answer == nil {
		return
	}
	a.looked(agreedRule, 1)
	if why := wrongAgreement(q); why != "" {
		a.broken(agreedRule, f.Job.ID, "%s, version %d of the quote (quote %d): %s", f.name(), q.Version, q.ID, why)
	}
}

// wrongAgreement says what is wrong with the sums of an answer, "" for nothing.
func wrongAgreement(q *quote.Quote) string {
	show := q.Currency.Show
	switch q.Answer.Outcome {
	case quote.Denied:
		if q.YesTotal != 0 || q.YesLimit != 0 {
			return fmt.Sprintf("it was declined, but %s are kept as agreed", show(q.YesTotal))
		}
	case quote.Whole:
		if q.YesTotal != q.Totals.Total {
			return fmt.Sprintf("%s are kept as agreed; the whole comes to %s", show(q.YesTotal), show(q.Totals.Total))
		}
		if q.YesLimit != q.Ceiling {
			return fmt.Sprintf("%s are kept as the limit; the ceiling that was said is %s", show(q.YesLimit), show(q.Ceiling))
		}
	case quote.Part:
		total, err := q.AgreedTotal()
		if err != nil {
			return "its agreed lines cannot be added up: " + err.Error()
		}
		if q.YesTotal != total {
			return fmt.Sprintf("%s are kept as agreed; the agreed lines come to %s", show(q.YesTotal), show(total))
		}
		if q.YesLimit < total {
			return fmt.Sprintf("the limit, %s, is below what was agreed, %s", show(q.YesLimit), show(total))
		}
	}
	return ""
}

func (a *Audit) invoice(f *Facts) {
	v := f.Invoice
	if v == nil {
		return
	}
	a.looked(totalsRule, 1)
	nets := make([]money.Amount, len(v.Lines))
	for i, l := range v.Lines {
		nets[i] = l.Net
	}
	if why := wrongTotals(v.Bill(), v.Totals, f.InvoiceTotal, nets); why != "" {
		a.broken(totalsRule, f.Job.ID, "%s, invoice %d: %s", f.name(), v.Number, why)
	}
	a.credits(f)
	if v.Quote == 0 {
		return
	}
	a.looked(agreedRule, 1)
	if v.Totals.Total > v.Limit {
		a.broken(agreedRule, f.Job.ID, "%s, invoice %d: %s are billed; no more than %s was agreed", f.name(), v.Number, v.Currency.Show(v.Totals.Total), v.Currency.Show(v.Limit))
	}
	for _, q := range f.Quotes {
		if q.ID == v.Quote && (q.YesTotal != v.Agreed || q.YesLimit != v.Limit) {
			a.broken(agreedRule, f.Job.ID, "%s, invoice %d: it names %s as agreed and %s as the limit; quote %d says %s and %s", f.name(), v.Number,
				v.Currency.Show(v.Agreed), v.Currency.Show(v.Limit), q.ID, q.Currency.Show(q.YesTotal), q.Currency.Show(q.YesLimit))
		}
	}
}

// credits holds the credit notes of an invoice against it: each is drawn up again
// in its order, which also finds one that takes back more than is left.
func (a *Audit) credits(f *Facts) {
	inv := *f.Invoice
	notes := inv.Credits
	inv.Credits = nil
	for i := range notes {
		c := &notes[i]
		a.looked(totalsRule, 1)
		why := wrongCredit(&inv, c)
		if listed := f.Credited[c.ID]; why == "" && listed != c.Totals.Total {
			why = fmt.Sprintf("its total stands as %s for lists and as %s on the paper", inv.Currency.Show(listed), inv.Currency.Show(c.Totals.Total))
		}
		if why != "" {
			a.broken(totalsRule, f.Job.ID, "%s, credit note %d for invoice %d: %s", f.name(), c.Number, inv.Number, why)
		}
		inv.Credits = append(inv.Credits, *c)
	}
}

// wrongCredit says what is wrong with the next credit note of an invoice, "" for
// nothing.
func wrongCredit(inv *billing.Invoice, c *billing.CreditNote) string {
	var wanted []billing.Wanted
	var nets []money.Amount
	for _, l := range c.Lines {
		wanted, nets = append(wanted, billing.Wanted{Place: l.Place, Count: l.Count}), append(nets, l.Net)
	}
	now, err := billing.Credit(inv, wanted, c.Reason)
	if err != nil {
		return "it cannot be drawn up: " + err.Error()
	}
	if why := sameTotals(inv.Currency, c.Totals, now.Totals); why != "" {
		return why
	}
	return lineNets(inv.Currency, nets, now.Totals)
}

// payments follows the money of a job in the order in which it was taken.
func (a *Audit) payments(f *Facts) {
	a.looked(paymentRule, len(f.Payments))
	a.looked(coinRule, len(f.Payments))
	var paid sharesOf
	for _, p := range f.Payments {
		*paid.of(p.ByPayer) += p.Amount + p.Rounding
		owed := owedAt(f.Invoice, p)
		if why := wrongPayment(a.terms.Currency, p, *paid.of(p.ByPayer), *owed.of(p.ByPayer)); why != "" {
			a.broken(paymentRule, f.Job.ID, "%s, receipt %d (payment %d): %s", f.name(), p.Receipt, p.ID, why)
		}
		if why := wrongRounding(a.terms.Currency, p, a.terms.Coin); why != "" {
			a.broken(coinRule, f.Job.ID, "%s, receipt %d (payment %d): %s", f.name(), p.Receipt, p.ID, why)
		}
	}
}

// sharesOf splits an amount between the customer and who else pays.
type sharesOf struct{ own, payer money.Amount }

func (s *sharesOf) of(payer bool) *money.Amount {
	if payer {
		return &s.payer
	}
	return &s.own
}

// owedAt is what each had to pay on an invoice, before any payment, when p was
// taken: what was credited since counts from then on, first for the payer. What was
// given up may still come in.
func owedAt(inv *billing.Invoice, p billing.Payment) sharesOf {
	if inv == nil || p.Invoice == 0 {
		return sharesOf{}
	}
	left := inv.Totals.Total
	for _, c := range inv.Credits {
		if !c.IssuedAt.After(p.At) {
			left -= c.Totals.Total
		}
	}
	if inv.WriteOff != nil && p.Kind != billing.Settle && !inv.WriteOff.At.After(p.At) {
		left -= inv.WriteOff.Amount
	}
	if inv.Payer == 0 {
		return sharesOf{own: left}
	}
	payer := max(left-inv.OwnPart, 0)
	return sharesOf{own: left - payer, payer: payer}
}

// wrongPayment says what is wrong with a payment, "" for nothing; paid is what was
// paid on the job with it, owed what there was to pay.
func wrongPayment(c money.Currency, p billing.Payment, paid, owed money.Amount) string {
	switch {
	case p.Kind == billing.Refund && p.Amount > 0:
		return fmt.Sprintf("it is a refund of %s, which must be below 0", c.Show(p.Amount))
	case p.Kind != billing.Refund && p.Amount < 0:
		return fmt.Sprintf("it is a %s of %s, which must not be below 0", p.Kind, c.Show(p.Amount))
	case p.Kind == billing.Settle && p.Invoice == 0:
		return "it is a payment without an invoice"
	case p.Kind == billing.Deposit && p.Invoice != 0:
		return fmt.Sprintf("it is a deposit on invoice %d; deposits come before an invoice", p.Invoice)
	case p.Kind == billing.Settle && paid > owed:
		return fmt.Sprintf("with it %s are paid of %s that are owed", c.Show(paid), c.Show(owed))
	case p.Kind == billing.Refund && paid < owed:
		return fmt.Sprintf("it gives back more than was paid too much: %s are left of %s that are owed", c.Show(paid), c.Show(owed))
	case p.Given != 0 && p.Change != p.Given-p.Laid():
		return fmt.Sprintf("%s were given for %s, but %s are kept as change", c.Show(p.Given), c.Show(p.Laid()), c.Show(p.Change))
	}
	return ""
}

// wrongRounding says what is wrong with the rounding of a payment, "" for nothing. It
// goes by the coins of the day on which it was taken; coin, those of today, are for
// payments that do not say.
func wrongRounding(c money.Currency, p billing.Payment, coin billing.Coin) string {
	step := p.Coin
	if step == 0 {
		step = coin.Smallest()
	}
	switch {
	case p.Rounding == 0:
		return ""
	case p.Tender != billing.Cash:
		return fmt.Sprintf("%s are rounded, but it was paid by %s", c.Show(p.Rounding), p.Tender)
	case p.Rounding.Abs() >= step:
		return fmt.Sprintf("%s are rounded; the smallest coin was %s", c.Show(p.Rounding), c.Show(step))
	}
	return ""
}
