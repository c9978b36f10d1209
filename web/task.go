package web

import (
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

// taskRoutes registers the page of one task and what can be done on it.
func (s *Server) taskRoutes(r *gin.RouterGroup) {
	at := "/jobs/:job/tasks/:task"
	r.GET(at, s.task)
	r.POST(at+"/clock", s.clock)
	r.POST(at+"/wait", s.taskWait)
	r.POST(at+"/done", s.taskDone)
	r.POST(at+"/check", s.taskCheck)
	r.POST(at+"/part", s.taskPart)
	r.POST(at+"/hold", s.taskHold)
	r.POST(at+"/made", s.taskMade)
	r.POST(at+"/clocking", s.correctClocking)
}

// TaskPage is one task with everything a pair of hands needs to know.
type TaskPage struct {
	Page
	At        string // path of this page, where its forms post below
	Job       string // path of the job
	Tag       string
	Task      *job.Task
	Clock     Clock
	MayWork   bool
	Open      bool
	Wait      *Wait
	WaitForm  []Field
	HoldForm  *Field // choose a place; nil when it is no hold or it runs
	HoldHref  string // the running hold in the cabinet
	Facts     Facts
	Made      *MadeForm // how the joint was made; nil for a task that joins nothing
	Checks    []CheckForm
	Used      Table
	PutBacks  []PutBack
	PartForm  []Field
	Clockings []ClockingLine
	DropForm  Field
	Materials Table
	Template  templates.Template
	Cautions  []Caution
	Keys      map[string]string // idempotency keys of the page's forms
}

// CheckForm is one quality check with its standing result.
type CheckForm struct {
	What, Limit, Method string
	Standing            string
	Bad                 bool
	Fields              []Field
	Key                 string
}

// PutBack is a used part that can be taken back.
type PutBack struct {
	Name string
	Row  int64
	Key  string
}

// ClockingLine is a stretch of work with its correction form.
type ClockingLine struct {
	ID                  domain.ClockingID
	Who, When, Minutes  string
	Replaced, Corrected bool
	Open                bool // the form is asked for
	Reason              string
	Fields              []Field
	Key                 string
}

func (s *Server) task(c *gin.Context) { s.showTask(c, http.StatusOK, nil, "") }

// showTask draws the page; errs are what is wrong with the form named by which.
func (s *Server) showTask(c *gin.Context, status int, errs domain.Fields, which string) {
	ctx := c.Request.Context()
	folder, err := workshop.ReadFolder(ctx, s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	t, err := folder.Job.Task(domain.TaskID(number(c, "task")))
	if err != nil {
		s.fail(c, err)
		return
	}
	e, err := s.Read.EditionOf(ctx, t.Template, t.Edition)
	if err != nil {
		s.fail(c, err)
		return
	}
	parts, err := s.Read.PartList(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &TaskPage{
		Page: s.frame(c, t.Name, domain.Bench), At: taskPath(folder.Job.ID, t.ID), Job: jobPath(folder.Job.ID),
		Tag: fmt.Sprintf("tag %d", folder.Job.Tag), Task: t, Template: e.Template, Keys: map[string]string{},
		MayWork: workshop.May(actor(c), workshop.ActClock) == nil, Open: t.Open(),
	}
	p.Folio, p.Errors = p.Tag, scoped(errs, which)
	for _, form := range []string{"wait", "endwait", "done", "reopen", "drop", "part", "hold"} {
		p.Keys[form] = NewKey()
	}
	p.Answer = taskAnswer(folder, t, s.now())
	s.fillWork(c, p, folder)
	p.Made = madeForm(c, p, which)
	s.fillChecks(c, p, folder.Job, which)
	s.fillParts(c, p, folder, parts, which)
	s.fillClockings(c, p, folder.Job, which)
	s.page(c, status, "task/show", p)
}

// scoped names errors after the form they belong to, as its fields are, when
// several forms of the page ask the same.
func scoped(errs domain.Fields, which string) domain.Fields {
	if !strings.HasPrefix(which, "check") && !strings.HasPrefix(which, "clocking") {
		return errs
	}
	out := domain.Fields{}
	for name, text := range errs {
		out.Add(which+"."+name, "%s", text)
	}
	return out
}

// taskAnswer says what is to be done on the task now.
func taskAnswer(f *workshop.Folder, t *job.Task, now time.Time) string {
	m := t.Minutes
	quoted := fmt.Sprintf("Quoted %d to %d minutes, usually %d", m.Low, m.High, m.Typical)
	went := f.Job.Minutes(t.ID, now)
	switch {
	case !t.Dropped.IsZero():
		return "No longer part of the job: " + t.Reason + "."
	case !t.Done.IsZero():
		return fmt.Sprintf("Finished by %s after %s. %s.", t.DoneBy, Minutes(went), quoted)
	}
	if why := f.Job.Blocked(t); why != "" {
		return "Not free: " + why + ". " + quoted + "."
	}
	if went > 0 {
		return fmt.Sprintf("%s so far. %s.", Minutes(went), quoted)
	}
	return "Free to start. " + quoted + "."
}

func (s *Server) fillWork(c *gin.Context, p *TaskPage, f *workshop.Folder) {
	t, j := p.Task, f.Job
	p.Clock = Clock{Action: p.At + "/clock", Key: NewKey(), Task: strings.ToLower(t.Name), Now: s.now(), Blocked: j.Blocked(t)}
	for _, k := range j.Clockings {
		if k.Task == t.ID && k.End.IsZero() && (p.Clock.Hands == "" || k.Staff == actor(c).Staff) {
			p.Clock.Hands, p.Clock.Since, p.Clock.Mine, p.Clock.Blocked = k.Name, k.Start, k.Staff == actor(c).Staff, ""
		}
	}
	for _, w := range j.Waits {
		if w.Task == t.ID && w.End.IsZero() {
			p.Wait = &Wait{What: w.Kind, Why: w.Note, Until: w.Until, Overdue: !w.Until.IsZero() && w.Until.Before(s.now())}
			p.Keys["waiting"] = strconv.FormatInt(int64(w.ID), 10)
		}
	}
	p.Facts = Facts{
		{Name: "Instrument", Value: f.Instrument.Title(), Href: fmt.Sprintf("/instruments/%d", f.Instrument.ID)},
		{Name: "How much", Value: howMuch(t)},
		{Name: "Hands, quoted", Value: fmt.Sprintf("%d–%d–%d min", t.Minutes.Low, t.Minutes.Typical, t.Minutes.High)},
		{Name: "Skill", Value: skillWord(t.Skill)},
	}
	if !t.WaitDays.IsZero() {
		p.Facts = append(p.Facts, Fact{Name: "Then " + t.WaitKind, Value: fmt.Sprintf("%s–%s–%s days", t.WaitDays.Low, t.WaitDays.Typical, t.WaitDays.High)})
	}
	for _, text := range p.Template.Cautions {
		p.Cautions = append(p.Cautions, Caution{Text: text})
	}
	if t.Hold {
		s.fillHold(c, p, f)
	} else if p.Open && p.Wait == nil {
		p.WaitForm = s.waitForm(c, p, t)
	}
	p.DropForm = TextField("reason", "Why it falls away", "").Need().Limit(200).Marked(p.Errors)
	p.Materials = materials(p.Template, t.Quantity)
}

func howMuch(t *job.Task) string {
	if t.Unit == "" {
		return "once"
	}
	return fmt.Sprintf("%d %s", t.Quantity, domain.UnitFor(t.Quantity, t.Unit))
}

// skillWord says who can do a task. Source: common practice, no source.
func skillWord(level int) string {
	words := []string{"", "counter can do", "bench, junior", "bench", "senior only"}
	if level < 1 || level >= len(words) {
		return "not said"
	}
	return words[level]
}

// fillHold leads to the task's hold, or asks for a place to begin it in. Taken
// places are not offered; one that was chosen and is taken meanwhile says so.
func (s *Server) fillHold(c *gin.Context, p *TaskPage, f *workshop.Folder) {
	for i := range f.Job.Holds {
		if h := &f.Job.Holds[i]; h.Task == p.Task.ID && h.End.IsZero() {
			p.HoldHref = holdPath(f.Job.ID, h.ID)
			return
		}
	}
	if !p.Open {
		return
	}
	rows, err := s.Read.OpenHolds(c.Request.Context())
	if err != nil {
		slog.WarnContext(c.Request.Context(), "taken places", "error", err) // beginning the hold checks it again
	}
	field := ChoiceField("place", "Place in the cabinet", form(c, "place"), placeOptions(f.Shop.Places, rows, form(c, "place"))).Need().Marked(p.Errors)
	if len(field.Options) == 1 {
		field = field.Hint("Every place is taken: the cabinet page says when one is free.")
	}
	p.HoldForm = &field
}

// placeOptions offers the free places, and the chosen one.
func placeOptions(places []string, rows []workshop.HoldRow, chosen string) []Option {
	out := []Option{{}}
	for _, place := range places {
		label := place
		if i := slices.IndexFunc(rows, func(r workshop.HoldRow) bool { return r.Place == place }); i >= 0 {
			if place != chosen {
				continue
			}
			label = fmt.Sprintf("%s, taken by tag %d", place, rows[i].Tag)
		}
		out = append(out, Option{Value: place, Label: label})
	}
	return out
}

// waitForm asks what the task waits for and until when; the typical wait of the
// template is filled in.
func (s *Server) waitForm(c *gin.Context, p *TaskPage, t *job.Task) []Field {
	kind, until := t.WaitKind, ""
	if t.WaitDays.Typical.Sign() > 0 {
		wait := time.Duration(t.WaitDays.Typical.InexactFloat64() * 24 * float64(time.Hour))
		until = s.now().Add(wait).In(s.zone.Load()).Format("2006-01-02T15:04")
	}
	if _, sent := c.GetPostForm("until"); sent {
		kind, until = form(c, "kind"), form(c, "until")
	}
	at := Field{Kind: "datetime-local", Name: "until", Label: "Until", Value: until, Width: "middle", Help: "Leave empty when nobody knows."}
	return []Field{
		ChoiceField("kind", "It waits for", kind, Options(job.WaitKinds())).Marked(p.Errors),
		at.Marked(p.Errors), TextField("note", "Note", waitNote(c)).Limit(200).Marked(p.Errors),
	}
}

// waitNote is the note as it was typed, when the wait's form comes back.
func waitNote(c *gin.Context) string {
	if _, sent := c.GetPostForm("until"); sent {
		return form(c, "note")
	}
	return ""
}

func materials(t templates.Template, quantity int) Table {
	out := Table{Caption: "Materials", Hidden: true, Columns: []Column{Head("Material"), Figures("How much", ""), Head("Billed")}, Empty: Empty{Text: "Nothing is used up."}}
	for _, m := range t.MaterialsFor(quantity) {
		billed := "supply"
		if m.Billed {
			billed = "billed"
		}
		out.Rows = append(out.Rows, Line(m.Name, m.Quantity.String()+" "+m.Unit, billed))
	}
	return out
}

func (s *Server) fillChecks(c *gin.Context, p *TaskPage, j *job.Job, which string) {
	for i, k := range p.Template.Checks {
		f := CheckForm{What: k.What, Limit: limitText(k), Method: k.Method, Key: NewKey()}
		if r, ok := j.Latest(p.Task.ID, k.What); ok {
			f.Standing = string(r.Result)
			if r.Value != "" {
				f.Standing += ", " + r.Value
			}
			f.Standing += ", " + r.By
			f.Bad = r.Result == job.Fail
		}
		mine := which == "check"+strconv.Itoa(i)
		typed := func(name string) string {
			if mine {
				return form(c, name)
			}
			return ""
		}
		fields := []Field{
			ChoiceField("result", "Result", typed("result"), Options(job.Results())), TextField("value", "Measured", typed("value")).Limit(60).Short(),
			TextField("note", "Note", typed("note")).Limit(300).Hint("Needed for a fail, a note or a test that could not be made."),
		}
		for n := range fields {
			fields[n].Scope = "check" + strconv.Itoa(i)
			fields[n] = fields[n].Marked(p.Errors)
		}
		f.Fields = fields
		p.Checks = append(p.Checks, f)
	}
}

// limitText says what passes: at most 0.05 mm.
func limitText(k templates.Check) string {
	var parts []string
	if k.AtLeast != nil {
		parts = append(parts, "at least "+k.AtLeast.String()+" "+k.Unit)
	}
	if k.AtMost != nil {
		parts = append(parts, "at most "+k.AtMost.String()+" "+k.Unit)
	}
	return strings.Join(parts, ", ")
}

func (s *Server) fillParts(c *gin.Context, p *TaskPage, f *workshop.Folder, parts []stock.Part, which string) {
	cur := f.Shop.Currency
	p.Used = Table{Caption: "Parts used", Hidden: true, Columns: []Column{Head("Part"), Figures("How many", ""), Figures("Price each", cur.Code), Head("Who")}, Empty: Empty{Text: "No part noted yet."}}
	for _, u := range f.Job.Parts {
		if u.Task != p.Task.ID {
			continue
		}
		p.Used.Rows = append(p.Used.Rows, Line(u.Name, u.Quantity.String()+" "+u.Unit, Money(cur, u.Price), u.By))
		if u.Quantity.Sign() > 0 && p.Open {
			p.PutBacks = append(p.PutBacks, PutBack{Name: u.Quantity.String() + " " + u.Name, Row: u.ID, Key: NewKey()})
		}
	}
	choices := []Option{{Value: "", Label: "choose a part"}}
	for _, part := range parts {
		if !part.Retired {
			choices = append(choices, Option{Value: strconv.FormatInt(int64(part.ID), 10), Label: fmt.Sprintf("%s (%s)", part.Name, part.Unit)})
		}
	}
	part, quantity := "", "1"
	if which == "part" {
		part, quantity = form(c, "part"), form(c, "quantity")
	}
	p.PartForm = []Field{
		ChoiceField("part", "Part", part, choices).Need().Marked(p.Errors),
		TextField("quantity", "How many", quantity).Short().Need().Marked(p.Errors),
	}
}

// localMoment is how a form writes a moment of the shop's zone.
const localMoment = "2006-01-02T15:04"

func (s *Server) fillClockings(c *gin.Context, p *TaskPage, j *job.Job, which string) {
	counted := map[domain.ClockingID]bool{}
	for _, k := range j.Counted() {
		counted[k.ID] = true
	}
	zone := s.zone.Load()
	for _, k := range j.Clockings {
		if k.Task != p.Task.ID {
			continue
		}
		own := k.Staff == actor(c).Staff || actor(c).Wears(domain.Owner)
		line := ClockingLine{ID: k.ID, Who: k.Name, When: DayHour(k.Start.In(zone)), Minutes: "running", Replaced: !counted[k.ID], Corrected: k.Replaces != 0, Reason: k.Reason, Key: NewKey()}
		end := s.now()
		if !k.End.IsZero() {
			end = k.End
			line.Minutes = Minutes(int((k.Span() + 30*time.Second) / time.Minute))
		}
		scope := "clocking" + strconv.FormatInt(int64(k.ID), 10)
		from, to, reason := k.Start.In(zone).Format(localMoment), end.In(zone).Format(localMoment), ""
		if stopped := c.Query("stopped"); stopped != "" && c.Query("who") == strconv.FormatInt(int64(k.Staff), 10) && k.End.IsZero() && which == "" {
			if _, err := time.Parse(localMoment, stopped); err == nil {
				to, line.Open = stopped, true
			}
		}
		if which == scope {
			from, to, reason = form(c, "start"), form(c, "end"), form(c, "reason")
		}
		line.Fields = []Field{
			{Kind: "datetime-local", Name: "start", Label: "Began", Value: from, Width: "middle", Needed: true},
			{Kind: "datetime-local", Name: "end", Label: "Ended", Value: to, Width: "middle", Needed: true},
			TextField("reason", "Why it was wrong", reason).Need().Limit(200),
		}
		if !own {
			line.Fields = nil
		}
		for n := range line.Fields {
			line.Fields[n].Scope = scope
			line.Fields[n] = line.Fields[n].Marked(p.Errors)
		}
		p.Clockings = append(p.Clockings, line)
	}
}
