package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// arrivalRoutes registers the way in: whose, which, and what for.
func (s *Server) arrivalRoutes(r *gin.RouterGroup) {
	r.GET("/arrive", s.arrive)
	r.POST("/arrive", s.takeIn)
}

const arrivePath = "/arrive"

// pastShown is how many earlier visits stand beside the arrival form.
const pastShown = 5

// markRows is how many condition marks the form asks for at once.
const markRows = 4

// WhosePage finds the customer of an arrival.
type WhosePage struct {
	Page
	Words   Field
	Found   Table
	Looked  bool
	NewHref string
}

// WhichPage chooses one of the customer's instruments.
type WhichPage struct {
	Page
	Customer Person
	Found    Table
	NewHref  string
	Back     string
}

// ArrivePage asks what an instrument comes in for.
type ArrivePage struct {
	Page
	Customer   Person
	Instrument Fact
	Caution    *Caution
	Past       *Table // what was done on it before; nil when it was never here
	Hidden     []Pair
	Groups     []Group
	Marks      []Group
	Agreed     Group // asked last, for the customer looks at the marks first
	Back       string
}

func (s *Server) arrive(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActArrive); err != nil {
		s.fail(c, err)
		return
	}
	who, err := strconv.ParseInt(c.Query("customer"), 10, 64)
	if err != nil {
		s.whose(c)
		return
	}
	which, err := strconv.ParseInt(c.Query("instrument"), 10, 64)
	if err != nil {
		s.which(c, domain.CustomerID(who))
		return
	}
	s.showArrive(c, http.StatusOK, domain.InstrumentID(which), nil)
}

func (s *Server) whose(c *gin.Context) {
	words := c.Query("q")
	p := &WhosePage{Page: s.frame(c, "Take an instrument in", domain.Counter), NewHref: "/customers/new?next=" + url.QueryEscape(arrivePath), Looked: words != ""}
	p.Answer = "Whose instrument is it?"
	p.Words = TextField("q", "Name, phone or mail", words).Limit(120).Middle()
	p.Found = Table{Caption: "Customers", Hidden: true, Columns: []Column{Head("Name"), Head("Phone"), Head("Mail"), Figures("Instruments", "")},
		Empty: Empty{Text: "Nobody of that name or number. Add them.", Do: &Link{Href: p.NewHref, Text: "Somebody new", Now: true}}}
	if words != "" {
		rows, _, err := s.Read.Customers(c.Request.Context(), words, workshop.Page{Limit: 30})
		if err != nil {
			s.fail(c, err)
			return
		}
		for _, r := range rows {
			p.Found.Rows = append(p.Found.Rows, Row{Cells: []Cell{
				{Text: r.Name, Href: fmt.Sprintf("%s?customer=%d", arrivePath, r.ID)}, {Text: r.Phone}, {Text: r.Email}, {Text: strconv.Itoa(r.Instruments)},
			}})
		}
	}
	s.page(c, http.StatusOK, "arrival/whose", p)
}

func personOf(c *customer.Customer) Person {
	return Person{Name: c.Name, Phone: c.Phone, Email: c.Email, Note: "reach by " + string(c.Contact), Href: fmt.Sprintf("/customers/%d", c.ID)}
}

func (s *Server) which(c *gin.Context, id domain.CustomerID) {
	ctx := c.Request.Context()
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
	p := &WhichPage{Page: s.frame(c, "Take an instrument in", domain.Counter), Customer: personOf(who), Back: arrivePath}
	p.NewHref = fmt.Sprintf("/instruments/new?customer=%d&next=%s", id, url.QueryEscape(arrivePath))
	p.Answer = "Which instrument of " + who.Name + " is it?"
	p.Found = Table{Caption: "Instruments", Hidden: true, Columns: []Column{Head("Instrument"), Head("Serial"), Head("Known by")}, Empty: Empty{Text: "No instrument of theirs is known yet.", Do: &Link{Href: p.NewHref, Text: "Another instrument", Now: true}}}
	for _, in := range list {
		p.Found.Rows = append(p.Found.Rows, Row{Cells: []Cell{
			{Text: in.Title(), Href: fmt.Sprintf("%s?customer=%d&instrument=%d", arrivePath, id, in.ID)}, {Text: in.Serial}, {Text: in.Identity},
		}})
	}
	s.page(c, http.StatusOK, "arrival/which", p)
}

