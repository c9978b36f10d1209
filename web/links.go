package web

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// linkRoutes registers the page on which links of a job are made and revoked.
func (s *Server) linkRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/links", s.links)
	r.POST("/jobs/:job/links", s.addLink)
	r.POST("/jobs/:job/links/:link/revoke", s.revokeLink)
}

// LinksPage lists the secret links of a job and makes new ones.
type LinksPage struct {
	Page
	Secret string // the whole address, just made; "" else
	Links  []LinkLine
	Action string
	Days   Field
	Job    Link
}

// LinkLine is one link; its address cannot be shown again.
type LinkLine struct {
	Name, Ends, Used string
	Works            bool
	Revoke           string // path of the form; "" when it has ended
	Key              string
}

func (s *Server) links(c *gin.Context) { s.showLinks(c, http.StatusOK, nil, "") }

func (s *Server) showLinks(c *gin.Context, status int, errs domain.Fields, secret string) {
	if err := workshop.May(actor(c), workshop.ActShare); err != nil {
		s.fail(c, err)
		return
	}
	f := s.openFolder(c)
	if f == nil {
		return
	}
	links, err := s.Read.LinksOf(c.Request.Context(), f.Job.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	home := fmt.Sprintf("/jobs/%d", f.Job.ID)
	p := &LinksPage{Page: s.frame(c, "The page of "+f.Customer.Name+" for "+f.Instrument.Title(), deskDoor(c)), Secret: secret, Action: home + "/links"}
	p.Folio, p.Errors, p.Job = fmt.Sprintf("tag %d", f.Job.Tag), errs, Link{Href: home, Text: "Back to the job"}
	working := 0
	for i := range links {
		l := s.linkLine(&links[i], home)
		if l.Works {
			working++
		}
		p.Links = append(p.Links, l)
	}
	p.Answer = Plural(working, "link opens", "links open") + " the customer’s own page of this job."
	if working == 0 {
		p.Answer = "No link opens the customer’s own page of this job."
	}
	p.Because = []string{"It shows where the instrument is, the quote as said, its papers and what is to pay, and takes the answer to the quote. Nothing internal stands on it."}
	days := form(c, "days")
	if c.Request.Method == http.MethodGet || secret != "" {
		days = strconv.Itoa(workshop.UsualLinkDays)
	}
	p.Days = Field{Kind: "text", Name: "days", Label: "Works for", Value: days, Unit: "days", Keys: "numeric", Width: "short", Needed: true}.Hint(fmt.Sprintf("from 1 to %d", workshop.MostLinkDays)).Marked(errs)
	s.page(c, status, "job/links", p)
}

func (s *Server) linkLine(l *workshop.JobLink, home string) LinkLine {
	zone := s.zone.Load()
	out := LinkLine{
		Name: fmt.Sprintf("made %s by %s", DayHour(l.Created.In(zone)), l.By), Ends: "ends " + dated(l.Expires, zone), Used: "never opened", Works: l.Works(s.now()),
	}
	if !l.Used.IsZero() {
		out.Used = "last opened about " + DayHour(l.Used.In(zone))
	}
	switch {
	case !l.Revoked.IsZero():
		out.Ends = "revoked " + DayHour(l.Revoked.In(zone))
	case !out.Works:
		out.Ends = "ended " + dated(l.Expires, zone)
	default:
		out.Revoke, out.Key = fmt.Sprintf("%s/links/%d/revoke", home, l.ID), NewKey()
	}
	return out
}

// dated writes the day of a moment with its year: an address may end in another.
func dated(t time.Time, zone *time.Location) string { return t.In(zone).Format("2 Jan 2006") }

func (s *Server) addLink(c *gin.Context) {
	days, err := strconv.Atoi(form(c, "days"))
	if err != nil || days == 0 {
		days = -1 // refused with what is right
	}
	// Without the form's key: an address is shown once, so a second answer could not be the first.
	secret, err := s.Work.AddJobLink(c.Request.Context(), actor(c), domain.JobID(number(c, "job")), days)
	if err != nil {
		s.answer(c, err, func(f domain.Fields) { s.showLinks(c, http.StatusUnprocessableEntity, f, "") }, "", "")
		return
	}
	s.showLinks(c, http.StatusOK, nil, s.Origin+workshop.LinkPath(secret))
}

func (s *Server) revokeLink(c *gin.Context) {
	err := s.Work.RevokeJobLink(keyed(c), actor(c), domain.JobID(number(c, "job")), number(c, "link"))
	s.answer(c, err, func(f domain.Fields) { s.showLinks(c, http.StatusUnprocessableEntity, f, "") }, "The link is revoked: it opens nothing any more.", fmt.Sprintf("/jobs/%d/links", number(c, "job")))
}
