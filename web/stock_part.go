package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// partView is what the page of one part shows.
type partView struct {
	facts    *workshop.StockFacts
	row      workshop.ShelfRow
	reserved []workshop.ReservedRow
	served   []stock.Served
	moves    []workshop.MoveRow
	total    int
	at       workshop.Page
	receipts []stock.Receipt
}

// openStockPart reads a part of the shelf, or answers the request itself and returns
// nil.
func (s *Server) openStockPart(c *gin.Context) *partView {
	v, err := s.readStockPart(c)
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return v
}

func (s *Server) readStockPart(c *gin.Context) (*partView, error) {
	ctx, id := c.Request.Context(), domain.PartID(number(c, "part"))
	if err := workshop.May(actor(c), workshop.ActRead); err != nil {
		return nil, err
	}
	rows, err := s.Read.ShelfRows(ctx)
	if err != nil {
		return nil, err
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	f := workshop.StockOf(rows, shop, s.now())
	v := &partView{facts: &f, at: pageOf(c, 50)}
	for _, r := range rows {
		if r.ID == id {
			v.row = r
		}
	}
	if v.row.ID == 0 {
		return nil, domain.NotFoundf("there is no part %d", id)
	}
	if v.reserved, err = s.Read.ReservedOf(ctx, id); err != nil {
		return nil, err
	}
	coming, err := s.Read.ComingOf(ctx, id)
	if err != nil {
		return nil, err
	}
	open := make([]stock.Reservation, len(v.reserved))
	for i, r := range v.reserved {
		open[i] = r.Reservation
	}
	v.served = stock.Serve(v.row.Level.Quantity, open, coming)
	if v.moves, v.total, err = s.Read.MovesOf(ctx, id, v.at); err != nil {
		return nil, err
	}
	v.receipts, err = s.Read.ReceiptsOfPart(ctx, id)
	return v, err
}

func (s *Server) stockPart(c *gin.Context) { s.showStockPart(c, http.StatusOK, nil) }

func (s *Server) showStockPart(c *gin.Context, status int, errs domain.Fields) {
	v := s.openStockPart(c)
	if v == nil {
		return
	}
	p := &StockPage{Page: s.frame(c, v.row.Name, deskDoor(c))}
	p.Answer, p.Errors = workshop.PartAnswer(v.row, v.served), errs
	for _, w := range v.row.Cautions(v.facts.Today) {
		p.Cautions = append(p.Cautions, Caution{Text: w.Text, Stop: w.Stop})
	}
	p.Ways = []Link{{Href: stockPath, Text: "Stock"}}
	if may(c, workshop.ActPart) {
		p.Ways = append(p.Ways, Link{Href: fmt.Sprintf("/parts/%d", v.row.ID), Text: "Change the part"})
	}
	p.Sections = append(p.Sections, StockSection{Lead: "The part", Facts: partFacts(c, v)})
	if len(v.served) > 0 {
		p.Sections = append(p.Sections, StockSection{Lead: "Reserved", Table: reservedTable(v)})
	}
	if forms := partForms(c, v, errs); len(forms) > 0 {
		p.Sections = append(p.Sections, StockSection{Lead: "Note a move", Forms: forms})
	}
	if may(c, workshop.ActReceive) {
		p.Sections = append(p.Sections, billSections(c, v.receipts, v, errs)...)
	}
	pages := pager(c, v.at, len(v.moves), v.total, "moves")
	p.Sections = append(p.Sections, StockSection{Lead: "Moves", Table: movesTable(c, v), Pager: pagerOrNone(pages, v.total)})
	s.page(c, status, "stock/show", p)
}

func pagerOrNone(p Pager, total int) *Pager {
	if total <= p.To && p.From == 1 {
		return nil
	}
	return &p
}

func partFacts(c *gin.Context, v *partView) Facts {
	r, cur := v.row, v.facts.Shop.Currency
	out := Facts{
		{Name: "Shelf", Value: orDash(r.Shelf)}, {Name: "On the shelf", Value: workshop.QuantityWords(r.Level.Quantity, r.Unit)},
		{Name: "Reserved", Value: r.Level.Reserved.Units().String()}, {Name: "Price", Value: cur.Show(r.Price)},
	}
	if may(c, workshop.ActReadBalance) {
		out = append(out, Fact{Name: "Worth", Value: cur.Show(r.Level.Value), Note: "at average cost, " + r.Level.Average().Shift(-int32(cur.Digits)).StringFixed(int32(cur.Digits)+2) + " each"})
	}
	if r.ReorderAt > 0 {
		out = append(out, Fact{Name: "Ordered", Value: "at " + r.ReorderAt.Units().String() + ", up to " + r.ReorderTo.Units().String()})
	}
	for _, f := range []Fact{
		{Name: "Supplier", Value: r.SupplierName, Note: r.OrderCode}, {Name: "Opened", Value: civilOrNone(r.OpenedOn)}, {Name: "Good until", Value: civilOrNone(r.ExpiresOn)},
		{Name: "Batch", Value: r.Batch}, {Name: "Species", Value: r.Species, Note: r.Origin}, {Name: "Papers", Value: r.Papers},
	} {
		if f.Value != "" {
			out = append(out, f)
		}
	}
	return out
}

func reservedTable(v *partView) *Table {
	t := &Table{Caption: "Reserved", Hidden: true, Columns: []Column{Head("Tag"), Head("Task"), Figures("Reserved", v.row.Unit), Figures("Short", v.row.Unit), Head("Expected")}}
	for i, x := range v.served {
		when := ""
		switch {
		case x.Short == 0:
		case x.On != "":
			when = Civil(x.On)
		case x.Ordered:
			when = "ordered, no date"
		default:
			when = "not ordered"
		}
		r := v.reserved[i]
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Tag), Href: jobPath(r.Job)}, {Text: orDash(r.Name)}, {Text: r.Open.Units().String()}, {Text: dashZero(x.Short)}, {Text: orDash(when)},
		}})
	}
	return t
}

