package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
)

// creditRoutes registers credit notes and debts that are given up.
func (s *Server) creditRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/credit", s.newCredit)
	r.POST("/jobs/:job/credit", s.issueCredit)
	r.GET("/credit-notes/:note", s.showCredit)
	r.GET("/jobs/:job/write-off", s.newWriteOff)
	r.POST("/jobs/:job/write-off", s.writeOff)
}

// openCredit reads a credit note with its invoice. It answers the request and returns
// no note when that fails.
func (s *Server) openCredit(c *gin.Context) (*billing.Invoice, *billing.CreditNote) {
	id := domain.CreditNoteID(number(c, "note"))
	err := workshop.May(actor(c), workshop.ActRead)
	var inv *billing.Invoice
	if err == nil {
		inv, err = s.Read.InvoiceOfCreditNote(c.Request.Context(), id)
	}
	if err != nil {
		s.fail(c, err)
		return nil, nil
	}
	at := slices.IndexFunc(inv.Credits, func(n billing.CreditNote) bool { return n.ID == id })
	return inv, &inv.Credits[at]
}

// folderOf reads the folder of an invoice's job. It answers the request and returns
// none when that fails.
func (s *Server) folderOf(c *gin.Context, inv *billing.Invoice) *workshop.Folder {
	f, err := workshop.ReadFolder(c.Request.Context(), s.Read, inv.Job, s.now())
	if err != nil {
		s.fail(c, err)
		return nil
	}
	return f
}

func creditPath(id domain.CreditNoteID) string { return fmt.Sprintf("/credit-notes/%d", id) }

func (s *Server) showCredit(c *gin.Context) {
	inv, n := s.openCredit(c)
	if n == nil {
		return
	}
	if inv.Job == 0 {
		s.showSaleCredit(c, inv, n)
		return
	}
	f := s.folderOf(c, inv)
	if f == nil {
		return
	}
	show := inv.Currency.Show
	p := &InvoicePage{Page: s.frame(c, n.Label()+", "+f.Customer.Name, deskDoor(c)), BilledTo: inv.BilledTo, Note: n.Reason}
	p.Folio, p.Answer = fmt.Sprintf("tag %d", f.Job.Tag), fmt.Sprintf("%s of %s is credited. %s", show(n.Totals.Total), inv.Label(), workshop.MoneyAnswer(f))
	p.Lines = creditTable(inv, n)
	p.Facts = Facts{
		{Name: "Date", Value: Civil(n.Date), Note: n.IssuedBy},
		{Name: "Takes back", Value: inv.Label(), Href: fmt.Sprintf("/invoices/%d", inv.ID)},
		{Name: "Job", Value: fmt.Sprintf("tag %d", f.Job.Tag), Href: jobPath(f.Job.ID)},
		{Name: "Due on the invoice", Value: show(f.Balance.Due)},
	}
	p.Ways = []Link{
		{Href: jobPath(f.Job.ID) + "/money", Text: "Payments", Now: f.Balance.Due < 0}, {Href: creditPath(n.ID) + "/paper.pdf", Text: "On paper (PDF)"},
	}
	if f.Shop.Electronic.Country != "" {
		p.Ways = append(p.Ways, Link{Href: creditPath(n.ID) + "/electronic.xml", Text: "Electronic (XML)"})
	}
	s.page(c, http.StatusOK, "money/invoice", p)
}

// creditTable lists the lines of a credit note with its totals.
func creditTable(inv *billing.Invoice, n *billing.CreditNote) Table {
	t := Table{
		Caption: "Lines of the credit note", Hidden: true, Columns: []Column{Head("What"), Head("How much"), Figures("Comes to", inv.Currency.Code)},
		Totals: totalLines(inv.Currency, n.Totals, inv.TaxInside, ""),
	}
	for _, l := range n.Lines {
		of := inv.Lines[l.Place-1]
		t.Rows = append(t.Rows, Line(of.Name, strings.TrimSpace(l.Count.String()+" "+unitOf(of.Unit)), Money(inv.Currency, l.Net)))
	}
	return t
}

func (s *Server) newCredit(c *gin.Context) {
	if f := s.openFolder(c); f != nil {
		s.creditForm(c, http.StatusOK, f, nil)
	}
}

