package workshop

import (
	"context"
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// shelf is a part with its level, both locked, on its way through one use case.
type shelf struct {
	part  *stock.Part
	level *Shelf
}

// shelfFor locks a part and its level.
func shelfFor(ctx context.Context, tx Tx, id domain.PartID) (shelf, error) {
	p, err := tx.Part(ctx, id)
	if err != nil {
		return shelf{}, err
	}
	l, err := tx.Level(ctx, id)
	return shelf{part: p, level: l}, err
}

// keptShelf is shelfFor of a part of which stock is kept; another is a conflict.
func keptShelf(ctx context.Context, tx Tx, id domain.PartID) (shelf, error) {
	s, err := shelfFor(ctx, tx, id)
	if err == nil && !s.part.Kept {
		return s, domain.Conflictf("no stock is kept of %s yet; receive or count it first", s.part.Name)
	}
	return s, err
}

// moved writes a move of the shelf with its level and posts it. The level of a part
// that was not kept begins with it.
func (w *Workshop) moved(ctx context.Context, tx Tx, s shelf, m *stock.Move, by domain.Actor, at time.Time) error {
	m.Part, m.At, m.By = s.part.ID, at, by.Name
	if err := tx.SaveLevel(ctx, s.level); err != nil {
		return err
	}
	if err := tx.AddMove(ctx, m, s.level.Level); err != nil {
		return err
	}
	if m.Kind == stock.Repriced { // posted as a whole with the bill
		return nil
	}
	return w.postMove(ctx, tx, s.part, *m)
}

// withName puts the part's name and unit into a shortage.
func withName(err error, p *stock.Part) error {
	short, ok := err.(*stock.ShortageError)
	if !ok {
		return err
	}
	n := *short
	n.Part, n.Name, n.Unit = p.ID, p.Name, p.Unit
	return &n
}

// Delivery is a quantity of one part that comes in.
type Delivery struct {
	Part     domain.PartID
	Supplier domain.SupplierID // 0: the part's own
	Quantity stock.Quantity
	Cost     money.Amount // of all of it, without tax that is recovered
	Paper    string       // delivery note or bill
}

// Receive puts parts without an order on the shelf. From the first time on, stock is
// kept of the part. Jobs that waited for it go on.
func (w *Workshop) Receive(ctx context.Context, by domain.Actor, d Delivery) (domain.ReceiptID, error) {
	id, err := w.do(ctx, by, ActReceive, func(tx Tx, at time.Time) (int64, error) {
		s, err := shelfFor(ctx, tx, d.Part)
		if err != nil {
			return 0, err
		}
		r := stock.Receipt{Supplier: d.Supplier, Quantity: d.Quantity, Cost: d.Cost, Paper: d.Paper}
		if err := w.receive(ctx, tx, s, &r, by, at); err != nil {
			return 0, err
		}
		if err := w.settle(ctx, tx, by, at, nil, d.Part); err != nil {
			return 0, err
		}
		return int64(r.ID), note(ctx, tx, 0, by, at, receivedText(s.part, &r), "", s.level.words(s.part))
	})
	return domain.ReceiptID(id), err
}

func receivedText(p *stock.Part, r *stock.Receipt) string {
	return fmt.Sprintf("received %s of %s", QuantityWords(r.Quantity, p.Unit), p.Name)
}

// words is the level for the diary.
func (s *Shelf) words(p *stock.Part) string {
	return QuantityWords(s.Quantity, p.Unit) + " on the shelf"
}

// receive moves a delivery to the shelf. What a unit cost is the part's cost from then
// on, and its price follows when a markup makes it.
func (w *Workshop) receive(ctx context.Context, tx Tx, s shelf, r *stock.Receipt, by domain.Actor, at time.Time) error {
	f := domain.Fields{}
	r.Paper = domain.Line(f, "paper", r.Paper, 80, false)
	if err := f.Err(); err != nil {
		return err
	}
	m, err := s.level.Receive(r.Quantity, r.Cost)
	if err != nil {
		return err
	}
	if r.Supplier == 0 {
		r.Supplier = s.part.Supplier
	}
	m.Reason = r.Paper
	if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
		return err
	}
	s.part.Kept = true
	s.part.SetCost(unitCost(r.Cost, r.Quantity))
	if err := tx.SavePart(ctx, s.part); err != nil {
		return err
	}
	r.Part, r.Move, r.At, r.By = s.part.ID, m.ID, at, by.Name
	return tx.AddReceipt(ctx, r)
}

