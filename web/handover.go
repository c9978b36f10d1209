package web

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// InvoicePage shows one issued invoice.
type InvoicePage struct {
	Page
	Facts    Facts
	BilledTo string
	Lines    Table
	Note     string
	Ways     []Link
}

func (s *Server) showInvoice(c *gin.Context) {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	var inv *billing.Invoice
	if err == nil {
		inv, err = s.Read.InvoiceByID(ctx, domain.InvoiceID(number(c, "invoice")))
	}
	if err != nil {
		s.fail(c, err)
		return
	}
	if inv.Job == 0 {
		c.Redirect(http.StatusSeeOther, salePath(inv.ID))
		return
	}
	f, err := workshop.ReadFolder(ctx, s.Read, inv.Job, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &InvoicePage{Page: s.frame(c, inv.Label()+", "+f.Customer.Name, deskDoor(c))}
	p.Folio, p.Answer = fmt.Sprintf("tag %d", f.Job.Tag), workshop.MoneyAnswer(f)
	fillInvoice(p, inv, f, actor(c))
	s.page(c, http.StatusOK, "money/invoice", p)
}

func fillInvoice(p *InvoicePage, inv *billing.Invoice, f *workshop.Folder, who domain.Actor) {
	show := inv.Currency.Show
	p.BilledTo, p.Note, p.Lines = inv.BilledTo, inv.Note, invoiceTable(inv, inv.Totals)
	p.Facts = Facts{
		{Name: "Date", Value: Civil(inv.Date), Note: inv.IssuedBy},
		{Name: "Job", Value: fmt.Sprintf("tag %d", f.Job.Tag), Href: fmt.Sprintf("/jobs/%d", f.Job.ID)},
		{Name: "Instrument", Value: f.Instrument.Title(), Href: fmt.Sprintf("/instruments/%d", f.Instrument.ID)},
		{Name: "Paid", Value: show(f.Balance.Paid), Note: "of it ahead " + show(f.Balance.Deposits)},
		{Name: "Due", Value: show(f.Balance.Due)},
	}
	p.Facts = append(p.Facts, creditFacts(inv, f.Balance)...)
	if inv.Quote != 0 {
		p.Facts = append(p.Facts, Fact{Name: "Agreed", Value: show(inv.Agreed), Note: "not above " + show(inv.Limit), Href: fmt.Sprintf("/quotes/%d", inv.Quote)})
	}
	owed := f.Balance.Due != 0
	if workshop.May(who, workshop.ActMoney) == nil {
		text := "Payments"
		if owed {
			text = "Take the payment"
		}
		p.Ways = append(p.Ways, Link{Href: fmt.Sprintf("/jobs/%d/money", f.Job.ID), Text: text, Now: owed})
	}
	if f.Balance.OwnDue() == 0 && !f.Stage.Over() && workshop.May(who, workshop.ActHandOver) == nil {
		p.Ways = append(p.Ways, Link{Href: fmt.Sprintf("/jobs/%d/hand-over", f.Job.ID), Text: "Hand it over", Now: true})
	}
	p.Ways = append(p.Ways, Link{Href: fmt.Sprintf("/invoices/%d/paper.pdf", inv.ID), Text: "On paper (PDF)"})
	if f.Shop.Electronic.Country != "" {
		p.Ways = append(p.Ways, Link{Href: fmt.Sprintf("/invoices/%d/electronic.xml", inv.ID), Text: "Electronic (XML)"})
	}
	p.Ways = append(p.Ways, Link{Href: fmt.Sprintf("/jobs/%d", f.Job.ID), Text: "Back to the job"})
}

// HandOverPage lets an instrument go: what to say, what is owed, who takes it.
type HandOverPage struct {
	Page
	Facts    Facts
	Tell     []Told
	Form     *JobForm // nil when it cannot leave
	Unpaid   *Field   // the owner's reason; nil when nothing is owed
	Ways     []Link
	Customer Person
}

// Told is what the customer must hear about one task.
type Told struct {
	Task  string
	Words []string
}

// recheckDays is when a repaired instrument is looked at again. Source: common
// practice, no source.
const recheckDays = 30

func (s *Server) showHandOver(c *gin.Context) {
	if f := s.openFolder(c); f != nil {
		s.leaving(c, http.StatusOK, f, nil)
	}
}

func (s *Server) handOver(c *gin.Context) {
	f := s.openFolder(c)
	if f == nil {
		return
	}
	errs := domain.Fields{}
	h := job.HandOver{
		To: form(c, "to"), TagShown: form(c, "tag_shown") == "yes", Brief: form(c, "brief") == "yes", Recheck: dateIn(errs, c, "recheck"),
		Note: form(c, "note"), Unpaid: form(c, "unpaid"),
	}
	err := errs.Err()
	if err == nil {
		err = s.Work.HandOver(keyed(c), actor(c), f.Job.ID, h)
	}
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, "Handed over to "+h.To+".")
		Go(c, fmt.Sprintf("/jobs/%d", f.Job.ID))
	case kind == domain.Invalid || kind == domain.Conflict:
		s.leaving(c, StatusOf(kind), f, fieldErrors(err))
	default:
		s.fail(c, err)
	}
}