// showArrive draws the form; errs are what is wrong with the one sent.
func (s *Server) showArrive(c *gin.Context, status int, id domain.InstrumentID, errs domain.Fields) {
	ctx := c.Request.Context()
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
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	before, _, err := s.Read.Jobs(ctx, workshop.JobFilter{Instrument: id}, workshop.Page{Limit: 20})
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &ArrivePage{
		Page: s.frame(c, "Take an instrument in", domain.Counter), Customer: personOf(who), Back: fmt.Sprintf("%s?customer=%d", arrivePath, who.ID),
		Instrument: Fact{Name: "Instrument", Value: in.Title(), Note: in.Serial, Href: fmt.Sprintf("/instruments/%d", in.ID)},
		Hidden:     []Pair{{Name: "instrument", Value: strconv.FormatInt(int64(id), 10)}},
	}
	p.Errors = errs
	p.Answer = arriveAnswer(before)
	if len(before) > 0 {
		past, err := s.Read.PastOf(ctx, id, 0)
		if err != nil {
			s.fail(c, err)
			return
		}
		t := pastTable(past, shop, "What was done before", pastShown)
		p.Past = &t
	}
	if text := in.Protected(); text != "" {
		p.Caution = &Caution{Text: text}
	}
	usual := Money(shop.Currency, shop.SurveyFee)
	p.Groups, p.Agreed = arriveGroups(c, errs, before), agreedGroup(c, errs, shop.Currency.Code, usual)
	p.Marks = markGroups(c, errs)
	s.page(c, status, "arrival/form", p)
}

// arriveAnswer says whether the shop knows the instrument.
func arriveAnswer(before []workshop.JobRow) string {
	if len(before) == 0 {
		return "It is here for the first time."
	}
	for _, b := range before {
		if !b.Stage.Over() {
			return fmt.Sprintf("It is in the house already, under tag %d.", b.Tag)
		}
	}
	return fmt.Sprintf("It was here %s before, last under tag %d: %s", Plural(len(before), "time", "times"), before[0].Tag, before[0].Complaint)
}

func arriveGroups(c *gin.Context, errs domain.Fields, before []workshop.JobRow) []Group {
	comebacks := []Option{{Value: "", Label: "no, this is new"}}
	for _, b := range before {
		comebacks = append(comebacks, Option{Value: strconv.FormatInt(int64(b.ID), 10), Label: fmt.Sprintf("tag %d, %s", b.Tag, b.Complaint)})
	}
	ask := []Field{AreaField("complaint", "What is wrong, in their words", form(c, "complaint")).Need().Limit(1000), TextField("since", "Since when", form(c, "since")).Limit(80).Middle()}
	if len(before) > 0 {
		ask = append(ask, ChoiceField("comeback", "Is it something we did before?", form(c, "comeback"), comebacks))
	}
	return []Group{
		{Legend: "What for", Fields: markAll(errs, ask)},
		{Legend: "Where it lives", Note: "Dry air at home explains much; heat explains other things.", Across: true, Fields: markAll(errs, []Field{
			ChoiceField("storage", "It is kept", form(c, "storage"), Options(job.StorageHabits())), ChoiceField("heating", "Heating", form(c, "heating"), Options(job.Heatings())),
			ChoiceField("humidifier", "Humidifier", form(c, "humidifier"), Options(job.Humidifiers())),
		})},
		{Legend: "What comes with it", Fields: markAll(errs, []Field{
			TextField("contents", "In the case", form(c, "contents")).Limit(200).Hint("strap, capo, hygrometer, papers"), TextField("rack", "Where we put it", form(c, "rack")).Limit(40).Middle(),
			CheckField("cold", "The case came in from the cold and stays closed", form(c, "cold") == "yes").Hint("until it has reached room temperature, overnight after frost"),
		})},
	}
}

