package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// purchaseRow is a row of purchase_orders.
type purchaseRow struct {
	ID         int64
	Number     int
	SupplierID int64
	Note       string
	ExpectedOn *string
	DraftedAt  moment
	DraftedBy  string
	SentAt     *moment
	ClosedAt   *moment
	ClosedWhy  string
	Version    int
}

func (purchaseRow) TableName() string { return "purchase_orders" }
func (r *purchaseRow) key() *int64    { return &r.ID }

func rowOfPurchase(o *stock.Order) purchaseRow {
	return purchaseRow{
		ID: int64(o.ID), Number: o.Number, SupplierID: int64(o.Supplier), Note: o.Note, ExpectedOn: textOrNull(o.Expected), DraftedAt: at(o.Drafted),
		DraftedBy: o.DraftedBy, SentAt: atOrNull(o.Sent), ClosedAt: atOrNull(o.Closed), ClosedWhy: o.ClosedWhy, Version: o.Version,
	}
}

func (r *purchaseRow) order() stock.Order {
	return stock.Order{
		ID: domain.PurchaseID(r.ID), Number: r.Number, Supplier: domain.SupplierID(r.SupplierID), Note: r.Note, Expected: dateOrNone(r.ExpectedOn),
		Drafted: r.DraftedAt.Time, DraftedBy: r.DraftedBy, Sent: r.SentAt.orZero(), Closed: r.ClosedAt.orZero(), ClosedWhy: r.ClosedWhy, Version: r.Version,
	}
}

// purchaseLineRow is a row of purchase_lines.
type purchaseLineRow struct {
	ID       int64
	OrderID  int64
	PartID   int64
	Quantity int64
	Cost     int64
	Received int64
	Version  int
}

func (purchaseLineRow) TableName() string { return "purchase_lines" }
func (r *purchaseLineRow) key() *int64    { return &r.ID }

func rowOfPurchaseLine(id domain.PurchaseID, l *stock.OrderLine) purchaseLineRow {
	return purchaseLineRow{
		ID: l.ID, OrderID: int64(id), PartID: int64(l.Part), Quantity: int64(l.Quantity), Cost: int64(l.Cost), Received: int64(l.Received), Version: max(l.Version, 1),
	}
}

func (r *purchaseLineRow) line() stock.OrderLine {
	return stock.OrderLine{
		ID: r.ID, Part: domain.PartID(r.PartID), Quantity: stock.Quantity(r.Quantity), Cost: money.Amount(r.Cost), Received: stock.Quantity(r.Received), Version: r.Version,
	}
}

// Purchase reads one order with its lines and locks it.
func (t *tx) Purchase(ctx context.Context, id domain.PurchaseID) (*stock.Order, error) {
	return readPurchase(t.db.WithContext(ctx), locked(t.db.WithContext(ctx)), id)
}

// PurchaseByID reads one order with its lines.
func (s *Store) PurchaseByID(ctx context.Context, id domain.PurchaseID) (*stock.Order, error) {
	return readPurchase(s.db.WithContext(ctx), s.db.WithContext(ctx), id)
}

func readPurchase(db, head *gorm.DB, id domain.PurchaseID) (*stock.Order, error) {
	var row purchaseRow
	if err := takeRow(head, &row, id, "order"); err != nil {
		return nil, err
	}
	all := []stock.Order{row.order()}
	return &all[0], withPurchaseLines(db, all)
}

// withPurchaseLines reads the lines of orders.
func withPurchaseLines(db *gorm.DB, all []stock.Order) error {
	ids, place := make([]int64, len(all)), map[int64]int{}
	for i := range all {
		ids[i], place[int64(all[i].ID)] = int64(all[i].ID), i
	}
	if len(ids) == 0 {
		return nil
	}
	var rows []purchaseLineRow
	if err := db.Where("order_id IN ?", ids).Order("id").Find(&rows).Error; err != nil {
		return fmt.Errorf("read the lines of orders: %w", translate(err))
	}
	for i := range rows {
		o := &all[place[rows[i].OrderID]]
		o.Lines = append(o.Lines, rows[i].line())
	}
	return nil
}

