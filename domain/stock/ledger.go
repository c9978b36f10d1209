package stock

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Quantity counts a part in whole thousandths of its unit.
type Quantity int64

// MaxQuantity is the most of one part that the shelf holds.
const MaxQuantity Quantity = 100_000_000_000

// QuantityOf brings a number of units to thousandths. It returns an Invalid error
// as [CheckQuantity] does.
func QuantityOf(units decimal.Decimal) (Quantity, error) {
	if err := CheckQuantity(units); err != nil {
		return 0, err
	}
	return Quantity(units.Shift(3).IntPart()), nil
}

// Units is the quantity in units of the part.
func (q Quantity) Units() decimal.Decimal { return decimal.New(int64(q), -3) }

// MoveKind says why a quantity changed.
type MoveKind string

// The kinds of moves.
const (
	Received MoveKind = "received"  // from a supplier
	Used     MoveKind = "used"      // on a job
	PutBack  MoveKind = "put back"  // from a job to the shelf, fit for use
	Sold     MoveKind = "sold"      // over the counter
	SentBack MoveKind = "sent back" // to the supplier
	Damaged  MoveKind = "damaged"   // broken, spoiled or out of date
	Counted  MoveKind = "counted"   // the difference that a count found
	Repriced MoveKind = "repriced"  // the supplier's bill differs from what was expected; no quantity
)

// Move is one row of the stock ledger. Rows are added, never edited; the level of
// a part is the sum of its moves.
type Move struct {
	ID       int64
	Part     domain.PartID
	Kind     MoveKind
	Quantity Quantity     // below 0 when it leaves the shelf
	Value    money.Amount // at cost, with the sign of what it does to the shelf
	Job      domain.JobID // 0 for none
	Task     domain.TaskID
	Undoes   int64 // the move that this one puts back or sends back; 0 for none
	Reason   string
	At       time.Time
	By       string
}

// Level is what lies on the shelf of one part. Quantity and Value go to zero
// together, and neither is ever below zero.
//
// Value over Quantity is the weighted average cost, which every receipt moves.
// Source: IAS 2, paragraphs 25 and 27.
type Level struct {
	Quantity Quantity
	Value    money.Amount
	Reserved Quantity // for approved jobs; may be above Quantity: then some of it is short
}

// Free is what nobody has reserved; below 0 when more is reserved than there is.
func (l Level) Free() Quantity { return l.Quantity - l.Reserved }

// Average is the cost of a unit in minor units of the currency, 0 on an empty shelf.
func (l Level) Average() decimal.Decimal {
	if l.Quantity == 0 {
		return decimal.Zero
	}
	return decimal.NewFromInt(int64(l.Value)).Div(l.Quantity.Units())
}

// costOf is what a quantity of the level costs, rounded half away from zero. The
// last of it takes what is left, so that an empty shelf is worth nothing.
func (l Level) costOf(q Quantity) money.Amount {
	if q == l.Quantity {
		return l.Value
	}
	return share(l.Value, q, l.Quantity)
}

// share is value x part / whole, rounded half away from zero.
func share(value money.Amount, part, whole Quantity) money.Amount {
	n := decimal.NewFromInt(int64(value)).Mul(decimal.NewFromInt(int64(part)))
	return money.Amount(n.DivRound(decimal.NewFromInt(int64(whole)), 0).IntPart())
}

// ShortageError reports that more of a part is wanted than is free.
type ShortageError struct {
	Part       domain.PartID
	Name       string // for the text; may be ""
	Unit       string
	Want, Free Quantity
}

// Error says what is wanted and what there is.
func (e *ShortageError) Error() string {
	name := e.Name
	if name == "" {
		name = "this part"
	}
	return fmt.Sprintf("%s %s of %s wanted, but %s free: take less, receive more or count the shelf", e.Want.Units(), e.Unit, name, max(e.Free, 0).Units())
}

// ErrorKind makes a shortage a conflict: it may be gone after the next delivery.
func (e *ShortageError) ErrorKind() domain.Kind { return domain.Conflict }

// Receive puts a quantity on the shelf that cost so much in all, freight and tax
// that cannot be recovered among it. Source: IAS 2, paragraphs 10 and 11.
func (l *Level) Receive(q Quantity, cost money.Amount) (Move, error) {
	f := domain.Fields{}
	if q <= 0 {
		f.Add("quantity", "must be more than 0: what goes back to the supplier is sent back")
	}
	if cost < 0 {
		f.Add("cost", "must not be negative")
	}
	if l.Quantity > MaxQuantity-max(q, 0) {
		f.Add("quantity", "is more than the shelf of one part holds, %s", MaxQuantity.Units())
	}
	if sum, err := money.Add(l.Value, cost); err != nil || sum < 0 {
		f.Add("cost", "is too large")
	}
	if err := f.Err(); err != nil {
		return Move{}, err
	}
	return l.add(Move{Kind: Received, Quantity: q, Value: cost}), nil
}

