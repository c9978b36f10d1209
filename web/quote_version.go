package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// versionRoutes registers the page of one version of a quote.
func (s *Server) versionRoutes(r *gin.RouterGroup) {
	r.GET("/quotes/:quote", s.showVersion)
	r.POST("/quotes/:quote/say", s.sayVersion)
	r.POST("/quotes/:quote/answer", s.answerVersion)
}

// VersionPage shows one version of a quote as the customer would read it.
type VersionPage struct {
	Page
	State   Facts
	Lines   Table
	Facts   Facts
	Missing string
	Note    string
	News    *Table // against the agreed version; nil when it is the first
	Say     *SayForm
	Take    *TakeForm
	Edit    *Link // to the builder
	Paper   *Link // nil for what cannot be printed
	Job     Link
	Others  Table
}

// SayForm fixes a draft and notes the promised day.
type SayForm struct {
	Action, Key string
	Promised    Field
}

// TakeForm records what the customer answered.
type TakeForm struct {
	Action, Key string
	Outcome     Field
	Lines       []Option // Value is the line's identity; Note its amount
	Chosen      map[string]bool
	LinesError  string
	Who         Field
	Channel     Field
	Note        Field
}

// version is one version with its job.
type version struct {
	*workshop.Folder
	q      *quote.Quote
	window workshop.Window
}

func (s *Server) openVersion(c *gin.Context) *version {
	ctx := c.Request.Context()
	err := workshop.May(actor(c), workshop.ActRead)
	if err != nil {
		s.fail(c, err)
		return nil
	}
	v := &version{}
	if v.q, err = s.Read.QuoteByID(ctx, domain.QuoteID(number(c, "quote"))); err != nil {
		s.fail(c, err)
		return nil
	}
	if v.Folder, err = workshop.ReadFolder(ctx, s.Read, v.q.Job, s.now()); err != nil {
		s.fail(c, err)
		return nil
	}
	return v
}

func (s *Server) showVersion(c *gin.Context) {
	if v := s.openVersion(c); v != nil {
		s.version(c, http.StatusOK, v, nil)
	}
}

func (s *Server) sayVersion(c *gin.Context) {
	v := s.openVersion(c)
	if v == nil {
		return
	}
	f := domain.Fields{}
	promised := dateIn(f, c, "promised")
	err := f.Err()
	if err == nil {
		err = s.Work.SayQuote(keyed(c), actor(c), v.q.ID, promised)
	}
	s.afterVersion(c, v, err, "Said. Record the customer's answer here when it comes.")
}

func (s *Server) answerVersion(c *gin.Context) {
	v := s.openVersion(c)
	if v == nil {
		return
	}
	a := quote.Answer{Outcome: quote.Outcome(form(c, "outcome")), Who: form(c, "who"), Channel: form(c, "channel"), Note: form(c, "note")}
	var lines []domain.LineID
	if a.Outcome == quote.Part {
		for _, typed := range c.PostFormArray("lines") {
			id, _ := strconv.ParseInt(typed, 10, 64)
			lines = append(lines, domain.LineID(id))
		}
	}
	said := "The yes is recorded; the agreed work is on the bench list."
	if a.Outcome == quote.Denied {
		said = "The no is recorded."
	}
	s.afterVersion(c, v, s.Work.AnswerQuote(keyed(c), actor(c), v.q.ID, a, lines), said)
}

func (s *Server) afterVersion(c *gin.Context, v *version, err error, said string) {
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, said)
		Go(c, fmt.Sprintf("/quotes/%d", v.q.ID))
	case kind == domain.Invalid || kind == domain.Conflict:
		if v = s.openVersion(c); v != nil { // it may have changed meanwhile
			s.version(c, StatusOf(kind), v, fieldErrors(err))
		}
	default:
		s.fail(c, err)
	}
}

// newest reports that no later version of the quote was made.
func newest(v *version) bool { return len(v.Versions) > 0 && v.Versions[0].ID == v.q.ID }

