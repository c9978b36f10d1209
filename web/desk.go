package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
)

// deskRoutes registers the way in, the counter's desk, the search and the list
// of jobs.
func (s *Server) deskRoutes(r *gin.RouterGroup) {
	r.GET("/", s.home)
	r.GET("/counter", s.desk)
	r.GET("/search", s.search)
	r.GET("/jobs", s.jobs)
}

// home leads to the first door that the person may open.
func (s *Server) home(c *gin.Context) {
	for _, r := range domain.Roles() {
		if actor(c).Wears(r) {
			Go(c, "/"+string(r))
			return
		}
	}
	s.fail(c, domain.Deniedf("you wear no hat; ask the owner for one"))
}

// DeskPage is what waits for the counter.
type DeskPage struct {
	Page
	May    bool // take instruments in
	Groups []DeskGroup
	Rest   []DeskGroup
	Queue  *Link  // nil when nobody plays it
	Danger string // promises that the queue will break; "" for none
}

// DeskGroup is jobs that wait for the same thing.
type DeskGroup struct {
	Title string
	Lines []DeskLine
}

// DeskLine is one job with the reason why it stands here.
type DeskLine struct {
	Tag, Href, Title string
	Person           Person
	Why              string
	Late             bool
	Next             *Link
}

// dayOver is the title over the jobs that are late.
const dayOver = "The day we said is over"

// deskOrder lists the stages that want the counter, worst first.
var deskOrder = []struct {
	stage       job.Stage
	title, next string
	act         workshop.Action // what next leads to, for whom it may be
}{
	{job.Checked, "Call them: it is ready", "Note the call", workshop.ActCall},
	{job.Surveyed, "Build the quote", "Build the quote", workshop.ActQuote},
	{job.Quoted, "Waits for their answer", "Record the answer", workshop.ActAnswer},
	{job.Arrived, "To survey", "Survey it", workshop.ActSurvey},
	{job.Ready, "Ready to be collected", "Hand it over", workshop.ActHandOver},
	{job.Declined, "Declined: hand it back", "Hand it back", workshop.ActHandOver},
}

func (s *Server) desk(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	rows, err := s.openJobs(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &DeskPage{Page: s.frame(c, "Counter", domain.Counter), May: workshop.May(actor(c), workshop.ActArrive) == nil}
	today := shop.Today(s.now())
	p.Answer = workshop.DeskAnswer(rows, today)
	s.fillDesk(p, actor(c), rows, shop, today)
	p.Queue = s.queueLink()
	if p.Danger, err = s.danger(ctx); err != nil {
		s.fail(c, err)
		return
	}
	if err := s.callFirst(c, p); err != nil {
		s.fail(c, err)
		return
	}
	if err := s.lookAgain(ctx, p, shop, today); err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "desk/counter", p)
}

// openJobs reads every open job, oldest first, page by page.
func (s *Server) openJobs(ctx context.Context) ([]workshop.JobRow, error) {
	var all []workshop.JobRow
	for {
		rows, total, err := s.Read.Jobs(ctx, workshop.JobFilter{Open: true, Oldest: true}, workshop.Page{Offset: len(all), Limit: 200})
		if err != nil {
			return nil, err
		}
		all = append(all, rows...)
		if len(rows) == 0 || len(all) >= total {
			return all, nil
		}
	}
}

func (s *Server) fillDesk(p *DeskPage, who domain.Actor, rows []workshop.JobRow, shop *workshop.Shop, today domain.Date) {
	late := DeskGroup{Title: dayOver}
	byStage := map[job.Stage][]workshop.JobRow{}
	for _, r := range rows {
		if r.Late(today) {
			late.Lines = append(late.Lines, s.deskLine(r, shop, today, "Open it"))
			continue
		}
		byStage[r.Stage] = append(byStage[r.Stage], r)
	}
	if len(late.Lines) > 0 {
		p.Groups = append(p.Groups, late)
	}
	for _, o := range deskOrder {
		g := DeskGroup{Title: o.title}
		next := o.next
		if workshop.May(who, o.act) != nil {
			next = ""
		}
		for _, r := range byStage[o.stage] {
			g.Lines = append(g.Lines, s.deskLine(r, shop, today, next))
		}
		if len(g.Lines) > 0 {
			p.Groups = append(p.Groups, g)
		}
	}
	for _, stage := range []job.Stage{job.Approved, job.InHold, job.OnBench, job.Waiting} {
		g := DeskGroup{Title: string(stage)}
		for _, r := range byStage[stage] {
			g.Lines = append(g.Lines, s.deskLine(r, shop, today, ""))
		}
		if len(g.Lines) > 0 {
			p.Rest = append(p.Rest, g)
		}
	}
}