// Take takes a quantity off the shelf at average cost, for a use, a sale, a loss
// or the supplier. own is what of the reserved quantity is the taker's. It returns
// a [ShortageError] when less is free: the shelf never goes below zero.
func (l *Level) Take(kind MoveKind, q, own Quantity) (Move, error) {
	switch kind {
	case Used, Sold, SentBack, Damaged:
	default:
		return Move{}, domain.Invalidf("a part is not taken off the shelf by the move %q", kind)
	}
	if q <= 0 {
		return Move{}, wrongQuantity("must be more than 0")
	}
	free := min(l.Quantity, l.Free()+own)
	if kind == Damaged {
		free = l.Quantity // what is broken is gone, whoever has reserved it
	}
	if q > free {
		return Move{}, &ShortageError{Want: q, Free: free}
	}
	m := l.add(Move{Kind: kind, Quantity: -q, Value: -l.costOf(q)})
	l.Reserved -= min(own, q)
	return m, nil
}

// Claim is what one job may take of a part.
type Claim struct {
	Own   Quantity // that it has reserved
	Ahead Quantity // that others reserved before it
}

// TakeFor takes a quantity for a job: what it has reserved as far as those before it
// leave it, and of the rest what nobody has reserved. It returns a [ShortageError]
// when that is less.
func (l *Level) TakeFor(q Quantity, c Claim) (Move, error) {
	free := min(max(l.Quantity-c.Ahead, 0), c.Own) + max(l.Free(), 0)
	if q > free {
		return Move{}, &ShortageError{Want: q, Free: free}
	}
	whole := *l
	whole.Reserved = c.Own
	m, err := whole.Take(Used, q, c.Own)
	if err != nil {
		return Move{}, err
	}
	l.add(m)
	l.Reserved -= min(c.Own, q)
	return m, nil
}

// Return puts back what a move took, or a part of it, at the cost at which it
// left. before is what other moves have put back of it already.
func (l *Level) Return(taken Move, q, before Quantity) (Move, error) {
	if taken.Quantity >= 0 || taken.Kind != Used && taken.Kind != Sold {
		return Move{}, domain.Invalidf("only what was used or sold can be put back")
	}
	left := -taken.Quantity - before
	switch {
	case q <= 0:
		return Move{}, wrongQuantity("must be more than 0")
	case q > left:
		return Move{}, wrongQuantity(fmt.Sprintf("is more than is left of what was taken, %s", left.Units()))
	}
	// The parts of a move add up to the whole, in whatever pieces they come back.
	value := share(-taken.Value, before+q, -taken.Quantity) - share(-taken.Value, before, -taken.Quantity)
	return l.add(Move{Kind: PutBack, Quantity: q, Value: value, Undoes: taken.ID, Job: taken.Job, Task: taken.Task}), nil
}

// Count sets the shelf to what was found on it. What is missing leaves at average
// cost; what is over comes in at it, or at lastCost a unit on an empty shelf. It
// returns false when the count agrees.
func (l *Level) Count(found Quantity, lastCost money.Amount, reason string) (Move, bool, error) {
	f := domain.Fields{}
	if found < 0 || found > MaxQuantity {
		f.Add("found", "must be from 0 to %s", MaxQuantity.Units())
	}
	difference := found - l.Quantity
	reason = domain.Line(f, "reason", reason, 120, difference != 0)
	if err := f.Err(); err != nil || difference == 0 {
		return Move{}, false, err
	}
	m := Move{Kind: Counted, Quantity: difference, Reason: reason}
	switch {
	case difference < 0:
		m.Value = -l.costOf(-difference)
	case l.Quantity > 0:
		m.Value = share(l.Value, difference, l.Quantity)
	default:
		m.Value = share(lastCost, difference, 1000)
	}
	return l.add(m), true, nil
}

// Reprice spreads the difference between the supplier's bill and what was
// expected over the received quantity: what still lies on the shelf changes its
// value, and the rest is cost of what has left. It returns the move and the rest.
//
// The shelf counts as holding the newest receipt for as long as it holds that
// much: under an average no unit has a bill of its own.
func (l *Level) Reprice(received Quantity, difference money.Amount) (Move, money.Amount, error) {
	if received <= 0 {
		return Move{}, 0, wrongQuantity("of the receipt must be more than 0")
	}
	here := share(difference, min(l.Quantity, received), received)
	if here < -l.Value {
		here = -l.Value
	}
	return l.add(Move{Kind: Repriced, Value: here}), difference - here, nil
}

func (l *Level) add(m Move) Move {
	l.Quantity += m.Quantity
	l.Value += m.Value
	return m
}

func wrongQuantity(text string) error {
	return &domain.Error{Kind: domain.Invalid, Text: "the quantity " + text, Fields: domain.Fields{"quantity": text}}
}

// Replay adds moves up, oldest first. It returns an error that names the first
// move after which the shelf could not be: it proves the ledger.
func Replay(moves []Move) (Level, error) {
	var l Level
	for _, m := range moves {
		l.add(m)
		switch {
		case l.Quantity < 0:
			return l, fmt.Errorf("move %d of part %d leaves %s on the shelf", m.ID, m.Part, l.Quantity.Units())
		case l.Value < 0 || l.Quantity == 0 && l.Value != 0:
			return l, fmt.Errorf("move %d of part %d leaves %s units worth %d", m.ID, m.Part, l.Quantity.Units(), l.Value)
		}
	}
	return l, nil
}