func (s *Server) leaving(c *gin.Context, status int, f *workshop.Folder, errs domain.Fields) {
	p := &HandOverPage{Page: s.frame(c, fmt.Sprintf("Hand over %s, %s", f.Instrument.Title(), f.Customer.Name), deskDoor(c))}
	p.Folio, p.Answer, p.Errors = fmt.Sprintf("tag %d", f.Job.Tag), workshop.LeaveAnswer(f), errs
	var err error
	if p.Tell, err = s.told(c, f.Job); err != nil {
		s.fail(c, err)
		return
	}
	p.Customer = Person{Name: f.Customer.Name, Phone: f.Customer.Phone, Href: fmt.Sprintf("/customers/%d", f.Customer.ID)}
	p.Facts = Facts{
		{Name: "Tag", Value: fmt.Sprint(f.Job.Tag), Note: "compare it with the tag on instrument and case"},
		{Name: "Stands", Value: or(f.Job.Arrival.Rack, "nobody noted where")},
		{Name: "In the case", Value: or(f.Job.Arrival.Contents, "nothing noted")},
		{Name: "To pay", Value: f.Shop.Currency.Show(f.Balance.OwnDue()), Href: fmt.Sprintf("/jobs/%d/money", f.Job.ID)},
	}
	if !f.Stage.Over() && workshop.StaysFor(f) == "" && workshop.May(actor(c), workshop.ActHandOver) == nil {
		p.Form = leaveForm(c, s, f, errs)
		if f.Balance.OwnDue() > 0 && actor(c).Wears(domain.Owner) {
			x := TextField("unpaid", "Why it may leave unpaid", form(c, "unpaid")).Limit(200).Hint("the owner's reason, kept in the diary").Marked(errs)
			p.Unpaid = &x
		}
	}
	p.Ways = []Link{{Href: fmt.Sprintf("/jobs/%d/money", f.Job.ID), Text: "Bill and payments", Now: f.Balance.Due != 0}, {Href: fmt.Sprintf("/jobs/%d", f.Job.ID), Text: "Back to the job"}}
	s.page(c, status, "job/handover", p)
}

func leaveForm(c *gin.Context, s *Server, f *workshop.Folder, errs domain.Fields) *JobForm {
	to, recheck := f.Customer.Name, domain.Date("")
	if !f.Job.Approved.IsZero() {
		recheck = f.Shop.Today(s.now()).AddDays(recheckDays)
	}
	if c.Request.Method == http.MethodPost {
		to, recheck = form(c, "to"), domain.Date(form(c, "recheck"))
	}
	fields := []Field{
		CheckField("tag_shown", fmt.Sprintf("They showed tag %d", f.Job.Tag), form(c, "tag_shown") == "yes"),
		TextField("to", "Who takes it", to).Need().Limit(120).Middle(),
		CheckField("brief", "The care brief was explained and given", form(c, "brief") == "yes"),
		DateField("recheck", "Look at it again on", recheck).Hint("the check after a month; empty for none"),
		TextField("note", "Note", form(c, "note")).Limit(300).Hint("without the tag: how the person proved to be the owner"),
	}
	out := &JobForm{Action: fmt.Sprintf("/jobs/%d/hand-over", f.Job.ID), Key: NewKey(), Button: "Hand it over", Now: f.Balance.Due == 0}
	for _, x := range fields {
		out.Fields = append(out.Fields, x.Marked(errs))
	}
	return out
}

// told gathers what the templates of the finished tasks say to the customer.
func (s *Server) told(c *gin.Context, j *job.Job) ([]Told, error) {
	var out []Told
	for _, t := range j.Tasks {
		if t.Done.IsZero() {
			continue
		}
		e, err := s.Read.EditionOf(c.Request.Context(), t.Template, t.Edition)
		if err != nil {
			return nil, err
		}
		if len(e.Tell) > 0 {
			out = append(out, Told{Task: t.Name, Words: e.Tell})
		}
	}
	return out, nil
}
