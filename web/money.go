package web

import (
	"errors"
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// moneyRoutes registers the bill, the payments, the invoice, the hand-over and
// what can be printed.
func (s *Server) moneyRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/money", s.showMoney)
	r.POST("/jobs/:job/money/bill", s.issueBill)
	r.POST("/jobs/:job/money/draft", s.draftBill)
	r.POST("/jobs/:job/money/pay", s.takeMoney)
	r.POST("/jobs/:job/money/give-back", s.giveBack)
	r.GET("/invoices/:invoice", s.showInvoice)
	s.creditRoutes(r)
	s.counterRoutes(r)
	s.saleRoutes(r)
	r.GET("/jobs/:job/hand-over", s.showHandOver)
	r.POST("/jobs/:job/hand-over", s.handOver)
	s.paperRoutes(r)
}

// till is the money page on its way: the folder and what was typed.
type till struct {
	*workshop.Folder
	who     domain.Actor
	bill    billing.Options
	billed  typedBill
	pay     typedPay
	back    typedPay
	errs    domain.Fields
	invoice billing.Invoice // the draft
	over    *billing.LimitError
	wrong   error                  // why there is no draft
	payers  []workshop.CustomerRow // who may be meant as another who pays
	payer   *workshop.CustomerRow  // the one of them who is; nil for none
}

// typedBill and typedPay are forms as they were typed.
type (
	typedBill struct {
		discount, reason, note    string
		keep, storage             bool
		payBy, ownPart, reference string
		payer, payerIs            string // words, and the customer chosen of those they fit
	}
	typedPay struct {
		tender, amount, given, reference, tip string
		keepOver, byPayer                     bool
	}
)

func (s *Server) openTill(c *gin.Context) *till {
	f := s.openFolder(c)
	if f == nil {
		return nil
	}
	return &till{Folder: f, who: actor(c), errs: domain.Fields{}}
}

func (s *Server) showMoney(c *gin.Context) {
	if t := s.openTill(c); t != nil {
		s.money(c, http.StatusOK, t)
	}
}

// money draws up the bill while there is none, and writes the page. After a
// conflict it looks again, because somebody else was first.
func (s *Server) money(c *gin.Context, status int, t *till) {
	if status == http.StatusConflict {
		if t.Folder = s.openFolder(c); t.Folder == nil {
			return
		}
	}
	s.drawUp(c, t)
	p := &MoneyPage{Page: s.frame(c, fmt.Sprintf("Money for %s, %s", t.Instrument.Title(), t.Customer.Name), deskDoor(c))}
	p.Errors = t.errs
	t.fill(p)
	s.page(c, status, "money/show", p)
}

func (s *Server) drawUp(c *gin.Context, t *till) {
	if t.Invoice != nil {
		return
	}
	inv, err := s.Work.DraftInvoice(c.Request.Context(), t.who, t.Job.ID, t.bill)
	t.invoice = inv
	if errors.As(err, &t.over) {
		return
	}
	t.wrong = err
	if domain.KindOf(err) == domain.Invalid {
		for name, text := range fieldErrors(err) {
			t.errs.Add(name, "%s", text)
		}
	}
}

// readBill takes the options of the bill out of the form and finds who else pays. It
// answers and returns false when that fails.
func (s *Server) readBill(c *gin.Context, t *till) bool {
	t.billed = typedBill{
		discount: form(c, "discount"), reason: form(c, "reason"), note: form(c, "note"), keep: form(c, "keep") == "yes" || form(c, "do") == "keep", storage: form(c, "storage") == "yes",
		payBy: form(c, "pay_by"), payer: form(c, "payer"), payerIs: form(c, "payer_is"), ownPart: form(c, "own_part"), reference: form(c, "payer_reference"),
	}
	t.bill = billing.Options{
		Discount: typedAmount(t.errs, "discount", t.billed.discount, t.Shop.Currency), Reason: t.billed.reason, Note: t.billed.note, KeepToLimit: t.billed.keep,
		PayBy: billing.Tender(t.billed.payBy), Storage: t.billed.storage, OwnPart: typedAmount(t.errs, "own_part", t.billed.ownPart, t.Shop.Currency), PayerRef: t.billed.reference,
	}
	if err := s.findPayer(c.Request.Context(), t, form(c, "do") == "issue"); err != nil {
		s.fail(c, err)
		return false
	}
	return true
}

// typedAmount reads an amount, "" as 0, and notes in f what is wrong with it.
func typedAmount(f domain.Fields, name, typed string, cur money.Currency) money.Amount {
	if typed == "" {
		return 0
	}
	a, err := cur.Parse(typed)
	f.AddErr(name, err)
	return a
}

