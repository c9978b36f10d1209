package workshop

import (
	"context"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
)

// Orders is the series of orders to suppliers.
const Orders Series = "orders"

// Shelf is the level of one part that is kept.
type Shelf struct {
	stock.Level
	Part    domain.PartID
	Version int // 0 when the part is not kept yet
}

// StockTx is what use cases of the shelf need inside a transaction.
type StockTx interface {
	// Level reads and locks the level of a part. A part that is not kept has an
	// empty one of version 0.
	Level(ctx context.Context, id domain.PartID) (*Shelf, error)
	SaveLevel(ctx context.Context, s *Shelf) error // inserts when Version is 0
	// AddMove adds a row to the ledger, with what it left.
	AddMove(ctx context.Context, m *stock.Move, left stock.Level) error
	Move(ctx context.Context, id int64) (*stock.Move, error)
	// PutBackOf is how much of a move was put back before.
	PutBackOf(ctx context.Context, id int64) (stock.Quantity, error)

	OpenReservations(ctx context.Context, id domain.PartID) ([]stock.Reservation, error) // oldest first
	ReservationsOfJob(ctx context.Context, id domain.JobID) ([]stock.Reservation, error) // oldest first, also those that are over
	AddReservation(ctx context.Context, r *stock.Reservation) error
	SaveReservation(ctx context.Context, r *stock.Reservation) error
	// Coming is what suppliers still owe of a part, of orders that were sent.
	Coming(ctx context.Context, id domain.PartID) ([]stock.Coming, error)

	Supplier(ctx context.Context, id domain.SupplierID) (*stock.Supplier, error)
	Suppliers(ctx context.Context) ([]stock.Supplier, error) // by name, also the retired
	AddSupplier(ctx context.Context, s *stock.Supplier) error
	SaveSupplier(ctx context.Context, s *stock.Supplier) error

	Purchase(ctx context.Context, id domain.PurchaseID) (*stock.Order, error)
	AddPurchase(ctx context.Context, o *stock.Order) error
	// SavePurchase writes an order; the lines of a draft are replaced, of the others
	// what was received is written.
	SavePurchase(ctx context.Context, o *stock.Order) error

	Receipt(ctx context.Context, id domain.ReceiptID) (*stock.Receipt, error)
	AddReceipt(ctx context.Context, r *stock.Receipt) error
	// BillReceipt writes the bill of a receipt that had none.
	BillReceipt(ctx context.Context, r *stock.Receipt) error

	CountSheet(ctx context.Context, id domain.CountID) (*stock.CountSheet, error)
	AddCountSheet(ctx context.Context, c *stock.CountSheet) error
	SaveCountSheet(ctx context.Context, c *stock.CountSheet) error
}

// StockQueries are the reads of the shelf that pages and API make.
type StockQueries interface {
	ShelfRows(ctx context.Context) ([]ShelfRow, error) // of all parts, by name
	LevelOf(ctx context.Context, id domain.PartID) (*Shelf, error)
	MovesOf(ctx context.Context, id domain.PartID, p Page) ([]MoveRow, int, error) // newest first
	ReservedOf(ctx context.Context, id domain.PartID) ([]ReservedRow, error)       // open ones, oldest first
	ComingOf(ctx context.Context, id domain.PartID) ([]stock.Coming, error)

	SupplierList(ctx context.Context) ([]stock.Supplier, error) // by name
	SupplierByID(ctx context.Context, id domain.SupplierID) (*stock.Supplier, error)
	PurchaseByID(ctx context.Context, id domain.PurchaseID) (*stock.Order, error)
	Purchases(ctx context.Context, open bool, p Page) ([]stock.Order, int, error) // newest first, with lines
	ReceiptsOfPart(ctx context.Context, id domain.PartID) ([]stock.Receipt, error)
	ReceiptsOfOrder(ctx context.Context, id domain.PurchaseID) ([]stock.Receipt, error)
	ReceiptByID(ctx context.Context, id domain.ReceiptID) (*stock.Receipt, error)
	CountSheets(ctx context.Context, p Page) ([]stock.CountSheet, int, error) // newest first, with lines
	CountSheetByID(ctx context.Context, id domain.CountID) (*stock.CountSheet, error)
}

// ShelfRow is a part with its level.
type ShelfRow struct {
	stock.Part
	Level        stock.Level
	OnOrder      stock.Quantity
	Expected     domain.Date // the first day on which some of it is expected
	SupplierName string
}

// Low reports whether the part is to be ordered: no more is free, with what is on its
// way, than its mark says, or a job is short of it.
func (r ShelfRow) Low() bool {
	have := r.Level.Free() + r.OnOrder
	return r.Kept && !r.Retired && (have < 0 || r.ReorderAt > 0 && have <= r.ReorderAt)
}

// ToOrder is how much brings a low part up to where it should be, 0 when it is not low.
func (r ShelfRow) ToOrder() stock.Quantity {
	if !r.Low() {
		return 0
	}
	return max(r.ReorderTo, r.ReorderAt, 0) - r.Level.Free() - r.OnOrder
}

// MoveRow is a move of a part with the level that it left and what it belongs to.
type MoveRow struct {
	stock.Move
	Left stock.Level // without what was reserved
	Tag  int         // of the job; 0 for none
}

// ReservedRow is an open reservation with its job.
type ReservedRow struct {
	stock.Reservation
	Tag  int
	Name string // of the task; "" for none
}

// StockFacts is the shelf as it stands, with what to do about it.
type StockFacts struct {
	Shop   *Shop
	Today  domain.Date
	Rows   []ShelfRow // kept parts and those with a shelf, by name
	Value  money.Amount
	Low    []ShelfRow // to be ordered
	Short  []ShelfRow // jobs have reserved more than there is
	Old    []ShelfRow // past their date
	Answer string
}

// ReadStock reads the shelf.
func ReadStock(ctx context.Context, read StockReads, now time.Time) (*StockFacts, error) {
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := read.ShelfRows(ctx)
	if err != nil {
		return nil, err
	}
	out := StockOf(rows, shop, now)
	return &out, nil
}

// StockReads is what the answer of the shelf needs.
type StockReads interface {
	ShopSettings(ctx context.Context) (*Shop, error)
	ShelfRows(ctx context.Context) ([]ShelfRow, error)
}

// StockOf judges the shelf at a moment.
func StockOf(rows []ShelfRow, shop *Shop, now time.Time) StockFacts {
	out := StockFacts{Shop: shop, Today: shop.Today(now)}
	for _, r := range rows {
		if !r.Kept && (r.Shelf == "" || r.Retired) {
			continue
		}
		out.Rows = append(out.Rows, r)
		out.Value += r.Level.Value
		if r.Low() {
			out.Low = append(out.Low, r)
		}
		if r.Level.Free() < 0 {
			out.Short = append(out.Short, r)
		}
		if r.ExpiresOn != "" && r.ExpiresOn < out.Today && r.Level.Quantity > 0 {
			out.Old = append(out.Old, r)
		}
	}
	out.Answer = stockAnswer(out)
	return out
}