// creditForm asks how much of each line of the invoice is credited.
func (s *Server) creditForm(c *gin.Context, status int, f *workshop.Folder, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActCredit); err != nil {
		s.fail(c, err)
		return
	}
	if f.Invoice == nil {
		s.fail(c, domain.Conflictf("tag %d has no invoice that could be credited", f.Job.Tag))
		return
	}
	inv := f.Invoice
	p := &FormPage{Page: s.frame(c, "Credit "+inv.Label(), deskDoor(c)), Action: jobPath(f.Job.ID) + "/credit", Back: Link{Href: jobPath(f.Job.ID) + "/money", Text: "Money"}}
	p.Folio, p.Errors = fmt.Sprintf("tag %d", f.Job.Tag), errs
	p.Answer = fmt.Sprintf("%s of %s can be credited.", inv.Currency.Show(inv.Totals.Total-inv.CreditedTotal()), inv.Label())
	fields := []Field{}
	for i, left := range inv.Left() {
		if left.Sign() <= 0 {
			continue
		}
		l := inv.Lines[i]
		name := fmt.Sprintf("lines[%d].count", i)
		fields = append(fields, Field{
			Kind: "text", Name: name, Label: l.Name, Value: form(c, name), Unit: unitOf(l.Unit), Keys: "decimal", Width: "short", Help: "at most " + left.String() + "; it came to " + Money(inv.Currency, l.Net),
		})
	}
	if len(fields) > 0 {
		p.Button = "Issue the credit note"
		p.Groups = []Group{
			{Legend: "How much of each line", Note: "Leave a line empty to credit nothing of it. The taxes follow at the invoice’s own rates.", Fields: markAll(errs, fields)},
			{Legend: "All of it", Fields: []Field{CheckField("all", "Credit all that is left, whatever stands above", form(c, "all") == "yes")}},
			{Legend: "Why", Fields: markAll(errs, []Field{TextField("reason", "Reason", form(c, "reason")).Need().Limit(200).Hint("it stands on the paper")})},
		}
		p.Notes = []Caution{{Text: "A credit note has a number of its own and stays. It moves no money: give back what was paid too much afterwards. A part that comes back fit for use is put back on the shelf on the job’s page. What a credit note must say differs from place to place."}}
	}
	s.formPage(c, status, p)
}

func (s *Server) issueCredit(c *gin.Context) {
	f := s.openFolder(c)
	if f == nil {
		return
	}
	errs := domain.Fields{}
	var wanted []billing.Wanted
	var places []int
	if f.Invoice != nil && form(c, "all") != "yes" {
		for i := range f.Invoice.Lines {
			typed := form(c, fmt.Sprintf("lines[%d].count", i))
			if typed == "" {
				continue
			}
			count, err := decimal.NewFromString(strings.Replace(typed, ",", ".", 1))
			if err != nil || len(typed) > 20 {
				errs.Add(fmt.Sprintf("lines[%d].count", i), "must be a number, such as 1 or 0.5")
			}
			wanted, places = append(wanted, billing.Wanted{Place: i + 1, Count: count}), append(places, i)
		}
		if len(wanted) == 0 {
			errs.Add("all", "say how much of which line, or tick all of it")
		}
	}
	err := errs.Err()
	var id domain.CreditNoteID
	if err == nil {
		id, err = s.Work.IssueCreditNote(keyed(c), actor(c), f.Job.ID, wanted, form(c, "reason"))
	}
	s.answer(c, err, func(x domain.Fields) { s.creditForm(c, StatusOf(domain.KindOf(err)), f, onForm(x, places)) }, "The credit note is issued.", creditPath(id))
}

// onForm names wrong quantities by the lines of the invoice, as the form does, instead
// of by their order in what was sent.
func onForm(errs domain.Fields, places []int) domain.Fields {
	out := domain.Fields{}
	for name, text := range errs {
		for i, at := range places {
			if rest, ok := strings.CutPrefix(name, fmt.Sprintf("lines[%d].", i)); ok {
				name = fmt.Sprintf("lines[%d].%s", at, strings.Replace(rest, "place", "count", 1))
				break
			}
		}
		out[name] = text
	}
	return out
}

func (s *Server) newWriteOff(c *gin.Context) {
	if f := s.openFolder(c); f != nil {
		s.writeOffForm(c, http.StatusOK, f, nil)
	}
}

func (s *Server) writeOffForm(c *gin.Context, status int, f *workshop.Folder, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActWriteOff); err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "Give up a debt", deskDoor(c)), Action: jobPath(f.Job.ID) + "/write-off", Back: Link{Href: jobPath(f.Job.ID) + "/money", Text: "Money"}}
	p.Folio, p.Errors = fmt.Sprintf("tag %d", f.Job.Tag), errs
	fillWriteOff(c, p, f.Invoice, f.Balance, f.Customer.Name, errs)
	s.formPage(c, status, p)
}

// fillWriteOff asks why the debt on an invoice is given up; the invoice may be nil.
func fillWriteOff(c *gin.Context, p *FormPage, inv *billing.Invoice, b billing.Balance, who string, errs domain.Fields) {
	p.Answer = "Nothing is owed that could be given up."
	if inv != nil && b.Due > 0 {
		p.Answer = fmt.Sprintf("%s is owed on %s by %s.", inv.Currency.Show(b.Due), inv.Label(), who)
		p.Button = "Give up all of it"
		p.Groups = []Group{{Legend: "Why", Fields: markAll(errs, []Field{
			TextField("reason", "Reason", form(c, "reason")).Need().Limit(200), CheckField("tax", "Take the tax in it back from the authority", form(c, "tax") == "yes"),
		})}}
		p.Notes = []Caution{{Text: "It becomes a loss and cannot be undone. When a debt counts as bad, and whether its tax may be taken back, differs from place to place: ask who does your books."}}
	}
}

func (s *Server) writeOff(c *gin.Context) {
	f := s.openFolder(c)
	if f == nil {
		return
	}
	err := s.Work.WriteOff(keyed(c), actor(c), f.Job.ID, form(c, "tax") == "yes", form(c, "reason"))
	s.answer(c, err, func(x domain.Fields) { s.writeOffForm(c, StatusOf(domain.KindOf(err)), f, x) }, "The debt is given up.", jobPath(f.Job.ID)+"/money")
}
