package api

import (
	"bytes"
	"context"
	"fmt"
	"net/http"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

type (
	movesIn struct {
		OnShelf
		Paged
	}
	deliveryIn struct {
		OnShelf
		Body struct {
			Quantity string `json:"quantity"`
			Cost     string `json:"cost" doc:"Of all of it, without tax that is recovered"`
			Paper    string `json:"paper,omitempty" doc:"Delivery note or bill"`
		}
	}
	takeOffIn struct {
		OnShelf
		Body struct {
			Quantity string `json:"quantity"`
			Reason   string `json:"reason"`
		}
	}
	billIn struct {
		Receipt int64 `path:"receipt" minimum:"1" doc:"Identity of the receipt"`
		Body    struct {
			Amount string `json:"amount" doc:"Without tax that is recovered"`
			Tax    string `json:"tax,omitempty" doc:"That is recovered"`
		}
	}
	partsImportIn struct {
		DryRun  bool   `query:"dry_run" doc:"Tell what would be done and every wrong row, and keep nothing"`
		RawBody []byte `contentType:"text/csv"`
	}
)

func (a *API) stockRoutes() {
	o := operation{noun: "stock", act: workshop.ActRead, method: http.MethodGet}
	o.path, o.id, o.summary = "/stock", "list_stock", "All parts with their levels, by name"
	add(a, o, a.shelf)
	o.path, o.id, o.summary = "/stock/{part}", "get_stock", "One part with its level"
	add(a, o, func(ctx context.Context, in *OnShelf) (*one[shelfDoc], error) { return a.shelfPart(ctx, in.part()) })
	o.path, o.id, o.summary = "/stock/{part}/moves", "list_moves", "Moves of a part, newest first, with what each left"
	add(a, o, a.moves)
	o.path, o.id, o.summary = "/stock/{part}/receipts", "list_receipts", "The newest receipts of a part, newest first"
	add(a, o, a.receipts)
	o.path, o.id, o.summary = "/stock/parts/csv", "export_parts", "The parts as CSV, as the import reads it"
	add(a, o, a.partsCSV)
	o = operation{noun: "stock", act: workshop.ActReceive, method: http.MethodPost, path: "/stock/{part}/receipts", id: "receive_part", summary: "Put parts without an order on the shelf", about: "From the first receipt on, stock is kept of the part. Jobs that waited for it go on."}
	add(a, o, a.receivePart)
	o.path, o.id, o.summary, o.about = "/stock/{part}/send-back", "send_part_back", "Send parts back to the supplier", ""
	add(a, o, func(ctx context.Context, in *takeOffIn) (*one[shelfDoc], error) {
		return a.takeOff(ctx, in, a.work.SendBack)
	})
	o.path, o.id, o.summary = "/receipts-of-parts/{receipt}/bill", "bill_receipt", "Note the supplier's bill for a receipt; a difference changes what still lies on the shelf"
	add(a, o, a.billReceipt)
	o = operation{noun: "stock", act: workshop.ActDamage, method: http.MethodPost, path: "/stock/{part}/damage", id: "damage_part", summary: "Take broken or spoiled parts off the shelf"}
	add(a, o, func(ctx context.Context, in *takeOffIn) (*one[shelfDoc], error) {
		return a.takeOff(ctx, in, a.work.Damage)
	})
	o = operation{noun: "stock", act: workshop.ActPart, method: http.MethodPost, path: "/stock/parts/import", id: "import_parts", summary: "Take in a CSV file of parts", body: stock.MaxFile,
		about: "UTF-8, with the columns of the export; a code that is on the list changes that part. All of it is kept or nothing: one wrong row refuses the file. A dry run names every wrong row."}
	add(a, o, a.importParts)
	a.countRoutes()
	a.orderRoutes()
}

func (a *API) shelf(ctx context.Context, _ *struct{}) (*many[shelfDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := a.read.ShelfRows(ctx)
	if err != nil {
		return nil, err
	}
	return whole(c.Code, each(rows, func(r workshop.ShelfRow) shelfDoc { return shelfOf(r, c, by(ctx)) })), nil
}

func (a *API) shelfPart(ctx context.Context, id domain.PartID) (*one[shelfDoc], error) {
	all, err := a.shelf(ctx, nil)
	if err != nil {
		return nil, err
	}
	for _, d := range all.Body.Items {
		if d.Part == int64(id) {
			return answer(ctx, 1, d)
		}
	}
	return nil, domain.NotFoundf("there is no part %d", id)
}

func (a *API) moves(ctx context.Context, in *movesIn) (*many[moveDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := a.read.PartByID(ctx, in.part()); err != nil {
		return nil, err
	}
	rows, total, err := a.read.MovesOf(ctx, in.part(), in.page())
	if err != nil {
		return nil, err
	}
	return paged(ctx, in.Paged, c.Code, total, each(rows, func(m workshop.MoveRow) moveDoc { return moveOf(m, c, by(ctx)) })), nil
}

func (a *API) receipts(ctx context.Context, in *OnShelf) (*many[receiptDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	if _, err := a.read.PartByID(ctx, in.part()); err != nil {
		return nil, err
	}
	all, err := a.read.ReceiptsOfPart(ctx, in.part())
	if err != nil {
		return nil, err
	}
	return whole(c.Code, each(all, func(r stock.Receipt) receiptDoc { return receiptOf(&r, c, by(ctx)) })), nil
}

// quantityIn reads a quantity of parts, whose sign the domain judges.
func quantityIn(f domain.Fields, field, typed string) stock.Quantity {
	d := decimalIn(f, field, typed)
	if !d.Equal(d.Round(3)) || d.Abs().GreaterThan(stock.MaxQuantity.Units()) {
		f.Add(field, "must have at most three decimals, and be at most %s", stock.MaxQuantity.Units())
		return 0
	}
	return stock.Quantity(d.Shift(3).IntPart())
}

func (a *API) receivePart(ctx context.Context, in *deliveryIn) (*one[shelfDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	f := domain.Fields{}
	typedIn(f, "cost", in.Body.Cost)
	d := workshop.Delivery{Part: in.part(), Quantity: quantityIn(f, "quantity", in.Body.Quantity), Cost: amountIn(f, "cost", in.Body.Cost, c), Paper: in.Body.Paper}
	if err := f.Err(); err != nil {
		return nil, err
	}
	if _, err := a.work.Receive(ctx, by(ctx), d); err != nil {
		return nil, err
	}
	return a.shelfPart(ctx, in.part())
}

func (a *API) takeOff(ctx context.Context, in *takeOffIn, do func(context.Context, domain.Actor, domain.PartID, stock.Quantity, string) error) (*one[shelfDoc], error) {
	f := domain.Fields{}
	q := quantityIn(f, "quantity", in.Body.Quantity)
	if err := f.Err(); err != nil {
		return nil, err
	}
	if err := do(ctx, by(ctx), in.part(), q, in.Body.Reason); err != nil {
		return nil, err
	}
	return a.shelfPart(ctx, in.part())
}

func (a *API) billReceipt(ctx context.Context, in *billIn) (*one[shelfDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	f := domain.Fields{}
	typedIn(f, "amount", in.Body.Amount)
	amount, tax := amountIn(f, "amount", in.Body.Amount, c), amountIn(f, "tax", in.Body.Tax, c)
	if err := f.Err(); err != nil {
		return nil, err
	}
	id := domain.ReceiptID(in.Receipt)
	if err := a.work.Bill(ctx, by(ctx), id, amount, tax); err != nil {
		return nil, err
	}
	r, err := a.read.ReceiptByID(ctx, id)
	if err != nil {
		return nil, err
	}
	return a.shelfPart(ctx, r.Part)
}

func (a *API) partsCSV(ctx context.Context, _ *struct{}) (*csvOut, error) {
	l, err := a.lists(ctx)
	if err != nil {
		return nil, err
	}
	if workshop.May(by(ctx), workshop.ActReadBalance) != nil {
		for i := range l.Parts {
			l.Parts[i].Cost = 0
		}
	}
	var out bytes.Buffer
	if err := stock.WriteParts(&out, l); err != nil {
		return nil, err
	}
	return &csvOut{ContentType: "text/csv; charset=utf-8", Body: out.Bytes()}, nil
}

func (a *API) lists(ctx context.Context) (stock.Lists, error) {
	c, err := a.currency(ctx)
	if err != nil {
		return stock.Lists{}, err
	}
	l := stock.Lists{Currency: c}
	if l.Parts, err = a.read.PartList(ctx); err != nil {
		return l, err
	}
	l.Suppliers, err = a.read.SupplierList(ctx)
	return l, err
}

func (a *API) importParts(ctx context.Context, in *partsImportIn) (*read[partsFileDoc], error) {
	look, err := a.work.TryParts(ctx, by(ctx), in.RawBody)
	if err != nil {
		return nil, err
	}
	code := func(p stock.Part) string { return p.Code }
	out := &read[partsFileDoc]{Body: partsFileDoc{Added: each(look.Added, code), Changed: each(look.Changed, code), Same: look.Same, Wrong: rowErrors(look.Wrong)}}
	if in.DryRun {
		return out, nil
	}
	if _, err := a.work.ImportParts(ctx, by(ctx), in.RawBody); err != nil {
		return nil, err
	}
	out.Body.Kept = true
	return out, nil
}

// OnOrder names an order in the path.
type OnOrder struct {
	Order int64 `path:"order" minimum:"1" doc:"Identity of the order"`
}

func (in OnOrder) order() domain.PurchaseID { return domain.PurchaseID(in.Order) }

type orderNote struct {
	Supplier int64           `json:"supplier" minimum:"1"`
	Note     string          `json:"note,omitempty"`
	Lines    []orderLineNote `json:"lines"`
}

// orderLineNote is a part that is ordered.
type orderLineNote struct {
	Part     int64  `json:"part" minimum:"1"`
	Quantity string `json:"quantity"`
	Cost     string `json:"cost" doc:"Expected, of the whole line, without tax that is recovered"`
}

// cameNote is what came of one line of an order.
type cameNote struct {
	Line     int64   `json:"line" minimum:"1"`
	Quantity string  `json:"quantity"`
	Cost     *string `json:"cost,omitempty" doc:"Of all that came; left out: as ordered"`
}

func (n orderNote) draft(c money.Currency) (workshop.Draft, error) {
	f := domain.Fields{}
	d := workshop.Draft{Supplier: domain.SupplierID(n.Supplier), Note: n.Note}
	for i, l := range n.Lines {
		at := fmt.Sprintf("lines[%d].", i)
		typedIn(f, at+"cost", l.Cost)
		d.Lines = append(d.Lines, stock.OrderLine{Part: domain.PartID(l.Part), Quantity: quantityIn(f, at+"quantity", l.Quantity), Cost: amountIn(f, at+"cost", l.Cost, c)})
	}
	return d, f.Err()
}

type (
	ordersIn struct {
		Open bool `query:"open" doc:"Only those that are not closed"`
		Paged
	}
	orderIn       struct{ Body orderNote }
	orderChangeIn struct {
		OnOrder
		Body orderNote
	}
	expectIn struct {
		OnOrder
		Body struct {
			Expected *string `json:"expected,omitempty" doc:"The day on which the parts should be there; left out: nobody knows"`
		}
	}
	closeOrderIn struct {
		OnOrder
		Body struct {
			Reason string `json:"reason"`
		}
	}
	cameIn struct {
		OnOrder
		Body struct {
			Paper string     `json:"paper,omitempty" doc:"Delivery note"`
			Lines []cameNote `json:"lines"`
		}
	}
	supplierIn       struct{ Body supplierNote }
	supplierChangeIn struct {
		OnSupplier
		Body supplierNote
	}
)

// OnSupplier names a supplier in the path.
type OnSupplier struct {
	Supplier int64 `path:"supplier" minimum:"1" doc:"Identity of the supplier"`
}

func (a *API) orderRoutes() {
	o := operation{noun: "orders", act: workshop.ActRead, method: http.MethodGet}
	o.path, o.id, o.summary = "/orders", "list_orders", "Orders to suppliers, newest first"
	add(a, o, a.orders)
	o.path, o.id, o.summary = "/orders/{order}", "get_order", "One order"
	add(a, o, func(ctx context.Context, in *OnOrder) (*one[orderDoc], error) { return a.order(ctx, in.order(), false) })
	o.path, o.id, o.summary = "/suppliers", "list_suppliers", "Suppliers by name"
	add(a, o, func(ctx context.Context, _ *struct{}) (*many[supplierDoc], error) {
		all, err := a.read.SupplierList(ctx)
		return whole("", each(all, func(s stock.Supplier) supplierDoc { return supplierOf(&s) })), err
	})
	o.path, o.id, o.summary = "/suppliers/{supplier}", "get_supplier", "One supplier"
	add(a, o, func(ctx context.Context, in *OnSupplier) (*one[supplierDoc], error) {
		s, err := a.read.SupplierByID(ctx, domain.SupplierID(in.Supplier))
		if err != nil {
			return nil, err
		}
		return answer(ctx, s.Version, supplierOf(s))
	})
	o = operation{noun: "orders", act: workshop.ActOrder, method: http.MethodPost, path: "/suppliers", id: "add_supplier", summary: "Note a supplier", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *supplierIn) (*one[supplierDoc], error) {
		return a.noteSupplier(ctx, in.Body, 0)
	})
	o.path, o.id, o.summary, o.status = "/orders", "draft_order", "Draft an order", http.StatusCreated
	add(a, o, func(ctx context.Context, in *orderIn) (*one[orderDoc], error) {
		return a.draftOrder(ctx, in.Body, 0)
	})
	o = operation{noun: "orders", act: workshop.ActOrder, method: http.MethodPut, path: "/orders/{order}", id: "change_order", summary: "Change a draft as a whole", match: matchNeeded}
	add(a, o, func(ctx context.Context, in *orderChangeIn) (*one[orderDoc], error) {
		return a.draftOrder(ctx, in.Body, in.order())
	})
	o.path, o.id, o.summary = "/suppliers/{supplier}", "change_supplier", "Change a supplier"
	add(a, o, func(ctx context.Context, in *supplierChangeIn) (*one[supplierDoc], error) {
		return a.noteSupplier(ctx, in.Body, domain.SupplierID(in.Supplier))
	})
	o = operation{noun: "orders", act: workshop.ActOrder, method: http.MethodPost, path: "/orders/{order}/send", id: "send_order", summary: "Note that a draft went out; jobs that wait for the parts wait for the day"}
	add(a, o, func(ctx context.Context, in *expectIn) (*one[orderDoc], error) {
		return a.expect(ctx, in, a.work.SendOrder)
	})
	o.path, o.id, o.summary = "/orders/{order}/close", "close_order", "End an order of which not all came, or a draft"
	add(a, o, func(ctx context.Context, in *closeOrderIn) (*one[orderDoc], error) {
		if err := a.work.CloseOrder(ctx, by(ctx), in.order(), in.Body.Reason); err != nil {
			return nil, err
		}
		return a.order(ctx, in.order(), false)
	})
	o = operation{noun: "orders", act: workshop.ActReceive, method: http.MethodPost, path: "/orders/{order}/expect", id: "expect_order", summary: "Change the day on which an order is expected"}
	add(a, o, func(ctx context.Context, in *expectIn) (*one[orderDoc], error) {
		return a.expect(ctx, in, a.work.ExpectOrder)
	})
	o.path, o.id, o.summary = "/orders/{order}/receipts", "receive_order", "Put what came of an order on the shelf; what is missing stays on order"
	add(a, o, a.came)
}

func (a *API) orders(ctx context.Context, in *ordersIn) (*many[orderDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	all, total, err := a.read.Purchases(ctx, in.Open, in.page())
	if err != nil {
		return nil, err
	}
	return paged(ctx, in.Paged, c.Code, total, each(all, func(o stock.Order) orderDoc { return orderOf(&o, c) })), nil
}

func (a *API) order(ctx context.Context, id domain.PurchaseID, isNew bool) (*one[orderDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	o, err := a.read.PurchaseByID(ctx, id)
	if err != nil {
		return nil, err
	}
	if isNew {
		return made(ctx, o.Version, fmt.Sprintf("/orders/%d", id), orderOf(o, c))
	}
	return answer(ctx, o.Version, orderOf(o, c))
}

func (a *API) draftOrder(ctx context.Context, n orderNote, id domain.PurchaseID) (*one[orderDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	d, err := n.draft(c)
	if err != nil {
		return nil, err
	}
	kept, err := a.work.DraftOrder(ctx, by(ctx), id, d, askedOf(ctx).seen)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) {
			o, err := a.read.PurchaseByID(ctx, id)
			if err != nil {
				return 0, err
			}
			return o.Version, nil
		})
	}
	return a.order(ctx, kept, id == 0)
}

func (a *API) expect(ctx context.Context, in *expectIn, do func(context.Context, domain.Actor, domain.PurchaseID, domain.Date) error) (*one[orderDoc], error) {
	f := domain.Fields{}
	var day domain.Date
	if in.Body.Expected != nil {
		day = dateIn(f, "expected", *in.Body.Expected)
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	if err := do(ctx, by(ctx), in.order(), day); err != nil {
		return nil, err
	}
	return a.order(ctx, in.order(), false)
}

func (a *API) came(ctx context.Context, in *cameIn) (*one[orderDoc], error) {
	c, err := a.currency(ctx)
	if err != nil {
		return nil, err
	}
	f := domain.Fields{}
	var came []workshop.Arrived
	for i, l := range in.Body.Lines {
		at := fmt.Sprintf("lines[%d].", i)
		x := workshop.Arrived{Line: l.Line, Quantity: quantityIn(f, at+"quantity", l.Quantity)}
		if l.Cost != nil && typedIn(f, at+"cost", *l.Cost) {
			cost := amountIn(f, at+"cost", *l.Cost, c)
			x.Cost = &cost
		}
		came = append(came, x)
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	if err := a.work.ReceiveOrder(ctx, by(ctx), in.order(), in.Body.Paper, came); err != nil {
		return nil, err
	}
	return a.order(ctx, in.order(), false)
}

func (a *API) noteSupplier(ctx context.Context, n supplierNote, id domain.SupplierID) (*one[supplierDoc], error) {
	s := stock.Supplier{ID: id, Name: n.Name, Reach: n.Reach, Days: n.Days, Retired: n.Retired, Version: askedOf(ctx).seen}
	kept, err := a.work.NoteSupplier(ctx, by(ctx), s)
	if err != nil {
		return nil, stale(ctx, err, func() (int, error) {
			s, err := a.read.SupplierByID(ctx, id)
			if err != nil {
				return 0, err
			}
			return s.Version, nil
		})
	}
	got, err := a.read.SupplierByID(ctx, kept)
	if err != nil {
		return nil, err
	}
	if id == 0 {
		return made(ctx, got.Version, fmt.Sprintf("/suppliers/%d", kept), supplierOf(got))
	}
	return answer(ctx, got.Version, supplierOf(got))
}