// Purchases reads orders with their lines, newest first, and counts them.
func (s *Store) Purchases(ctx context.Context, open bool, p workshop.Page) (out []stock.Order, total int, err error) {
	where := "1 = 1"
	if open {
		where = "closed_at IS NULL"
	}
	err = s.inReadTx(ctx, func(db *gorm.DB) error {
		if err := db.Raw("SELECT count(*) FROM purchase_orders WHERE " + where).Scan(&total).Error; err != nil {
			return err
		}
		var rows []purchaseRow
		if err := db.Raw("SELECT * FROM purchase_orders WHERE "+where+" ORDER BY id DESC LIMIT ? OFFSET ?", withPage(nil, p)...).Scan(&rows).Error; err != nil {
			return err
		}
		out = each(rows, (*purchaseRow).order)
		return withPurchaseLines(db, out)
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list orders: %w", err)
	}
	return out, total, nil
}

// AddPurchase inserts an order with its lines and sets the identities.
func (t *tx) AddPurchase(ctx context.Context, o *stock.Order) error {
	db := t.db.WithContext(ctx)
	row := rowOfPurchase(o)
	row.Version = 1
	if err := addRow(db, &row); err != nil {
		return err
	}
	o.ID, o.Version = domain.PurchaseID(row.ID), row.Version
	return addPurchaseLines(db, o)
}

func addPurchaseLines(db *gorm.DB, o *stock.Order) error {
	for i := range o.Lines {
		o.Lines[i].ID = 0
		row := rowOfPurchaseLine(o.ID, &o.Lines[i])
		if err := addRow(db, &row); err != nil {
			return err
		}
		o.Lines[i].ID, o.Lines[i].Version = row.ID, row.Version
	}
	return nil
}

// SavePurchase writes an order over the version that was read and raises it. The lines
// of one that stays a draft are replaced; of the others what was received is written.
func (t *tx) SavePurchase(ctx context.Context, o *stock.Order) error {
	db := t.db.WithContext(ctx)
	row := rowOfPurchase(o)
	row.Version++
	query := db.Model(&purchaseRow{}).Where("version = ?", o.Version).Select("*").Omit("id", "number", "drafted_at", "drafted_by")
	if err := saveVersion(query, row.ID, &row, fmt.Sprintf("somebody else saved order %d meanwhile; look at it again", o.Number)); err != nil {
		return fmt.Errorf("save order %d: %w", o.ID, translate(err))
	}
	o.Version = row.Version
	if o.State() == stock.OrderDraft {
		if err := db.Where("order_id = ?", row.ID).Delete(&purchaseLineRow{}).Error; err != nil {
			return fmt.Errorf("save the lines of order %d: %w", o.ID, translate(err))
		}
		return addPurchaseLines(db, o)
	}
	return receiveLines(db, o)
}

// receiveLines writes what was received on the lines of an order.
func receiveLines(db *gorm.DB, o *stock.Order) error {
	for i := range o.Lines {
		l := &o.Lines[i]
		err := db.Exec("UPDATE purchase_lines SET received = ?, version = version + 1 WHERE id = ? AND received <> ?", int64(l.Received), l.ID, int64(l.Received)).Error
		if err != nil {
			return fmt.Errorf("save line %d of order %d: %w", l.ID, o.ID, translate(err))
		}
	}
	return nil
}

// receiptRow is a row of goods_receipts.
type receiptRow struct {
	ID         int64
	PartID     int64
	SupplierID *int64
	LineID     *int64
	MoveID     int64
	Quantity   int64
	Ordered    *int64
	Cost       int64
	Paper      string
	ReceivedAt moment
	ReceivedBy string
	Billed     *int64
	Tax        *int64
	BilledAt   *moment
	BilledBy   string
	Gone       *int64
	RepricedID *int64
}

func (receiptRow) TableName() string { return "goods_receipts" }
func (r *receiptRow) key() *int64    { return &r.ID }

func rowOfReceipt(v *stock.Receipt) receiptRow {
	row := receiptRow{
		ID: int64(v.ID), PartID: int64(v.Part), SupplierID: idOrNull(v.Supplier), LineID: idOrNull(v.Line), MoveID: v.Move, Quantity: int64(v.Quantity),
		Ordered: (*int64)(v.Ordered), Cost: int64(v.Cost), Paper: v.Paper, ReceivedAt: at(v.At), ReceivedBy: v.By,
	}
	if b := v.Bill; b != nil {
		billed, tax, gone := int64(b.Amount), int64(b.Tax), int64(b.Gone)
		row.Billed, row.Tax, row.Gone, row.BilledAt, row.BilledBy, row.RepricedID = &billed, &tax, &gone, atOrNull(b.At), b.By, idOrNull(b.Repriced)
	}
	return row
}

func (r *receiptRow) receipt() stock.Receipt {
	v := stock.Receipt{
		ID: domain.ReceiptID(r.ID), Part: domain.PartID(r.PartID), Supplier: orZero[domain.SupplierID](r.SupplierID), Line: orZero[int64](r.LineID), Move: r.MoveID,
		Quantity: stock.Quantity(r.Quantity), Ordered: (*money.Amount)(r.Ordered), Cost: money.Amount(r.Cost), Paper: r.Paper, At: r.ReceivedAt.Time, By: r.ReceivedBy,
	}
	if r.BilledAt != nil {
		v.Bill = &stock.Bill{
			Amount: orZero[money.Amount](r.Billed), Tax: orZero[money.Amount](r.Tax), Gone: orZero[money.Amount](r.Gone), At: r.BilledAt.Time, By: r.BilledBy,
			Repriced: orZero[int64](r.RepricedID),
		}
	}
	return v
}

// Receipt reads one receipt and locks it.
func (t *tx) Receipt(ctx context.Context, id domain.ReceiptID) (*stock.Receipt, error) {
	return readReceipt(locked(t.db.WithContext(ctx)), id)
}

// ReceiptByID reads one receipt.
func (s *Store) ReceiptByID(ctx context.Context, id domain.ReceiptID) (*stock.Receipt, error) {
	return readReceipt(s.db.WithContext(ctx), id)
}

func readReceipt(db *gorm.DB, id domain.ReceiptID) (*stock.Receipt, error) {
	var row receiptRow
	if err := takeRow(db, &row, id, "receipt of parts"); err != nil {
		return nil, err
	}
	v := row.receipt()
	return &v, nil
}

// AddReceipt inserts a receipt and sets its identity.
func (t *tx) AddReceipt(ctx context.Context, v *stock.Receipt) error {
	row := rowOfReceipt(v)
	if err := addRow(t.db.WithContext(ctx), &row); err != nil {
		return err
	}
	v.ID = domain.ReceiptID(row.ID)
	return nil
}

// BillReceipt writes the bill of a receipt that had none.
func (t *tx) BillReceipt(ctx context.Context, v *stock.Receipt) error {
	row := rowOfReceipt(v)
	query := t.db.WithContext(ctx).Model(&receiptRow{}).Where("billed_at IS NULL").Select("billed", "tax", "billed_at", "billed_by", "gone", "repriced_id")
	if err := saveVersion(query, row.ID, &row, "the bill of this receipt was noted meanwhile"); err != nil {
		return fmt.Errorf("note the bill of receipt %d: %w", v.ID, translate(err))
	}
	return nil
}

// ReceiptsOfPart reads the newest receipts of a part, newest first.
func (s *Store) ReceiptsOfPart(ctx context.Context, id domain.PartID) ([]stock.Receipt, error) {
	return receiptsWhere(s.db.WithContext(ctx), "part_id = ?", int64(id))
}

// ReceiptsOfOrder reads the receipts of an order, newest first.
func (s *Store) ReceiptsOfOrder(ctx context.Context, id domain.PurchaseID) ([]stock.Receipt, error) {
	return receiptsWhere(s.db.WithContext(ctx), "line_id IN (SELECT id FROM purchase_lines WHERE order_id = ?)", int64(id))
}

func receiptsWhere(db *gorm.DB, where string, arg int64) ([]stock.Receipt, error) {
	var rows []receiptRow
	if err := db.Where(where, arg).Order("id DESC").Limit(mostRows).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("list receipts: %w", translate(err))
	}
	return each(rows, (*receiptRow).receipt), nil
}

