package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// Counter is what the shop charges besides work and parts. All of it is off unless it
// is set: whether and how it may be charged is for the owner to check against the law
// of the place.
type Counter struct {
	Charges    quote.Charges          `json:"charges"`
	Storage    billing.StorageRule    `json:"storage"`
	Surcharges []billing.TenderCharge `json:"surcharges"` // by tender, each once
}

// Check returns an Invalid error that names each wrong field.
func (c Counter) Check() error {
	f := domain.Fields{}
	f.AddErr("charges", c.Charges.Check())
	f.AddErr("storage", c.Storage.Check())
	for i, x := range c.Surcharges {
		at := fmt.Sprintf("surcharges[%d]", i)
		f.AddErr(at, x.Check())
		if slices.ContainsFunc(c.Surcharges[:i], func(y billing.TenderCharge) bool { return y.Tender == x.Tender }) {
			f.Add(at+".tender", "%s stands twice", x.Tender)
		}
	}
	return f.Err()
}

// Surcharge is what is charged for paying with a tender; its percent is 0 for none.
func (c Counter) Surcharge(t billing.Tender) billing.TenderCharge {
	for _, x := range c.Surcharges {
		if x.Tender == t {
			return x
		}
	}
	return billing.TenderCharge{Tender: t}
}

// ToldReady is the shop's day on which the customer was first told that an instrument
// can be collected, "" before it. An attempt that reached nobody is none.
func ToldReady(j *job.Job, shop *Shop) domain.Date {
	for _, c := range j.Contacts {
		if (c.About == "ready" || c.About == "notice") && c.Result != "no answer" && c.Result != "wrong number" {
			return shop.Today(c.At)
		}
	}
	return ""
}

// settleTerms puts on a bill that was drawn up what the counter decided: storage, the
// surcharge of a tender, who pays and until when.
func settleTerms(ctx context.Context, tx Tx, shop *Shop, j *job.Job, inv *billing.Invoice, o billing.Options) error {
	if o.Storage {
		if err := addStorage(shop, j, inv); err != nil {
			return err
		}
	}
	if x := shop.Counter.Surcharge(o.PayBy); o.PayBy != "" && x.Percent.Sign() > 0 {
		ps, err := tx.PaymentsOf(ctx, j.ID)
		if err != nil {
			return err
		}
		if err := inv.AddTenderCharge(x, billing.BalanceOf(nil, ps, shop.Coin()).Paid); err != nil {
			return err
		}
	}
	who := inv.Customer
	if o.Payer != 0 {
		if err := billTo(ctx, tx, inv, o); err != nil {
			return err
		}
		who = o.Payer
	}
	a, err := tx.AccountTerms(ctx, who)
	if err == nil && a != nil {
		inv.DueOn = inv.Date.AddDays(a.Days)
	}
	return err
}

func addStorage(shop *Shop, j *job.Job, inv *billing.Invoice) error {
	r, told := shop.Counter.Storage, ToldReady(j, shop)
	why := ""
	switch {
	case r.PerDay == 0:
		why = "the shop's settings charge no storage"
	case !j.Arrival.StorageFee:
		why = "no storage fee was agreed in writing when it came in"
	case told == "":
		why = "the customer was not told yet that it is ready"
	case r.Days(true, told, inv.Date) == 0:
		why = fmt.Sprintf("the %d free days since notice on %s are not over", r.FreeDays, told)
	}
	if why != "" {
		f := domain.Fields{}
		f.Add("storage", "cannot be charged: %s", why)
		return f.Err()
	}
	return inv.AddStorage(r, r.Days(true, told, inv.Date))
}

func billTo(ctx context.Context, tx Tx, inv *billing.Invoice, o billing.Options) error {
	c, err := tx.Customer(ctx, o.Payer)
	if domain.KindOf(err) == domain.NotFound {
		f := domain.Fields{}
		f.Add("payer", "there is no customer %d; note the payer as a customer first", o.Payer)
		return f.Err()
	}
	if err != nil {
		return err
	}
	if err := inv.BillTo(o.Payer, o.OwnPart, o.PayerRef); err != nil {
		return err
	}
	inv.BilledTo = strings.TrimSpace(c.Name+"\n"+c.Address) + "\nfor " + inv.BilledTo
	return nil
}

// onAccount says on what terms a customer takes an instrument along without paying, ""
// when there is no account. It is a conflict when more would be owed than the account
// lets. The customer is locked, so that two hand-overs at once do not pass the limit.
func onAccount(ctx context.Context, tx Tx, shop *Shop, inv *billing.Invoice, due money.Amount) (string, error) {
	if inv == nil {
		return "", nil
	}
	if _, err := tx.Customer(ctx, inv.Customer); err != nil {
		return "", err
	}
	a, err := tx.AccountTerms(ctx, inv.Customer)
	if err != nil || a == nil {
		return "", err
	}
	owed, err := tx.StandsOnCustomer(ctx, billing.Receivables, inv.Customer)
	if err != nil {
		return "", err
	}
	show := shop.Currency.Show
	if owed = max(owed, due); owed > a.Limit {
		return "", domain.Conflictf("on account no more than %s may be owed, and with this it would be %s: take a payment, or the owner says why it may leave", show(a.Limit), show(owed))
	}
	until := inv.DueOn
	if until == "" {
		until = inv.Date.AddDays(a.Days)
	}
	return "on account, to pay by " + string(until), nil
}