// lookAgain adds the instruments whose day for another look is near: from a
// month ago, when it was missed, to a week ahead.
func (s *Server) lookAgain(ctx context.Context, p *DeskPage, shop *workshop.Shop, today domain.Date) error {
	filter := workshop.JobFilter{Recheck: [2]domain.Date{today.AddDays(-30), today.AddDays(7)}}
	rows, _, err := s.Read.Jobs(ctx, filter, workshop.Page{Limit: 50})
	if err != nil {
		return err
	}
	g := DeskGroup{Title: "To be looked at again"}
	for _, r := range rows {
		l := s.deskLine(r, shop, today, "")
		l.Why = "look at it again on " + Civil(r.Recheck)
		if r.Recheck < today {
			l.Why = "was to be looked at again on " + Civil(r.Recheck)
		}
		g.Lines = append(g.Lines, l)
	}
	if len(g.Lines) > 0 {
		p.Rest = append(p.Rest, g)
	}
	return nil
}

func (s *Server) deskLine(r workshop.JobRow, shop *workshop.Shop, today domain.Date, next string) DeskLine {
	l := DeskLine{
		Tag: fmt.Sprintf("tag %d", r.Tag), Href: jobPath(r.ID), Title: r.Title, Late: r.Late(today),
		Person: Person{Name: r.Name, Phone: r.Phone, Href: fmt.Sprintf("/customers/%d", r.Customer)},
	}
	l.Why = s.deskWhy(r, shop, today)
	if next != "" {
		l.Next = &Link{Href: nextPath(r), Text: next}
		switch {
		case l.Late:
			l.Next.Href = jobPath(r.ID)
		case r.Cold && r.Stage == job.Arrived:
			l.Next.Text = "Note that it is warm"
		}
	}
	return l
}

// nextPath leads to what the stage asks for.
func nextPath(r workshop.JobRow) string {
	switch r.Stage {
	case job.Arrived:
		if !r.Cold {
			return jobPath(r.ID) + "/survey"
		}
	case job.Surveyed:
		return jobPath(r.ID) + "/quote"
	case job.Checked:
		return jobPath(r.ID) + "#calls"
	case job.Ready, job.Declined:
		return jobPath(r.ID) + "/hand-over"
	}
	return jobPath(r.ID)
}

// deskWhy says in words why a job stands where it does.
func (s *Server) deskWhy(r workshop.JobRow, shop *workshop.Shop, today domain.Date) string {
	days := domain.WholeDays(r.Since, s.now())
	since := "since today"
	if days > 0 {
		since = "for " + Plural(days, "day", "days")
	}
	var parts []string
	switch r.Stage {
	case job.Ready:
		parts = append(parts, "ready "+since)
		if r.Due() > 0 {
			parts = append(parts, shop.Currency.Show(r.Due())+" to pay")
		}
	case job.Arrived:
		if r.Cold {
			parts = append(parts, "case still closed, from the cold")
		}
		parts = append(parts, "here "+since, "“"+r.Complaint+"”")
	case job.Waiting, job.InHold:
		if r.Waits != "" {
			parts = append(parts, r.Waits)
		}
		if !r.WaitUntil.IsZero() {
			parts = append(parts, "until "+DayHour(r.WaitUntil.In(s.zone.Load())))
		}
	default:
		parts = append(parts, string(r.Stage)+" "+since)
	}
	if text := promiseWords(r, today); text != "" {
		parts = append(parts, text)
	}
	if r.Comeback {
		parts = append(parts, "came back")
	}
	return strings.Join(parts, " · ")
}

// promiseWords tells the promised day while it still counts: it was kept once
// the job is ready, and it never came to count for one that was declined.
func promiseWords(r workshop.JobRow, today domain.Date) string {
	switch {
	case r.Promised == "" || r.Stage == job.Ready || r.Stage == job.Declined:
		return ""
	case r.Stage == job.Quoted && r.Promised < today:
		return "the day we said with it, " + Civil(r.Promised) + ", is over"
	}
	return "we said " + Civil(r.Promised)
}

// FoundPage is the answer to a search.
type FoundPage struct {
	Page
	Customers, Instruments, Jobs Table
	Nothing                      *Empty
}

func (s *Server) search(c *gin.Context) {
	ctx, words := c.Request.Context(), strings.TrimSpace(c.Query("q"))
	found, err := s.Read.Find(ctx, words, 20)
	if err != nil {
		s.fail(c, err)
		return
	}
	// A claim tag that is no serial leads straight to its job. Short numbers stand
	// in many phone numbers, so customers count only for longer ones.
	_, err = strconv.Atoi(words)
	if err == nil && len(found.Jobs) == 1 && len(found.Instruments) == 0 && (len(words) < 6 || len(found.Customers) == 0) {
		Go(c, jobPath(found.Jobs[0].ID))
		return
	}
	p := &FoundPage{Page: s.frame(c, "Search", "")}
	p.Search = words
	p.Customers, p.Instruments, p.Jobs = customerTable(found.Customers), instrumentTable(found.Instruments), s.jobTable(found.Jobs)
	n := len(found.Customers) + len(found.Instruments) + len(found.Jobs)
	p.Answer = fmt.Sprintf("%s found for “%s”.", Plural(n, "thing", "things"), words)
	if n == 0 {
		p.Answer = "Nothing found."
		if words == "" {
			p.Answer = "What are you looking for?"
		}
		p.Nothing = &Empty{Text: "The search takes a name, a phone number, a mail address, a tag, a serial, a maker or a model; all words must fit."}
	}
	s.page(c, http.StatusOK, "desk/found", p)
}