// billToComeRow is a receipt without a bill and what it is of.
type billToComeRow struct {
	ReceivedAt moment
	Supplier   string
	Number     int
	Paper      string
	PartID     int64
	Code       string
	Name       string
	Quantity   int64
	Unit       string
	Cost       int64
}

func (r *billToComeRow) bill() billing.BillToCome {
	return billing.BillToCome{
		At: r.ReceivedAt.Time, Supplier: r.Supplier, Order: r.Number, Paper: r.Paper, Part: domain.PartID(r.PartID), Code: r.Code, Name: r.Name,
		Quantity: stock.Quantity(r.Quantity).Units().String(), Unit: r.Unit, Cost: money.Amount(r.Cost),
	}
}

// BillsToCome reads the receipts before a moment that had no bill by then.
func (s *Store) BillsToCome(ctx context.Context, before time.Time) ([]billing.BillToCome, error) {
	var rows []billToComeRow
	err := s.db.WithContext(ctx).Raw(`SELECT g.received_at, coalesce(s.name, '') AS supplier, coalesce(o.number, 0) AS number, g.paper, g.part_id, p.code, p.name,
		g.quantity, p.unit, g.cost FROM goods_receipts g JOIN parts p ON p.id = g.part_id LEFT JOIN suppliers s ON s.id = g.supplier_id
		LEFT JOIN purchase_lines l ON l.id = g.line_id LEFT JOIN purchase_orders o ON o.id = l.order_id
		WHERE g.received_at < ? AND (g.billed_at IS NULL OR g.billed_at >= ?) ORDER BY g.received_at, g.id`, at(before), at(before)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the receipts without a bill: %w", translate(err))
	}
	return each(rows, (*billToComeRow).bill), nil
}
