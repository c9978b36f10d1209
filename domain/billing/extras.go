package billing

import (
	"fmt"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// TenderCharge is what paying with a tender costs the customer more. In many places
// the law forbids or limits it, above all for cards of consumers.
type TenderCharge struct {
	Tender  Tender          `json:"tender"`
	Percent decimal.Decimal `json:"percent"` // of what is to be paid
}

// Check returns an Invalid error unless a surcharge can be on the tender.
func (t TenderCharge) Check() error {
	f := domain.Fields{}
	if domain.OneOf(f, "tender", t.Tender, Tenders()); t.Tender == Cash || t.Tender == FromCredit {
		f.Add("tender", "%s carries no surcharge", t.Tender)
	}
	if t.Percent.Sign() < 0 || t.Percent.GreaterThan(decimal.NewFromInt(10)) || !t.Percent.Equal(t.Percent.Round(3)) {
		f.Add("percent", "must be from 0 to 10 percent, with at most three decimals")
	}
	return f.Err()
}

// StorageRule is what keeping an instrument costs that is not collected. It is charged
// only where it was agreed in writing, and local law may set its own notice and limits.
type StorageRule struct {
	PerDay   money.Amount `json:"per_day"`   // 0: nothing is charged
	FreeDays int          `json:"free_days"` // after the customer was told that it is ready
}

// Check returns an Invalid error that names each wrong field.
func (r StorageRule) Check() error {
	f := domain.Fields{}
	if r.PerDay < 0 {
		f.Add("per_day", "must not be negative")
	}
	f.AddErr("per_day", r.PerDay.Check())
	if r.FreeDays < 0 || r.FreeDays > 365 {
		f.Add("free_days", "must be from 0 to 365 days")
	}
	return f.Err()
}

// Days is for how many days storage is charged: those after the free ones that follow
// the day of the notice. Without notice, or without an agreement in writing, none.
func (r StorageRule) Days(agreed bool, told, today domain.Date) int {
	if !agreed || told == "" || r.PerDay == 0 {
		return 0
	}
	return max(told.DaysTo(today)-r.FreeDays, 0)
}

// AddStorage puts a fee for so many days on a bill that was drawn up. The fee is owed
// by an agreement of its own, so the agreed limit of the work rises by what it adds.
func (inv *Invoice) AddStorage(r StorageRule, days int) error {
	if days <= 0 || r.PerDay == 0 {
		return nil
	}
	return inv.add(Line{
		Kind: money.Storage, Name: "Storage", Detail: fmt.Sprintf("%d days after notice and %d free days", days, r.FreeDays),
		Count: decimal.NewFromInt(int64(days)), Unit: "day", Price: inv.Currency.Decimal(r.PerDay),
	})
}

// AddTenderCharge puts the surcharge of a tender on a bill that was drawn up, reckoned
// from what of it is still to be paid. The customer chose the tender when told of it,
// so the agreed limit of the work rises by what it adds.
func (inv *Invoice) AddTenderCharge(t TenderCharge, paid money.Amount) error {
	a, err := money.MulRound(max(inv.Totals.Total-paid, 0), t.Percent.Shift(-2), inv.Rounding.Mode)
	if err != nil || a == 0 {
		return err
	}
	return inv.add(Line{
		Kind: money.Surcharge, Name: fmt.Sprintf("Surcharge for paying by %s", t.Tender), Detail: t.Percent.String() + " % of " + inv.Currency.Show(max(inv.Totals.Total-paid, 0)),
		Count: decimal.NewFromInt(1), Price: inv.Currency.Decimal(a),
	})
}

// add sums the bill again with one more line and raises the limit by the difference.
func (inv *Invoice) add(l Line) error {
	before := inv.Totals.Total
	inv.Lines = append(inv.Lines, l)
	t, err := money.Sum(inv.Bill())
	if err != nil {
		return fmt.Errorf("add %s: %w", l.Name, err)
	}
	inv.Totals = t
	for i := range inv.Lines {
		inv.Lines[i].Net = t.Lines[i].Net
	}
	if inv.Limit < money.MaxAmount {
		inv.Limit += t.Total - before
	}
	return nil
}

// BillTo makes another pay an invoice but for the customer's own part, which may be
// nothing and is at most the total. reference is the payer's, such as a claim's number.
func (inv *Invoice) BillTo(payer domain.CustomerID, own money.Amount, reference string) error {
	f := domain.Fields{}
	reference = domain.Line(f, "payer_reference", reference, 80, false)
	switch {
	case payer == inv.Customer:
		f.Add("payer", "is the customer; choose who else pays, or nobody")
	case own < 0:
		f.Add("own_part", "must not be negative")
	case own > inv.Totals.Total:
		f.Add("own_part", "must be at most the total, %s", inv.Currency.Show(inv.Totals.Total))
	}
	inv.Payer, inv.OwnPart, inv.PayerRef = payer, own, reference
	return f.Err()
}
