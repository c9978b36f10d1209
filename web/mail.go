package web

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/mail"
	"winterbench/domain/workshop"
)

const outboxPath = "/outbox"

// mailRoutes registers the mails of a job, the outbox and the consent to reminders.
func (s *Server) mailRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/mail", s.jobMail)
	r.POST("/jobs/:job/mail", s.sendMail)
	r.GET(outboxPath, s.outbox)
	r.POST(outboxPath+"/:mail/again", s.mailAgain)
	r.POST("/customers/:customer/reminders", s.noteConsent)
}

// JobMailPage shows what can be mailed to the customer, word for word, and what was.
type JobMailPage struct {
	Page
	Drafts []MailDraft
	Lines  []MailLine
	Job    Link
}

// MailDraft is a mail before it is sent, or why it cannot be.
type MailDraft struct {
	Lead, Why         string
	To, Subject, Body string
	Action, Key       string
	Hidden            []Pair
}

// MailLine is a mail in the outbox.
type MailLine struct {
	What, State, When string
	Job               Link
	To, Subject, Body string
	Failure           string
	Again, Key        string // "" when it cannot be tried again
}

func (s *Server) jobMail(c *gin.Context) { s.showJobMail(c, http.StatusOK, nil) }

func (s *Server) showJobMail(c *gin.Context, status int, errs domain.Fields) {
	ctx, by := c.Request.Context(), actor(c)
	if err := workshop.May(by, workshop.ActMail); err != nil {
		s.fail(c, err)
		return
	}
	f := s.openFolder(c)
	if f == nil {
		return
	}
	home := fmt.Sprintf("/jobs/%d", f.Job.ID)
	p := &JobMailPage{Page: s.frame(c, "Mail to "+f.Customer.Name+", "+f.Instrument.Title(), deskDoor(c)), Job: Link{Href: home, Text: "Back to the job"}}
	p.Folio, p.Errors = fmt.Sprintf("tag %d", f.Job.Tag), errs
	ready := 0
	for _, k := range mail.Asked() {
		d, err := s.mailDraft(c, f.Job.ID, k)
		if err != nil {
			s.fail(c, err)
			return
		}
		if d.Why == "" {
			ready++
		}
		p.Drafts = append(p.Drafts, d)
	}
	p.Answer = "Nothing can be mailed to this customer now."
	if ready > 0 {
		p.Answer = "Read it as the customer will, then send it. Nothing goes out by itself."
	}
	all, err := s.Read.MailsOfJob(ctx, f.Job.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	p.Lines = s.mailLines(all, by)
	s.page(c, status, "job/mail", p)
}

func (s *Server) mailDraft(c *gin.Context, id domain.JobID, k mail.Kind) (MailDraft, error) {
	m, err := s.Work.PreviewMail(c.Request.Context(), actor(c), id, k)
	d := MailDraft{Lead: "Mail: " + k.Word()}
	if domain.KindOf(err) == domain.Conflict {
		d.Why = domain.TextOf(err)
		return d, nil
	}
	if err != nil {
		return d, err
	}
	d.To, d.Subject, d.Body = m.To, m.Subject, m.Body
	d.Action, d.Key = fmt.Sprintf("/jobs/%d/mail", id), NewKey()
	d.Hidden = []Pair{{Name: "kind", Value: string(k)}, {Name: "seen", Value: m.Seen()}}
	return d, nil
}

func (s *Server) sendMail(c *gin.Context) {
	_, err := s.Work.SendMail(keyed(c), actor(c), jobID(c), mail.Kind(form(c, "kind")), form(c, "seen"))
	s.answer(c, err, func(f domain.Fields) { s.showJobMail(c, StatusOf(domain.KindOf(err)), f) }, "It is in the outbox and goes out within some minutes.", fmt.Sprintf("/jobs/%d/mail", jobID(c)))
}

func (s *Server) mailLines(all []workshop.MailRow, by domain.Actor) []MailLine {
	zone, out := s.zone.Load(), make([]MailLine, len(all))
	for i := range all {
		m := &all[i]
		l := MailLine{
			What: m.Kind.Word(), State: m.State(), To: m.To, Subject: m.Subject, Body: m.Body, Failure: m.Failure,
			Job: Link{Href: fmt.Sprintf("/jobs/%d", m.Job), Text: fmt.Sprintf("tag %d", m.Tag)}, When: fmt.Sprintf("asked for by %s on %s", m.By, DayHour(m.Created.In(zone))),
		}
		switch m.State() {
		case "sent":
			l.When = "sent " + DayHour(m.Sent.In(zone))
		case "waiting":
			if m.Tries > 0 {
				l.When = fmt.Sprintf("%s in vain, again about %s", Plural(m.Tries, "try", "tries"), DayHour(m.Due.In(zone)))
			}
		default:
			l.When = fmt.Sprintf("given up %s after %s", DayHour(m.Failed.In(zone)), Plural(m.Tries, "try", "tries"))
			if m.Wiped.IsZero() && workshop.May(by, workshop.ActOutbox) == nil {
				l.Again, l.Key = fmt.Sprintf("%s/%d/again", outboxPath, m.ID), NewKey()
			}
		}
		out[i] = l
	}
	return out
}

// OutboxPage lists every mail of the shop.
type OutboxPage struct {
	Page
	Lines []MailLine
	Pager Pager
}

func (s *Server) outbox(c *gin.Context) { s.showOutbox(c, http.StatusOK, nil) }

func (s *Server) showOutbox(c *gin.Context, status int, errs domain.Fields) {
	by := actor(c)
	if err := workshop.May(by, workshop.ActOutbox); err != nil {
		s.fail(c, err)
		return
	}
	at := pageOf(c, 50)
	all, total, err := s.Read.Mails(c.Request.Context(), at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &OutboxPage{Page: s.frame(c, "Outbox", domain.Owner), Pager: pager(c, at, len(all), total, "mails"), Lines: s.mailLines(all, by)}
	p.Errors = errs
	count := map[string]int{}
	for i := range all {
		count[all[i].State()]++
	}
	p.Answer = fmt.Sprintf("On this page: %d waiting, %d sent, %d not sent.", count["waiting"], count["sent"], count["not sent"])
	if !s.Work.SendsMail() {
		p.Because = []string{"Mail is off: the program was started without a mail server."}
	}
	s.page(c, status, "owner/outbox", p)
}

func (s *Server) mailAgain(c *gin.Context) {
	err := s.Work.TryMailAgain(keyed(c), actor(c), number(c, "mail"))
	s.answer(c, err, func(f domain.Fields) { s.showOutbox(c, StatusOf(domain.KindOf(err)), f) }, "It is tried again within some minutes.", outboxPath)
}

// ConsentForm says what a customer agreed to, and changes it.
type ConsentForm struct {
	Says        string
	Action, Key string // "" for who may not change it
	Given       bool
	Day         Field
}

func (s *Server) consentForm(c *gin.Context, id domain.CustomerID, may bool) (*ConsentForm, error) {
	v, err := s.Read.MailConsentOf(c.Request.Context(), id)
	if err != nil {
		return nil, err
	}
	f := &ConsentForm{Says: "Agreed to no reminders by mail.", Day: DateField("day", "Agreed on", "").Hint("empty: today")}
	switch {
	case v != nil && v.Given:
		f.Says, f.Given = "Agreed to reminders by mail on "+Civil(v.Day)+".", true
	case v != nil:
		f.Says = "Took the consent to reminders back on " + Civil(v.Day) + "."
	}
	if may {
		f.Action, f.Key = customerPath(id)+"/reminders", NewKey()
	}
	return f, nil
}

func (s *Server) noteConsent(c *gin.Context) {
	id, given, f := domain.CustomerID(number(c, "customer")), form(c, "given") == "yes", domain.Fields{}
	day := dateIn(f, c, "day")
	err := f.Err()
	if err == nil {
		err = s.Work.NoteConsent(keyed(c), actor(c), id, given, day)
	}
	text := "Noted: no reminders any more."
	if given {
		text = "Noted: reminders may be mailed."
	}
	s.answer(c, err, func(domain.Fields) { s.fail(c, err) }, text, customerPath(id))
}