// partForms are the moves that the reader may note.
func partForms(c *gin.Context, v *partView, errs domain.Fields) []StockForm {
	r, at := v.row, stockPartPath(v.row.ID)
	amount := func(name string) Field {
		return CountField("quantity", "How much", typedIn(c, at+name, "quantity"), r.Unit).Need()
	}
	var out []StockForm
	if may(c, workshop.ActReceive) {
		out = append(out, StockForm{
			Action: at + "/receive", Legend: "It came in", Key: NewKey(), Button: "Put it on the shelf", Across: true,
			Note: "Without an order; what was ordered is received on its order. The cost is of all of it, without tax that you get back.",
			Fields: stockFields("receive", errs, amount("/receive"), MoneyField("cost", "Cost of all of it", typedIn(c, at+"/receive", "cost"), v.facts.Shop.Currency.Code).Need(),
				TextField("paper", "Delivery note or bill", typedIn(c, at+"/receive", "paper")).Limit(80)),
		})
	}
	why := func(name string) Field {
		return TextField("reason", "Why", typedIn(c, at+name, "reason")).Need().Limit(120)
	}
	if may(c, workshop.ActDamage) && r.Kept {
		out = append(out, StockForm{Action: at + "/damage", Legend: "It is broken or spoiled", Key: NewKey(), Button: "Take it off the shelf", Across: true,
			Fields: stockFields("damage", errs, amount("/damage"), why("/damage"))})
	}
	if may(c, workshop.ActReceive) && r.Kept {
		out = append(out, StockForm{Action: at + "/send-back", Legend: "It goes back to the supplier", Key: NewKey(), Button: "Send it back", Across: true,
			Fields: stockFields("back", errs, amount("/send-back"), why("/send-back"))})
	}
	return out
}

// typedIn is what was typed into a form of the page that came back, "" for another.
func typedIn(c *gin.Context, action, name string) string {
	if c.Request.URL.Path != action {
		return ""
	}
	return form(c, name)
}

