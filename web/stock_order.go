package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

const suppliersPath = stockPath + "/suppliers"

func (s *Server) orderRoutes(r *gin.RouterGroup) {
	r.GET(ordersPath, s.orders)
	r.POST(ordersPath, s.draftOrder)
	r.GET(ordersPath+"/:order", s.order)
	r.POST(ordersPath+"/:order", s.changeOrder)
	r.POST(ordersPath+"/:order/send", s.sendOrder)
	r.POST(ordersPath+"/:order/expect", s.expectOrder)
	r.POST(ordersPath+"/:order/receive", s.receiveOrder)
	r.POST(ordersPath+"/:order/close", s.closeOrder)
	r.GET(suppliersPath+"/:supplier", s.supplier)
	r.POST(suppliersPath+"/:supplier", s.saveSupplier)
}

func orderPath(id domain.PurchaseID) string       { return fmt.Sprintf("%s/%d", ordersPath, id) }
func supplierPath(id domain.SupplierID) string    { return fmt.Sprintf("%s/%d", suppliersPath, id) }
func partField(id domain.PartID, n string) string { return fmt.Sprintf("%s%d", n, id) }

// ordersView is what the pages of orders show.
type ordersView struct {
	facts     *workshop.StockFacts
	all       []workshop.ShelfRow // every part
	suppliers []stock.Supplier
}

func (v *ordersView) supplier(id domain.SupplierID) string {
	for _, x := range v.suppliers {
		if x.ID == id {
			return x.Name
		}
	}
	return "no supplier"
}

func (v *ordersView) part(id domain.PartID) workshop.ShelfRow {
	i := slices.IndexFunc(v.all, func(r workshop.ShelfRow) bool { return r.ID == id })
	if i < 0 {
		return workshop.ShelfRow{}
	}
	return v.all[i]
}

func (s *Server) openOrders(c *gin.Context) *ordersView {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	v := &ordersView{}
	if err == nil {
		v.all, err = s.Read.ShelfRows(ctx)
	}
	if err == nil {
		v.suppliers, err = s.Read.SupplierList(ctx)
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return nil
	}
	f := workshop.StockOf(v.all, shop, s.now())
	v.facts = &f
	return v
}

func (s *Server) orders(c *gin.Context) { s.showOrders(c, http.StatusOK, nil) }

func (s *Server) showOrders(c *gin.Context, status int, errs domain.Fields) {
	v := s.openOrders(c)
	if v == nil {
		return
	}
	at := pageOf(c, 30)
	list, total, err := s.Read.Purchases(c.Request.Context(), false, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &StockPage{Page: s.frame(c, "Orders", deskDoor(c)), Ways: []Link{{Href: stockPath, Text: "Stock"}}}
	p.Errors, p.Answer = errs, fmt.Sprintf("%s to be ordered; %s open.", Plural(len(v.facts.Low), "part is", "parts are"), Plural(openOrders(list), "order is", "orders are"))
	p.Sections = lowSections(c, v)
	pages := pager(c, at, len(list), total, "orders")
	p.Sections = append(p.Sections, StockSection{Lead: "Orders", Table: ordersTable(c, v, list), Pager: pagerOrNone(pages, total)})
	if may(c, workshop.ActOrder) {
		p.Sections = append(p.Sections, StockSection{Lead: "A new order", Forms: []StockForm{newOrderForm(c, v, errs)}})
	}
	t := &Table{Caption: "Suppliers", Hidden: true, Columns: []Column{Head("Supplier"), Head("How to order"), Figures("Takes", "days")}, Empty: Empty{Text: "No supplier is noted yet."}}
	for _, x := range v.suppliers {
		t.Rows = append(t.Rows, Row{Struck: x.Retired, Cells: []Cell{{Text: x.Name, Href: supplierPath(x.ID)}, {Text: orDash(x.Reach)}, {Text: dashInt(x.Days)}}})
	}
	section := StockSection{Lead: "Suppliers", Table: t}
	if may(c, workshop.ActOrder) {
		section.Forms = []StockForm{{Action: supplierPath(0), Legend: "A new supplier", Key: NewKey(), Button: "Note the supplier", Fields: supplierFields(stock.Supplier{}, nil)}}
	}
	p.Sections = append(p.Sections, section)
	s.page(c, status, "stock/show", p)
}

func dashInt(n int) string {
	if n == 0 {
		return "–"
	}
	return strconv.Itoa(n)
}

func openOrders(all []stock.Order) (n int) {
	for i := range all {
		if all[i].State() != stock.OrderClosed {
			n++
		}
	}
	return n
}

// lowSections lists what is to be ordered by supplier, each with a form that drafts
// the order.
func lowSections(c *gin.Context, v *ordersView) []StockSection {
	var out []StockSection
	cur := v.facts.Shop.Currency
	for _, x := range append(slices.Clone(v.suppliers), stock.Supplier{Name: "no supplier"}) {
		form := StockForm{Action: ordersPath, Key: NewKey(), Hidden: []Pair{{Name: "supplier", Value: strconv.FormatInt(int64(x.ID), 10)}}, Button: "Draft this order", Now: len(out) == 0}
		t := &Table{Caption: "To order of " + x.Name, Hidden: true, Columns: []Column{Head("Part"), Figures("Free", ""), Figures("On order", ""), Figures("Order", ""), Figures("About", cur.Code)}}
		for _, r := range v.facts.Low {
			if r.Supplier != x.ID || r.ToOrder() <= 0 {
				continue
			}
			cost := expectedCost(r, r.ToOrder())
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: r.Name, Href: stockPartPath(r.ID), Note: cmpOr(r.OrderCode, r.Code)}, {Text: r.Level.Free().Units().String()}, {Text: dashZero(r.OnOrder)}, {Text: workshop.QuantityWords(r.ToOrder(), r.Unit)}, {Text: Money(cur, cost)}}})
			form.Hidden = append(form.Hidden, Pair{Name: partField(r.ID, "quantity"), Value: r.ToOrder().Units().String()}, Pair{Name: partField(r.ID, "cost"), Value: Money(cur, cost)})
		}
		if len(t.Rows) == 0 {
			continue
		}
		section := StockSection{Lead: "To order of " + x.Name, Table: t, Note: x.Reach}
		if x.ID != 0 && may(c, workshop.ActOrder) {
			section.Forms = []StockForm{form}
		}
		out = append(out, section)
	}
	return out
}