func customerTable(rows []workshop.CustomerRow) Table {
	t := Table{Caption: "Customers", Hidden: true, Columns: []Column{Head("Name"), Head("Phone"), Head("Mail"), Figures("Instruments", ""), Figures("In the house", "")}}
	for _, r := range rows {
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: r.Name, Href: fmt.Sprintf("/customers/%d", r.ID)}, {Text: r.Phone}, {Text: r.Email}, {Text: strconv.Itoa(r.Instruments)}, {Text: strconv.Itoa(r.OpenJobs)},
		}})
	}
	return t
}

func instrumentTable(rows []workshop.InstrumentRow) Table {
	t := Table{Caption: "Instruments", Hidden: true, Columns: []Column{Head("Instrument"), Head("Serial"), Head("Owner"), Figures("Visits", "")}}
	for _, r := range rows {
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: r.Title, Href: fmt.Sprintf("/instruments/%d", r.ID)}, {Text: r.Serial}, {Text: r.Name, Href: fmt.Sprintf("/customers/%d", r.Owner)}, {Text: strconv.Itoa(r.Jobs)},
		}})
	}
	return t
}

func (s *Server) jobTable(rows []workshop.JobRow) Table {
	t := Table{Caption: "Jobs", Hidden: true, Columns: []Column{Head("Tag"), Head("Instrument"), Head("Customer"), Head("Stage"), Head("Came in")}, Empty: Empty{Text: "No job here."}}
	for _, r := range rows {
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Tag), Href: jobPath(r.ID)}, {Text: r.Title, Href: fmt.Sprintf("/instruments/%d", r.Instrument), Note: r.Complaint},
			{Text: r.Name, Href: fmt.Sprintf("/customers/%d", r.Customer)}, {Text: string(r.Stage)}, {Text: Civil(domain.DateOf(r.Arrived.In(s.zone.Load())))},
		}})
	}
	return t
}

// historyTable lists the jobs of one customer or one instrument, which the page
// names already: of a customer it tells the instrument, of an instrument who
// brought it, for it may have changed hands.
func (s *Server) historyTable(rows []workshop.JobRow, ofCustomer bool) Table {
	t := Table{Caption: "Jobs", Hidden: true, Columns: []Column{Head("Tag"), Head("What was wrong"), Head("Stage"), Head("Came in")}, Empty: Empty{Text: "No job yet."}}
	other := func(r workshop.JobRow) Cell { return Cell{Text: r.Name, Href: customerPath(r.Customer)} }
	second := Head("Brought by")
	if ofCustomer {
		other = func(r workshop.JobRow) Cell { return Cell{Text: r.Title, Href: instrumentPath(r.Instrument)} }
		second = Head("Instrument")
	}
	t.Columns = slices.Insert(t.Columns, 1, second)
	for _, r := range rows {
		wrong := Cell{Text: r.Complaint}
		if r.Comeback {
			wrong.Note = "came back"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Tag), Href: jobPath(r.ID)}, other(r), wrong, {Text: string(r.Stage)}, {Text: Civil(domain.DateOf(r.Arrived.In(s.zone.Load())))},
		}})
	}
	return t
}

// JobsPage lists jobs of one stage, or all.
type JobsPage struct {
	Page
	Stages []Link
	Table  Table
	Pager  Pager
}

func (s *Server) jobs(c *gin.Context) {
	stage := job.Stage(c.Query("stage"))
	filter := workshop.JobFilter{}
	if slices.Contains(job.Stages(), stage) {
		filter.Stages = []job.Stage{stage}
	} else if stage != "" {
		s.fail(c, domain.NotFoundf("there is no stage %q", stage))
		return
	}
	at := pageOf(c, 50)
	rows, total, err := s.Read.Jobs(c.Request.Context(), filter, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &JobsPage{Page: s.frame(c, "Jobs", domain.Counter), Table: s.jobTable(rows), Pager: pager(c, at, len(rows), total, "jobs")}
	p.Answer = fmt.Sprintf("%s on record.", Plural(total, "job is", "jobs are"))
	if stage != "" {
		p.Answer = fmt.Sprintf("%s %s.", Plural(total, "job is", "jobs are"), stage)
	}
	for _, st := range job.Stages() {
		p.Stages = append(p.Stages, Link{Href: "/jobs?stage=" + url.QueryEscape(string(st)), Text: string(st), Now: st == stage})
	}
	s.page(c, http.StatusOK, "desk/jobs", p)
}
