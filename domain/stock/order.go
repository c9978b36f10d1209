package stock

import (
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Supplier is where parts come from.
type Supplier struct {
	ID      domain.SupplierID
	Name    string
	Reach   string // how to order there: address, phone, customer number
	Days    int    // from an order to the parts, as a rule; 0 when nobody knows
	Retired bool
	Version int
}

// Check trims the fields and returns an Invalid error that names each wrong one.
func (s *Supplier) Check() error {
	f := domain.Fields{}
	s.Name = domain.Line(f, "name", s.Name, 80, true)
	s.Reach = domain.Paragraph(f, "reach", s.Reach, 400, false)
	if s.Days < 0 || s.Days > 365 {
		f.Add("days", "must be from 0 to 365")
	}
	return f.Err()
}

// OrderState says how far an order is.
type OrderState string

// The states of an order.
const (
	OrderDraft  OrderState = "draft"
	OrderSent   OrderState = "sent"
	OrderInPart OrderState = "received in part"
	OrderClosed OrderState = "closed"
)

// Order is what the shop asks of a supplier. A draft is changed as a whole; what was
// sent stays, and its lines fill up.
type Order struct {
	ID        domain.PurchaseID
	Number    int // from the series of orders
	Supplier  domain.SupplierID
	Note      string
	Expected  domain.Date // "" when nobody knows
	Lines     []OrderLine
	Drafted   time.Time
	DraftedBy string
	Sent      time.Time
	Closed    time.Time // all came, or what is missing is not waited for
	ClosedWhy string
	Version   int
}

// OrderLine is one part of an order.
type OrderLine struct {
	ID       int64
	Part     domain.PartID
	Quantity Quantity
	Cost     money.Amount // expected, of the whole line, without tax that is recovered
	Received Quantity     // more than was ordered may come
	Version  int
}

// Missing is what has not come.
func (l OrderLine) Missing() Quantity { return max(l.Quantity-l.Received, 0) }

// CostOf is what a quantity of the line was expected to cost, rounded half away from
// zero.
func (l OrderLine) CostOf(q Quantity) money.Amount { return share(l.Cost, q, l.Quantity) }

// State derives how far the order is.
func (o *Order) State() OrderState {
	switch {
	case !o.Closed.IsZero():
		return OrderClosed
	case o.Sent.IsZero():
		return OrderDraft
	}
	for _, l := range o.Lines {
		if l.Received > 0 {
			return OrderInPart
		}
	}
	return OrderSent
}

// Total is what the order is expected to cost.
func (o *Order) Total() money.Amount {
	var sum money.Amount
	for _, l := range o.Lines {
		sum += l.Cost
	}
	return sum
}

// maxOrderLines is the most parts of one order.
const maxOrderLines = 100

// Check trims the fields and returns an Invalid error that names each wrong one. A
// part stands on one line only.
func (o *Order) Check() error {
	f := domain.Fields{}
	o.Note = domain.Paragraph(f, "note", o.Note, 400, false)
	if o.Supplier <= 0 {
		f.Add("supplier", "choose a supplier")
	}
	if _, err := domain.ParseDate(string(o.Expected)); err != nil && o.Expected != "" {
		f.AddErr("expected", err)
	}
	if len(o.Lines) == 0 {
		f.Add("lines", "add at least one part")
	}
	if len(o.Lines) > maxOrderLines {
		f.Add("lines", "must be at most %d", maxOrderLines)
	}
	seen := map[domain.PartID]bool{}
	for i, l := range o.Lines {
		at := func(field string) string { return fmt.Sprintf("lines[%d].%s", i, field) }
		if l.Part <= 0 {
			f.Add(at("part"), "choose a part")
		} else if seen[l.Part] {
			f.Add(at("part"), "stands twice; put the whole quantity on one line")
		}
		seen[l.Part] = true
		if l.Quantity <= 0 || l.Quantity > MaxQuantity {
			f.Add(at("quantity"), "must be more than 0, at most %s", MaxQuantity.Units())
		}
		if l.Cost < 0 || l.Cost.Check() != nil {
			f.Add(at("cost"), "must not be negative, nor too large")
		}
	}
	return f.Err()
}

// Send fixes a draft; expected is the day on which the parts should be there, "" when
// nobody knows. It returns a conflict for what was sent before.
func (o *Order) Send(expected, today domain.Date, at time.Time) error {
	switch o.State() {
	case OrderDraft:
	case OrderClosed:
		return domain.Conflictf("order %d is closed; draft a new one", o.Number)
	default:
		return domain.Conflictf("order %d was sent before", o.Number)
	}
	if expected != "" && expected < today {
		return &domain.Error{Kind: domain.Invalid, Text: "the expected day is over", Fields: domain.Fields{"expected": "must be today or later; leave it empty when nobody knows"}}
	}
	o.Expected, o.Sent = expected, at
	return o.Check()
}

// Line returns the line of a part that can still be received, an error when there is
// none.
func (o *Order) Line(id int64) (*OrderLine, error) {
	if s := o.State(); s == OrderDraft {
		return nil, domain.Conflictf("order %d is a draft; send it first", o.Number)
	} else if s == OrderClosed {
		return nil, domain.Conflictf("order %d is closed; receive the part without an order", o.Number)
	}
	for i := range o.Lines {
		if o.Lines[i].ID == id {
			return &o.Lines[i], nil
		}
	}
	return nil, domain.NotFoundf("order %d has no line %d", o.Number, id)
}

// Filled closes the order when everything has come.
func (o *Order) Filled(at time.Time) {
	for _, l := range o.Lines {
		if l.Missing() > 0 {
			return
		}
	}
	o.Closed, o.ClosedWhy = at, "all came"
}

// Close ends an order of which not all came: what is missing is not waited for.
func (o *Order) Close(why string, at time.Time) error {
	if !o.Closed.IsZero() {
		return domain.Conflictf("order %d was closed before", o.Number)
	}
	f := domain.Fields{}
	why = domain.Line(f, "reason", why, 120, true)
	if err := f.Err(); err != nil {
		return err
	}
	o.Closed, o.ClosedWhy = at, why
	return nil
}

// Receipt is a quantity of one part that came in, with the supplier's bill once that
// is there.
type Receipt struct {
	ID       domain.ReceiptID
	Part     domain.PartID
	Supplier domain.SupplierID // 0 for none
	Line     int64             // of an order; 0 for none
	Move     int64
	Quantity Quantity
	Ordered  *money.Amount // what the order expected it to cost; nil without one
	Cost     money.Amount  // at which it came on the shelf
	Paper    string        // delivery note or bill
	At       time.Time
	By       string

	Bill *Bill // nil before it
}

// Bill is a supplier's bill for one receipt.
type Bill struct {
	Amount   money.Amount // without tax that is recovered
	Tax      money.Amount // that is recovered
	At       time.Time
	By       string
	Gone     money.Amount // of the difference to the receipt's cost, what is cost of parts that have left
	Repriced int64        // the move that holds the rest; 0 when there was none
}

// Difference is what the receipt cost more than the order expected, below zero when
// less, and whether there was an order.
func (r *Receipt) Difference() (money.Amount, bool) {
	if r.Ordered == nil {
		return 0, false
	}
	paid := r.Cost
	if r.Bill != nil {
		paid = r.Bill.Amount
	}
	return paid - *r.Ordered, true
}

// CountSheet is one count of a shelf. What was expected is noted when the sheet is
// entered; the difference is posted later, so that what moved in between does no harm.
type CountSheet struct {
	ID       domain.CountID
	Shelf    string // "" for several
	Lines    []CountLine
	At       time.Time
	By       string
	Posted   time.Time
	PostedBy string
	Dropped  string // why nothing of it was posted
	Version  int
}

// CountLine is what was found of one part.
type CountLine struct {
	ID       int64
	Part     domain.PartID
	Found    Quantity
	Expected Quantity // the level when the sheet was entered
	Reason   string   // of the difference
	Move     int64    // that posted it; 0 for none
}

// Difference is found less expected.
func (l CountLine) Difference() Quantity { return l.Found - l.Expected }

// Open reports whether the sheet waits to be posted.
func (c *CountSheet) Open() bool { return c.Posted.IsZero() && c.Dropped == "" }

// Check returns an Invalid error unless each part is counted once, at 0 or more.
func (c *CountSheet) Check() error {
	f := domain.Fields{}
	c.Shelf = domain.Line(f, "shelf", c.Shelf, 40, false)
	if len(c.Lines) == 0 {
		f.Add("lines", "write down at least one part")
	}
	seen := map[domain.PartID]bool{}
	for i, l := range c.Lines {
		if seen[l.Part] {
			f.Add(fmt.Sprintf("lines[%d].part", i), "is counted twice")
		}
		seen[l.Part] = true
		if l.Found < 0 || l.Found > MaxQuantity {
			f.Add(fmt.Sprintf("lines[%d].found", i), "must be from 0 to %s", MaxQuantity.Units())
		}
	}
	return f.Err()
}
