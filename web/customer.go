package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// customerRoutes registers customers and their instruments.
func (s *Server) customerRoutes(r *gin.RouterGroup) {
	r.GET("/customers", s.customers)
	r.GET("/customers/new", s.newCustomer)
	r.POST("/customers", s.saveCustomer)
	r.GET("/customers/:customer", s.customer)
	r.GET("/customers/:customer/edit", s.editCustomer)
	r.POST("/customers/:customer/edit", s.saveCustomer)
	r.GET("/instruments/new", s.newInstrument)
	r.POST("/instruments", s.saveInstrument)
	r.GET("/instruments/:instrument", s.instrument)
	r.GET("/instruments/:instrument/edit", s.editInstrument)
	r.POST("/instruments/:instrument/edit", s.saveInstrument)
}

// CustomersPage lists customers.
type CustomersPage struct {
	Page
	Words Field
	Table Table
	Pager Pager
	May   bool
}

func (s *Server) customers(c *gin.Context) {
	words, at := c.Query("q"), pageOf(c, 50)
	rows, total, err := s.Read.Customers(c.Request.Context(), words, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &CustomersPage{
		Page: s.frame(c, "Customers", domain.Counter), Words: TextField("q", "Name, phone or mail", words).Limit(120).Middle(), Table: customerTable(rows),
		Pager: pager(c, at, len(rows), total, "customers"), May: workshop.May(actor(c), workshop.ActCustomer) == nil,
	}
	p.Answer = fmt.Sprintf("%s known.", Plural(total, "customer is", "customers are"))
	if words != "" {
		p.Answer = fmt.Sprintf("%s “%s”.", Plural(total, "customer fits", "customers fit"), words)
	}
	p.Table.Empty = Empty{Text: "Nobody fits. Look with fewer letters."}
	if p.May {
		p.Table.Empty.Do = &Link{Href: "/customers/new", Text: "Add a customer"}
	}
	s.page(c, http.StatusOK, "customer/list", p)
}

// CustomerPage is one customer with their instruments and jobs.
type CustomerPage struct {
	Page
	Who              Person
	Facts            Facts
	Note             string
	Instruments      Table
	Jobs             Table
	May, MayInstr    bool
	MayTake          bool
	Edit, New, Taker string
	Consent          *ConsentForm // to reminders by mail
	Rights           []Link       // what the customer may ask for; for the owner
}

func customerPath(id domain.CustomerID) string     { return fmt.Sprintf("/customers/%d", id) }
func instrumentPath(id domain.InstrumentID) string { return fmt.Sprintf("/instruments/%d", id) }

func (s *Server) customer(c *gin.Context) {
	ctx, id := c.Request.Context(), domain.CustomerID(number(c, "customer"))
	who, err := s.Read.CustomerByID(ctx, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	list, err := s.Read.InstrumentsOf(ctx, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, total, err := s.Read.Jobs(ctx, workshop.JobFilter{Customer: id}, workshop.Page{Limit: 100})
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &CustomerPage{Page: s.frame(c, who.Name, domain.Counter), Who: personOf(who), Note: who.Note, Jobs: s.historyTable(rows, true), Edit: customerPath(id) + "/edit"}
	p.Who.Href = ""
	p.New, p.Taker = fmt.Sprintf("/instruments/new?customer=%d", id), fmt.Sprintf("/arrive?customer=%d", id)
	p.May, p.MayInstr = workshop.May(actor(c), workshop.ActCustomer) == nil, workshop.May(actor(c), workshop.ActInstrument) == nil
	p.MayTake = workshop.May(actor(c), workshop.ActArrive) == nil
	p.Answer = visitAnswer(rows, total)
	p.Facts = Facts{{Name: "Address", Value: who.Address}, {Name: "Customer since", Value: Civil(domain.DateOf(who.Since.In(s.zone.Load())))}}
	erased, err := s.erasedNote(c, id)
	switch {
	case err != nil:
		s.fail(c, err)
		return
	case erased != "":
		p.Note, p.May, p.MayTake = erased, false, false
	case workshop.May(actor(c), workshop.ActErase) == nil:
		p.Rights = []Link{{Href: customerPath(id) + "/everything.zip", Text: "Everything kept on them"}, {Href: customerPath(id) + "/erase", Text: "Erase"}}
	}
	if erased == "" && workshop.May(actor(c), workshop.ActSell) == nil {
		p.Rights = append([]Link{{Href: withCustomer(salesPath+"/new", id), Text: "Sell something"}, {Href: withCustomer(salesPath, id), Text: "What they bought"}}, p.Rights...)
	}
	if workshop.May(actor(c), workshop.ActMoney) == nil {
		p.Rights = append([]Link{{Href: customerPath(id) + "/account", Text: "What they owe"}}, p.Rights...)
	}
	if workshop.May(actor(c), workshop.ActReadBalance) == nil {
		p.Rights = append([]Link{{Href: reportsPath + "/statement?customer=" + strconv.FormatInt(int64(id), 10), Text: "Statement"}}, p.Rights...)
	}
	if p.Consent, err = s.consentForm(c, id, p.May); err != nil {
		s.fail(c, err)
		return
	}
	if who.Exempt != nil {
		p.Facts = append(p.Facts, Fact{Name: "Tax", Value: who.Exempt.Reason, Note: exemptNote(*who.Exempt)})
	}
	if e := who.Electronic; e != nil {
		p.Facts = append(p.Facts, Fact{Name: "Electronic invoices", Value: orElse(e.TaxNumber, e.Country), Note: e.BuyerRef})
	}
	p.Instruments = Table{Caption: "Instruments", Hidden: true, Columns: []Column{Head("Instrument"), Head("Serial"), Head("Known by")}, Empty: Empty{Text: "No instrument is known yet."}}
	for _, in := range list {
		p.Instruments.Rows = append(p.Instruments.Rows, Row{Cells: []Cell{{Text: in.Title(), Href: instrumentPath(in.ID)}, {Text: in.Serial}, {Text: in.Identity}}})
	}
	s.page(c, http.StatusOK, "customer/show", p)
}

// exemptNote says which certificate and for how long it holds.
func exemptNote(e money.Exemption) string {
	text := "certificate " + e.Certificate
	if e.From != "" {
		text += ", from " + Civil(e.From)
	}
	if e.To != "" {
		text += ", until " + Civil(e.To)
	}
	return text
}

// visitAnswer says how often somebody or something was here, and what is in the house.
func visitAnswer(rows []workshop.JobRow, total int) string {
	for _, r := range rows {
		if !r.Stage.Over() {
			return fmt.Sprintf("In the house now: tag %d, %s.", r.Tag, r.Stage)
		}
	}
	if total == 0 {
		return "No visit yet."
	}
	return fmt.Sprintf("%s so far, none in the house now.", Plural(total, "visit", "visits"))
}

func (s *Server) newCustomer(c *gin.Context) {
	s.showCustomerForm(c, http.StatusOK, &customer.Customer{}, nil)
}

func (s *Server) editCustomer(c *gin.Context) {
	who, err := s.Read.CustomerByID(c.Request.Context(), domain.CustomerID(number(c, "customer")))
	if err != nil {
		s.fail(c, err)
		return
	}
	s.showCustomerForm(c, http.StatusOK, who, nil)
}

// next is where a form returns to: a path of ours from the query or the form.
func next(c *gin.Context) string {
	path := c.Query("next")
	if path == "" {
		path = form(c, "next")
	}
	if path == "" {
		return ""
	}
	return OwnPath(path)
}

func (s *Server) showCustomerForm(c *gin.Context, status int, who *customer.Customer, errs domain.Fields) {
	p := &FormPage{Page: s.frame(c, "A new customer", domain.Counter), Action: "/customers", Button: "Keep the customer", Back: Link{Href: "/customers", Text: "Customers"}}
	p.Answer = "A name is enough; a phone number helps on the day it is ready."
	if who.ID != 0 {
		p.Title, p.Action, p.Back = strings.TrimSpace("Change "+who.Name), customerPath(who.ID)+"/edit", Link{Href: customerPath(who.ID), Text: "Back"}
	}
	p.Errors = errs
	p.Hidden = []Pair{{Name: "version", Value: strconv.Itoa(who.Version)}, {Name: "next", Value: next(c)}}
	p.Groups = customerGroups(who, errs)
	if errs != nil && who.ID != 0 {
		now, err := s.Read.CustomerByID(c.Request.Context(), who.ID)
		if err != nil {
			s.fail(c, err)
			return
		}
		if clashed(c, errs, now.Version) {
			p.beside(customerGroups(now, nil), now.Version)
		}
	}
	s.formPage(c, status, p)
}

func customerGroups(who *customer.Customer, errs domain.Fields) []Group {
	ex := money.Exemption{}
	if who.Exempt != nil {
		ex = *who.Exempt
	}
	reasons := []Option{{Value: "", Label: "pays tax like everybody"}, {Value: "exempt", Label: "exempt"}, {Value: "resale", Label: "buys for resale"}}
	return []Group{
		{Legend: "Who", Fields: markAll(errs, []Field{
			TextField("name", "Name", who.Name).Need().Limit(120), PhoneField("phone", "Phone", who.Phone), EmailField("email", "Mail", who.Email),
			ChoiceField("contact", "Likes to be reached by", string(who.Contact), Options(customer.Contacts())).Middle(), AreaField("address", "Address", who.Address), AreaField("note", "Note", who.Note),
		})},
		{Legend: "Tax", Note: "A certificate is looked at on the day of the invoice. What counts as one is for you to check.", Fields: markAll(errs, []Field{
			ChoiceField("exempt.reason", "Tax", ex.Reason, reasons).Middle(), TextField("exempt.certificate", "Certificate", ex.Certificate).Limit(60).Middle(),
			DateField("exempt.from", "From", ex.From), DateField("exempt.to", "Until", ex.To),
		})},
		electronicGroup(who, errs),
	}
}

func (s *Server) saveCustomer(c *gin.Context) {
	version, _ := strconv.Atoi(form(c, "version"))
	who := customer.Customer{
		ID: domain.CustomerID(number(c, "customer")), Name: form(c, "name"), Phone: form(c, "phone"), Email: form(c, "email"), Contact: customer.Contact(form(c, "contact")),
		Address: form(c, "address"), Note: form(c, "note"), Electronic: electronicIn(c), Version: version,
	}
	ex := money.Exemption{Reason: form(c, "exempt.reason"), Certificate: form(c, "exempt.certificate"), From: domain.Date(form(c, "exempt.from")), To: domain.Date(form(c, "exempt.to"))}
	if ex.Reason != "" || ex.Certificate != "" || ex.From != "" || ex.To != "" {
		if who.ID != 0 { // what the form does not ask for stays
			if old, err := s.Read.CustomerByID(c.Request.Context(), who.ID); err == nil && old.Exempt != nil {
				ex.Components, ex.Kinds = old.Exempt.Components, old.Exempt.Kinds
			}
		}
		who.Exempt = &ex
	}
	id, err := s.Work.NoteCustomer(keyed(c), actor(c), who)
	to := customerPath(id)
	if next(c) == arrivePath {
		to = fmt.Sprintf("%s?customer=%d", arrivePath, id)
	}
	s.answer(c, err, func(f domain.Fields) { s.showCustomerForm(c, http.StatusUnprocessableEntity, &who, f) }, who.Name+" is kept.", to)
}

// InstrumentPage is one instrument with its history.
type InstrumentPage struct {
	Page
	Facts      Facts
	Caution    *Caution
	Note       string
	Jobs       Table
	Take, Edit string
	May        bool
	MayTake    bool
}

func (s *Server) instrument(c *gin.Context) {
	ctx, id := c.Request.Context(), domain.InstrumentID(number(c, "instrument"))
	in, err := s.Read.InstrumentByID(ctx, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	who, err := s.Read.CustomerByID(ctx, in.Owner)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, total, err := s.Read.Jobs(ctx, workshop.JobFilter{Instrument: id}, workshop.Page{Limit: 100})
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &InstrumentPage{Page: s.frame(c, in.Title(), domain.Counter), Note: in.Note, Jobs: s.historyTable(rows, false), Edit: instrumentPath(id) + "/edit"}
	p.Take = fmt.Sprintf("%s?customer=%d&instrument=%d", arrivePath, in.Owner, id)
	p.May, p.MayTake = workshop.May(actor(c), workshop.ActInstrument) == nil, workshop.May(actor(c), workshop.ActArrive) == nil
	p.Answer = visitAnswer(rows, total)
	if text := in.Protected(); text != "" {
		p.Caution = &Caution{Text: text}
	}
	p.Facts = Facts{
		{Name: "Owner", Value: who.Name, Href: customerPath(who.ID), Note: who.Phone}, {Name: "Serial", Value: in.Serial}, {Name: "Made", Value: in.Made}, {Name: "Known by", Value: in.Identity},
		{Name: "Top", Value: in.Top.Wood, Note: string(in.Top.Construction)}, {Name: "Back", Value: in.Back.Wood, Note: string(in.Back.Construction)}, {Name: "Sides", Value: in.Sides.Wood, Note: string(in.Sides.Construction)},
		{Name: "Board", Value: in.Board}, {Name: "Binding", Value: in.Binding}, {Name: "Finish", Value: in.Finish}, {Name: "Bracing", Value: in.Bracing},
	}
	s.page(c, http.StatusOK, "customer/instrument", p)
}

func (s *Server) newInstrument(c *gin.Context) {
	owner, _ := strconv.ParseInt(c.Query("customer"), 10, 64)
	s.showInstrumentForm(c, http.StatusOK, &customer.Instrument{Owner: domain.CustomerID(owner), Kind: customer.Kinds()[0]}, nil)
}

func (s *Server) editInstrument(c *gin.Context) {
	in, err := s.Read.InstrumentByID(c.Request.Context(), domain.InstrumentID(number(c, "instrument")))
	if err != nil {
		s.fail(c, err)
		return
	}
	s.showInstrumentForm(c, http.StatusOK, in, nil)
}

func (s *Server) showInstrumentForm(c *gin.Context, status int, in *customer.Instrument, errs domain.Fields) {
	who, err := s.Read.CustomerByID(c.Request.Context(), in.Owner)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "A new instrument", domain.Counter), Action: "/instruments", Button: "Keep the instrument", Back: Link{Href: customerPath(in.Owner), Text: who.Name}}
	p.Answer = "An instrument of " + who.Name + "."
	if in.ID != 0 {
		p.Title, p.Action, p.Back = "Change "+in.Title(), instrumentPath(in.ID)+"/edit", Link{Href: instrumentPath(in.ID), Text: "Back"}
	}
	p.Errors = errs
	p.Hidden = []Pair{{Name: "version", Value: strconv.Itoa(in.Version)}, {Name: "owner", Value: strconv.FormatInt(int64(in.Owner), 10)}, {Name: "next", Value: next(c)}}
	p.Groups = instrumentGroups(in)
	for i := range p.Groups {
		p.Groups[i].Fields = markAll(errs, p.Groups[i].Fields)
	}
	if errs != nil && in.ID != 0 {
		now, err := s.Read.InstrumentByID(c.Request.Context(), in.ID)
		if err != nil {
			s.fail(c, err)
			return
		}
		if clashed(c, errs, now.Version) {
			p.beside(instrumentGroups(now), now.Version)
		}
	}
	s.formPage(c, status, p)
}

func instrumentGroups(in *customer.Instrument) []Group {
	plate := func(name, label string, p customer.Plate) []Field {
		return []Field{
			TextField(name+"_wood", label+", wood", p.Wood).Limit(60).Offer(customer.Woods()), ChoiceField(name+"_construction", label+", built", string(p.Construction), Options(customer.Constructions())),
		}
	}
	plates := append(append(plate("top", "Top", in.Top), plate("back", "Back", in.Back)...), plate("sides", "Sides", in.Sides)...)
	return []Group{
		{Legend: "The instrument", Across: true, Fields: []Field{
			ChoiceField("kind", "Kind", in.Kind, Options(customer.Kinds())).Need(), TextField("maker", "Maker", in.Maker).Limit(80), TextField("model", "Model", in.Model).Limit(80),
			TextField("serial", "Serial", in.Serial).Limit(60), TextField("made", "Made in", in.Made).Limit(20), TextField("identity", "Marks to know it by", in.Identity).Limit(200),
		}},
		{Legend: "Plates", Note: "Laminated plates move far less with the air than solid ones.", Across: true, Fields: plates},
		{Legend: "Rest", Across: true, Fields: []Field{
			TextField("board", "Fingerboard, wood", in.Board).Limit(60).Offer(customer.Woods()), TextField("binding", "Binding", in.Binding).Limit(60).Offer(customer.Bindings()),
			TextField("finish", "Finish", in.Finish).Limit(60).Offer(customer.Finishes()), TextField("bracing", "Bracing", in.Bracing).Limit(60).Offer(customer.Bracings()),
		}},
		{Legend: "Note", Fields: []Field{AreaField("note", "Note", in.Note).Limit(2000)}},
	}
}

func (s *Server) saveInstrument(c *gin.Context) {
	version, _ := strconv.Atoi(form(c, "version"))
	owner, _ := strconv.ParseInt(form(c, "owner"), 10, 64)
	plate := func(name string) customer.Plate {
		return customer.Plate{Wood: form(c, name+"_wood"), Construction: customer.Construction(form(c, name+"_construction"))}
	}
	in := customer.Instrument{
		ID: domain.InstrumentID(number(c, "instrument")), Owner: domain.CustomerID(owner), Kind: form(c, "kind"), Maker: form(c, "maker"), Model: form(c, "model"),
		Serial: form(c, "serial"), Made: form(c, "made"), Identity: form(c, "identity"), Top: plate("top"), Back: plate("back"), Sides: plate("sides"),
		Board: form(c, "board"), Binding: form(c, "binding"), Finish: form(c, "finish"), Bracing: form(c, "bracing"), Note: form(c, "note"), Version: version,
	}
	id, err := s.Work.NoteInstrument(keyed(c), actor(c), in)
	to := instrumentPath(id)
	if next(c) == arrivePath {
		to = fmt.Sprintf("%s?customer=%d&instrument=%d", arrivePath, owner, id)
	}
	s.answer(c, err, func(f domain.Fields) { s.showInstrumentForm(c, http.StatusUnprocessableEntity, &in, f) }, in.Title()+" is kept.", to)
}
