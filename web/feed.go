package web

import (
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const feedsPath = "/settings/feeds"

// feedRoutes registers the page of calendar addresses.
func (s *Server) feedRoutes(r *gin.RouterGroup) {
	r.GET(feedsPath, s.feeds)
	r.POST(feedsPath, s.addFeed)
	r.POST(feedsPath+"/:feed/revoke", s.revokeFeed)
	r.POST(feedsPath+"/:feed/renew", s.renewFeed)
}

// openFeedRoutes registers the calendars themselves: their address is their key.
func (s *Server) openFeedRoutes(r *gin.RouterGroup) {
	r.GET("/feeds/:secret", s.feed)
	r.HEAD("/feeds/:secret", s.feed)
}

// feed answers with a calendar. What is wrong, revoked or no secret at all gets
// one and the same answer, after the same look-up.
func (s *Server) feed(c *gin.Context) {
	h := c.Writer.Header()
	h.Set("Cache-Control", "private, no-cache")
	h.Set("X-Robots-Tag", "noindex, nofollow")
	secret, ok := strings.CutSuffix(c.Param("secret"), ".ics")
	if !ok {
		secret = ""
	}
	agenda, err := s.Work.OpenFeed(c.Request.Context(), s.Read, secret)
	if domain.KindOf(err) == domain.NotFound {
		c.String(http.StatusNotFound, "There is no calendar at this address.\n")
		return
	}
	if err != nil {
		slog.ErrorContext(c.Request.Context(), "calendar failed", "path", c.FullPath(), "error", err)
		c.String(http.StatusInternalServerError, "The calendar cannot be read now.\n")
		return
	}
	host := "winterbench"
	if u, err := url.Parse(s.Origin); err == nil && u.Hostname() != "" {
		host = u.Hostname()
	}
	h.Set("Content-Disposition", `inline; filename="winterbench.ics"`)
	c.Data(http.StatusOK, icsType, ics(agenda, host, s.Origin))
}

// FeedsPage lists calendar addresses and makes new ones.
type FeedsPage struct {
	Page
	Secret string // the whole address, just made; "" else
	Lists  []FeedList
	Groups []Group
}

// FeedList is a list of addresses.
type FeedList struct {
	Lead  string
	Empty string
	Feeds []FeedLine
}

// FeedLine is one address; it cannot be shown, only its name.
type FeedLine struct {
	Name   string
	Whose  string
	Made   string
	Used   string
	Ends   string // when it ends, or how it ended
	Works  bool
	Revoke string // path of the form; "" when it does not work
	Renew  string // path of the form that makes a new address; "" when the reader may not
	Key    string
}

func (s *Server) feeds(c *gin.Context) { s.showFeeds(c, http.StatusOK, nil, "") }

func (s *Server) showFeeds(c *gin.Context, status int, errs domain.Fields, secret string) {
	by := actor(c)
	if err := workshop.May(by, workshop.ActFeed); err != nil {
		s.fail(c, err)
		return
	}
	p := &FeedsPage{Page: s.frame(c, "Calendar addresses", ""), Secret: secret}
	p.Answer, p.Errors = "A calendar address shows promised days, holds to be read and days for another look in your own calendar.", errs
	p.Because = []string{"Who has the address reads it without signing in. It names tags and instruments, never customers.", "An address works for a year. Renewing makes a new one and ends the old at once."}
	own, err := s.Read.FeedsOf(c.Request.Context(), by.Staff)
	if err != nil {
		s.fail(c, err)
		return
	}
	p.Lists = []FeedList{{Lead: "Yours", Empty: "You have none.", Feeds: s.feedLines(by, own, nil)}}
	fields := []Field{TextField("name", "What it is for", form(c, "name")).Need().Limit(60)}
	if by.Wears(domain.Owner) {
		others, err := s.othersFeeds(c, by)
		if err != nil {
			s.fail(c, err)
			return
		}
		p.Lists = append(p.Lists, FeedList{Lead: "The shop’s and others’", Empty: "There is none.", Feeds: others})
		fields = append(fields, ChoiceField("whose", "Whose work", form(c, "whose"), []Option{{Value: "", Label: "mine"}, {Value: "shop", Label: "the whole shop’s"}}))
	}
	p.Groups = []Group{{Legend: "New address", Fields: markAll(errs, fields)}}
	if secret != "" {
		c.Writer.Header().Set("Cache-Control", "no-store")
	}
	s.page(c, status, "owner/feeds", p)
}

// othersFeeds are all but a person's own.
func (s *Server) othersFeeds(c *gin.Context, by domain.Actor) ([]FeedLine, error) {
	all, err := s.Read.AllFeeds(c.Request.Context())
	if err != nil {
		return nil, err
	}
	people, err := s.Read.StaffList(c.Request.Context())
	if err != nil {
		return nil, err
	}
	names := map[domain.StaffID]string{0: "the shop"}
	for _, p := range people {
		names[p.ID] = p.Name
	}
	var rest []workshop.Feed
	for _, f := range all {
		if f.Staff != by.Staff {
			rest = append(rest, f)
		}
	}
	return s.feedLines(by, rest, names), nil
}

func (s *Server) feedLines(by domain.Actor, feeds []workshop.Feed, names map[domain.StaffID]string) []FeedLine {
	zone, out := s.zone.Load(), make([]FeedLine, len(feeds))
	for i, f := range feeds {
		l := FeedLine{Name: f.Name, Whose: names[f.Staff], Made: "made " + Day(f.Created.In(zone)), Used: "never read", Works: f.Works(s.now())}
		if !f.Used.IsZero() {
			l.Used = "last read about " + DayHour(f.Used.In(zone))
		}
		path := feedsPath + "/" + strconv.FormatInt(f.ID, 10)
		switch {
		case !f.Revoked.IsZero():
			l.Ends = "revoked"
		case l.Works:
			l.Ends, l.Revoke, l.Key = "ends "+dated(f.Expires, zone), path+"/revoke", NewKey()
		default:
			l.Ends = "ended " + dated(f.Expires, zone)
		}
		if f.Revoked.IsZero() && (f.Staff == by.Staff || f.Staff == 0 && by.Wears(domain.Owner)) {
			l.Renew = path + "/renew"
		}
		out[i] = l
	}
	return out
}

func (s *Server) addFeed(c *gin.Context) {
	by, whose := actor(c), actor(c).Staff
	if form(c, "whose") == "shop" {
		whose = 0
	}
	// Without the form's key: an address is shown once, so a second answer could not be the first.
	secret, err := s.Work.AddFeed(c.Request.Context(), by, whose, form(c, "name"))
	if err != nil {
		s.answer(c, err, func(f domain.Fields) { s.showFeeds(c, http.StatusUnprocessableEntity, f, "") }, "", "")
		return
	}
	s.showFeeds(c, http.StatusOK, nil, fmt.Sprintf("%s/feeds/%s.ics", s.Origin, secret))
}

func (s *Server) renewFeed(c *gin.Context) {
	// Without the form's key, as when one is made.
	secret, err := s.Work.RenewFeed(c.Request.Context(), actor(c), number(c, "feed"))
	if err != nil {
		s.answer(c, err, func(f domain.Fields) { s.showFeeds(c, http.StatusUnprocessableEntity, f, "") }, "", "")
		return
	}
	s.showFeeds(c, http.StatusOK, nil, fmt.Sprintf("%s/feeds/%s.ics", s.Origin, secret))
}

func (s *Server) revokeFeed(c *gin.Context) {
	err := s.Work.RevokeFeed(keyed(c), actor(c), number(c, "feed"))
	s.answer(c, err, func(f domain.Fields) { s.showFeeds(c, http.StatusUnprocessableEntity, f, "") }, "The address is revoked: nobody reads it any more.", feedsPath)
}
