package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

const salesPath = "/sales"

// saleRoutes registers what is sold over the counter without a job.
func (s *Server) saleRoutes(r *gin.RouterGroup) {
	r.GET(salesPath, s.sales)
	r.POST(salesPath, s.sell)
	r.GET(salesPath+"/new", s.newSale)
	r.POST(salesPath+"/draft", s.draftSale)
	r.GET(salesPath+"/:invoice", s.showSale)
	r.POST(salesPath+"/:invoice/pay", s.paySale)
	r.POST(salesPath+"/:invoice/give-back", s.giveBackSale)
	r.GET(salesPath+"/:invoice/take-back", s.newTakeBack)
	r.POST(salesPath+"/:invoice/take-back", s.takeBack)
	r.GET(salesPath+"/:invoice/write-off", s.newSaleWriteOff)
	r.POST(salesPath+"/:invoice/write-off", s.saleWriteOff)
}

func salePath(id domain.InvoiceID) string { return fmt.Sprintf("%s/%d", salesPath, id) }

// sales lists what was sold, newest first.
func (s *Server) sales(c *gin.Context) {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	var shop *workshop.Shop
	if err == nil {
		shop, err = s.Read.ShopSettings(ctx)
	}
	at, who := pageOf(c, 50), domain.CustomerID(queryID(c, "customer"))
	var rows []workshop.InvoiceRow
	var total int
	if err == nil {
		rows, total, err = s.Read.Sales(ctx, who, at)
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	cur := shop.Currency
	p := &ListPage{Page: s.frame(c, "Sales", deskDoor(c)), Pager: pager(c, at, len(rows), total, "sales")}
	p.Answer = fmt.Sprintf("%s over the counter so far.", Plural(total, "sale", "sales"))
	if who != 0 {
		buyer, err := s.Read.CustomerByID(ctx, who)
		if err != nil {
			s.fail(c, err)
			return
		}
		p.Answer = fmt.Sprintf("%s over the counter to %s.", Plural(total, "sale", "sales"), buyer.Name)
		p.Ways = []Link{{Href: customerPath(who), Text: buyer.Name}}
	}
	p.Table = Table{
		Caption: "Sales over the counter", Hidden: true, Empty: Empty{Text: "Nothing was sold over the counter yet."},
		Columns: []Column{Head("Invoice"), Head("Date"), Head("To"), Figures("Total", cur.Code), Figures("Open", cur.Code)},
	}
	for _, r := range rows {
		p.Table.Rows = append(p.Table.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Number), Href: salePath(r.ID)}, {Text: Civil(r.Date)}, {Text: orDash(r.Name)}, {Text: Money(cur, r.Total)}, {Text: Money(cur, r.Due())},
		}})
	}
	if may(c, workshop.ActSell) {
		p.Ways = append([]Link{{Href: withCustomer(salesPath+"/new", who), Text: "Sell something", Now: true}}, p.Ways...)
	}
	s.page(c, http.StatusOK, "owner/list", p)
}

// withCustomer is a path that is about a customer, if there is one.
func withCustomer(path string, who domain.CustomerID) string {
	if who == 0 {
		return path
	}
	return fmt.Sprintf("%s?customer=%d", path, who)
}

// SalePage asks what is sold and what is laid down for it.
type SalePage struct {
	Page
	Action, Live string
	Hidden       []Pair
	Lines        []Group
	Sum          SaleSum
	Money        Group
	More         SaleMore
	Back         Link
}

// SaleMore is what most sales go without.
type SaleMore struct {
	Open   bool // something of it is filled in, or wrong
	Groups []Group
}

// SaleSum is what a sale comes to as it stands.
type SaleSum struct {
	Lines Table
	Facts Facts
	Why   string // why there is no sum yet; "" when there is
}

// sale is a sale on its way through a request: what was typed and what it comes to.
type sale struct {
	c     *gin.Context
	shop  *workshop.Shop
	shelf []workshop.ShelfRow
	rows  int   // of parts on the form
	place []int // of each line of the sale on the form
	errs  domain.Fields
	sold  workshop.CounterSale
	draft billing.Invoice
}

