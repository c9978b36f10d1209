package api

import (
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// OnShelf names a part of the shelf in the path.
type OnShelf struct {
	Part int64 `path:"part" minimum:"1" doc:"Identity of the part"`
}

func (in OnShelf) part() domain.PartID { return domain.PartID(in.Part) }

// shelfDoc is a part with its level.
type shelfDoc struct {
	Part     int64   `json:"part"`
	Currency string  `json:"currency"`
	Code     string  `json:"code"`
	Name     string  `json:"name"`
	Unit     string  `json:"unit"`
	Shelf    string  `json:"shelf"`
	Kept     bool    `json:"kept" doc:"Stock is kept of it, from the first receipt or count on"`
	Quantity string  `json:"quantity" doc:"On the shelf, in the unit"`
	Reserved string  `json:"reserved" doc:"For approved jobs; may be more than there is"`
	Free     string  `json:"free" doc:"Below 0 when jobs are short"`
	OnOrder  string  `json:"on_order"`
	Expected *string `json:"expected" doc:"The first day on which some of it is expected"`
	Supplier *int64  `json:"supplier"`
	ToOrder  string  `json:"to_order" doc:"What brings a low part up to its mark; 0 when it is not low"`
	Value    string  `json:"value,omitempty" doc:"At average cost; for the owner alone"`
}

func shelfOf(r workshop.ShelfRow, c money.Currency, by domain.Actor) shelfDoc {
	d := shelfDoc{
		Part: int64(r.ID), Currency: c.Code, Code: r.Code, Name: r.Name, Unit: r.Unit, Shelf: r.Part.Shelf, Kept: r.Kept, Quantity: r.Level.Quantity.Units().String(),
		Reserved: r.Level.Reserved.Units().String(), Free: r.Level.Free().Units().String(), OnOrder: r.OnOrder.Units().String(), Expected: civil(r.Expected),
		Supplier: identity(r.Supplier), ToOrder: r.ToOrder().Units().String(),
	}
	if workshop.May(by, workshop.ActReadBalance) == nil {
		d.Value = c.Text(r.Level.Value)
	}
	return d
}

// moveDoc is one row of the ledger of a part.
type moveDoc struct {
	ID       int64     `json:"id"`
	Kind     string    `json:"kind" doc:"received, used, put back, sold, sent back, damaged, counted or repriced"`
	Quantity string    `json:"quantity" doc:"Below 0 when it left"`
	Left     string    `json:"left" doc:"On the shelf after it"`
	Value    string    `json:"value,omitempty" doc:"At cost, with the sign of what it did to the shelf; for the owner alone"`
	Worth    string    `json:"worth,omitempty" doc:"Of the shelf after it; for the owner alone"`
	Job      *int64    `json:"job"`
	Tag      *int64    `json:"tag"`
	Undoes   *int64    `json:"undoes" doc:"The move that this one puts back"`
	Reason   string    `json:"reason"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
}

func moveOf(m workshop.MoveRow, c money.Currency, by domain.Actor) moveDoc {
	d := moveDoc{
		ID: m.ID, Kind: string(m.Kind), Quantity: m.Quantity.Units().String(), Left: m.Left.Quantity.Units().String(), Job: identity(m.Job), Tag: identity(int64(m.Tag)),
		Undoes: identity(m.Undoes), Reason: m.Reason, At: m.At.UTC(), By: m.By,
	}
	if workshop.May(by, workshop.ActReadBalance) == nil {
		d.Value, d.Worth = c.Text(m.Value), c.Text(m.Left.Value)
	}
	return d
}

// receiptDoc is what came of a part at once.
type receiptDoc struct {
	ID       int64      `json:"id"`
	Part     int64      `json:"part"`
	Supplier *int64     `json:"supplier"`
	Quantity string     `json:"quantity"`
	Cost     string     `json:"cost,omitempty" doc:"At which it came on the shelf; for the owner alone"`
	Paper    string     `json:"paper"`
	Move     int64      `json:"move"`
	At       time.Time  `json:"at"`
	By       string     `json:"by"`
	BilledAt *time.Time `json:"billed_at" doc:"When the supplier's bill was noted; null before it"`
	BilledBy string     `json:"billed_by"`
	Billed   string     `json:"billed,omitempty" doc:"By the supplier, without tax that is recovered; for the owner alone"`
	Tax      string     `json:"tax,omitempty" doc:"On the bill, that is recovered; for the owner alone"`
}

func receiptOf(r *stock.Receipt, c money.Currency, by domain.Actor) receiptDoc {
	d := receiptDoc{ID: int64(r.ID), Part: int64(r.Part), Supplier: identity(r.Supplier), Quantity: r.Quantity.Units().String(), Paper: r.Paper, Move: r.Move, At: r.At.UTC(), By: r.By}
	owner := workshop.May(by, workshop.ActReadBalance) == nil
	if owner {
		d.Cost = c.Text(r.Cost)
	}
	if r.Bill == nil {
		return d
	}
	d.BilledAt, d.BilledBy = moment(r.Bill.At), r.Bill.By
	if owner {
		d.Billed, d.Tax = c.Text(r.Bill.Amount), c.Text(r.Bill.Tax)
	}
	return d
}

// orderDoc is an order to a supplier.
type orderDoc struct {
	ID        int64          `json:"id"`
	Version   int            `json:"version"`
	Number    int            `json:"number"`
	Currency  string         `json:"currency"`
	Supplier  int64          `json:"supplier"`
	State     string         `json:"state" doc:"draft, sent, received in part or closed"`
	Expected  *string        `json:"expected"`
	Note      string         `json:"note"`
	Total     string         `json:"total" doc:"What it is expected to cost, without tax that is recovered"`
	DraftedAt time.Time      `json:"drafted_at"`
	DraftedBy string         `json:"drafted_by"`
	SentAt    *time.Time     `json:"sent_at"`
	ClosedAt  *time.Time     `json:"closed_at"`
	ClosedWhy string         `json:"closed_why"`
	Lines     []orderLineDoc `json:"lines"`
}

type orderLineDoc struct {
	ID       int64  `json:"id"`
	Part     int64  `json:"part"`
	Quantity string `json:"quantity"`
	Received string `json:"received"`
	Missing  string `json:"missing"`
	Cost     string `json:"cost" doc:"Expected, of the whole line"`
}

func orderOf(o *stock.Order, c money.Currency) orderDoc {
	return orderDoc{
		ID: int64(o.ID), Version: o.Version, Number: o.Number, Currency: c.Code, Supplier: int64(o.Supplier), State: string(o.State()), Expected: civil(o.Expected), Note: o.Note,
		Total: c.Text(o.Total()), DraftedAt: o.Drafted.UTC(), DraftedBy: o.DraftedBy, SentAt: moment(o.Sent), ClosedAt: moment(o.Closed), ClosedWhy: o.ClosedWhy,
		Lines: each(o.Lines, func(l stock.OrderLine) orderLineDoc {
			return orderLineDoc{ID: l.ID, Part: int64(l.Part), Quantity: l.Quantity.Units().String(), Received: l.Received.Units().String(), Missing: l.Missing().Units().String(), Cost: c.Text(l.Cost)}
		}),
	}
}

// countDoc is a count of the shelf.
type countDoc struct {
	ID       int64          `json:"id"`
	Version  int            `json:"version"`
	Shelf    string         `json:"shelf"`
	At       time.Time      `json:"at"`
	By       string         `json:"by"`
	PostedAt *time.Time     `json:"posted_at"`
	PostedBy string         `json:"posted_by"`
	Dropped  string         `json:"dropped" doc:"Why nothing of it was posted"`
	Lines    []countLineDoc `json:"lines"`
}

type countLineDoc struct {
	Part       int64  `json:"part"`
	Found      string `json:"found"`
	Expected   string `json:"expected" doc:"On the shelf when the count was entered"`
	Difference string `json:"difference"`
	Reason     string `json:"reason"`
	Move       *int64 `json:"move" doc:"That posted the difference"`
}

func countOf(x *stock.CountSheet) countDoc {
	return countDoc{
		ID: int64(x.ID), Version: x.Version, Shelf: x.Shelf, At: x.At.UTC(), By: x.By, PostedAt: moment(x.Posted), PostedBy: x.PostedBy, Dropped: x.Dropped,
		Lines: each(x.Lines, func(l stock.CountLine) countLineDoc {
			return countLineDoc{Part: int64(l.Part), Found: l.Found.Units().String(), Expected: l.Expected.Units().String(), Difference: l.Difference().Units().String(), Reason: l.Reason, Move: identity(l.Move)}
		}),
	}
}

// supplierDoc is where parts come from.
type supplierDoc struct {
	ID      int64  `json:"id"`
	Version int    `json:"version"`
	Name    string `json:"name"`
	Reach   string `json:"reach" doc:"How to order there"`
	Days    int    `json:"days" doc:"From an order to the parts, as a rule; 0 when nobody knows"`
	Retired bool   `json:"retired"`
}

func supplierOf(s *stock.Supplier) supplierDoc {
	return supplierDoc{ID: int64(s.ID), Version: s.Version, Name: s.Name, Reach: s.Reach, Days: s.Days, Retired: s.Retired}
}

type supplierNote struct {
	Name    string `json:"name"`
	Reach   string `json:"reach,omitempty"`
	Days    int    `json:"days,omitempty"`
	Retired bool   `json:"retired,omitempty"`
}

// shelfNote is what a part says of its shelf and its origin.
type shelfNote struct {
	Shelf     string  `json:"shelf,omitempty" doc:"Where it lies"`
	Supplier  *int64  `json:"supplier,omitempty"`
	OrderCode string  `json:"order_code,omitempty" doc:"The supplier's number of it"`
	ReorderAt string  `json:"reorder_at,omitempty" doc:"Order when no more is free; 0 never"`
	ReorderTo string  `json:"reorder_to,omitempty" doc:"And up to this"`
	Markup    string  `json:"markup,omitempty" doc:"Percent on the cost that makes the price; left out: the price stands by itself"`
	OpenedOn  *string `json:"opened_on,omitempty"`
	ExpiresOn *string `json:"expires_on,omitempty" doc:"The last good day"`
	Batch     string  `json:"batch,omitempty"`
	Species   string  `json:"species,omitempty"`
	Origin    string  `json:"origin,omitempty"`
	Protected bool    `json:"protected,omitempty" doc:"Trade in it may need papers; the law of the place says which"`
	Papers    string  `json:"papers,omitempty"`
}

func shelfNoteOf(p *stock.Part) shelfNote {
	n := shelfNote{
		Shelf: p.Shelf, Supplier: identity(p.Supplier), OrderCode: p.OrderCode, ReorderAt: p.ReorderAt.Units().String(), ReorderTo: p.ReorderTo.Units().String(),
		OpenedOn: civil(p.OpenedOn), ExpiresOn: civil(p.ExpiresOn), Batch: p.Batch, Species: p.Species, Origin: p.Origin, Protected: p.Protected, Papers: p.Papers,
	}
	if p.Markup != nil {
		n.Markup = p.Markup.String()
	}
	return n
}

// into puts the note into a part.
func (n shelfNote) into(f domain.Fields, p *stock.Part) {
	var err error
	p.Shelf, p.OrderCode, p.Batch, p.Species, p.Origin, p.Protected, p.Papers = n.Shelf, n.OrderCode, n.Batch, n.Species, n.Origin, n.Protected, n.Papers
	if n.Supplier != nil {
		p.Supplier = domain.SupplierID(*n.Supplier)
	}
	for _, day := range []struct {
		field string
		typed *string
		to    *domain.Date
	}{{"stock.opened_on", n.OpenedOn, &p.OpenedOn}, {"stock.expires_on", n.ExpiresOn, &p.ExpiresOn}} {
		if day.typed != nil {
			*day.to = dateIn(f, day.field, *day.typed)
		}
	}
	p.ReorderAt, err = stock.ParseLevel(n.ReorderAt)
	f.AddErr("stock.reorder_at", err)
	p.ReorderTo, err = stock.ParseLevel(n.ReorderTo)
	f.AddErr("stock.reorder_to", err)
	p.Markup, err = stock.ParseMarkup(n.Markup)
	f.AddErr("stock.markup", err)
}

// rowErrorDoc is a row of a file that cannot be taken.
type rowErrorDoc struct {
	Line int    `json:"line" doc:"Of the file, from 1"`
	Text string `json:"text"`
}

func rowErrors(all []stock.RowError) []rowErrorDoc {
	return each(all, func(e stock.RowError) rowErrorDoc { return rowErrorDoc(e) })
}

// partsFileDoc is what a file of parts did, or would do.
type partsFileDoc struct {
	Added   []string      `json:"added" doc:"Codes"`
	Changed []string      `json:"changed" doc:"Codes"`
	Same    int           `json:"same"`
	Wrong   []rowErrorDoc `json:"wrong"`
	Kept    bool          `json:"kept" doc:"false on a dry run"`
}
