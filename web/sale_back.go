package web

import (
	"context"
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
)

// saleSettle is a use case that takes money for a sale or gives it back.
type saleSettle func(ctx context.Context, by domain.Actor, id domain.InvoiceID, p billing.Payment) (domain.PaymentID, error)

func (s *Server) newTakeBack(c *gin.Context) {
	if f := s.openSold(c, workshop.ActCredit); f != nil {
		s.takeBackForm(c, http.StatusOK, f, nil)
	}
}

// takeBackForm asks how much of each line comes back, and whether it is fit for sale.
func (s *Server) takeBackForm(c *gin.Context, status int, f *workshop.SaleFile, errs domain.Fields) {
	inv, home := f.Invoice, salePath(f.Invoice.ID)
	p := &FormPage{Page: s.frame(c, "Take back of "+inv.Label(), deskDoor(c)), Action: home + "/take-back", Back: Link{Href: home, Text: "Back to the sale"}}
	p.Folio, p.Errors = fmt.Sprintf("sale %d", inv.Number), errs
	p.Answer = fmt.Sprintf("%s of %s can be credited.", inv.Currency.Show(inv.Totals.Total-inv.CreditedTotal()), inv.Label())
	for i, left := range inv.Left() {
		if left.Sign() <= 0 {
			continue
		}
		l, name := inv.Lines[i], lineField(i, "count")
		fields := []Field{{
			Kind: "text", Name: name, Label: "How much comes back", Value: form(c, name), Unit: unitOf(l.Unit), Keys: "decimal", Width: "short",
			Help: "at most " + left.String() + "; it came to " + Money(inv.Currency, l.Net),
		}}
		if l.Move != 0 {
			fields = append(fields, CheckField(lineField(i, "on_shelf"), "Fit for sale: put it back on the shelf", form(c, lineField(i, "on_shelf")) == "yes"))
		}
		p.Groups = append(p.Groups, Group{Legend: l.Name, Fields: markAll(errs, fields)})
	}
	if len(p.Groups) > 0 {
		p.Button = "Take it back"
		tender := form(c, "tender")
		if errs == nil && len(f.Payments) > 0 {
			tender = string(f.Payments[0].Tender)
		}
		p.Groups = append(p.Groups, Group{Legend: "Why, and the money", Fields: markAll(errs, []Field{
			TextField("reason", "Reason", form(c, "reason")).Need().Limit(200).Hint("it stands on the credit note"),
			ChoiceField("tender", "Money goes back with", tender, waysToPay()),
		})})
		p.Notes = []Caution{{Text: "A credit note has a number of its own and stays. Whether and how long a buyer may give something back, and in what form the money goes back, differs from place to place."}}
	}
	s.formPage(c, status, p)
}

func (s *Server) takeBack(c *gin.Context) {
	f := s.openSold(c, workshop.ActCredit)
	if f == nil {
		return
	}
	errs := domain.Fields{}
	t := workshop.TakenBack{Reason: form(c, "reason"), Tender: billing.Tender(form(c, "tender"))}
	var places []int
	for i := range f.Invoice.Lines {
		if form(c, lineField(i, "count")) == "" {
			continue
		}
		places = append(places, i)
		t.Lines = append(t.Lines, workshop.BackLine{
			Place: i + 1, Count: quantityIn(errs, c, lineField(i, "count")).Units(), OnShelf: form(c, lineField(i, "on_shelf")) == "yes",
		})
	}
	if len(t.Lines) == 0 {
		errs.Add(lineField(firstLeft(f.Invoice), "count"), "say how much of which line comes back")
	}
	err := errs.Err()
	var id domain.CreditNoteID
	if err == nil {
		id, err = s.Work.TakeBack(keyed(c), actor(c), f.Invoice.ID, t)
	}
	s.answer(c, err, func(x domain.Fields) { s.takeBackForm(c, StatusOf(domain.KindOf(err)), f, onForm(x, places)) }, "It is taken back; the credit note is issued.", creditPath(id))
}

// firstLeft is the first line of which something can come back.
func firstLeft(inv *billing.Invoice) int {
	left := inv.Left()
	for i := range left {
		if left[i].Sign() > 0 {
			return i
		}
	}
	return 0
}

func (s *Server) newSaleWriteOff(c *gin.Context) {
	if f := s.openSold(c, workshop.ActWriteOff); f != nil {
		s.saleWriteOffForm(c, http.StatusOK, f, nil)
	}
}

func (s *Server) saleWriteOffForm(c *gin.Context, status int, f *workshop.SaleFile, errs domain.Fields) {
	home := salePath(f.Invoice.ID)
	p := &FormPage{Page: s.frame(c, "Give up a debt", deskDoor(c)), Action: home + "/write-off", Back: Link{Href: home, Text: "Back to the sale"}}
	p.Folio, p.Errors = fmt.Sprintf("sale %d", f.Invoice.Number), errs
	fillWriteOff(c, p, f.Invoice, f.Balance, f.Buyer(), errs)
	s.formPage(c, status, p)
}

func (s *Server) saleWriteOff(c *gin.Context) {
	f := s.openSold(c, workshop.ActWriteOff)
	if f == nil {
		return
	}
	err := s.Work.WriteOffSale(keyed(c), actor(c), f.Invoice.ID, form(c, "tax") == "yes", form(c, "reason"))
	s.answer(c, err, func(x domain.Fields) { s.saleWriteOffForm(c, StatusOf(domain.KindOf(err)), f, x) }, "The debt is given up.", salePath(f.Invoice.ID))
}

// showSaleCredit shows the credit note of a sale.
func (s *Server) showSaleCredit(c *gin.Context, inv *billing.Invoice, n *billing.CreditNote) {
	f := s.readSale(c, inv.ID)
	if f == nil {
		return
	}
	show := inv.Currency.Show
	p := &InvoicePage{Page: s.frame(c, n.Label()+", "+f.Buyer(), deskDoor(c)), BilledTo: cmpOr(inv.BilledTo, f.Buyer()), Note: n.Reason, Lines: creditTable(inv, n)}
	p.Folio, p.Answer = fmt.Sprintf("sale %d", inv.Number), fmt.Sprintf("%s of %s is credited. %s", show(n.Totals.Total), inv.Label(), f.Answer())
	p.Facts = Facts{
		{Name: "Date", Value: Civil(n.Date), Note: n.IssuedBy}, {Name: "Takes back", Value: inv.Label(), Href: salePath(inv.ID)}, {Name: "Due on the invoice", Value: show(f.Balance.Due)},
	}
	p.Ways = []Link{{Href: salePath(inv.ID), Text: "Back to the sale", Now: f.Balance.Due < 0}, {Href: creditPath(n.ID) + "/paper.pdf", Text: "On paper (PDF)"}}
	s.page(c, http.StatusOK, "money/invoice", p)
}
