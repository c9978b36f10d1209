package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// NoteSupplier adds a supplier (ID 0) or saves a changed one.
func (w *Workshop) NoteSupplier(ctx context.Context, by domain.Actor, s stock.Supplier) (domain.SupplierID, error) {
	id, err := w.do(ctx, by, ActOrder, func(tx Tx, _ time.Time) (int64, error) {
		n := s
		if err := n.Check(); err != nil {
			return 0, err
		}
		all, err := tx.Suppliers(ctx)
		if err != nil {
			return 0, err
		}
		if slices.ContainsFunc(all, func(o stock.Supplier) bool { return strings.EqualFold(o.Name, n.Name) && o.ID != n.ID }) {
			return 0, &domain.Error{Kind: domain.Conflict, Text: "there is a supplier of that name", Fields: domain.Fields{"name": "is taken"}}
		}
		if n.ID == 0 {
			err := tx.AddSupplier(ctx, &n)
			return int64(n.ID), err
		}
		if _, err := tx.Supplier(ctx, n.ID); err != nil {
			return 0, err
		}
		return int64(n.ID), tx.SaveSupplier(ctx, &n)
	})
	return domain.SupplierID(id), err
}

// Draft is an order as it is written: what is wanted of whom.
type Draft struct {
	Supplier domain.SupplierID
	Note     string
	Lines    []stock.OrderLine // part, quantity and expected cost
}

// DraftOrder keeps a draft: a new one with id 0, else it replaces what the draft held,
// of which the caller saw a version.
func (w *Workshop) DraftOrder(ctx context.Context, by domain.Actor, id domain.PurchaseID, d Draft, seen int) (domain.PurchaseID, error) {
	made, err := w.do(ctx, by, ActOrder, func(tx Tx, at time.Time) (int64, error) {
		o := stock.Order{Drafted: at, DraftedBy: by.Name}
		if id != 0 {
			old, err := tx.Purchase(ctx, id)
			if err != nil {
				return 0, err
			}
			if old.State() != stock.OrderDraft {
				return 0, domain.Conflictf("order %d was sent; draft another one for more", old.Number)
			}
			o = *old
			o.Version = seen
		}
		o.Supplier, o.Note, o.Lines = d.Supplier, d.Note, slices.Clone(d.Lines)
		if err := o.Check(); err != nil {
			return 0, err
		}
		if err := known(ctx, tx, &o); err != nil {
			return 0, err
		}
		if id != 0 {
			return int64(id), tx.SavePurchase(ctx, &o)
		}
		var err error
		if o.Number, err = tx.Next(ctx, Orders); err != nil {
			return 0, err
		}
		if err := tx.AddPurchase(ctx, &o); err != nil {
			return 0, err
		}
		return int64(o.ID), note(ctx, tx, 0, by, at, fmt.Sprintf("drafted order %d", o.Number), "", "")
	})
	return domain.PurchaseID(made), err
}

// known refuses an order to a supplier, or of parts, that are not there.
func known(ctx context.Context, tx Tx, o *stock.Order) error {
	if _, err := tx.Supplier(ctx, o.Supplier); err != nil {
		return err
	}
	all, err := tx.Parts(ctx)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	for i, l := range o.Lines {
		if !slices.ContainsFunc(all, func(p stock.Part) bool { return p.ID == l.Part }) {
			f.Add(fmt.Sprintf("lines[%d].part", i), "is not on the parts list")
		}
	}
	return f.Err()
}

// onOrder loads an order, lets fn decide, saves it, and lets the jobs that wait for
// its parts know.
func (w *Workshop) onOrder(ctx context.Context, by domain.Actor, a Action, id domain.PurchaseID, fn func(tx Tx, o *stock.Order, at time.Time) (did, error)) error {
	_, err := w.do(ctx, by, a, func(tx Tx, at time.Time) (int64, error) {
		o, err := tx.Purchase(ctx, id)
		if err != nil {
			return 0, err
		}
		d, err := fn(tx, o, at)
		if err != nil {
			return 0, err
		}
		if err := tx.SavePurchase(ctx, o); err != nil {
			return 0, err
		}
		if err := note(ctx, tx, 0, by, at, d.what, d.before, d.after); err != nil {
			return 0, err
		}
		return int64(id), w.settle(ctx, tx, by, at, nil, orderedParts(o)...)
	})
	return err
}

// orderedParts lists the parts of an order in the order in which they are locked.
func orderedParts(o *stock.Order) []domain.PartID {
	out := make([]domain.PartID, len(o.Lines))
	for i, l := range o.Lines {
		out[i] = l.Part
	}
	slices.Sort(out)
	return out
}

