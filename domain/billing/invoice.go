// Package billing turns agreed and finished work into invoices, and money
// taken over the counter into payments and balances.
package billing

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// Invoice is what is owed for one job, or for what was sold over the counter. It is
// never changed once issued.
type Invoice struct {
	ID        domain.InvoiceID
	Number    int               // from the gapless series
	Job       domain.JobID      // 0 for a sale over the counter
	Customer  domain.CustomerID // 0 when who bought gave no name
	Quote     domain.QuoteID    // the agreed version behind it; 0 for none
	Date      domain.Date
	BilledTo  string // name and address as they stood
	Lines     []Line
	Discount  money.Amount
	Reason    string // of the discount
	Currency  money.Currency
	Rounding  money.Rounding
	TaxInside bool
	Taxes     []money.Tax
	Totals    money.Totals
	Agreed    money.Amount // total that was agreed
	Limit     money.Amount // the most that was agreed
	Note      string
	IssuedBy  string
	IssuedAt  time.Time

	DueOn    domain.Date       // on account, to be paid by then; "" is at once
	Payer    domain.CustomerID // who pays all but OwnPart, such as an insurer; 0 for none
	OwnPart  money.Amount      // of the total, the customer's own; 0 without a payer
	PayerRef string            // of the payer's, such as the number of a claim

	// What came later and is read with it: no part of the paper itself.
	Credits  []CreditNote // oldest first
	WriteOff *WriteOff    // nil unless it was given up
}

// Line is one line of an invoice.
type Line struct {
	Kind    money.LineKind
	Name    string
	Detail  string // quantity of the task in words, or minutes billed
	Task    domain.TaskID
	Part    domain.PartID // sold off the shelf; 0 for none
	Move    int64         // of the shelf that took it; 0 when no stock is kept
	Count   decimal.Decimal
	Unit    string
	Price   decimal.Decimal // per count, in the currency's major unit
	Off     decimal.Decimal // percent
	Minutes int             // billed; 0 unless billed by time
	Net     money.Amount
}

// Options are what the counter decides when a bill is drawn up.
type Options struct {
	Discount    money.Amount // goodwill off the whole
	Reason      string
	KeepToLimit bool // charge no more than was agreed, as a discount
	Note        string
	PayBy       Tender            // as the customer chose after being told of its surcharge, if there is one; "" adds none
	Storage     bool              // charge storage by the shop's rule, where it was agreed in writing
	Payer       domain.CustomerID // another who pays, such as an insurer; 0 for none
	OwnPart     money.Amount      // the customer's own part, when another pays
	PayerRef    string
	QuarterUp   int // minutes on the clock are billed up to the next multiple, once per job; 0 or 1 bills them exactly
}

// LimitError reports a bill above what the customer agreed to.
type LimitError struct {
	Currency     money.Currency
	Total, Limit money.Amount
}

// Error says both amounts and what can be done.
func (e *LimitError) Error() string {
	return fmt.Sprintf("the bill comes to %s, but no more than %s was agreed: get a yes to a new quote version, or keep to the limit",
		e.Currency.Show(e.Total), e.Currency.Show(e.Limit))
}

// ErrorKind makes it a conflict.
func (e *LimitError) ErrorKind() domain.Kind { return domain.Conflict }

// Draft draws up the bill of a job from its agreed quote; q is nil for a job
// without a yes, which owes at most the survey fee agreed at arrival. It gives
// no number and no date.
//
// A firm quote, a flat price and a typed price are billed as said, when the
// task is done. On an estimate, time is billed by the clock at the quoted
// hourly rate, rounded up once per job, and parts as used. The result may not
// be above the agreed limit: see [LimitError].
func Draft(j *job.Job, q *quote.Quote, terms quote.Terms, o Options) (Invoice, error) {
	f := domain.Fields{}
	o.Reason = domain.Line(f, "reason", o.Reason, 120, o.Discount > 0)
	o.Note = domain.Paragraph(f, "note", o.Note, 1000, false)
	if o.Discount < 0 {
		f.Add("discount", "must not be negative")
	}
	if o.PayBy != "" {
		domain.OneOf(f, "pay_by", o.PayBy, Tenders())
	}
	if o.Payer == 0 && (o.OwnPart != 0 || o.PayerRef != "") {
		f.Add("payer", "is needed with an own part or a reference; leave those out when nobody else pays")
	}
	if err := f.Err(); err != nil {
		return Invoice{}, err
	}
	inv := Invoice{Job: j.ID, Customer: j.Customer, Note: o.Note, Reason: o.Reason}
	if q == nil {
		return inv, inv.surveyOnly(j, terms, o)
	}
	inv.Quote, inv.Currency, inv.Rounding, inv.TaxInside, inv.Agreed, inv.Limit = q.ID, q.Currency, q.Rounding, q.TaxInside, q.YesTotal, q.YesLimit
	lines, err := linesOf(j, q, o.QuarterUp)
	if err != nil {
		return inv, err
	}
	inv.Lines = lines
	off, err := q.AgreedDiscount()
	if err != nil {
		return inv, err
	}
	if off > 0 {
		inv.Reason = joinReasons(q.Reason, inv.Reason)
	}
	if off, err = inv.atMost(off); err != nil {
		return inv, err
	}
	inv.Discount = off + o.Discount
	if inv.Taxes, err = terms.Profile.TaxesOn(terms.Today, terms.Exempt); err != nil {
		return inv, err
	}
	return inv, inv.total(o.KeepToLimit)
}

