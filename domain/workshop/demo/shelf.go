package demo

import (
	"context"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// shelf keeps the stock of the history: levels, moves, reservations and orders.
type shelf struct {
	levels   map[domain.PartID]*workshop.Shelf
	putBack  map[int64]stock.Quantity
	reserved map[domain.JobID][]*stock.Reservation
	open     map[domain.PartID][]*stock.Reservation // may hold some that are over
}

func newShelf() shelf {
	return shelf{
		levels: map[domain.PartID]*workshop.Shelf{}, putBack: map[int64]stock.Quantity{},
		reserved: map[domain.JobID][]*stock.Reservation{}, open: map[domain.PartID][]*stock.Reservation{},
	}
}

// Level returns the level of a part to be changed in place.
func (b *book) Level(_ context.Context, id domain.PartID) (*workshop.Shelf, error) {
	if l := b.shelf.levels[id]; l != nil {
		return l, nil
	}
	return &workshop.Shelf{Part: id}, nil
}

// SaveLevel keeps a level.
func (b *book) SaveLevel(_ context.Context, s *workshop.Shelf) error {
	s.Version++
	b.shelf.levels[s.Part] = s
	return nil
}

// AddMove keeps a move with what it left.
func (b *book) AddMove(_ context.Context, m *stock.Move, left stock.Level) error {
	id(b, "moves", &m.ID)
	if m.Undoes != 0 {
		b.shelf.putBack[m.Undoes] += m.Quantity
	}
	b.season.Moves = append(b.season.Moves, workshop.MoveRow{Move: *m, Left: left})
	return nil
}

// Move returns a move.
func (b *book) Move(_ context.Context, id int64) (*stock.Move, error) {
	if id < 1 || int(id) > len(b.season.Moves) {
		return nil, domain.NotFoundf("there is no move %d", id)
	}
	return &b.season.Moves[id-1].Move, nil
}

// PutBackOf is what was put back of a move.
func (b *book) PutBackOf(_ context.Context, id int64) (stock.Quantity, error) {
	return b.shelf.putBack[id], nil
}

// OpenReservations returns the open reservations of a part, oldest first.
func (b *book) OpenReservations(_ context.Context, id domain.PartID) ([]stock.Reservation, error) {
	var out []stock.Reservation
	kept := b.shelf.open[id][:0]
	for _, r := range b.shelf.open[id] {
		if r.Open > 0 {
			out, kept = append(out, *r), append(kept, r)
		}
	}
	b.shelf.open[id] = kept
	return out, nil
}

// ReservationsOfJob returns the reservations of a job, oldest first.
func (b *book) ReservationsOfJob(_ context.Context, id domain.JobID) ([]stock.Reservation, error) {
	out := make([]stock.Reservation, len(b.shelf.reserved[id]))
	for i, r := range b.shelf.reserved[id] {
		out[i] = *r
	}
	return out, nil
}

// AddReservation keeps a reservation.
func (b *book) AddReservation(_ context.Context, r *stock.Reservation) error {
	id(b, "reservations", &r.ID)
	kept := *r
	b.season.Reservations = append(b.season.Reservations, &kept)
	b.shelf.reserved[r.Job] = append(b.shelf.reserved[r.Job], &kept)
	b.shelf.open[r.Part] = append(b.shelf.open[r.Part], &kept)
	return nil
}

// SaveReservation keeps what changed of a reservation.
func (b *book) SaveReservation(_ context.Context, r *stock.Reservation) error {
	*b.season.Reservations[r.ID-1] = *r
	return nil
}

// Coming is what is on order of a part.
func (b *book) Coming(_ context.Context, id domain.PartID) ([]stock.Coming, error) {
	var out []stock.Coming
	for _, o := range b.season.Orders {
		if o.Sent.IsZero() || !o.Closed.IsZero() {
			continue
		}
		for _, l := range o.Lines {
			if l.Part == id && l.Missing() > 0 {
				out = append(out, stock.Coming{Order: o.ID, Quantity: l.Missing(), On: o.Expected})
			}
		}
	}
	return out, nil
}

// SavePart has nothing to do: parts are changed in place.
func (b *book) SavePart(context.Context, *stock.Part) error { return nil }

// Supplier returns a supplier.
func (b *book) Supplier(_ context.Context, id domain.SupplierID) (*stock.Supplier, error) {
	if id < 1 || int(id) > len(b.season.Suppliers) {
		return nil, domain.NotFoundf("there is no supplier %d", id)
	}
	return &b.season.Suppliers[id-1], nil
}

// Suppliers returns all suppliers.
func (b *book) Suppliers(context.Context) ([]stock.Supplier, error) { return b.season.Suppliers, nil }

// AddSupplier keeps a supplier.
func (b *book) AddSupplier(_ context.Context, s *stock.Supplier) error {
	id(b, "suppliers", &s.ID)
	b.season.Suppliers = append(b.season.Suppliers, *s)
	return nil
}

// Purchase returns an order to be changed in place.
func (b *book) Purchase(_ context.Context, id domain.PurchaseID) (*stock.Order, error) {
	if id < 1 || int(id) > len(b.season.Orders) {
		return nil, domain.NotFoundf("there is no order %d", id)
	}
	return b.season.Orders[id-1], nil
}

// AddPurchase keeps an order.
func (b *book) AddPurchase(_ context.Context, o *stock.Order) error {
	id(b, "orders", &o.ID)
	for i := range o.Lines {
		id(b, "order lines", &o.Lines[i].ID)
	}
	kept := *o
	b.season.Orders = append(b.season.Orders, &kept)
	return nil
}

// SavePurchase has nothing to do: orders are changed in place.
func (b *book) SavePurchase(context.Context, *stock.Order) error { return nil }

// AddReceipt keeps a receipt.
func (b *book) AddReceipt(_ context.Context, r *stock.Receipt) error {
	id(b, "stock receipts", &r.ID)
	kept := *r
	b.season.Receipts = append(b.season.Receipts, &kept)
	return nil
}

// Receipt returns a receipt to be changed in place.
func (b *book) Receipt(_ context.Context, id domain.ReceiptID) (*stock.Receipt, error) {
	if id < 1 || int(id) > len(b.season.Receipts) {
		return nil, domain.NotFoundf("there is no receipt %d", id)
	}
	return b.season.Receipts[id-1], nil
}

// BillReceipt has nothing to do: receipts are changed in place.
func (b *book) BillReceipt(context.Context, *stock.Receipt) error { return nil }

// CountSheet returns a count to be changed in place.
func (b *book) CountSheet(_ context.Context, id domain.CountID) (*stock.CountSheet, error) {
	if id < 1 || int(id) > len(b.season.Counts) {
		return nil, domain.NotFoundf("there is no count %d", id)
	}
	return b.season.Counts[id-1], nil
}

// AddCountSheet keeps a count.
func (b *book) AddCountSheet(_ context.Context, c *stock.CountSheet) error {
	id(b, "counts", &c.ID)
	for i := range c.Lines {
		id(b, "count lines", &c.Lines[i].ID)
	}
	kept := *c
	b.season.Counts = append(b.season.Counts, &kept)
	return nil
}

// SaveCountSheet has nothing to do: counts are changed in place.
func (b *book) SaveCountSheet(context.Context, *stock.CountSheet) error { return nil }
