package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// ownerRoutes registers the owner's page, staff, tokens, parts and invoices.
func (s *Server) ownerRoutes(r *gin.RouterGroup) {
	r.GET("/owner", s.owner)
	r.GET("/settings", s.settings)
	r.POST("/settings", s.saveSettings)
	s.calendarRoutes(r)
	s.lastingRoutes(r)
	r.GET("/staff", s.staff)
	r.POST("/staff", s.addStaff)
	r.GET("/staff/:staff", s.staffMember)
	r.POST("/staff/:staff", s.saveStaff)
	r.GET("/tokens", s.tokens)
	r.POST("/tokens", s.changeTokens)
	r.GET("/parts", s.parts)
	r.GET("/parts/:part", s.part)
	r.POST("/parts/:part", s.savePart)
	r.GET("/invoices", s.invoices)
}

// OwnerPage is what waits for the owner.
type OwnerPage struct {
	Page
	Worry   Table
	Stopped []Link // clocks that ran on after closing
	Danger  string // promises that the queue will break; "" for none
	Ways    []Link
}

func (s *Server) owner(c *gin.Context) {
	if err := workshop.May(actor(c), workshop.ActReadBalance); err != nil {
		s.fail(c, err)
		return
	}
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
	p := &OwnerPage{Page: s.frame(c, "Owner", domain.Owner)}
	p.Answer = workshop.OwnerAnswer(rows, s.now(), shop)
	p.Worry = s.worries(rows, shop)
	p.Ways = []Link{{Href: "/templates", Text: "Task templates"}, {Href: "/parts", Text: "Parts list"}, {Href: "/invoices", Text: "Invoices"}, {Href: keptPath, Text: "Promises kept"}, {Href: lastingPath, Text: "Do repairs hold?"}, {Href: "/air", Text: "The shop’s air"}, {Href: "/staff", Text: "Staff"}, {Href: "/settings", Text: "Shop settings"}, {Href: calendarPath, Text: "When we work"}, {Href: bandsPath, Text: "What counts as dry"}, {Href: feedsPath, Text: "Calendar addresses"}, {Href: "/tokens", Text: "API tokens"}}
	if way := s.queueLink(); way != nil {
		p.Ways = append([]Link{*way, {Href: seasonPath, Text: "The season"}}, p.Ways...)
	}
	clocks, err := s.Read.RunningClocks(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	staff, err := s.Read.StaffList(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p.Stopped = s.forgotten(c, clocks, staff, shop)
	if p.Danger, err = s.danger(ctx); err != nil {
		s.fail(c, err)
		return
	}
	s.page(c, http.StatusOK, "owner/show", p)
}

// worries lists jobs past their promise, then those ready and not collected, oldest first.
func (s *Server) worries(rows []workshop.JobRow, shop *workshop.Shop) Table {
	t := Table{
		Caption: "Jobs to look at", Hidden: true, Empty: Empty{Text: "No job needs you."},
		Columns: []Column{Head("Tag"), Head("Instrument"), Head("Customer"), Head("Why"), Figures("Due", shop.Currency.Code)},
	}
	today := shop.Today(s.now())
	for _, r := range rows {
		why := ""
		switch days := domain.WholeDays(r.Since, s.now()); {
		case r.Late(today):
			why = "we said " + Civil(r.Promised)
		case string(r.Stage) == "ready" && days >= 14:
			why = fmt.Sprintf("ready for %d days", days)
		case string(r.Stage) == "quoted" && days >= 7:
			why = fmt.Sprintf("no answer for %d days", days)
		default:
			continue
		}
		due := ""
		if r.Total > 0 {
			due = Money(shop.Currency, r.Due())
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Tag), Href: jobPath(r.ID)}, {Text: r.Title}, {Text: r.Name, Href: fmt.Sprintf("/customers/%d", r.Customer)}, {Text: why}, {Text: due},
		}})
	}
	return t
}

// FormPage is a page with one form and perhaps a list above it.
type FormPage struct {
	Page
	Above  *Table
	Lead   string // heading of the list
	Action string
	Groups []Group
	Hidden []Pair
	Button string
	Back   Link
	Secret string // shown once
	Notes  []Caution
	Ways   []Link // further settings
}

func (s *Server) formPage(c *gin.Context, status int, p *FormPage) {
	s.page(c, status, "owner/form", p)
}

// answer shows a form again with what is wrong, the error page, or goes on.
func (s *Server) answer(c *gin.Context, err error, again func(domain.Fields), text, next string) {
	switch {
	case domain.KindOf(err) == domain.Invalid, domain.KindOf(err) == domain.Conflict:
		again(fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, text)
		Go(c, next)
	}
}

func (s *Server) invoices(c *gin.Context) {
	ctx := c.Request.Context()
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	at := pageOf(c, 50)
	rows, total, err := s.Read.Invoices(ctx, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &ListPage{Page: s.frame(c, "Invoices", domain.Owner), Pager: pager(c, at, len(rows), total, "invoices")}
	p.Answer = fmt.Sprintf("%s issued so far.", Plural(total, "invoice was", "invoices were"))
	p.Table = Table{Caption: "Invoices", Hidden: true, Empty: Empty{Text: "No invoice was issued yet."},
		Columns: []Column{Head("Number"), Head("Date"), Head("Customer"), Head("Tag"), Figures("Total", shop.Currency.Code), Figures("Open", shop.Currency.Code)}}
	for _, r := range rows {
		p.Table.Rows = append(p.Table.Rows, Row{Cells: []Cell{
			{Text: strconv.Itoa(r.Number), Href: fmt.Sprintf("/invoices/%d", r.ID)}, {Text: Civil(r.Date)}, {Text: r.Name}, {Text: strconv.Itoa(r.Tag), Href: jobPath(r.Job)},
			{Text: Money(shop.Currency, r.Total)}, {Text: Money(shop.Currency, r.Total-r.Paid)},
		}})
	}
	s.page(c, http.StatusOK, "owner/list", p)
}

// ListPage is a page with one long list.
type ListPage struct {
	Page
	Table Table
	Pager Pager
}
