package workshop

import (
	"context"
	"fmt"

	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// postMove posts what a move of the shelf does to the books. It is called once for
// every move that was added; that of a supplier's bill is posted by postBill.
func (w *Workshop) postMove(ctx context.Context, tx Tx, p *stock.Part, m stock.Move) error {
	e := billing.Entry{Text: fmt.Sprintf("%s: %s %s", p.Name, m.Kind, QuantityWords(max(m.Quantity, -m.Quantity), p.Unit)), Job: m.Job, Move: m.ID, At: m.At, By: m.By}
	switch m.Kind {
	case stock.Received:
		e.Event, e.Postings = billing.PartsReceived, billing.PostReceived(m.Value)
	case stock.SentBack:
		e.Event, e.Postings = billing.PartsSentBack, billing.PostReceived(m.Value)
	case stock.Used:
		e.Event, e.Postings = billing.PartsUsed, billing.PostUsed(-m.Value)
	case stock.PutBack:
		e.Event, e.Postings = billing.PartsPutBack, billing.PostUsed(-m.Value)
		gone, err := jobGone(ctx, tx, m)
		if err != nil {
			return err
		}
		if gone {
			e.Postings = billing.PostPutBack(m.Value)
		}
	case stock.Sold:
		e.Event, e.Postings = billing.PartsSold, billing.PostSold(-m.Value)
	case stock.Damaged:
		e.Event, e.Postings = billing.PartsLost, billing.PostScrapped(-m.Value)
	case stock.Counted:
		e.Event, e.Postings = billing.PartsCounted, billing.PostCounted(m.Value)
	default:
		return fmt.Errorf("post move %d: the books know no move %q", m.ID, m.Kind)
	}
	return w.postToday(ctx, tx, e)
}

// jobGone reports whether the job of a move has left: then nothing stands as work in
// progress on it any more.
func jobGone(ctx context.Context, tx Tx, m stock.Move) (bool, error) {
	if m.Job == 0 {
		return true, nil
	}
	j, err := tx.Job(ctx, m.Job)
	if err != nil {
		return false, err
	}
	return job.StageOf(j).Over(), nil
}

// postBill posts the supplier's bill for a receipt: what was expected, the difference
// on what still lies on the shelf and on what has left, and the tax.
func (w *Workshop) postBill(ctx context.Context, tx Tx, p *stock.Part, r *stock.Receipt) error {
	b := r.Bill
	shelf := b.Amount - r.Cost - b.Gone
	return w.postToday(ctx, tx, billing.Entry{
		Event: billing.SupplierBilled, Text: fmt.Sprintf("bill for %s of %s", QuantityWords(r.Quantity, p.Unit), p.Name), Move: r.Move,
		Postings: billing.PostSupplierBill(r.Cost, shelf, b.Gone, b.Tax), At: b.At, By: b.By,
	})
}

func (w *Workshop) postToday(ctx context.Context, tx Tx, e billing.Entry) error {
	shop, err := tx.Shop(ctx)
	if err != nil {
		return err
	}
	e.Date = shop.Today(e.At)
	return w.post(ctx, tx, e)
}

// unitCost is a value by unit, rounded half away from zero.
func unitCost(value money.Amount, q stock.Quantity) money.Amount {
	l := stock.Level{Quantity: q, Value: value}
	return money.Amount(l.Average().Round(0).IntPart())
}