// draftBill works the bill out anew and keeps nothing.
func (s *Server) draftBill(c *gin.Context) {
	t := s.openTill(c)
	if t == nil || !s.readBill(c, t) {
		return
	}
	if _, ok := WantsFragment(c); ok {
		s.drawUp(c, t)
		d := t.draft()
		if text := t.payerHint(); text != "" && t.wrong == nil {
			d.Hint = text
		}
		s.fragment(c, http.StatusOK, "money/show", "bill", d)
		return
	}
	s.money(c, http.StatusOK, t)
}

func (s *Server) issueBill(c *gin.Context) {
	t := s.openTill(c)
	if t == nil || !s.readBill(c, t) {
		return
	}
	if form(c, "do") != "issue" || len(t.errs) > 0 {
		status := http.StatusOK
		if len(t.errs) > 0 {
			status = http.StatusUnprocessableEntity
		}
		s.money(c, status, t)
		return
	}
	id, err := s.Work.IssueInvoice(keyed(c), t.who, t.Job.ID, t.bill)
	var over *billing.LimitError
	switch {
	case err == nil:
		s.say(c, "The invoice is issued.")
		Go(c, fmt.Sprintf("/invoices/%d", id))
	case errors.As(err, &over):
		s.money(c, http.StatusConflict, t)
	case domain.KindOf(err) == domain.Invalid:
		s.money(c, http.StatusUnprocessableEntity, t)
	case domain.KindOf(err) == domain.Conflict:
		t.errs.Add("", "%s", domain.TextOf(err))
		s.money(c, http.StatusConflict, t)
	default:
		s.fail(c, err)
	}
}

// readPay takes a payment out of the form whose fields begin with prefix.
func (t *till) readPay(c *gin.Context, prefix string) (typedPay, billing.Payment) {
	typed := typedPay{
		tender: form(c, prefix+"_tender"), amount: form(c, prefix+"_amount"), given: form(c, prefix+"_given"), reference: form(c, prefix+"_reference"),
		tip: form(c, prefix+"_tip"), keepOver: form(c, prefix+"_keep_over") == "yes", byPayer: form(c, prefix+"_by_payer") == "yes",
	}
	cur := t.Shop.Currency
	return typed, billing.Payment{
		Tender: billing.Tender(typed.tender), Amount: typedAmount(t.errs, prefix+"_amount", typed.amount, cur),
		Given: typedAmount(t.errs, prefix+"_given", typed.given, cur), Reference: typed.reference,
		Tip: typedAmount(t.errs, prefix+"_tip", typed.tip, cur), KeepOver: typed.keepOver, ByPayer: typed.byPayer,
	}
}

func (s *Server) takeMoney(c *gin.Context) {
	t := s.openTill(c)
	if t == nil {
		return
	}
	var p billing.Payment
	t.pay, p = t.readPay(c, "pay")
	if len(t.errs) > 0 {
		s.money(c, http.StatusUnprocessableEntity, t)
		return
	}
	id, err := s.Work.TakePayment(keyed(c), t.who, t.Job.ID, p)
	s.afterPay(c, t, id, err, "pay")
}

func (s *Server) giveBack(c *gin.Context) {
	t := s.openTill(c)
	if t == nil {
		return
	}
	var p billing.Payment
	t.back, p = t.readPay(c, "back")
	if len(t.errs) > 0 {
		s.money(c, http.StatusUnprocessableEntity, t)
		return
	}
	id, err := s.Work.GiveBack(keyed(c), t.who, t.Job.ID, p)
	s.afterPay(c, t, id, err, "back")
}

// afterPay says what changed hands. A payment above what is owed comes back to
// its form: the person can put it right there.
func (s *Server) afterPay(c *gin.Context, t *till, id domain.PaymentID, err error, prefix string) {
	var over *billing.OverpaidError
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, s.paidText(c, t, id))
		Go(c, fmt.Sprintf("/jobs/%d/money", t.Job.ID))
	case errors.As(err, &over):
		t.errs.Add(prefix+"_amount", "%s", over.Error())
		s.money(c, http.StatusConflict, t)
	case kind == domain.Invalid || kind == domain.Conflict:
		for name, text := range prefixed(prefix, fieldErrors(err)) {
			t.errs.Add(name, "%s", text)
		}
		s.money(c, StatusOf(kind), t)
	default:
		s.fail(c, err)
	}
}

func (s *Server) paidText(c *gin.Context, t *till, id domain.PaymentID) string {
	p, err := s.Read.PaymentByID(c.Request.Context(), id)
	if err != nil {
		return "The payment is noted."
	}
	show := t.Shop.Currency.Show
	text := fmt.Sprintf("Taken: %s, %s.", show(p.Laid()), p.Label())
	if p.Kept > 0 {
		text += " " + show(p.Kept) + " of it is kept as store credit."
	}
	if p.Tip > 0 {
		text += " " + show(p.Tip) + " of it is for the staff."
	}
	if p.Amount < 0 {
		text = fmt.Sprintf("Given back: %s, %s.", show(-p.Amount), p.Label())
	}
	if p.Change > 0 {
		text += " Change to give: " + show(p.Change) + "."
	}
	return text
}
