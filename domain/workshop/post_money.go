package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
)

// booksOf reads what the journal holds of a job: deposits with the tax that was posted
// with them, and what is owed.
func booksOf(ctx context.Context, tx Tx, id domain.JobID) (billing.Standing, error) {
	net, err := tx.StandsOnJob(ctx, billing.CustomerDeposits, id)
	if err != nil {
		return billing.Standing{}, err
	}
	tax, err := tx.TaxOnDeposits(ctx, id)
	if err != nil {
		return billing.Standing{}, err
	}
	owed, err := tx.StandsOnJob(ctx, billing.Receivables, id)
	return billing.Standing{Held: net + billing.SumOf(tax), Tax: tax, Owed: owed}, err
}

// taxOfDeposit is what of a payment is output tax at once: of a deposit, where the shop's
// profile taxes it when it is taken, as the agreed quote is taxed.
func taxOfDeposit(ctx context.Context, tx Tx, shop *Shop, p billing.Payment) ([]billing.TaxPart, error) {
	if p.Kind != billing.Deposit || shop.Profile.DepositTax != money.OnReceipt {
		return nil, nil
	}
	versions, err := tx.QuotesOf(ctx, p.Job)
	if err != nil {
		return nil, err
	}
	q := Agreed(versions)
	if q == nil {
		return nil, nil
	}
	totals, err := q.AgreedTotals()
	if err != nil {
		return nil, err
	}
	return billing.DepositTax(p.Amount+p.Rounding, totals)
}

// postInvoice posts an invoice that was added, the deposits that it uses, and the
// cost of the parts in the job.
func (w *Workshop) postInvoice(ctx context.Context, tx Tx, j *job.Job, inv *billing.Invoice) error {
	s, err := booksOf(ctx, tx, j.ID)
	if err != nil {
		return err
	}
	entries, err := s.Issued(inv)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := w.post(ctx, tx, e); err != nil {
			return err
		}
	}
	what := fmt.Sprintf("parts of invoice %d", inv.Number)
	return w.postJobCost(ctx, tx, j, billing.Entry{
		Date: inv.Date, Text: what, Invoice: inv.ID, At: inv.IssuedAt, By: inv.IssuedBy,
	})
}

// postPayment posts a payment or refund that was added. A sale has no deposits.
func (w *Workshop) postPayment(ctx context.Context, tx Tx, shop *Shop, who domain.CustomerID, p billing.Payment) error {
	var s billing.Standing
	if p.Job != 0 {
		var err error
		if s, err = booksOf(ctx, tx, p.Job); err != nil {
			return err
		}
	}
	taxes, err := taxOfDeposit(ctx, tx, shop, p)
	if err != nil {
		return err
	}
	e, err := s.Paid(p, shop.Today(p.At), taxes...)
	if err != nil {
		return err
	}
	e.Customer = who
	return w.post(ctx, tx, e)
}

// postRecovery puts what a payment brings in of a debt that was given up back on what
// is owed, where [Workshop.postPayment] finds it.
func (w *Workshop) postRecovery(ctx context.Context, tx Tx, shop *Shop, d *debt, p billing.Payment) error {
	postings, err := billing.Recovery(d.invoice, d.balance.Recovered, p.Amount+p.Rounding)
	if err != nil {
		return err
	}
	return w.post(ctx, tx, billing.Entry{
		Date: shop.Today(p.At), Event: billing.DebtRecovered, Text: fmt.Sprintf("invoice %d: came in after it was given up, receipt %d", d.invoice.Number, p.Receipt),
		Customer: d.customer, Job: p.Job, Invoice: d.invoice.ID, Postings: postings, At: p.At, By: p.By,
	})
}

// postJobCost moves what stands as work in progress on a job to the cost of sales, or
// of warranty. It is called when the job is billed, and again when it leaves: then
// parts that were used and never billed are a cost too, and no job that is gone holds
// any work in progress. e gives date, text and who.
func (w *Workshop) postJobCost(ctx context.Context, tx Tx, j *job.Job, e billing.Entry) error {
	cost, err := tx.StandsOnJob(ctx, billing.WorkInProgress, j.ID)
	if err != nil || cost == 0 {
		return err
	}
	ours := j.Comeback != nil && j.Comeback.Share == job.Ours
	var provision money.Amount
	if ours {
		if provision, err = tx.StandsOn(ctx, billing.WarrantyProvision); err != nil {
			return err
		}
	}
	e.Event, e.Customer, e.Job = billing.CostOfJob, j.Customer, j.ID
	if ours {
		e.Event = billing.WarrantyUsed
	}
	e.Postings = billing.CostOf(cost, provision, ours)
	return w.post(ctx, tx, e)
}

// postLeaving posts what a job that leaves, or is closed, still holds as work in
// progress.
func (w *Workshop) postLeaving(ctx context.Context, tx Tx, j *job.Job, by domain.Actor, at time.Time) error {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return err
	}
	return w.postJobCost(ctx, tx, j, billing.Entry{
		Date: shop.Today(at), Text: fmt.Sprintf("parts in tag %d that were not billed", j.Tag), At: at, By: by.Name,
	})
}