// billSections asks for the bills of receipts that have none.
func billSections(c *gin.Context, all []stock.Receipt, v *partView, errs domain.Fields) []StockSection {
	cur := v.facts.Shop.Currency
	var forms []StockForm
	for _, r := range all {
		if r.Bill != nil || len(forms) == 6 {
			continue
		}
		scope := fmt.Sprintf("bill%d", r.ID)
		amount, tax := Money(cur, r.Cost), ""
		if form(c, "receipt") == strconv.FormatInt(int64(r.ID), 10) {
			amount, tax = form(c, "amount"), form(c, "tax")
		}
		forms = append(forms, StockForm{
			Action: stockPartPath(r.Part) + "/bill", Key: NewKey(), Hidden: []Pair{{Name: "receipt", Value: strconv.FormatInt(int64(r.ID), 10)}}, Button: "Note the bill", Across: true,
			Legend: fmt.Sprintf("%s of %s", workshop.QuantityWords(r.Quantity, v.row.Unit), Day(r.At.In(v.facts.Shop.Location()))),
			Fields: stockFields(scope, errs, MoneyField("amount", "Bill without tax", amount, cur.Code).Need(), MoneyField("tax", "Tax that you get back", tax, cur.Code)),
		})
	}
	if len(forms) == 0 {
		return nil
	}
	return []StockSection{{Lead: "Bills to come", Note: "A bill that differs changes what still lies on the shelf; the rest is a cost of what has left.", Forms: forms}}
}

func movesTable(c *gin.Context, v *partView) *Table {
	cur, zone := v.facts.Shop.Currency, v.facts.Shop.Location()
	t := &Table{Caption: "Moves, newest first", Hidden: true, Empty: Empty{Text: "It has not moved yet."},
		Columns: []Column{Head("When"), Head("What"), Figures("Moved", v.row.Unit), Figures("Then there were", v.row.Unit)}}
	worth := may(c, workshop.ActReadBalance)
	if worth {
		t.Columns = append(t.Columns, Figures("Value", cur.Code), Figures("Then worth", cur.Code))
	}
	for _, m := range v.moves {
		what := Cell{Text: string(m.Kind), Note: m.Reason}
		if m.Tag != 0 {
			what = Cell{Text: fmt.Sprintf("%s, tag %d", m.Kind, m.Tag), Href: jobPath(m.Job), Note: m.Reason}
		}
		row := Row{Cells: []Cell{{Text: DayHour(m.At.In(zone)), Note: m.By}, what, {Text: m.Quantity.Units().String()}, {Text: m.Left.Quantity.Units().String()}}}
		if worth {
			row.Cells = append(row.Cells, Cell{Text: Money(cur, m.Value)}, Cell{Text: Money(cur, m.Left.Value)})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// partMove answers a form of the part's page.
func (s *Server) partMove(c *gin.Context, scope, said string, f domain.Fields, do func(id domain.PartID) error) {
	id := domain.PartID(number(c, "part"))
	err := f.Err()
	if err == nil {
		err = do(id)
	}
	s.answer(c, err, func(f domain.Fields) { s.showStockPart(c, http.StatusUnprocessableEntity, inForm(scope, f)) }, said, stockPartPath(id))
}

func (s *Server) receivePart(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	d := workshop.Delivery{Quantity: quantityIn(f, c, "quantity"), Cost: amountIn(f, c, "cost", shop.Currency), Paper: form(c, "paper")}
	s.partMove(c, "receive", "It is on the shelf.", f, func(id domain.PartID) error {
		d.Part = id
		_, err := s.Work.Receive(keyed(c), actor(c), d)
		return err
	})
}

func (s *Server) damagePart(c *gin.Context) {
	f := domain.Fields{}
	q := quantityIn(f, c, "quantity")
	s.partMove(c, "damage", "It is off the shelf.", f, func(id domain.PartID) error {
		return s.Work.Damage(keyed(c), actor(c), id, q, form(c, "reason"))
	})
}

func (s *Server) sendBackPart(c *gin.Context) {
	f := domain.Fields{}
	q := quantityIn(f, c, "quantity")
	s.partMove(c, "back", "It is noted as sent back.", f, func(id domain.PartID) error {
		return s.Work.SendBack(keyed(c), actor(c), id, q, form(c, "reason"))
	})
}

func (s *Server) billPart(c *gin.Context) {
	err := workshop.May(actor(c), workshop.ActReceive)
	var shop *workshop.Shop
	if err == nil {
		shop, err = s.Read.ShopSettings(c.Request.Context())
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	receipt := idIn(f, c, "receipt")
	if form(c, "amount") == "" {
		f.Add("amount", "must not be empty; write 0 for nothing")
	}
	amount, tax := amountIn(f, c, "amount", shop.Currency), amountIn(f, c, "tax", shop.Currency)
	s.partMove(c, fmt.Sprintf("bill%d", receipt), "The bill is noted.", f, func(domain.PartID) error {
		return s.Work.Bill(keyed(c), actor(c), domain.ReceiptID(receipt), amount, tax)
	})
}