func (s *Server) version(c *gin.Context, status int, v *version, errs domain.Fields) {
	q, who := v.q, actor(c)
	p := &VersionPage{Page: s.frame(c, fmt.Sprintf("%s, for %s, %s", q.Label(), v.Instrument.Title(), v.Customer.Name), deskDoor(c))}
	p.Folio, p.Errors = fmt.Sprintf("tag %d", v.Job.Tag), errs
	if err := s.askVersion(c, v); err != nil {
		s.fail(c, err)
		return
	}
	p.Answer = workshop.VersionAnswer(q, v.window, v.Shop, s.now())
	if q.Because != "" {
		p.Because = []string{"Because: " + q.Because}
	}
	if text := workshop.PricedBefore(v.Folder); text != "" && newest(v) {
		p.Because = append(p.Because, text)
	}
	v.fill(p, s.now())
	state := q.StateOn(v.Shop.Today(s.now()))
	may := func(a workshop.Action) bool { return workshop.May(who, a) == nil }
	switch {
	case state == quote.Draft && may(workshop.ActSay):
		p.Say = v.sayForm(c, s, errs)
	case state == quote.Open && may(workshop.ActAnswer):
		p.Take = v.takeForm(c, errs)
	}
	if newest(v) && may(workshop.ActQuote) && !v.Stage.Over() && v.Invoice == nil {
		p.Edit = &Link{Href: fmt.Sprintf("/jobs/%d/quote", v.Job.ID), Text: "Make a new version", Now: state == quote.Lapsed}
		if state == quote.Draft {
			p.Edit.Text = "Change the draft"
		}
	}
	s.page(c, status, "quote/version", p)
}

// askVersion asks the queue for a version that is not answered.
func (s *Server) askVersion(c *gin.Context, v *version) error {
	var asked *workshop.Asked
	if state := v.q.StateOn(v.Shop.Today(s.now())); state == quote.Draft || state == quote.Open {
		var last *job.Survey
		if len(v.Surveys) > 0 {
			last = &v.Surveys[0]
		}
		var err error
		if asked, err = s.Outlook.Ask(c.Request.Context(), v.q, quote.Shelf{}, last); err != nil {
			return err
		}
	}
	v.window = workshop.WindowOfQuote(v.q, asked, v.Shop, s.now())
	return nil
}

func (v *version) sayForm(c *gin.Context, s *Server, errs domain.Fields) *SayForm {
	promised := domain.Date(form(c, "promised"))
	if c.Request.Method == http.MethodGet {
		promised = v.window.Late
	}
	hint := "the late day of the window; empty says no day"
	if v.window.ByQueue {
		hint = "out of the queue: " + v.Shop.Said.Sure() + "; empty says no day"
	}
	return &SayForm{
		Action: fmt.Sprintf("/quotes/%d/say", v.q.ID), Key: NewKey(),
		Promised: DateField("promised", "Day to say", promised).Hint(hint).Marked(errs),
	}
}

func (v *version) takeForm(c *gin.Context, errs domain.Fields) *TakeForm {
	who := v.Customer.Name
	if c.Request.Method == http.MethodPost {
		who = form(c, "who")
	}
	f := &TakeForm{
		Action: fmt.Sprintf("/quotes/%d/answer", v.q.ID), Key: NewKey(), LinesError: errs["lines"], Chosen: map[string]bool{},
		Outcome: ChoiceField("outcome", "What they said", form(c, "outcome"), []Option{
			{Value: string(quote.Whole), Label: "yes to all of it"},
			{Value: string(quote.Part), Label: "yes to a part", Note: "mark the lines below"},
			{Value: string(quote.Denied), Label: "no"},
		}).Radio().Need().Marked(errs),
		Who:     TextField("who", "Who said it", who).Need().Limit(120).Middle().Marked(errs),
		Channel: ChoiceField("channel", "How", form(c, "channel"), Options(quote.Channels())).Middle().Marked(errs),
		Note:    TextField("note", "Note", form(c, "note")).Limit(300).Marked(errs),
	}
	for _, l := range v.q.Lines {
		price := v.q.Currency.Show(l.Net)
		if l.Free {
			price = "free"
		}
		if l.Agreed { // in an earlier version; it stays so unless somebody takes the mark away
			price += ", agreed before"
			f.Chosen[fmt.Sprint(l.ID)] = c.Request.Method == http.MethodGet
		}
		f.Lines = append(f.Lines, Option{Value: fmt.Sprint(l.ID), Label: l.Name + countOf(l), Note: price})
	}
	for _, id := range c.PostFormArray("lines") {
		f.Chosen[id] = true
	}
	return f
}

// countOf says how much of a line there is, "" for one piece.
func countOf(l quote.Line) string {
	if l.Template != "" {
		return muchText(l.Quantity, l.Unit)
	}
	text := strings.TrimSpace(l.Count.String() + " " + unitOf(l.Unit))
	if text == "1" {
		return ""
	}
	return ", " + text
}