// Bill notes the supplier's bill for a receipt: amount without the tax that is
// recovered. A difference to the cost at which it came goes to what still lies on the
// shelf, and the rest to the cost of what has left.
func (w *Workshop) Bill(ctx context.Context, by domain.Actor, id domain.ReceiptID, amount, tax money.Amount) error {
	_, err := w.do(ctx, by, ActReceive, func(tx Tx, at time.Time) (int64, error) {
		r, err := tx.Receipt(ctx, id)
		if err != nil {
			return 0, err
		}
		if r.Bill != nil {
			shop, err := tx.Shop(ctx)
			if err != nil {
				return 0, err
			}
			return 0, domain.Conflictf("the bill of this receipt was noted on %s by %s", shop.Today(r.Bill.At), r.Bill.By)
		}
		if err := checkBill(amount, tax); err != nil {
			return 0, err
		}
		s, err := keptShelf(ctx, tx, r.Part)
		if err != nil {
			return 0, err
		}
		r.Bill = &stock.Bill{Amount: amount, Tax: tax, At: at, By: by.Name}
		if err := w.reprice(ctx, tx, s, r, by, at); err != nil {
			return 0, err
		}
		if err := tx.BillReceipt(ctx, r); err != nil {
			return 0, err
		}
		return int64(id), note(ctx, tx, 0, by, at, fmt.Sprintf("noted the bill for %s of %s", QuantityWords(r.Quantity, s.part.Unit), s.part.Name), "", "")
	})
	return err
}

func checkBill(amount, tax money.Amount) error {
	f := domain.Fields{}
	if amount < 0 || amount.Check() != nil {
		f.Add("amount", "must not be negative, nor too large")
	}
	if tax < 0 || tax.Check() != nil {
		f.Add("tax", "must not be negative, nor too large")
	}
	return f.Err()
}

// reprice moves what a bill differs from the receipt's cost, and posts the bill.
func (w *Workshop) reprice(ctx context.Context, tx Tx, s shelf, r *stock.Receipt, by domain.Actor, at time.Time) error {
	if difference := r.Bill.Amount - r.Cost; difference != 0 {
		m, gone, err := s.level.Reprice(r.Quantity, difference)
		if err != nil {
			return err
		}
		r.Bill.Gone = gone
		if m.Value != 0 {
			m.Reason = "the supplier's bill"
			if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
				return err
			}
			r.Bill.Repriced = m.ID
		}
		s.part.SetCost(unitCost(r.Bill.Amount, r.Quantity))
		if err := tx.SavePart(ctx, s.part); err != nil {
			return err
		}
	}
	return w.postBill(ctx, tx, s.part, r)
}

// Damage takes parts off the shelf that are broken, spoiled or out of date.
func (w *Workshop) Damage(ctx context.Context, by domain.Actor, id domain.PartID, q stock.Quantity, reason string) error {
	return w.takeOff(ctx, by, ActDamage, stock.Damaged, id, q, reason)
}

// SendBack takes parts off the shelf that go back to the supplier.
func (w *Workshop) SendBack(ctx context.Context, by domain.Actor, id domain.PartID, q stock.Quantity, reason string) error {
	return w.takeOff(ctx, by, ActReceive, stock.SentBack, id, q, reason)
}

