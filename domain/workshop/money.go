package workshop

import (
	"context"
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// Every use case here that moves money ends in w.post, in its own transaction: what
// is not in the journal has not happened. See post_money.go for what is posted.

// Coin is the shop's smallest cash step.
func (s *Shop) Coin() billing.Coin {
	return billing.Coin{Step: s.Profile.CashStep, Mode: s.Profile.CashMode}
}

// Agreed returns the newest version with a yes, nil when there is none. The
// versions may stand in any order.
func Agreed(versions []*quote.Quote) *quote.Quote {
	var best *quote.Quote
	for _, q := range versions {
		yes := q.Answer != nil && q.Answer.Outcome != quote.Denied
		if yes && (best == nil || q.Version > best.Version) {
			best = q
		}
	}
	return best
}

// DraftInvoice draws up the bill of a job and keeps nothing.
func (w *Workshop) DraftInvoice(ctx context.Context, by domain.Actor, id domain.JobID, o billing.Options) (billing.Invoice, error) {
	var inv billing.Invoice
	if err := May(by, ActRead); err != nil {
		return inv, err
	}
	err := w.store.InTx(ctx, func(tx Tx) error {
		j, err := tx.Job(ctx, id)
		if err != nil {
			return err
		}
		inv, err = w.drawUp(ctx, tx, j, o, w.Now())
		return err
	})
	return inv, err
}

func (w *Workshop) drawUp(ctx context.Context, tx Tx, j *job.Job, o billing.Options, at time.Time) (billing.Invoice, error) {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return billing.Invoice{}, err
	}
	c, err := tx.Customer(ctx, j.Customer)
	if err != nil {
		return billing.Invoice{}, err
	}
	versions, err := tx.QuotesOf(ctx, j.ID)
	if err != nil {
		return billing.Invoice{}, err
	}
	o.QuarterUp = shop.QuarterUp
	inv, err := billing.Draft(j, Agreed(versions), shop.Terms(at, c.Exempt), o)
	inv.Date = shop.Today(at)
	inv.BilledTo = strings.TrimSpace(c.Name + "\n" + c.Address)
	if err != nil {
		return inv, err
	}
	return inv, settleTerms(ctx, tx, shop, j, &inv, o)
}

