package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

const (
	tipsPath    = "/tips"
	counterPath = "/settings/counter"
)

// counterRoutes registers tips, the accounts and store credit of customers and what is charged besides.
func (s *Server) counterRoutes(r *gin.RouterGroup) {
	r.GET(tipsPath, s.showTips)
	r.POST(tipsPath, s.payTips)
	r.GET("/customers/:customer/account", s.showStatement)
	r.POST("/customers/:customer/account", s.grantAccount)
	r.GET("/customers/:customer/store-credit", s.showStoreCredit)
	r.POST("/customers/:customer/store-credit", s.payCreditOut)
	r.GET(counterPath, s.showCounter)
	r.POST(counterPath, s.saveCounter)
}

func (s *Server) showTips(c *gin.Context) { s.tips(c, http.StatusOK, nil) }

// tips shows what is held for the staff and, to who may, a form that pays it out.
func (s *Server) tips(c *gin.Context, status int, errs domain.Fields) {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActTips)
	var shop *workshop.Shop
	if err == nil {
		shop, err = s.Read.ShopSettings(ctx)
	}
	var moves []workshop.TipMove
	if err == nil {
		moves, _, err = s.Read.Tips(ctx, workshop.Page{Limit: 100})
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	var held money.Amount
	if len(moves) > 0 {
		held = moves[0].Balance
	}
	p := &FormPage{Page: s.frame(c, "Tips", domain.Owner), Action: tipsPath, Lead: "What came in and went out", Back: Link{Href: ownerPath, Text: "Owner"}}
	p.Errors, p.Answer = errs, fmt.Sprintf("%s of tips is held for the staff.", shop.Currency.Show(held))
	p.Above = &Table{
		Caption: "Tips, the newest first", Hidden: true, Empty: Empty{Text: "Nobody left a tip yet."},
		Columns: []Column{Head("When"), Head("What"), Head("By"), Figures("Amount", shop.Currency.Code), Figures("Held", shop.Currency.Code)},
	}
	for _, m := range moves {
		what := Cell{Text: "came in, " + string(m.Tender)}
		if m.Amount < 0 {
			what.Text = "to " + m.To + ", " + string(m.Tender)
		} else {
			what.Href = fmt.Sprintf("/payments/%d/receipt.pdf", m.Payment)
		}
		p.Above.Rows = append(p.Above.Rows, Row{Cells: []Cell{
			{Text: DayHour(m.At.In(shop.Location()))}, what, {Text: m.By}, {Text: Money(shop.Currency, m.Amount)}, {Text: Money(shop.Currency, m.Balance)},
		}})
	}
	if held > 0 {
		p.Button = "Pay it out"
		p.Groups = []Group{{Legend: "Pay out", Fields: markAll(errs, []Field{
			MoneyField("amount", "Amount", form(c, "amount"), shop.Currency.Code).Need(), TextField("to", "To whom", form(c, "to")).Need().Limit(80),
			ChoiceField("tender", "With", form(c, "tender"), Options(tendersOfMoney())),
		})}}
		p.Notes = []Caution{{Text: "Tips are not the shop’s income. How they are shared, and whether wage tax is due on them, is for the law of the place."}}
	}
	s.formPage(c, status, p)
}

// tendersOfMoney are the tenders without store credit.
func tendersOfMoney() []billing.Tender {
	var out []billing.Tender
	for _, t := range billing.Tenders() {
		if t != billing.FromCredit {
			out = append(out, t)
		}
	}
	return out
}

func (s *Server) payTips(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	amount := amountIn(f, c, "amount", shop.Currency)
	if err = f.Err(); err == nil {
		err = s.Work.PayTips(keyed(c), actor(c), amount, billing.Tender(form(c, "tender")), form(c, "to"))
	}
	s.answer(c, err, func(x domain.Fields) { s.tips(c, StatusOf(domain.KindOf(err)), x) }, "Paid out.", tipsPath)
}

func (s *Server) showStatement(c *gin.Context) { s.statement(c, http.StatusOK, nil) }