// atMost cuts the discount of the quote down to what the lines come to: a
// comeback decided after the yes can make them cheaper than the discount.
func (inv *Invoice) atMost(off money.Amount) (money.Amount, error) {
	if off == 0 {
		return 0, nil
	}
	b := inv.Bill()
	b.Discount, b.Taxes = 0, nil
	t, err := money.Sum(b)
	return min(off, max(t.Sum, 0)), err
}

func joinReasons(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// surveyOnly bills the survey fee of a job that came to no work.
func (inv *Invoice) surveyOnly(j *job.Job, terms quote.Terms, o Options) error {
	if job.StageOf(j) != job.Declined && job.StageOf(j) != job.Surveyed {
		return domain.Conflictf("there is no yes to bill for on tag %d", j.Tag)
	}
	if j.Arrival.SurveyFee == 0 {
		return domain.Conflictf("nothing is owed on tag %d: no work was agreed and no survey fee", j.Tag)
	}
	inv.Currency, inv.Rounding, inv.TaxInside = terms.Currency, terms.Profile.Rounding, terms.Profile.PricesIncludeTax
	inv.Lines = []Line{{
		Kind: money.Fee, Name: "Survey and condition report", Count: decimal.NewFromInt(1), Price: terms.Currency.Decimal(j.Arrival.SurveyFee),
	}}
	inv.Discount = o.Discount
	var err error
	if inv.Taxes, err = terms.Profile.TaxesOn(terms.Today, terms.Exempt); err != nil {
		return err
	}
	inv.Limit = money.MaxAmount
	return inv.total(false)
}

// Bill returns the invoice as a bill.
func (inv *Invoice) Bill() money.Bill {
	b := money.Bill{Currency: inv.Currency, Rounding: inv.Rounding, PricesIncludeTax: inv.TaxInside, Taxes: inv.Taxes, Discount: inv.Discount}
	for _, l := range inv.Lines {
		b.Lines = append(b.Lines, money.Line{Kind: l.Kind, Quantity: l.Count, UnitPrice: l.Price, DiscountPercent: l.Off})
	}
	return b
}

// total sums the invoice and holds it to the agreed limit.
func (inv *Invoice) total(keep bool) error {
	t, err := money.Sum(inv.Bill())
	if err != nil {
		return err
	}
	if t.Total > inv.Limit && !keep {
		return &LimitError{Currency: inv.Currency, Total: t.Total, Limit: inv.Limit}
	}
	if t.Total > inv.Limit {
		if t, err = inv.cutTo(inv.Limit, t); err != nil {
			return err
		}
		inv.Reason = joinReasons(inv.Reason, keptToLimit)
	}
	inv.Totals = t
	for i := range inv.Lines {
		inv.Lines[i].Net = t.Lines[i].Net
	}
	return nil
}

// cutTo raises the discount to the least that brings the total down to limit.
// The total falls by at least nothing and at most a little more than a minor
// unit with each unit of discount, so a bisection finds it.
func (inv *Invoice) cutTo(limit money.Amount, t money.Totals) (money.Totals, error) {
	low, high := inv.Discount, t.Sum
	for low < high {
		inv.Discount = low + (high-low)/2
		cut, err := money.Sum(inv.Bill())
		if err != nil {
			return t, err
		}
		if cut.Total <= limit {
			high = inv.Discount
		} else {
			low = inv.Discount + 1
		}
	}
	inv.Discount = high
	return money.Sum(inv.Bill())
}