// IssueInvoice draws up the bill of a job, gives it the next number and keeps
// it. A job has one invoice. Work must be checked, or declined.
func (w *Workshop) IssueInvoice(ctx context.Context, by domain.Actor, id domain.JobID, o billing.Options) (domain.InvoiceID, error) {
	inv, err := w.do(ctx, by, ActInvoice, func(tx Tx, at time.Time) (int64, error) {
		j, err := loadJob(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		if _, err := tx.InvoiceOf(ctx, id); err == nil {
			return 0, domain.Conflictf("tag %d has its invoice already", j.Tag)
		} else if domain.KindOf(err) != domain.NotFound {
			return 0, err
		}
		if !j.Approved.IsZero() && j.Checked.IsZero() {
			return 0, domain.Conflictf("the quality check of tag %d is not through; bill when it is", j.Tag)
		}
		inv, err := w.drawUp(ctx, tx, j, o, at)
		if err != nil {
			return 0, err
		}
		if inv.Number, err = tx.Next(ctx, Invoices); err != nil {
			return 0, err
		}
		inv.IssuedBy, inv.IssuedAt = by.Name, at
		if err := tx.AddInvoice(ctx, &inv); err != nil {
			return 0, err
		}
		if err := w.postInvoice(ctx, tx, j, &inv); err != nil {
			return 0, err
		}
		if err := tx.SaveJob(ctx, j); err != nil { // so that two people at once meet in the version
			return 0, err
		}
		return int64(inv.ID), note(ctx, tx, id, by, at, fmt.Sprintf("issued invoice %d", inv.Number), "", inv.Currency.Show(inv.Totals.Total))
	})
	return domain.InvoiceID(inv), err
}

// TakePayment takes money for a job: a deposit before the invoice, up to the
// agreed limit, or a payment on the invoice, up to what is due. When the debt was given
// up it may still come in, up to what is missing of it.
func (w *Workshop) TakePayment(ctx context.Context, by domain.Actor, id domain.JobID, p billing.Payment) (domain.PaymentID, error) {
	return w.pay(ctx, by, ActMoney, debtOfJob(id), p, take)
}

// GiveBack refunds what was paid above what is owed; amount is above 0.
func (w *Workshop) GiveBack(ctx context.Context, by domain.Actor, id domain.JobID, p billing.Payment) (domain.PaymentID, error) {
	return w.pay(ctx, by, ActRefund, debtOfJob(id), p, giveBack)
}

// debt is what money is taken or given back for: a job, or a sale over the counter.
type debt struct {
	job      *job.Job         // nil of a sale
	invoice  *billing.Invoice // nil before it is issued
	customer domain.CustomerID
	balance  billing.Balance
	room     money.Amount // for a deposit
}

// openDebt reads a debt and locks it.
type openDebt func(ctx context.Context, tx Tx, shop *Shop) (*debt, error)

func debtOfJob(id domain.JobID) openDebt {
	return func(ctx context.Context, tx Tx, shop *Shop) (*debt, error) {
		j, err := loadJob(ctx, tx, id)
		if err != nil {
			return nil, err
		}
		d := &debt{job: j, customer: j.Customer}
		if d.invoice, d.balance, err = balance(ctx, tx, id, shop.Coin()); err != nil {
			return nil, err
		}
		d.room, err = depositRoom(ctx, tx, j, d.balance)
		return d, err
	}
}

type settle func(p billing.Payment, d *debt, coin billing.Coin) (billing.Payment, error)

func take(p billing.Payment, d *debt, coin billing.Coin) (billing.Payment, error) {
	return billing.Take(p, d.balance, d.invoice != nil, d.room, coin)
}

func giveBack(p billing.Payment, d *debt, coin billing.Coin) (billing.Payment, error) {
	return billing.GiveBack(p, d.balance, coin)
}

func (w *Workshop) pay(ctx context.Context, by domain.Actor, a Action, open openDebt, p billing.Payment, fn settle) (domain.PaymentID, error) {
	pid, err := w.do(ctx, by, a, func(tx Tx, at time.Time) (int64, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		d, err := open(ctx, tx, shop)
		if err != nil {
			return 0, err
		}
		if p.ByPayer && (d.invoice == nil || d.invoice.Payer == 0) {
			return 0, domain.Conflictf("nobody but the customer pays for it")
		}
		done, err := fn(p, d, shop.Coin())
		if err != nil {
			return 0, inCurrency(err, shop.Currency)
		}
		if err := w.keepPayment(ctx, tx, shop, d, &done, by, at); err != nil {
			return 0, err
		}
		if d.job == nil {
			return int64(done.ID), nil
		}
		return int64(done.ID), tx.SaveJob(ctx, d.job)
	})
	return domain.PaymentID(pid), err
}

// keepPayment gives a payment its receipt, keeps it with what it moves besides, posts
// it and notes it.
func (w *Workshop) keepPayment(ctx context.Context, tx Tx, shop *Shop, d *debt, p *billing.Payment, by domain.Actor, at time.Time) error {
	if d.customer == 0 && (p.Tender == billing.FromCredit || p.Kept > 0) {
		f := domain.Fields{}
		f.Add("tender", "store credit is kept for a customer; say who it is, or settle it in another way")
		return f.Err()
	}
	p.At, p.By = at, by.Name
	if d.job != nil {
		p.Job = d.job.ID
	}
	if d.invoice != nil {
		p.Invoice = d.invoice.ID
	}
	var err error
	if p.Receipt, err = tx.Next(ctx, Receipts); err != nil {
		return err
	}
	if err := tx.AddPayment(ctx, p); err != nil {
		return err
	}
	if err := sideMoves(ctx, tx, d.customer, *p, shop.Currency); err != nil {
		return err
	}
	what := fmt.Sprintf("%s, %s, receipt %d", p.Kind, p.Tender, p.Receipt)
	if d.balance.WrittenOff > 0 {
		what += ", on a debt that was given up"
		if err := w.postRecovery(ctx, tx, shop, d, *p); err != nil {
			return err
		}
	}
	if err := w.postPayment(ctx, tx, shop, d.customer, *p); err != nil {
		return err
	}
	return note(ctx, tx, p.Job, by, at, what, "", shop.Currency.Show(p.Amount))
}

// inCurrency lets an error about too much say its limit in the shop's currency.
func inCurrency(err error, c money.Currency) error {
	switch over := err.(type) {
	case *billing.OverpaidError:
		over.Currency = c
	case *billing.BeyondError:
		over.Currency = c
	}
	return err
}

// balance returns the invoice, nil before there is one, and what is owed.
func balance(ctx context.Context, tx Tx, id domain.JobID, coin billing.Coin) (*billing.Invoice, billing.Balance, error) {
	inv, err := tx.InvoiceOf(ctx, id)
	if err != nil {
		if domain.KindOf(err) != domain.NotFound {
			return nil, billing.Balance{}, err
		}
		inv = nil
	}
	ps, err := tx.PaymentsOf(ctx, id)
	if err != nil {
		return nil, billing.Balance{}, err
	}
	return inv, billing.BalanceOf(inv, ps, coin), nil
}

// depositRoom is how much may still be taken before the invoice: the most that may
// be billed of what was agreed, nothing before a yes, less what was paid.
func depositRoom(ctx context.Context, tx Tx, j *job.Job, b billing.Balance) (money.Amount, error) {
	versions, err := tx.QuotesOf(ctx, j.ID)
	if err != nil {
		return 0, err
	}
	var total money.Amount
	if q := Agreed(versions); q != nil {
		total = q.YesLimit
	}
	return total - b.Paid, nil
}

// HandOver lets an instrument go.
func (w *Workshop) HandOver(ctx context.Context, by domain.Actor, id domain.JobID, h job.HandOver) error {
	return w.onJob(ctx, by, ActHandOver, id, func(tx Tx, j *job.Job, at time.Time) (did, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return did{}, err
		}
		inv, b, err := balance(ctx, tx, id, shop.Coin())
		if err != nil {
			return did{}, err
		}
		if inv == nil && (!j.Approved.IsZero() || (j.Arrival.SurveyFee > 0 && !j.Surveyed.IsZero())) {
			return did{}, domain.Conflictf("issue the invoice of tag %d before it leaves", j.Tag)
		}
		own := b.OwnDue()
		if own < 0 {
			return did{}, domain.Conflictf("the shop owes the customer %s; give it back first", shop.Currency.Show(-own))
		}
		if own > 0 && h.Unpaid == "" {
			if h.Unpaid, err = onAccount(ctx, tx, shop, inv, own); err != nil {
				return did{}, err
			}
			if h.Unpaid != "" {
				own = 0
			}
		}
		if err := j.Leave(h, own > 0, by, at); err != nil {
			return did{}, err
		}
		if err := w.release(ctx, tx, j, 0, "the job left", by, at); err != nil {
			return did{}, err
		}
		return did{what: "handed it over to " + h.To, after: h.Unpaid}, w.postLeaving(ctx, tx, j, by, at)
	})
}