// agreedGroup asks what was agreed. fee stands in the form until one is sent.
func agreedGroup(c *gin.Context, errs domain.Fields, currency, fee string) Group {
	if errs != nil {
		fee = form(c, "survey_fee")
	}
	return Group{Legend: "Agreed", Fields: markAll(errs, []Field{
		TextField("marks_seen_by", "The marks were seen by", form(c, "marks_seen_by")).Limit(120).Middle().Hint("the customer's name, once they looked at the marks above"),
		MoneyField("survey_fee", "Survey fee when no work follows", fee, currency), CheckField("storage_fee", "A storage fee was agreed in writing", form(c, "storage_fee") == "yes"),
	})}
}

func markGroups(c *gin.Context, errs domain.Fields) []Group {
	kinds := append([]string{""}, job.MarkKinds()...)
	out := make([]Group, markRows)
	for i := range out {
		name := fmt.Sprintf("marks[%d].", i)
		out[i] = Group{Legend: fmt.Sprintf("Mark %d", i+1), Fields: markAll(errs, []Field{
			ChoiceField(name+"what", "Kind", form(c, name+"what"), Options(kinds)).Middle(), TextField(name+"place", "Where", form(c, name+"place")).Limit(80).Middle(),
			TextField(name+"note", "Note", form(c, name+"note")).Limit(200),
		})}
	}
	return out
}

func (s *Server) takeIn(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	instrument, _ := strconv.ParseInt(form(c, "instrument"), 10, 64)
	taking, rows, err := arrivalIn(c, shop.Currency)
	taking.Instrument = domain.InstrumentID(instrument)
	var id domain.JobID
	if err == nil {
		id, err = s.Work.Arrive(keyed(c), actor(c), taking)
	}
	switch {
	case domain.KindOf(err) == domain.Invalid:
		fields := domain.Fields{}
		for name, text := range fieldErrors(err) {
			fields.Add(inMarkRow(name, rows), "%s", text)
		}
		s.showArrive(c, http.StatusUnprocessableEntity, taking.Instrument, fields)
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, "It is in. Print its claim tag from this page: one half for the customer, one for case and instrument.")
		Go(c, jobPath(id))
	}
}

// arrivalIn reads the form. rows tells in which row of the form each mark stood.
func arrivalIn(c *gin.Context, cur money.Currency) (workshop.Taking, map[int]int, error) {
	f := domain.Fields{}
	taking := workshop.Taking{Arrival: job.Arrival{
		Complaint: form(c, "complaint"), Since: form(c, "since"), Storage: form(c, "storage"), Heating: form(c, "heating"), Humidifier: form(c, "humidifier"),
		Contents: form(c, "contents"), Rack: form(c, "rack"), CaseOpened: form(c, "cold") != "yes", MarksSeenBy: form(c, "marks_seen_by"),
		SurveyFee: amountIn(f, c, "survey_fee", cur), StorageFee: form(c, "storage_fee") == "yes",
	}}
	if n, err := strconv.ParseInt(form(c, "comeback"), 10, 64); err == nil {
		taking.ComebackOf = domain.JobID(n)
	}
	rows := map[int]int{}
	for i := range markRows {
		name := fmt.Sprintf("marks[%d].", i)
		m := job.Mark{What: form(c, name+"what"), Place: form(c, name+"place"), Note: form(c, name+"note")}
		if m.What == "" && m.Place == "" && m.Note == "" {
			continue
		}
		rows[len(taking.Marks)] = i
		taking.Marks = append(taking.Marks, m)
	}
	if len(f) > 0 { // what else is wrong is told at the same time
		for name, text := range domain.FieldsOf(taking.Arrival.Check()) {
			f.Add(name, "%s", text)
		}
	}
	return taking, rows, f.Err()
}

// inMarkRow renames marks[0].place after the row of the form it stood in.
func inMarkRow(name string, rows map[int]int) string {
	var n int
	if _, err := fmt.Sscanf(name, "marks[%d]", &n); err != nil {
		return name
	}
	return fmt.Sprintf("marks[%d]", rows[n]) + name[len(fmt.Sprintf("marks[%d]", n)):]
}
