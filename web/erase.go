package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

const longGonePath = "/customers/long-gone"

// eraseRoutes registers what a customer may ask of the shop: everything that is
// kept on them, and to be erased.
func (s *Server) eraseRoutes(r *gin.RouterGroup) {
	r.GET(longGonePath, s.longGone)
	r.GET("/customers/:customer/everything.zip", s.everything)
	r.GET("/customers/:customer/erase", s.askErase)
	r.POST("/customers/:customer/erase", s.erase)
}

// everything hands out all that is kept on a customer.
func (s *Server) everything(c *gin.Context) {
	id := domain.CustomerID(number(c, "customer"))
	if err := workshop.May(actor(c), workshop.ActHandOut); err != nil {
		s.fail(c, err)
		return
	}
	var zip bytes.Buffer // whole before the first byte goes: a fault gets its page
	if err := s.Read.HandOut(c.Request.Context(), id, &zip); err != nil {
		s.fail(c, err)
		return
	}
	c.Header("Content-Disposition", fmt.Sprintf(`attachment; filename="customer-%d.zip"`, id))
	c.Data(http.StatusOK, "application/zip", zip.Bytes())
}

func (s *Server) askErase(c *gin.Context) { s.showErase(c, http.StatusOK, nil) }

func (s *Server) showErase(c *gin.Context, status int, errs domain.Fields) {
	ctx, id := c.Request.Context(), domain.CustomerID(number(c, "customer"))
	if err := workshop.May(actor(c), workshop.ActErase); err != nil {
		s.fail(c, err)
		return
	}
	who, err := s.Read.CustomerByID(ctx, id)
	if err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &FormPage{Page: s.frame(c, "Erase "+who.Name, domain.Owner), Action: customerPath(id) + "/erase", Button: "Erase for good", Back: Link{Href: customerPath(id), Text: "Back"}}
	p.Answer = "This cannot be taken back."
	p.Because = []string{
		"Gone: name, phone, mail, address, serials, complaints, notes, diaries and photos.",
		"Staying: measures, tasks, minutes and prices without a name.",
		fmt.Sprintf("Staying with the name: invoices, payments and the journal, for %d years after the year of the newest.", shop.KeepsPapers()),
	}
	p.Notes = []Caution{{Text: "What must be erased or kept, and for how long, is a matter of local law; ask who advises you. Copies of the shop made before today still hold this customer until you throw them away."}}
	p.Errors = errs
	p.Groups = []Group{{Legend: "To be sure", Fields: markAll(errs, []Field{
		TextField("name", "The customer's name, typed again", form(c, "name")).Need().Limit(120),
		TextField("reason", "Why", form(c, "reason")).Need().Limit(200).Hint("such as: asked for it by letter"),
	})}}
	p.Ways = []Link{{Href: customerPath(id) + "/everything.zip", Text: "Everything kept, as a file"}}
	s.formPage(c, status, p)
}

func (s *Server) erase(c *gin.Context) {
	id := domain.CustomerID(number(c, "customer"))
	e, err := s.Work.Erase(keyed(c), actor(c), id, form(c, "name"), form(c, "reason"))
	text := ""
	if err == nil {
		text = "Erased. " + e.Kept
	}
	s.answer(c, err, func(f domain.Fields) {
		if domain.KindOf(err) == domain.Conflict {
			s.fail(c, err)
			return
		}
		s.showErase(c, http.StatusUnprocessableEntity, f)
	}, text, customerPath(id))
}

// LongGonePage lists customers who may be erased because no paper needs them.
type LongGonePage struct {
	Page
	Table Table
	Pager Pager
}

func (s *Server) longGone(c *gin.Context) {
	ctx := c.Request.Context()
	if err := workshop.May(actor(c), workshop.ActErase); err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	before, at := shop.ForgetBefore(s.now()), pageOf(c, 50)
	rows, total, err := s.Read.Forgettable(ctx, before, at)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &LongGonePage{Page: s.frame(c, "Long gone", domain.Owner), Pager: pager(c, at, len(rows), total, "customers")}
	day := Civil(domain.DateOf(before.In(shop.Location())))
	p.Answer = fmt.Sprintf("%s here before %s and not since.", Plural(total, "customer was", "customers were"), day)
	p.Because = []string{fmt.Sprintf("Papers of money are kept for %d years; nothing asks for these customers' names any more.", shop.KeepsPapers())}
	p.Table = Table{Caption: "Customers", Hidden: true, Columns: []Column{Head("Customer"), Head("Last here"), Head("Visits"), Head("")}, Empty: Empty{Text: "Nobody is gone so long."}}
	for _, r := range rows {
		p.Table.Rows = append(p.Table.Rows, Row{Cells: []Cell{
			{Text: r.Name, Href: customerPath(r.Customer)}, {Text: Civil(domain.DateOf(r.Last.In(shop.Location())))}, {Text: fmt.Sprint(r.Jobs)},
			{Text: "Erase", Href: customerPath(r.Customer) + "/erase"},
		}})
	}
	s.page(c, http.StatusOK, "customer/gone", p)
}

// erasedNote says that a customer was erased and what stayed; "" for one who was not.
func (s *Server) erasedNote(c *gin.Context, id domain.CustomerID) (string, error) {
	e, err := s.Read.ErasureOf(c.Request.Context(), id)
	if domain.KindOf(err) == domain.NotFound {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	return strings.TrimSpace(fmt.Sprintf("Erased on %s by %s: %s. %s", Civil(domain.DateOf(e.At.In(s.zone.Load()))), e.By, e.Reason, e.Kept)), nil
}