const (
	leastSaleRows = 3 // that the form shows empty at first
	mostSaleRows  = 40
	besides       = mostSaleRows // the row of what is not on the list
)

func lineField(i int, name string) string    { return fmt.Sprintf("lines[%d].%s", i, name) }
func paymentField(i int, name string) string { return fmt.Sprintf("payments[%d].%s", i, name) }

func (s *Server) openSale(c *gin.Context) *sale {
	err := workshop.May(actor(c), workshop.ActSell)
	v := &sale{c: c, errs: domain.Fields{}}
	if err == nil {
		v.shop, err = s.Read.ShopSettings(c.Request.Context())
	}
	if err == nil {
		v.shelf, err = s.Read.ShelfRows(c.Request.Context())
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	// What the shop uses up itself is not for sale.
	v.shelf = slices.DeleteFunc(v.shelf, func(r workshop.ShelfRow) bool { return r.Retired || r.Kind == money.ShopSupplies })
	v.read()
	return v
}

// read takes the sale out of the form. Rows without an answer are left out, and the
// places of what is left are those on the form.
func (v *sale) read() {
	c := v.c
	v.sold.Customer = domain.CustomerID(queryID(c, "customer"))
	if typed := form(c, "customer"); typed != "" {
		v.sold.Customer = domain.CustomerID(idIn(v.errs, c, "customer"))
	}
	for i := range besides + 1 {
		if form(c, lineField(i, "part"))+form(c, lineField(i, "name"))+form(c, lineField(i, "count"))+form(c, lineField(i, "price")) == "" {
			continue
		}
		v.place, v.sold.Lines = append(v.place, i), append(v.sold.Lines, v.line(i))
		if i < besides {
			v.rows = i + 3
		}
	}
	v.rows = min(max(leastSaleRows, v.rows), mostSaleRows)
	v.sold.Discount = typedAmount(v.errs, "discount", form(c, "discount"), v.shop.Currency)
	v.sold.Reason, v.sold.Note, v.sold.PayBy = form(c, "reason"), form(c, "note"), billing.Tender(form(c, "pay_by"))
	for i := range 2 {
		tender := form(c, paymentField(i, "tender"))
		if tender == "" {
			continue
		}
		cur := v.shop.Currency
		v.sold.Payments = append(v.sold.Payments, billing.Payment{
			Tender: billing.Tender(tender), Amount: typedAmount(v.errs, paymentField(i, "amount"), form(c, paymentField(i, "amount")), cur),
			Given: typedAmount(v.errs, paymentField(i, "given"), form(c, paymentField(i, "given")), cur), Reference: form(c, paymentField(i, "reference")),
			Tip: typedAmount(v.errs, paymentField(i, "tip"), form(c, paymentField(i, "tip")), cur),
		})
	}
}

func queryID(c *gin.Context, name string) int64 {
	id, err := strconv.ParseInt(c.Query(name), 10, 64)
	if err != nil || id < 0 {
		return 0
	}
	return id
}

func (v *sale) line(i int) billing.SaleLine {
	c := v.c
	l := billing.SaleLine{Name: form(c, lineField(i, "name")), Count: decimal.NewFromInt(1)}
	if form(c, lineField(i, "part")) != "" {
		l.Part = domain.PartID(idIn(v.errs, c, lineField(i, "part")))
	}
	if l.Part == 0 && i < besides {
		v.errs.Add(lineField(i, "part"), "choose what is sold, or leave the row empty")
	}
	if form(c, lineField(i, "count")) != "" {
		l.Count = quantityIn(v.errs, c, lineField(i, "count")).Units()
	}
	if typed := form(c, lineField(i, "price")); typed != "" {
		price := typedAmount(v.errs, lineField(i, "price"), typed, v.shop.Currency)
		l.Price = &price
	}
	return l
}

// workOut draws the sale up, unless nothing stands on it yet. What is laid down is
// looked at when it is sold.
func (s *Server) workOut(v *sale) {
	if len(v.sold.Lines) == 0 || len(v.errs) > 0 {
		return
	}
	var err error
	v.draft, _, err = s.Work.DraftSale(v.c.Request.Context(), actor(v.c), workshop.CounterSale{Sale: v.sold.Sale})
	for name, text := range fieldErrors(err) {
		v.errs.Add(v.onForm(name), "%s", text)
	}
}

func (v *sale) sum() SaleSum {
	cur := v.shop.Currency
	switch {
	case len(v.sold.Lines) == 0:
		return SaleSum{Why: "Nothing stands on it yet."}
	case len(v.errs) > 0 && v.draft.Totals.Total == 0:
		out := SaleSum{Why: "Before there is a sum:"}
		for _, x := range Problems(v.errs) {
			out.Why += " " + strings.ToLower(x.Label) + " " + x.Text + "."
		}
		return out
	}
	out := SaleSum{Lines: invoiceTable(&v.draft, v.draft.Totals)}
	b := billing.BalanceOf(&v.draft, nil, v.shop.Coin())
	out.Facts = Facts{{Name: "To pay", Value: cur.Show(b.Due)}}
	if b.CashDue != b.Due {
		out.Facts = append(out.Facts, Fact{Name: "In cash", Value: cur.Show(b.CashDue)})
	}
	if change := v.change(b.CashDue); change > 0 {
		out.Facts = append(out.Facts, Fact{Name: "Change", Value: cur.Show(change)})
	}
	return out
}

// change is what goes back when all is paid with the cash on the counter.
func (v *sale) change(due money.Amount) money.Amount {
	if len(v.sold.Payments) != 1 || v.sold.Payments[0].Tender != billing.Cash || v.sold.Payments[0].Amount != 0 {
		return 0
	}
	return v.sold.Payments[0].Given - v.sold.Payments[0].Tip - due
}

func (s *Server) newSale(c *gin.Context) {
	if v := s.openSale(c); v != nil {
		s.saleForm(c, http.StatusOK, v)
	}
}

func (s *Server) saleForm(c *gin.Context, status int, v *sale) {
	p := &SalePage{Page: s.frame(c, "Sell over the counter", deskDoor(c)), Action: salesPath, Live: salesPath + "/draft", Back: Link{Href: salesPath, Text: "Sales"}}
	p.Errors = v.errs
	p.Answer = "For what is taken along without a job. Without a name it is paid at once."
	if v.sold.Customer != 0 {
		who, err := s.Read.CustomerByID(c.Request.Context(), v.sold.Customer)
		if err != nil {
			s.fail(c, err)
			return
		}
		p.Answer = "For " + who.Name + "."
		p.Hidden, p.Back = []Pair{{Name: "customer", Value: strconv.FormatInt(int64(who.ID), 10)}}, Link{Href: customerPath(who.ID), Text: "Back to " + who.Name}
	}
	p.Lines, p.Money, p.More, p.Sum = v.lineGroups(), v.moneyGroup(), v.more(), v.sum()
	s.page(c, status, "sale/new", p)
}

func (v *sale) lineGroups() []Group {
	options := v.parts()
	var out []Group
	for i := range v.rows {
		out = append(out, Group{Legend: fmt.Sprintf("Line %d", i+1), Across: true, Fields: v.lineFields(i, fmt.Sprintf("line %d", i+1), ChoiceField(lineField(i, "part"), "Part", form(v.c, lineField(i, "part")), options))})
	}
	out[0].Note = "How much may stay empty for 1, and the price for that of the list."
	name := TextField(lineField(besides, "name"), "What it is", form(v.c, lineField(besides, "name"))).Limit(120)
	return append(out, Group{Legend: "Not on the list", Across: true, Fields: v.lineFields(besides, "not on the list", name)})
}

// lineFields ask what is sold, how much of it, and for how much.
func (v *sale) lineFields(i int, of string, what Field) []Field {
	keep := func(name string) string { return form(v.c, lineField(i, name)) }
	fields := []Field{what, CountField(lineField(i, "count"), "How much", keep("count"), ""), MoneyField(lineField(i, "price"), "Price of one", keep("price"), v.shop.Currency.Code)}
	for k := range fields {
		fields[k].Of = of
	}
	return markAll(v.errs, fields)
}

// parts offers goods first, then what is fitted, each with its price and what is free.
func (v *sale) parts() []Option {
	out := []Option{{Value: "", Label: "none"}}
	rows := slices.Clone(v.shelf)
	slices.SortStableFunc(rows, func(a, b workshop.ShelfRow) int {
		return saleRank(a.Kind) - saleRank(b.Kind)
	})
	for _, r := range rows {
		label := r.Name + ", " + priceOf(v.shop.Currency, r.Part)
		if r.Kept {
			label += ", " + max(r.Level.Free(), 0).Units().String() + " free"
		}
		out = append(out, Option{Value: strconv.FormatInt(int64(r.ID), 10), Label: label})
	}
	return out
}

// priceOf is what one of a part costs.
func priceOf(c money.Currency, p stock.Part) string {
	switch {
	case p.Price == 0:
		return "no price"
	case p.Unit == "each":
		return c.Show(p.Price) + " each"
	}
	return c.Show(p.Price) + " per " + p.Unit
}

func saleRank(k money.LineKind) int {
	if k == money.RetailGoods {
		return 0
	}
	return 1
}

// moneyGroup asks what is laid down.
func (v *sale) moneyGroup() Group {
	c, cur := v.c, v.shop.Currency
	keep := func(name string) string { return form(c, paymentField(0, name)) }
	with := keep("tender")
	if with == "" && c.Request.Method == http.MethodGet {
		with = string(billing.Cash)
	}
	return Group{Legend: "Money", Across: true, Fields: markAll(v.errs, []Field{
		ChoiceField(paymentField(0, "tender"), "With", with, waysToPay()),
		MoneyField(paymentField(0, "amount"), "Amount", keep("amount"), cur.Code).Hint("empty: all of it"),
		MoneyField(paymentField(0, "given"), "Cash on the counter", keep("given"), cur.Code).Hint("the change is reckoned"),
		TextField(paymentField(0, "reference"), "Reference", keep("reference")).Limit(80).Middle(), MoneyField(paymentField(0, "tip"), "Tip for the staff", keep("tip"), cur.Code),
	})}
}

func waysToPay() []Option {
	return append([]Option{{Value: "", Label: "nothing now"}}, Options(billing.Tenders())...)
}

func (v *sale) more() SaleMore {
	c, cur := v.c, v.shop.Currency
	keep := func(name string) string { return form(c, paymentField(1, name)) }
	discount := []Field{
		MoneyField("discount", "Off the whole", form(c, "discount"), cur.Code), TextField("reason", "Why", form(c, "reason")).Limit(120).Middle().Hint("needed with a discount, or a price below the list"),
		TextField("note", "Note on the invoice", form(c, "note")).Limit(200).Middle(),
	}
	if f, ok := surchargeField(v.shop, form(c, "pay_by")); ok {
		discount = append(discount, f)
	}
	rest := []Field{
		ChoiceField(paymentField(1, "tender"), "With", keep("tender"), waysToPay()),
		MoneyField(paymentField(1, "given"), "Cash on the counter", keep("given"), cur.Code), TextField(paymentField(1, "reference"), "Reference", keep("reference")).Limit(80).Middle(),
	}
	for i := range rest {
		rest[i].Of = "the rest"
	}
	out := SaleMore{Groups: []Group{
		{Legend: "Terms", Across: true, Fields: markAll(v.errs, discount)},
		{Legend: "The rest", Note: "When it is paid in two ways.", Across: true, Fields: markAll(v.errs, rest)},
	}}
	for _, f := range append(discount, rest...) {
		out.Open = out.Open || f.Value != "" || v.errs[f.Name] != ""
	}
	return out
}

// draftSale works the sale out anew and keeps nothing.
func (s *Server) draftSale(c *gin.Context) {
	v := s.openSale(c)
	if v == nil {
		return
	}
	s.workOut(v)
	if _, ok := WantsFragment(c); ok {
		s.fragment(c, http.StatusOK, "sale/new", "sum", v.sum())
		return
	}
	s.saleForm(c, http.StatusOK, v)
}

func (s *Server) sell(c *gin.Context) {
	v := s.openSale(c)
	if v == nil {
		return
	}
	if form(c, "do") != "sell" {
		s.workOut(v)
		s.saleForm(c, http.StatusOK, v)
		return
	}
	err := v.errs.Err()
	var id domain.InvoiceID
	if err == nil {
		id, err = s.Work.Sell(keyed(c), actor(c), v.sold)
	}
	s.answer(c, err, func(x domain.Fields) {
		s.workOut(v)
		for name, text := range x {
			v.errs.Add(v.onForm(name), "%s", text)
		}
		s.saleForm(c, StatusOf(domain.KindOf(err)), v)
	}, "Sold.", salePath(id))
}

// onForm names the field of the form that a wrong field of the sale stands in: empty
// rows are no lines of the sale, and when only the second way to pay was chosen, its
// answers are the first payment.
func (v *sale) onForm(name string) string {
	if name == "lines" {
		return lineField(0, "part")
	}
	if name == "payments" {
		return paymentField(0, "amount")
	}
	for i, at := range v.place {
		if rest, is := strings.CutPrefix(name, lineField(i, "")); is {
			return lineField(at, rest)
		}
	}
	second := form(v.c, paymentField(0, "tender")) == ""
	if rest, is := strings.CutPrefix(name, paymentField(0, "")); is && second {
		name = paymentField(1, rest)
	}
	if name == paymentField(1, "amount") {
		return paymentField(1, "given")
	}
	return name
}

// SoldPage shows what was sold.
type SoldPage struct {
	Page
	Lines    Table
	Note     string
	Ways     []Link
	Forms    []SaleMoney
	Payments Table
	Facts    Facts
}

// SaleMoney takes money for a sale or gives it back.
type SaleMoney struct {
	Lead, Note, Action, Key string
	Fields                  []Field
	Button                  string
	Now                     bool
}

// openSold reads a sale for who may do a. It answers the request and returns nil when
// that fails.
func (s *Server) openSold(c *gin.Context, a workshop.Action) *workshop.SaleFile {
	err := workshop.May(actor(c), a)
	var f *workshop.SaleFile
	if err == nil {
		f, err = workshop.ReadSale(c.Request.Context(), s.Read, domain.InvoiceID(number(c, "invoice")))
	}
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return f
}

func (s *Server) showSale(c *gin.Context) {
	if f := s.openSold(c, workshop.ActRead); f != nil {
		s.sold(c, http.StatusOK, f, nil)
	}
}

func (s *Server) sold(c *gin.Context, status int, f *workshop.SaleFile, errs domain.Fields) {
	inv := f.Invoice
	p := &SoldPage{Page: s.frame(c, inv.Label()+", "+f.Buyer(), deskDoor(c)), Note: inv.Note, Lines: invoiceTable(inv, inv.Totals), Payments: paymentTable(f.Shop, f.Payments, f.Balance)}
	p.Folio, p.Answer, p.Errors = fmt.Sprintf("sale %d", inv.Number), f.Answer(), errs
	p.Lines.Caption = "What was sold"
	p.Facts = soldFacts(f)
	p.Forms = soldForms(c, f, errs)
	p.Ways = soldWays(c, f)
	s.page(c, status, "sale/show", p)
}

func soldFacts(f *workshop.SaleFile) Facts {
	inv, b := f.Invoice, f.Balance
	out := Facts{{Name: "Date", Value: Civil(inv.Date), Note: inv.IssuedBy}}
	if f.Customer != nil {
		out = append(out, Fact{Name: "Customer", Value: f.Customer.Name, Href: customerPath(f.Customer.ID)})
	}
	out = append(out, creditFacts(inv, b)...)
	return append(out, Fact{Name: "Due", Value: inv.Currency.Show(b.Due)})
}

func soldWays(c *gin.Context, f *workshop.SaleFile) []Link {
	inv, home := f.Invoice, salePath(f.Invoice.ID)
	out := []Link{{Href: fmt.Sprintf("/invoices/%d/paper.pdf", inv.ID), Text: "Invoice (PDF)"}}
	if f.Shop.Electronic.Country != "" && f.Customer != nil {
		out = append(out, Link{Href: fmt.Sprintf("/invoices/%d/electronic.xml", inv.ID), Text: "Electronic (XML)"})
	}
	if may(c, workshop.ActCredit) && f.Balance.Credited < f.Balance.Total && inv.WriteOff == nil {
		out = append(out, Link{Href: home + "/take-back", Text: "Take something back"})
	}
	if may(c, workshop.ActWriteOff) && f.Balance.Due > 0 {
		out = append(out, Link{Href: home + "/write-off", Text: "Give up the debt"})
	}
	if may(c, workshop.ActSell) {
		out = append(out, Link{Href: salesPath + "/new", Text: "Sell something else"})
	}
	return append(out, Link{Href: salesPath, Text: "Sales"})
}

// soldForms take what is owed, or give back what the shop owes.
func soldForms(c *gin.Context, f *workshop.SaleFile, errs domain.Fields) []SaleMoney {
	cur, due, home := f.Shop.Currency, f.Balance.Due, salePath(f.Invoice.ID)
	ask := func(amount money.Amount) []Field {
		typed := cur.Text(amount)
		if errs != nil {
			typed = form(c, "amount")
		}
		return markAll(errs, []Field{
			ChoiceField("tender", "With", form(c, "tender"), Options(billing.Tenders())), MoneyField("amount", "Amount", typed, cur.Code).Need(),
			TextField("reference", "Reference", form(c, "reference")).Limit(80).Middle(),
		})
	}
	switch {
	case due > 0 && may(c, workshop.ActMoney):
		fields := append(ask(due), markAll(errs, []Field{MoneyField("given", "Cash on the counter", form(c, "given"), cur.Code).Hint("cash only; the change is reckoned")})...)
		return []SaleMoney{{Lead: "Take money", Action: home + "/pay", Key: NewKey(), Fields: fields, Button: "Take the payment", Now: true}}
	case f.Balance.WrittenOff > 0 && may(c, workshop.ActMoney):
		return []SaleMoney{{Lead: "Take what comes in after all", Note: cur.Show(f.Balance.WrittenOff) + " was given up. " + afterAll, Action: home + "/pay", Key: NewKey(), Fields: ask(0), Button: "Take it"}}
	case due < 0 && may(c, workshop.ActRefund):
		return []SaleMoney{{Lead: "Give back", Action: home + "/give-back", Key: NewKey(), Fields: ask(-due), Button: "Give it back", Now: true}}
	}
	return nil
}

func (s *Server) paySale(c *gin.Context) {
	s.saleMoney(c, workshop.ActMoney, s.Work.PaySale, "The payment is noted.")
}

func (s *Server) giveBackSale(c *gin.Context) {
	s.saleMoney(c, workshop.ActRefund, s.Work.GiveBackSale, "It is given back.")
}

func (s *Server) saleMoney(c *gin.Context, a workshop.Action, do saleSettle, said string) {
	f := s.openSold(c, a)
	if f == nil {
		return
	}
	errs := domain.Fields{}
	p := billing.Payment{
		Tender: billing.Tender(form(c, "tender")), Amount: amountIn(errs, c, "amount", f.Shop.Currency), Reference: form(c, "reference"),
		Given: typedAmount(errs, "given", form(c, "given"), f.Shop.Currency),
	}
	err := errs.Err()
	if err == nil {
		_, err = do(keyed(c), actor(c), f.Invoice.ID, p)
	}
	s.answer(c, err, func(x domain.Fields) {
		if f = s.openSold(c, a); f != nil { // somebody else may have been first
			s.sold(c, StatusOf(domain.KindOf(err)), f, x)
		}
	}, said, salePath(f.Invoice.ID))
}