// statement shows what a customer owes, by age, and on what terms.
func (s *Server) statement(c *gin.Context, status int, errs domain.Fields) {
	ctx, id := c.Request.Context(), domain.CustomerID(number(c, "customer"))
	err := workshop.May(actor(c), workshop.ActMoney)
	var shop *workshop.Shop
	if err == nil {
		shop, err = s.Read.ShopSettings(ctx)
	}
	var st *workshop.Statement
	if err == nil {
		st, err = workshop.StatementOf(ctx, s.Read, id, s.now())
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	cur := shop.Currency
	p := &FormPage{Page: s.frame(c, "Account of "+st.Customer.Name, deskDoor(c)), Action: customerPath(id) + "/account", Back: Link{Href: customerPath(id), Text: st.Customer.Name}}
	p.Errors, p.Lead, p.Above = errs, "Open invoices", statementTable(st, cur)
	terms := "There is no account: everything is paid before it leaves."
	if st.Account != nil {
		terms = "On account, " + st.Account.Text(cur) + "."
	}
	p.Answer = fmt.Sprintf("%s is owed on %s; %s is kept as store credit. %s", cur.Show(st.Ages.Sum()), Civil(st.On), cur.Show(st.Credit), terms)
	p.Ways = []Link{{Href: storeCreditPath(id), Text: "Store credit"}}
	if workshop.May(actor(c), workshop.ActTerms) == nil {
		p.Button, p.Groups = "Save the terms", []Group{accountGroup(c, st.Account, cur, errs)}
	}
	s.formPage(c, status, p)
}

func accountGroup(c *gin.Context, a *customer.Account, cur money.Currency, errs domain.Fields) Group {
	on, days, limit := a != nil, customer.UsualDays, money.Amount(0)
	if a != nil {
		days, limit = a.Days, a.Limit
	}
	keep := func(name, value string) string {
		if errs != nil {
			return form(c, name)
		}
		return value
	}
	if errs != nil {
		on = form(c, "account") == "yes"
	}
	return Group{Legend: "Terms", Note: "With an account an instrument may leave unpaid, as long as no more is owed in all than the limit. Interest and reminders follow the law of the place.", Fields: markAll(errs, []Field{
		CheckField("account", "May pay later", on), CountField("account_days", "To pay within", keep("account_days", strconv.Itoa(days)), "days"),
		MoneyField("account_limit", "Not more at once than", keep("account_limit", Money(cur, limit)), cur.Code),
	})}
}

func statementTable(st *workshop.Statement, cur money.Currency) *Table {
	t := &Table{
		Caption: "Open invoices", Hidden: true, Empty: Empty{Text: "No invoice is open."},
		Columns: []Column{Head("Invoice"), Head("Of"), Head("To pay by"), Head("Age"), Figures("Owed", cur.Code)},
	}
	for _, o := range st.Open {
		due := "at once"
		if o.Due != "" {
			due = Civil(o.Due)
		}
		age := billing.AgeNames[billing.AgeOf(o.Late(st.On))]
		if o.Owed < 0 {
			age = "to give back"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(o.Number), Href: fmt.Sprintf("/invoices/%d", o.Invoice)}, {Text: Civil(o.Date)}, {Text: due}, {Text: age}, {Text: Money(cur, o.Owed)},
		}})
	}
	for i, a := range st.Ages {
		if a != 0 {
			t.Totals = append(t.Totals, Total{Name: billing.AgeNames[i], Value: Money(cur, a)})
		}
	}
	if len(st.Open) > 0 {
		t.Totals = append(t.Totals, Total{Name: "Owed in all", Value: Money(cur, st.Ages.Sum())})
	}
	return t
}

func (s *Server) grantAccount(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	id, f := domain.CustomerID(number(c, "customer")), domain.Fields{}
	var a *customer.Account
	if form(c, "account") == "yes" {
		a = &customer.Account{Days: countIn(f, c, "account_days"), Limit: amountIn(f, c, "account_limit", shop.Currency)}
	}
	if err = f.Err(); err == nil {
		err = s.Work.GrantAccount(keyed(c), actor(c), id, a)
	}
	s.answer(c, err, func(x domain.Fields) { s.statement(c, StatusOf(domain.KindOf(err)), x) }, "Saved.", customerPath(id)+"/account")
}

func (s *Server) showCounter(c *gin.Context) { s.counterSettings(c, http.StatusOK, nil) }

