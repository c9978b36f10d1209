package web

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// storeCreditPath is the page of a customer's store credit.
func storeCreditPath(id domain.CustomerID) string { return customerPath(id) + "/store-credit" }

func (s *Server) showStoreCredit(c *gin.Context) { s.storeCredit(c, http.StatusOK, nil) }

// storeCredit shows what is kept for a customer and, to who may, a form that pays it
// out in money.
func (s *Server) storeCredit(c *gin.Context, status int, errs domain.Fields) {
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
	var moves []workshop.CreditMove
	if err == nil {
		moves, err = s.Read.StoreCreditOf(ctx, id)
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	cur, who := shop.Currency, st.Customer
	p := &FormPage{Page: s.frame(c, "Store credit of "+who.Name, deskDoor(c)), Action: storeCreditPath(id), Lead: "What came in and went out", Back: Link{Href: customerPath(id) + "/account", Text: "What they owe"}}
	p.Errors, p.Above, p.Answer = errs, creditMovesTable(shop, moves), fmt.Sprintf("%s is kept as store credit for %s.", cur.Show(st.Credit), who.Name)
	if st.Credit > 0 && st.Ages.Sum() > 0 {
		p.Answer += fmt.Sprintf(" They owe %s, which it can pay.", cur.Show(st.Ages.Sum()))
	}
	if st.Credit > 0 && workshop.May(actor(c), workshop.ActPayCredit) == nil {
		p.Button, p.Groups = "Pay it out", []Group{payOutGroup(c, who.Name, st.Credit, shop, errs)}
		p.Notes = []Caution{{Text: "Whether and when store credit must be paid out when it is asked for, and whether it may ever run out, is for the law of the place."}}
	}
	s.formPage(c, status, p)
}

func payOutGroup(c *gin.Context, name string, there money.Amount, shop *workshop.Shop, errs domain.Fields) Group {
	cur := shop.Currency
	amount, to := cur.Text(there), name
	if errs != nil {
		amount, to = form(c, "amount"), form(c, "to")
	}
	g := Group{Legend: "Pay out", Fields: markAll(errs, []Field{
		MoneyField("amount", "Amount", amount, cur.Code).Need(), TextField("to", "To whom", to).Need().Limit(80),
		ChoiceField("tender", "With", form(c, "tender"), Options(tendersOfMoney())),
	})}
	if step := shop.Profile.CashStep; step > 1 {
		g.Note = fmt.Sprintf("Cash goes by steps of %s; what is left below that stays, or goes in another way.", cur.Show(step))
	}
	return g
}

// creditMovesTable lists the moves of store credit, the newest first.
func creditMovesTable(shop *workshop.Shop, moves []workshop.CreditMove) *Table {
	cur := shop.Currency
	t := &Table{
		Caption: "Store credit, the newest first", Hidden: true, Empty: Empty{Text: "Nothing was ever kept as store credit."},
		Columns: []Column{Head("When"), Head("What"), Head("By"), Figures("Amount", cur.Code), Figures("Kept", cur.Code)},
	}
	for _, m := range moves {
		what := Cell{Text: "kept", Href: fmt.Sprintf("/payments/%d/receipt.pdf", m.Payment)}
		switch {
		case m.Payment == 0:
			what = Cell{Text: "paid out to " + m.To + ", " + string(m.Tender)}
		case m.Amount < 0:
			what.Text = "spent"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: DayHour(m.At.In(shop.Location()))}, what, {Text: m.By}, {Text: Money(cur, m.Amount)}, {Text: Money(cur, m.Balance)},
		}})
	}
	return t
}

func (s *Server) payCreditOut(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	id, f := domain.CustomerID(number(c, "customer")), domain.Fields{}
	p := billing.PayOut{Amount: amountIn(f, c, "amount", shop.Currency), Tender: billing.Tender(form(c, "tender")), To: form(c, "to")}
	if err = f.Err(); err == nil {
		_, err = s.Work.PayCreditOut(keyed(c), actor(c), id, p)
	}
	s.answer(c, err, func(x domain.Fields) { s.storeCredit(c, StatusOf(domain.KindOf(err)), x) }, "Paid out.", storeCreditPath(id))
}