// takeOff takes parts off the shelf for a reason. Jobs that are short by it wait.
func (w *Workshop) takeOff(ctx context.Context, by domain.Actor, a Action, kind stock.MoveKind, id domain.PartID, q stock.Quantity, reason string) error {
	_, err := w.do(ctx, by, a, func(tx Tx, at time.Time) (int64, error) {
		f := domain.Fields{}
		reason = domain.Line(f, "reason", reason, 120, true)
		if err := f.Err(); err != nil {
			return 0, err
		}
		s, err := keptShelf(ctx, tx, id)
		if err != nil {
			return 0, err
		}
		m, err := s.level.Take(kind, q, 0)
		if err != nil {
			return 0, withName(err, s.part)
		}
		m.Reason = reason
		if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
			return 0, err
		}
		if err := w.settle(ctx, tx, by, at, nil, id); err != nil {
			return 0, err
		}
		return m.ID, note(ctx, tx, 0, by, at, fmt.Sprintf("%s: %s of %s", kind, QuantityWords(q, s.part.Unit), s.part.Name), "", reason)
	})
	return err
}

// takeForJob takes the part that was just noted as used, the last of the job, off the
// shelf at average cost. A part of which no stock is kept costs what the list says.
func (w *Workshop) takeForJob(ctx context.Context, tx Tx, j *job.Job, by domain.Actor, at time.Time) error {
	used := &j.Parts[len(j.Parts)-1]
	s, err := shelfFor(ctx, tx, used.Part)
	if err != nil || !s.part.Kept {
		return err
	}
	q, err := stock.QuantityOf(used.Quantity)
	if err != nil {
		return err
	}
	mine, claim, err := claimOf(ctx, tx, j.ID, used.Part)
	if err != nil {
		return err
	}
	m, err := s.level.TakeFor(q, claim)
	if err != nil {
		return withName(err, s.part)
	}
	m.Job, m.Task = j.ID, used.Task
	if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
		return err
	}
	used.Move, used.Value, used.Cost = m.ID, -m.Value, unitCost(-m.Value, q)
	return w.useReserved(ctx, tx, j, used.Task, mine, q, at)
}

// claimOf is what a job may take of a part: its open reservations, and what stands
// before them.
func claimOf(ctx context.Context, tx Tx, id domain.JobID, part domain.PartID) ([]stock.Reservation, stock.Claim, error) {
	open, err := tx.OpenReservations(ctx, part)
	if err != nil {
		return nil, stock.Claim{}, err
	}
	var mine []stock.Reservation
	var claim stock.Claim
	for _, r := range open {
		if r.Job == id {
			mine = append(mine, r)
			claim.Own += r.Open
		}
	}
	for _, r := range open {
		if len(mine) > 0 && r.Job != id && r.ID < mine[0].ID {
			claim.Ahead += r.Open
		}
	}
	return mine, claim, nil
}

// returnToShelf puts back the part whose row was just added to the job, the last, at
// the cost at which it left. first is the row that it takes back.
func (w *Workshop) returnToShelf(ctx context.Context, tx Tx, j *job.Job, first job.PartUsed, by domain.Actor, at time.Time) error {
	back := &j.Parts[len(j.Parts)-1]
	back.Move, back.Value = 0, 0
	if first.Move == 0 {
		return nil // it left before stock was kept
	}
	s, err := shelfFor(ctx, tx, first.Part)
	if err != nil {
		return err
	}
	m, err := takenBack(ctx, tx, s, first.Move, back.Quantity.Neg())
	if err != nil {
		return err
	}
	if err := w.reserveAgain(ctx, tx, j, s, back.Task, m.Quantity); err != nil {
		return err
	}
	if err := w.moved(ctx, tx, s, &m, by, at); err != nil {
		return err
	}
	back.Move, back.Value = m.ID, -m.Value
	return w.settle(ctx, tx, by, at, j, first.Part)
}

// takenBack puts so much of what a move took back on its level, at the cost at which it
// left. The move that it returns is not written yet.
func takenBack(ctx context.Context, tx Tx, s shelf, move int64, count decimal.Decimal) (stock.Move, error) {
	taken, err := tx.Move(ctx, move)
	if err != nil {
		return stock.Move{}, err
	}
	before, err := tx.PutBackOf(ctx, move)
	if err != nil {
		return stock.Move{}, err
	}
	q, err := stock.QuantityOf(count)
	if err != nil {
		return stock.Move{}, err
	}
	return s.level.Return(*taken, q, before)
}
