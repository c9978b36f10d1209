package web

import (
	"fmt"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/photo"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// JobPage shows one visit of one instrument: how it stands, what comes next,
// and all that was noted.
type JobPage struct {
	Page
	Life      Strip
	Next      *Link    // what moves the job on; nil when a form does, or nothing can
	OpenCase  *JobForm // the case is still closed
	Ways      []Link   // further things that can be done now
	Customer  Person
	Facts     Facts
	Complaint string
	Arrival   Facts
	Marks     Table
	MarkForm  *JobForm
	Was       *JobWas // earlier work at the same place; nil for none
	Tasks     Table
	Account   Table
	Summed    string // the account in a sentence
	Waits     []JobWait
	WaitForm  *JobForm
	Quotes    Table
	Money     Facts
	MoneyWays []Link
	Photos    JobPhotos
	Surveys   []JobSurvey
	Calls     Diary
	CallForm  *JobForm
	DayForm   *JobForm
	Check     *JobCheck
	Unclaimed *JobForm
	Diary     Diary
	Older     Diary
}

// JobForm is a small form on the job page.
type JobForm struct {
	Action, Key string
	Fields      []Field
	Button      string
	Caution     string
	Confirm     string // what is asked before it is sent; "" for nothing
	Open        bool   // it came back with mistakes
	Now         bool   // it can be done now and moves the job on
}

// JobWait is a running wait with the button that ends it.
type JobWait struct {
	Wait
	Action, Key string // "" when the reader may not end it
}

// JobSurvey is one survey in short.
type JobSurvey struct {
	When, Who, Href string
	Grade           Notches
	Because         string
}

// JobCheck is the quality check of the whole job.
type JobCheck struct {
	Missing     []Link
	Action, Key string // "" when the reader may not pass it
	Passed      string // who passed it and when; "" before
}

// jobView lays out the job page for one reader.
type jobView struct {
	*workshop.Folder
	shots    []photo.Photo
	who      domain.Actor
	now      time.Time
	part     string // the form that came back
	errs     domain.Fields
	typed    func(name string) string
	required map[domain.TaskID][]string
	past     *workshop.WasItUs // what was done on the instrument before; nil when it was not read
}

func (v jobView) may(a workshop.Action) bool { return workshop.May(v.who, a) == nil }

func (v jobView) path(rest string) string { return fmt.Sprintf("/jobs/%d%s", v.Job.ID, rest) }

// in brings a moment to the shop's zone.
func (v jobView) in(t time.Time) time.Time { return t.In(v.Shop.Location()) }

func (v jobView) fill(p *JobPage) {
	p.Folio, p.Answer = fmt.Sprintf("tag %d", v.Job.Tag), v.Folder.Answer
	p.Because = []string{"Stage: " + string(v.Stage)}
	if text := workshop.PricedBefore(v.Folder); text != "" {
		p.Because = append(p.Because, text)
	}
	p.Life = lifeStrip(v.Folder, v.now)
	v.next(p)
	v.people(p)
	p.Tasks = v.tasks()
	p.Account, p.Summed = v.account(), workshop.AccountAnswer(v.Account)
	v.waits(p)
	p.Quotes = versionsTable(v.Versions, v.Shop, v.now)
	v.money(p)
	if v.may(workshop.ActShare) {
		p.MoneyWays = append(p.MoneyWays, Link{Href: v.path("/links"), Text: "The customer’s own page"})
		p.MoneyWays = append(p.MoneyWays, Link{Href: v.path("/mail"), Text: "Mail to the customer"})
	}
	for _, x := range v.Surveys {
		p.Surveys = append(p.Surveys, JobSurvey{When: DayHour(v.in(x.At)), Who: x.By, Href: v.path(fmt.Sprintf("/surveys/%d", x.ID)), Grade: Notches{Grade: int(x.WorstBy(v.Shop.Bands))}, Because: x.Because()})
	}
	p.Photos = v.photos()
	v.calls(p)
	p.Check = v.check()
	v.unclaimed(p)
	p.Diary, p.Older = v.diary()
}

// next finds the one step that moves the job on.
func (v jobView) next(p *JobPage) {
	link := func(a workshop.Action, path, text string) {
		if v.may(a) {
			p.Next = &Link{Href: path, Text: text, Now: true}
		}
	}
	switch v.Stage {
	case job.Arrived:
		if !v.Job.Arrival.CaseOpened {
			p.OpenCase = v.caseForm()
			v.ways(p)
			return
		}
		link(workshop.ActSurvey, v.path("/survey"), "Survey it")
	case job.Surveyed:
		link(workshop.ActQuote, v.path("/quote"), "Build a quote")
	case job.Quoted:
		v.answerWay(link)
	case job.InHold:
		link(workshop.ActHold, v.path(fmt.Sprintf("/holds/%d", v.Job.OpenHold().ID)), "Note a reading")
	case job.Approved, job.OnBench, job.Waiting:
		v.benchWay(link)
	case job.Checked:
		link(workshop.ActCall, "#calls", "Call the customer")
	case job.Ready, job.Declined:
		link(workshop.ActHandOver, v.path("/hand-over"), "Hand it over")
	}
	v.ways(p)
}

func (v jobView) answerWay(link func(workshop.Action, string, string)) {
	if len(v.Versions) == 0 {
		return
	}
	if v.Versions[0].StateOn(v.Shop.Today(v.now)) == quote.Lapsed {
		link(workshop.ActQuote, v.path("/quote"), "Make a new version")
		return
	}
	link(workshop.ActAnswer, fmt.Sprintf("/quotes/%d", v.Versions[0].ID), "Record their answer")
}

// benchWay leads to the free task, or to the check when all are finished.
func (v jobView) benchWay(link func(workshop.Action, string, string)) {
	open := false
	for i := range v.Job.Tasks {
		t := &v.Job.Tasks[i]
		open = open || t.Open() && t.Phase != templates.PhaseFollowUp
		if t.Open() && v.Job.Blocked(t) == "" && !(t.Hold && v.Job.Served(t.ID)) {
			link(workshop.ActClock, v.path(fmt.Sprintf("/tasks/%d", t.ID)), "Work on "+strings.ToLower(t.Name[:1])+t.Name[1:])
			return
		}
	}
	if !open {
		link(workshop.ActCheck, "#check", "Pass the quality check")
	}
}

// ways lists what else can be done now.
func (v jobView) ways(p *JobPage) {
	add := func(a workshop.Action, path, text string) {
		if v.may(a) && (p.Next == nil || p.Next.Href != path) {
			p.Ways = append(p.Ways, Link{Href: path, Text: text})
		}
	}
	if v.Stage.Over() {
		return
	}
	if v.Job.Arrival.CaseOpened && v.Stage != job.Arrived {
		add(workshop.ActSurvey, v.path("/survey"), "Survey again")
	}
	if v.Invoice == nil && v.Stage != job.Arrived && v.Stage != job.Surveyed {
		text := "Found more"
		if v.Job.Approved.IsZero() {
			text = "Change the quote"
		}
		add(workshop.ActQuote, v.path("/quote"), text)
	}
	add(workshop.ActArrive, v.path("/tag.pdf"), "Claim tag (PDF)")
	if v.Stage == job.Checked || v.Stage == job.Ready {
		add(workshop.ActHandOver, v.path("/hand-over"), "Hand it over")
	}
}

func (v jobView) caseForm() *JobForm {
	if !v.may(workshop.ActMark) {
		return nil
	}
	out := &JobForm{
		Action: v.path("/case"), Key: NewKey(), Button: "It has warmed: the case is open now", Now: true,
		Caution: "A cold case stays shut until it feels like the room all through, some hours: warm air on cold lacquer and wood makes it craze and crack.",
	}
	if stood := v.now.Sub(v.Job.Arrival.At); stood < job.WarmsFor {
		box := CheckField("case_warm", "It is at room temperature all round", v.value("case", "warm") == "yes")
		out.Fields = markAll(v.errs, []Field{box.Hint(fmt.Sprintf("it came in %d h ago", int(stood.Hours())))})
		out.Confirm = "It came in less than 12 hours ago. Does it feel like the room all round?"
	}
	return out
}

// people fills in the customer, the instrument and how it arrived.
func (v jobView) people(p *JobPage) {
	j, a := v.Job, v.Job.Arrival
	p.Customer = Person{
		Name: v.Folder.Customer.Name, Phone: v.Folder.Customer.Phone, Email: v.Folder.Customer.Email,
		Href: fmt.Sprintf("/customers/%d", v.Folder.Customer.ID), Note: "best by " + string(v.Folder.Customer.Contact),
	}
	p.Complaint = a.Complaint
	p.Facts = Facts{
		{Name: "Instrument", Value: v.Instrument.Title(), Href: fmt.Sprintf("/instruments/%d", v.Instrument.ID), Note: v.Instrument.Serial},
		{Name: "Stands", Value: or(a.Rack, "nobody noted where")},
		{Name: "Arrived", Value: DayHour(v.in(a.At)), Note: a.By},
	}
	if j.Promised != "" {
		p.Facts = append(p.Facts, Fact{Name: "Day said", Value: Civil(j.Promised)})
	}
	v.ready(p)
	v.before(p)
	p.Arrival = Facts{
		{Name: "Since", Value: or(a.Since, "not said")}, {Name: "At home", Value: a.Storage}, {Name: "Heating", Value: a.Heating},
		{Name: "Humidifier", Value: a.Humidifier}, {Name: "In the case", Value: or(a.Contents, "nothing noted")},
	}
	if a.SurveyFee > 0 {
		p.Arrival = append(p.Arrival, Fact{Name: "Survey fee", Value: v.Shop.Currency.Show(a.SurveyFee), Note: "owed when no work comes of it"})
	}
	p.Marks = v.marks()
	if v.may(workshop.ActMark) && !v.Stage.Over() {
		p.MarkForm = v.form("mark", "/marks", "Note the mark",
			ChoiceField("mark_what", "What", v.value("mark", "what"), Options(job.MarkKinds())),
			TextField("mark_place", "Where", v.value("mark", "place")).Need().Limit(80).Offer(job.Places()),
			TextField("mark_note", "Note", v.value("mark", "note")).Limit(200))
	}
}

// ready adds when it is likely ready.
func (v jobView) ready(p *JobPage) {
	w := v.Window
	switch {
	case w.IsZero():
	case w.ByQueue:
		p.Facts = append(p.Facts, Fact{Name: "Likely ready", Value: Civil(w.Likely), Note: joined("say "+Civil(w.Late), strings.TrimSuffix(w.Because, ".")), Href: queuePath})
	default:
		p.Facts = append(p.Facts, Fact{Name: "Likely ready", Value: Civil(w.Likely), Note: "earliest " + Civil(w.Earliest) + ", late " + Civil(w.Late) + ", by the waits alone"})
	}
}

// before adds what is known of earlier visits.
func (v jobView) before(p *JobPage) {
	if v.past == nil || len(v.past.Past) == 0 {
		return
	}
	p.Was = v.was(v.past)
	if p.Was == nil {
		p.Facts = append(p.Facts, Fact{Name: "Was here", Value: Plural(len(v.past.Past), "time", "times") + " before", Href: v.path("/was-it-us"), Note: "no work at the same place is known"})
	}
}

func or(text, empty string) string {
	if text == "" {
		return empty
	}
	return text
}

// value is what was typed into a form that came back, "" otherwise.
func (v jobView) value(part, name string) string {
	if v.part != part {
		return ""
	}
	return v.typed(part + "_" + name)
}

// form makes a small form; its fields carry the errors when it came back.
func (v jobView) form(part, path, button string, fields ...Field) *JobForm {
	f := &JobForm{Action: v.path(path), Key: NewKey(), Button: button, Open: v.part == part}
	for _, x := range fields {
		f.Fields = append(f.Fields, x.Marked(v.errs))
	}
	return f
}

func (v jobView) marks() Table {
	t := Table{
		Caption: "Condition marks", Hidden: true, Columns: []Column{Head("Mark"), Head("Where"), Head("Noted")},
		Empty: Empty{Text: "No damage was noted that was there before."},
	}
	for _, m := range v.Job.Marks {
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: m.What, Note: m.Note}, {Text: m.Place}, {Text: Day(v.in(m.At)), Note: m.By}}})
	}
	return t
}
