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
	r.GET(ownerPath, s.owner)
	r.GET(ownerPath+"/:list", s.ownerCSV)
	r.GET("/settings", s.settings)
	r.POST("/settings", s.saveSettings)
	s.calendarRoutes(r)
	s.electronicRoutes(r)
	s.lastingRoutes(r)
	s.learnRoutes(r)
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
			{Text: strconv.Itoa(r.Number), Href: fmt.Sprintf("/invoices/%d", r.ID)}, {Text: Civil(r.Date)}, {Text: orDash(r.Name)}, tagOf(r),
			{Text: Money(shop.Currency, r.Total)}, {Text: Money(shop.Currency, r.Due())},
		}})
	}
	s.page(c, http.StatusOK, "owner/list", p)
}

// tagOf is the tag of an invoice's job, or that it was sold over the counter.
func tagOf(r workshop.InvoiceRow) Cell {
	if r.Job == 0 {
		return Cell{Text: "sale", Href: salePath(r.ID)}
	}
	return Cell{Text: strconv.Itoa(r.Tag), Href: jobPath(r.Job)}
}

// ListPage is a page with one long list.
type ListPage struct {
	Page
	Table Table
	Pager Pager
	Ways  []Link
}