// SendOrder notes that a draft went out; expected is the day on which the parts should
// be there, "" when nobody knows. Jobs that wait for the parts wait for that day.
func (w *Workshop) SendOrder(ctx context.Context, by domain.Actor, id domain.PurchaseID, expected domain.Date) error {
	return w.onOrder(ctx, by, ActOrder, id, func(tx Tx, o *stock.Order, at time.Time) (did, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return did{}, err
		}
		return did{what: fmt.Sprintf("sent order %d", o.Number), after: string(expected)}, o.Send(expected, shop.Today(at), at)
	})
}

// ExpectOrder changes the day on which an order that was sent is expected.
func (w *Workshop) ExpectOrder(ctx context.Context, by domain.Actor, id domain.PurchaseID, expected domain.Date) error {
	return w.onOrder(ctx, by, ActReceive, id, func(tx Tx, o *stock.Order, at time.Time) (did, error) {
		shop, err := tx.Shop(ctx)
		if err != nil {
			return did{}, err
		}
		if s := o.State(); s == stock.OrderDraft || s == stock.OrderClosed {
			return did{}, domain.Conflictf("order %d is %s; only what was sent is expected", o.Number, s)
		}
		if expected != "" && expected < shop.Today(at) {
			return did{}, &domain.Error{Kind: domain.Invalid, Text: "the expected day is over", Fields: domain.Fields{"expected": "must be today or later; leave it empty when nobody knows"}}
		}
		d := did{what: fmt.Sprintf("order %d is expected on another day", o.Number), before: string(o.Expected), after: string(expected)}
		o.Expected = expected
		return d, o.Check()
	})
}

// CloseOrder ends an order of which not all came, with the reason: what is missing is
// not waited for. A draft is thrown away so.
func (w *Workshop) CloseOrder(ctx context.Context, by domain.Actor, id domain.PurchaseID, why string) error {
	return w.onOrder(ctx, by, ActOrder, id, func(_ Tx, o *stock.Order, at time.Time) (did, error) {
		return did{what: fmt.Sprintf("closed order %d", o.Number), after: why}, o.Close(why, at)
	})
}

// Arrived is what came of one line of an order.
type Arrived struct {
	Line     int64
	Quantity stock.Quantity
	Cost     *money.Amount // of all of it; nil takes what the order expected
}

// ReceiveOrder puts what came of an order on the shelf. What is missing stays on order.
// When everything has come, the order is closed. Jobs that waited go on.
func (w *Workshop) ReceiveOrder(ctx context.Context, by domain.Actor, id domain.PurchaseID, paper string, came []Arrived) error {
	return w.onOrder(ctx, by, ActReceive, id, func(tx Tx, o *stock.Order, at time.Time) (did, error) {
		if len(came) == 0 {
			return did{}, &domain.Error{Kind: domain.Invalid, Text: "nothing is marked as received", Fields: domain.Fields{"lines": "write down what came of at least one part"}}
		}
		came = slices.Clone(came)
		slices.SortFunc(came, func(a, b Arrived) int { return int(partOn(o, a.Line) - partOn(o, b.Line)) })
		f := domain.Fields{}
		for _, a := range came {
			err := w.receiveLine(ctx, tx, o, a, paper, by, at)
			if domain.KindOf(err) == domain.Invalid {
				f.AddErr(fmt.Sprintf("lines[%d]", a.Line), err)
			} else if err != nil {
				return did{}, err
			}
		}
		if err := f.Err(); err != nil {
			return did{}, err
		}
		o.Filled(at)
		return did{what: fmt.Sprintf("received %s of order %d", inNumber(len(came), "part", "parts"), o.Number), after: string(o.State())}, nil
	})
}

func partOn(o *stock.Order, line int64) domain.PartID {
	for _, l := range o.Lines {
		if l.ID == line {
			return l.Part
		}
	}
	return 0
}

func (w *Workshop) receiveLine(ctx context.Context, tx Tx, o *stock.Order, a Arrived, paper string, by domain.Actor, at time.Time) error {
	l, err := o.Line(a.Line)
	if err != nil {
		return err
	}
	s, err := shelfFor(ctx, tx, l.Part)
	if err != nil {
		return err
	}
	expected := l.CostOf(max(a.Quantity, 0))
	r := stock.Receipt{Supplier: o.Supplier, Line: l.ID, Quantity: a.Quantity, Ordered: &expected, Cost: expected, Paper: paper}
	if a.Cost != nil {
		r.Cost = *a.Cost
	}
	if err := w.receive(ctx, tx, s, &r, by, at); err != nil {
		return err
	}
	l.Received += a.Quantity
	return nil
}