// expectedCost is what a quantity of a part should cost, by what it cost last.
func expectedCost(r workshop.ShelfRow, q stock.Quantity) money.Amount {
	l := stock.OrderLine{Quantity: 1000, Cost: r.Cost}
	return l.CostOf(q)
}

func ordersTable(c *gin.Context, v *ordersView, list []stock.Order) *Table {
	t := &Table{Caption: "Orders, newest first", Hidden: true, Empty: Empty{Text: "Nothing was ordered yet."}, Columns: []Column{Head("Order"), Head("Supplier"), Head("State"), Head("Expected"), Figures("Parts", "")}}
	worth := may(c, workshop.ActReadBalance)
	if worth {
		t.Columns = append(t.Columns, Figures("Expected cost", v.facts.Shop.Currency.Code))
	}
	for i := range list {
		o := &list[i]
		state := Cell{Text: string(o.State())}
		if o.State() == stock.OrderClosed {
			state.Note = o.ClosedWhy
		}
		row := Row{Struck: o.State() == stock.OrderClosed && o.Sent.IsZero(), Cells: []Cell{
			{Text: strconv.Itoa(o.Number), Href: orderPath(o.ID)}, {Text: v.supplier(o.Supplier)}, state, {Text: orDash(civilOrNone(o.Expected))}, {Text: strconv.Itoa(len(o.Lines))},
		}}
		if worth {
			row.Cells = append(row.Cells, Cell{Text: Money(v.facts.Shop.Currency, o.Total())})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// newOrderForm asks for an order of one part; more parts are added on its page.
func newOrderForm(c *gin.Context, v *ordersView, errs domain.Fields) StockForm {
	var suppliers, parts []Option
	for _, x := range v.suppliers {
		if !x.Retired {
			suppliers = append(suppliers, Option{Value: strconv.FormatInt(int64(x.ID), 10), Label: x.Name})
		}
	}
	parts = partOptions(v)
	return StockForm{Action: ordersPath, Key: NewKey(), Button: "Draft the order", Fields: stockFields("new", errs,
		ChoiceField("supplier", "Supplier", form(c, "supplier"), suppliers).Need(), ChoiceField("part", "Part", form(c, "part"), parts).Need(),
		CountField("quantity", "How much", form(c, "quantity"), "").Need(), MoneyField("cost", "Expected cost of all of it", form(c, "cost"), v.facts.Shop.Currency.Code),
	)}
}

func partOptions(v *ordersView) []Option {
	out := []Option{{Value: "", Label: "choose a part"}}
	for _, r := range v.all {
		if !r.Retired {
			out = append(out, Option{Value: strconv.FormatInt(int64(r.ID), 10), Label: r.Name + ", by the " + r.Unit})
		}
	}
	return out
}

// draftIn reads the lines of an order: those named by part, and one chosen.
func (v *ordersView) draftIn(c *gin.Context, f domain.Fields) workshop.Draft {
	cur := v.facts.Shop.Currency
	d := workshop.Draft{Supplier: domain.SupplierID(idIn(f, c, "supplier")), Note: form(c, "note")}
	for _, r := range v.all {
		quantity, cost := partField(r.ID, "quantity"), partField(r.ID, "cost")
		if form(c, quantity) == "" {
			continue
		}
		d.Lines = append(d.Lines, stock.OrderLine{Part: r.ID, Quantity: quantityIn(f, c, quantity), Cost: amountIn(f, c, cost, cur)})
	}
	if part := domain.PartID(idIn(f, c, "part")); part != 0 {
		l := stock.OrderLine{Part: part, Quantity: quantityIn(f, c, "quantity"), Cost: amountIn(f, c, "cost", cur)}
		if form(c, "cost") == "" {
			l.Cost = expectedCost(v.part(part), max(l.Quantity, 0))
		}
		d.Lines = append(d.Lines, l)
	}
	return d
}

func (s *Server) draftOrder(c *gin.Context) {
	v := s.openOrders(c)
	if v == nil {
		return
	}
	f := domain.Fields{}
	d := v.draftIn(c, f)
	err := f.Err()
	var id domain.PurchaseID
	if err == nil {
		id, err = s.Work.DraftOrder(keyed(c), actor(c), 0, d, 0)
	}
	s.answer(c, err, func(f domain.Fields) { s.showOrders(c, http.StatusUnprocessableEntity, inForm("new", f)) }, "The draft is kept.", orderPath(id))
}

func (s *Server) order(c *gin.Context) { s.showOrder(c, http.StatusOK, nil) }

func (s *Server) showOrder(c *gin.Context, status int, errs domain.Fields) {
	v := s.openOrders(c)
	if v == nil {
		return
	}
	ctx, id := c.Request.Context(), domain.PurchaseID(number(c, "order"))
	o, err := s.Read.PurchaseByID(ctx, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	receipts, err := s.Read.ReceiptsOfOrder(ctx, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &StockPage{Page: s.frame(c, fmt.Sprintf("Order %d", o.Number), deskDoor(c)), Ways: []Link{{Href: ordersPath, Text: "Orders"}}}
	p.Errors, p.Answer = errs, orderAnswer(o, v)
	p.Sections = []StockSection{{Lead: "The order", Facts: orderFacts(o, v), Table: linesTable(c, o, v)}}
	p.Sections = append(p.Sections, orderForms(c, o, v, errs)...)
	if len(receipts) > 0 {
		p.Sections = append(p.Sections, StockSection{Lead: "What came", Table: receiptsTable(c, receipts, v)})
	}
	s.page(c, status, "stock/show", p)
}

func orderAnswer(o *stock.Order, v *ordersView) string {
	who := v.supplier(o.Supplier)
	switch o.State() {
	case stock.OrderDraft:
		return "A draft to " + who + "; nothing is ordered yet."
	case stock.OrderClosed:
		return "Closed: " + o.ClosedWhy + "."
	case stock.OrderInPart:
		return "Some of it came from " + who + "; the rest is " + expectedText(o) + "."
	}
	return "Sent to " + who + ", " + expectedText(o) + "."
}

func expectedText(o *stock.Order) string {
	if o.Expected == "" {
		return "expected on a day nobody knows"
	}
	return "expected on " + Civil(o.Expected)
}

func orderFacts(o *stock.Order, v *ordersView) Facts {
	out := Facts{{Name: "Supplier", Value: v.supplier(o.Supplier), Href: supplierPath(o.Supplier)}, {Name: "Drafted", Value: Day(o.Drafted.In(v.facts.Shop.Location())), Note: o.DraftedBy}}
	if !o.Sent.IsZero() {
		out = append(out, Fact{Name: "Sent", Value: Day(o.Sent.In(v.facts.Shop.Location()))})
	}
	if o.Note != "" {
		out = append(out, Fact{Name: "Note", Value: o.Note})
	}
	return out
}

func linesTable(c *gin.Context, o *stock.Order, v *ordersView) *Table {
	cur := v.facts.Shop.Currency
	t := &Table{Caption: "Parts of the order", Hidden: true, Columns: []Column{Head("Part"), Figures("Ordered", ""), Figures("Came", ""), Figures("Missing", "")}}
	worth := may(c, workshop.ActReadBalance) || may(c, workshop.ActReceive)
	if worth {
		t.Columns = append(t.Columns, Figures("Expected cost", cur.Code))
		t.Totals = []Total{{Name: "Expected in all", Value: Money(cur, o.Total())}}
	}
	for _, l := range o.Lines {
		r := v.part(l.Part)
		row := Row{Cells: []Cell{{Text: r.Name, Href: stockPartPath(r.ID), Note: cmpOr(r.OrderCode, r.Code)}, {Text: workshop.QuantityWords(l.Quantity, r.Unit)}, {Text: dashZero(l.Received)}, {Text: dashZero(l.Missing())}}}
		if worth {
			row.Cells = append(row.Cells, Cell{Text: Money(cur, l.Cost)})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func receiptsTable(c *gin.Context, all []stock.Receipt, v *ordersView) *Table {
	cur := v.facts.Shop.Currency
	t := &Table{Caption: "What came, newest first", Hidden: true, Columns: []Column{Head("When"), Head("Part"), Figures("Came", ""), Head("Paper")}}
	worth := may(c, workshop.ActReadBalance) || may(c, workshop.ActReceive)
	if worth {
		t.Columns = append(t.Columns, Figures("Cost", cur.Code), Figures("More than ordered", cur.Code), Head("Bill"))
	}
	for i := range all {
		x := &all[i]
		r := v.part(x.Part)
		row := Row{Cells: []Cell{{Text: DayHour(x.At.In(v.facts.Shop.Location())), Note: x.By}, {Text: r.Name, Href: stockPartPath(x.Part)}, {Text: workshop.QuantityWords(x.Quantity, r.Unit)}, {Text: orDash(x.Paper)}}}
		if worth {
			more, bill := "–", "to come"
			if d, ok := x.Difference(); ok && d != 0 {
				more = Money(cur, d)
			}
			if x.Bill != nil {
				bill = Money(cur, x.Bill.Amount)
			}
			row.Cells = append(row.Cells, Cell{Text: Money(cur, x.Cost)}, Cell{Text: more}, Cell{Text: bill})
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// orderForms are what can be done with an order in its state.
func orderForms(c *gin.Context, o *stock.Order, v *ordersView, errs domain.Fields) []StockSection {
	at := orderPath(o.ID)
	end := StockForm{Action: at + "/close", Key: NewKey(), Button: "Close the order", Fields: stockFields("close", errs, TextField("reason", "Why", typedIn(c, at+"/close", "reason")).Need().Limit(120))}
	var out []StockSection
	switch state := o.State(); {
	case state == stock.OrderClosed:
	case state == stock.OrderDraft && may(c, workshop.ActOrder):
		day := domain.Date(typedIn(c, at+"/send", "expected"))
		if i := slices.IndexFunc(v.suppliers, func(x stock.Supplier) bool { return x.ID == o.Supplier }); day == "" && i >= 0 && v.suppliers[i].Days > 0 {
			day = v.facts.Today.AddDays(v.suppliers[i].Days)
		}
		send := StockForm{Action: at + "/send", Key: NewKey(), Now: true, Button: "It went out", Fields: stockFields("send", errs, DateField("expected", "Expected on", day).Hint("Jobs that wait for these parts wait for this day. Leave it empty when nobody knows."))}
		out = append(out, StockSection{Lead: "Send it", Note: "Write or call the supplier yourself; here you note that it went out.", Forms: []StockForm{send}}, StockSection{Lead: "Change the draft", Forms: []StockForm{draftForm(c, o, v, errs)}})
		end.Button = "Throw the draft away"
		out = append(out, StockSection{Lead: "Or drop it", Forms: []StockForm{end}})
	case state != stock.OrderDraft:
		if may(c, workshop.ActReceive) {
			expect := StockForm{Action: at + "/expect", Key: NewKey(), Button: "Change the day", Fields: stockFields("expect", errs, DateField("expected", "Expected on", o.Expected))}
			out = append(out, StockSection{Lead: "It came", Forms: []StockForm{receiveForm(c, o, v, errs)}}, StockSection{Lead: "Another day", Forms: []StockForm{expect}})
		}
		if may(c, workshop.ActOrder) {
			out = append(out, StockSection{Lead: "Close it", Note: "What is missing is then not waited for.", Forms: []StockForm{end}})
		}
	}
	return out
}

func draftForm(c *gin.Context, o *stock.Order, v *ordersView, errs domain.Fields) StockForm {
	cur, at := v.facts.Shop.Currency, orderPath(o.ID)
	form := StockForm{
		Action: at, Key: NewKey(), Button: "Save the draft", Note: "An empty quantity takes a part out.",
		Hidden: []Pair{{Name: "version", Value: strconv.Itoa(o.Version)}, {Name: "supplier", Value: strconv.FormatInt(int64(o.Supplier), 10)}},
	}
	back := c.Request.URL.Path == at && c.Request.Method == http.MethodPost
	for _, l := range o.Lines {
		r := v.part(l.Part)
		quantity, cost := l.Quantity.Units().String(), Money(cur, l.Cost)
		if back {
			quantity, cost = typedIn(c, at, partField(l.Part, "quantity")), typedIn(c, at, partField(l.Part, "cost"))
		}
		form.Fields = append(form.Fields, CountField(partField(l.Part, "quantity"), r.Name, quantity, r.Unit), MoneyField(partField(l.Part, "cost"), "Expected cost of "+r.Name, cost, cur.Code))
	}
	note := o.Note
	if back {
		note = typedIn(c, at, "note")
	}
	form.Fields = append(form.Fields, ChoiceField("part", "One more part", typedIn(c, at, "part"), partOptions(v)), CountField("quantity", "How much of it", typedIn(c, at, "quantity"), ""),
		MoneyField("cost", "Expected cost of it", typedIn(c, at, "cost"), cur.Code), AreaField("note", "Note", note).Limit(400))
	form.Fields = stockFields("draft", errs, form.Fields...)
	return form
}

func receiveForm(c *gin.Context, o *stock.Order, v *ordersView, errs domain.Fields) StockForm {
	cur, at := v.facts.Shop.Currency, orderPath(o.ID)+"/receive"
	form := StockForm{Action: at, Key: NewKey(), Now: true, Button: "Put it on the shelf", Note: "Empty the quantity of what did not come: it stays on order. The cost is of all that came, without tax that you get back."}
	back := c.Request.URL.Path == at
	for _, l := range o.Lines {
		if l.Missing() == 0 {
			continue
		}
		r := v.part(l.Part)
		came, cost := l.Missing().Units().String(), Money(cur, l.CostOf(l.Missing()))
		quantity, paid := fmt.Sprintf("lines[%d].quantity", l.ID), fmt.Sprintf("lines[%d].cost", l.ID)
		if back {
			came, cost = typedIn(c, at, quantity), typedIn(c, at, paid)
		}
		form.Fields = append(form.Fields, CountField(quantity, r.Name, came, r.Unit), MoneyField(paid, "Cost of "+r.Name, cost, cur.Code))
	}
	form.Fields = stockFields("receive", errs, append(form.Fields, TextField("paper", "Delivery note", typedIn(c, at, "paper")).Limit(80))...)
	return form
}

// orderDid answers a form of an order's page.
func (s *Server) orderDid(c *gin.Context, scope, said string, err error) {
	s.answer(c, err, func(f domain.Fields) { s.showOrder(c, http.StatusUnprocessableEntity, inForm(scope, f)) }, said, orderPath(domain.PurchaseID(number(c, "order"))))
}

func (s *Server) changeOrder(c *gin.Context) {
	v := s.openOrders(c)
	if v == nil {
		return
	}
	f := domain.Fields{}
	d := v.draftIn(c, f)
	version, _ := strconv.Atoi(form(c, "version"))
	err := f.Err()
	if err == nil {
		_, err = s.Work.DraftOrder(keyed(c), actor(c), domain.PurchaseID(number(c, "order")), d, version)
	}
	s.orderDid(c, "draft", "The draft is saved.", err)
}

func (s *Server) sendOrder(c *gin.Context) {
	s.orderDid(c, "send", "The order went out.", s.Work.SendOrder(keyed(c), actor(c), domain.PurchaseID(number(c, "order")), domain.Date(form(c, "expected"))))
}

func (s *Server) expectOrder(c *gin.Context) {
	s.orderDid(c, "expect", "The day is changed.", s.Work.ExpectOrder(keyed(c), actor(c), domain.PurchaseID(number(c, "order")), domain.Date(form(c, "expected"))))
}

func (s *Server) closeOrder(c *gin.Context) {
	s.orderDid(c, "close", "The order is closed.", s.Work.CloseOrder(keyed(c), actor(c), domain.PurchaseID(number(c, "order")), form(c, "reason")))
}

func (s *Server) receiveOrder(c *gin.Context) {
	ctx, id := c.Request.Context(), domain.PurchaseID(number(c, "order"))
	o, err := s.Read.PurchaseByID(ctx, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	var came []workshop.Arrived
	for _, l := range o.Lines {
		name := fmt.Sprintf("lines[%d].quantity", l.ID)
		if form(c, name) == "" {
			continue
		}
		a := workshop.Arrived{Line: l.ID, Quantity: quantityIn(f, c, name)}
		if typed := fmt.Sprintf("lines[%d].cost", l.ID); form(c, typed) != "" {
			cost := amountIn(f, c, typed, shop.Currency)
			a.Cost = &cost
		}
		came = append(came, a)
	}
	if err = f.Err(); err == nil {
		err = s.Work.ReceiveOrder(keyed(c), actor(c), id, form(c, "paper"), came)
	}
	s.orderDid(c, "receive", "It is on the shelf.", err)
}

func supplierFields(x stock.Supplier, errs domain.Fields) []Field {
	days := ""
	if x.Days > 0 {
		days = strconv.Itoa(x.Days)
	}
	return stockFields("supplier", errs, TextField("name", "Name", x.Name).Need().Limit(80), AreaField("reach", "How to order there", x.Reach).Limit(400).Hint("Address, phone, your customer number."),
		CountField("days", "Takes as a rule", days, "days"), CheckField("retired", "not ordered from any more", x.Retired))
}

func (s *Server) supplier(c *gin.Context) { s.showSupplier(c, http.StatusOK, nil, nil) }

func (s *Server) showSupplier(c *gin.Context, status int, typed *stock.Supplier, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActRead); err != nil {
		s.fail(c, err)
		return
	}
	x := &stock.Supplier{Name: "New supplier"}
	if id := number(c, "supplier"); id != 0 {
		var err error
		if x, err = s.Read.SupplierByID(c.Request.Context(), domain.SupplierID(id)); err != nil {
			s.fail(c, err)
			return
		}
	}
	p := &StockPage{Page: s.frame(c, x.Name, deskDoor(c)), Ways: []Link{{Href: ordersPath, Text: "Orders and suppliers"}}}
	p.Errors, p.Answer = errs, "Where parts come from, and how long it takes."
	if typed != nil {
		typed.Version = x.Version
		x = typed
	}
	section := StockSection{Lead: "The supplier", Facts: Facts{{Name: "How to order", Value: orDash(x.Reach)}, {Name: "Takes", Value: dashInt(x.Days) + " days"}}}
	if may(c, workshop.ActOrder) {
		section = StockSection{Lead: "The supplier", Forms: []StockForm{{
			Action: supplierPath(x.ID), Key: NewKey(), Now: true, Button: "Save", Hidden: []Pair{{Name: "version", Value: strconv.Itoa(x.Version)}}, Fields: supplierFields(*x, errs),
		}}}
	}
	p.Sections = []StockSection{section}
	s.page(c, status, "stock/show", p)
}

func (s *Server) saveSupplier(c *gin.Context) {
	f := domain.Fields{}
	days := 0
	if typed := form(c, "days"); typed != "" {
		var err error
		if days, err = strconv.Atoi(typed); err != nil {
			f.Add("days", "must be a whole number of days")
		}
	}
	version, _ := strconv.Atoi(form(c, "version"))
	x := stock.Supplier{ID: domain.SupplierID(number(c, "supplier")), Name: form(c, "name"), Reach: form(c, "reach"), Days: days, Retired: form(c, "retired") == "yes", Version: version}
	err := f.Err()
	if err == nil {
		_, err = s.Work.NoteSupplier(keyed(c), actor(c), x)
	}
	s.answer(c, err, func(f domain.Fields) {
		s.showSupplier(c, http.StatusUnprocessableEntity, &x, inForm("supplier", f))
	}, "The supplier is noted.", ordersPath)
}