// counterSettings asks for the rules of what is charged besides work and parts.
func (s *Server) counterSettings(c *gin.Context, status int, errs domain.Fields) {
	err := workshop.May(actor(c), workshop.ActChangeShop)
	var shop *workshop.Shop
	if err == nil {
		shop, err = s.Read.ShopSettings(c.Request.Context())
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "Charged besides", domain.Owner), Action: counterPath, Button: "Save", Back: Link{Href: "/settings", Text: "Settings"}}
	p.Answer = "Everything here is off at 0. What is set is offered where a quote or a bill is drawn up, and each line is taxed by its kind."
	p.Errors, p.Hidden = errs, []Pair{{Name: "version", Value: strconv.Itoa(shop.Version)}}
	p.Notes = []Caution{{Text: "In many places the law forbids or limits surcharges on cards, storage fees and minimum charges, or asks that they be said beforehand. Check it before you set one."}}
	p.Groups = counterGroups(shop, func(name, value string) string {
		if errs != nil {
			return form(c, name)
		}
		return value
	})
	for i := range p.Groups {
		p.Groups[i].Fields = markAll(errs, p.Groups[i].Fields)
	}
	if clashed(c, errs, shop.Version) {
		p.beside(counterGroups(shop, func(_, value string) string { return value }), shop.Version)
	}
	s.formPage(c, status, p)
}

func counterGroups(shop *workshop.Shop, keep func(name, value string) string) []Group {
	cur, k := shop.Currency, shop.Counter
	share := func(name, label string, d decimal.Decimal) Field {
		return Field{Kind: "text", Name: name, Label: label, Value: keep(name, d.String()), Unit: "%", Keys: "decimal", Width: "short"}
	}
	amount := func(name, label string, a money.Amount) Field {
		return MoneyField(name, label, keep(name, Money(cur, a)), cur.Code)
	}
	var tenders []Field
	for _, t := range tendersOfMoney() {
		if t != billing.Cash {
			tenders = append(tenders, share("surcharge."+string(t), string(t), k.Surcharge(t).Percent))
		}
	}
	return []Group{
		{Legend: "On a quote", Across: true, Fields: []Field{
			share("charges.supplies", "Shop supplies, of labour", k.Charges.Supplies), amount("charges.supplies_cap", "at most", k.Charges.SuppliesCap).Hint("0: no limit"),
			share("charges.rush", "Rush, of labour", k.Charges.Rush).Hint("a price: it shortens no wait"), amount("charges.minimum", "Minimum charge", k.Charges.Minimum),
		}},
		{Legend: "Storage", Note: "Only where it was agreed in writing when the instrument came in, after the customer was told that it is ready.", Across: true, Fields: []Field{
			amount("storage.per_day", "A day", k.Storage.PerDay), CountField("storage.free_days", "after", keep("storage.free_days", strconv.Itoa(k.Storage.FreeDays)), "free days"),
		}},
		{Legend: "Surcharge by tender", Note: "On what is still to be paid, when the customer chooses the tender after being told.", Across: true, Fields: tenders},
	}
}

func (s *Server) saveCounter(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	next := *shop
	next.Counter = workshop.Counter{
		Charges: quote.Charges{
			Rush: shareIn(f, c, "charges.rush", 100), Supplies: shareIn(f, c, "charges.supplies", 100),
			SuppliesCap: amountIn(f, c, "charges.supplies_cap", shop.Currency), Minimum: amountIn(f, c, "charges.minimum", shop.Currency),
		},
		Storage: billing.StorageRule{PerDay: amountIn(f, c, "storage.per_day", shop.Currency), FreeDays: countIn(f, c, "storage.free_days")},
	}
	for _, t := range tendersOfMoney() {
		if d := shareIn(f, c, "surcharge."+string(t), 10); d.Sign() > 0 {
			next.Counter.Surcharges = append(next.Counter.Surcharges, billing.TenderCharge{Tender: t, Percent: d})
		}
	}
	for name, text := range domain.FieldsOf(next.Counter.Check()) {
		f.Add(name, "%s", text)
	}
	next.Version, _ = strconv.Atoi(form(c, "version"))
	if err = f.Err(); err == nil {
		err = s.Work.ChangeShop(keyed(c), actor(c), next)
	}
	s.answer(c, err, func(x domain.Fields) { s.counterSettings(c, StatusOf(domain.KindOf(err)), x) }, "Saved.", counterPath)
}
