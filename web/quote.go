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
	"winterbench/domain/stock"
	"winterbench/domain/workshop"
)

// quoteRoutes registers the quote builder.
func (s *Server) quoteRoutes(r *gin.RouterGroup) {
	r.GET("/jobs/:job/quote", s.showBuilder)
	r.POST("/jobs/:job/quote", s.useBuilder)
	r.POST("/jobs/:job/quote/price", s.priceSheet)
	s.versionRoutes(r)
}

// drafting is a sheet on its way: what was read for it and what was typed.
type drafting struct {
	*workshop.Folder
	shelf   quote.Shelf
	parts   []stock.Part
	earlier *job.Job // that the job repeats; nil for none
	sheet   quote.Sheet
	seen    int // Lock of the draft that the form was made from; 0 for a new version
	add     adding
	errs    domain.Fields // of the buttons that add something
	asked   *workshop.Asked
	window  workshop.Window
}

// openDraft reads what a sheet needs. It answers the request itself and
// returns nil when that fails.
func (s *Server) openDraft(c *gin.Context) *drafting {
	ctx := c.Request.Context()
	if err := workshop.May(actor(c), workshop.ActQuote); err != nil {
		s.fail(c, err)
		return nil
	}
	f, err := workshop.ReadFolder(ctx, s.Read, domain.JobID(number(c, "job")), s.now())
	if err != nil {
		s.fail(c, err)
		return nil
	}
	d := &drafting{Folder: f, errs: domain.Fields{}}
	if d.shelf.Templates, err = s.Read.NewestEditions(ctx); err != nil {
		s.fail(c, err)
		return nil
	}
	if d.parts, err = s.Read.PartList(ctx); err != nil {
		s.fail(c, err)
		return nil
	}
	if f.Job.ComebackOf != 0 {
		if d.earlier, err = s.Read.JobByID(ctx, f.Job.ComebackOf); err != nil {
			s.fail(c, err)
			return nil
		}
	}
	d.shelf.Parts = map[string]stock.Part{}
	for _, p := range d.parts {
		d.shelf.Parts[p.Code] = p
	}
	return d
}

func (s *Server) showBuilder(c *gin.Context) {
	d := s.openDraft(c)
	if d == nil {
		return
	}
	d.add.parts = true
	d.sheet, d.seen = workshop.NextSheet(d.Versions)
	if d.seen != 0 {
		keepTyped(&d.sheet, d.Versions[0], d.Shop)
	}
	d.splint(c.Query("splint"), s.now())
	s.builder(c, http.StatusOK, d, false)
}

// keepTyped puts back what a draft has typed where the shop's rule would say
// otherwise: the deposit and the days it is valid.
func keepTyped(sheet *quote.Sheet, q quote.Quote, shop *workshop.Shop) {
	if q.Deposit != shop.Deposit.Ask(q.Totals.Total, shop.Rate, shop.Profile.Rounding.Mode) {
		sheet.Deposit = q.Currency.Text(q.Deposit)
	}
	made := shop.Today(q.Drafted)
	if q.ValidUntil != made.AddDays(shop.ValidDays) {
		days := q.ValidUntil.Time(shop.Location()).Sub(made.Time(shop.Location())).Hours() / 24
		sheet.Valid = strconv.Itoa(int(days + 0.5))
	}
}

// useBuilder does what the pressed button says: add, remove, work out or save.
func (s *Server) useBuilder(c *gin.Context) {
	d := s.openDraft(c)
	if d == nil {
		return
	}
	d.read(c)
	switch do := form(c, "do"); {
	case c.PostForm("remove") != "":
		d.remove(c.PostForm("remove"))
	case c.PostForm("offer") != "":
		d.takeOffer(c.PostForm("offer"))
	case do == "add-task":
		d.addTask()
	case do == "add-part":
		d.addPart()
	case do == "add-free":
		d.addFree()
	case strings.HasPrefix(do, "extra-"):
		s.addExtra(c, d, quote.Extra(strings.TrimPrefix(do, "extra-")))
	case do == "save":
		s.saveDraft(c, d)
		return
	}
	status := http.StatusOK
	if len(d.errs) > 0 {
		status = http.StatusUnprocessableEntity
	}
	s.builder(c, status, d, true)
}

func (s *Server) saveDraft(c *gin.Context, d *drafting) {
	id, err := s.Work.DraftQuote(keyed(c), actor(c), d.Job.ID, d.sheet, d.seen)
	switch kind := domain.KindOf(err); {
	case err == nil:
		s.say(c, "The draft is kept. Read it once as the customer will hear it.")
		Go(c, fmt.Sprintf("/quotes/%d", id))
	case kind == domain.Invalid || kind == domain.Conflict:
		d.errs = fieldErrors(err)
		s.builder(c, StatusOf(kind), d, true)
	default:
		s.fail(c, err)
	}
}

// priceSheet answers the totals of what is typed. Nothing is kept.
func (s *Server) priceSheet(c *gin.Context) {
	d := s.openDraft(c)
	if d == nil {
		return
	}
	d.read(c)
	p, err := s.buildPage(c, d, false)
	if err != nil {
		s.fail(c, err)
		return
	}
	if _, ok := WantsFragment(c); ok {
		s.fragment(c, http.StatusOK, "quote/build", "total", p.Live)
		return
	}
	s.page(c, http.StatusOK, "quote/build", p)
}

// builder writes the builder, whole or as the part that the script asks for.
// judged shows what is wrong on the sheet; a fresh page does not scold.
func (s *Server) builder(c *gin.Context, status int, d *drafting, judged bool) {
	p, err := s.buildPage(c, d, judged)
	if err != nil {
		s.fail(c, err)
		return
	}
	if status == http.StatusOK && len(p.Errors) > 0 && form(c, "do") == "work" {
		status = http.StatusUnprocessableEntity
	}
	if _, ok := WantsFragment(c); ok {
		s.fragment(c, status, "quote/build", "builder", p)
		return
	}
	s.page(c, status, "quote/build", p)
}

// buildPage prices the sheet and lays the page out.
func (s *Server) buildPage(c *gin.Context, d *drafting, judged bool) (*QuotePage, error) {
	q, err := s.Work.PriceQuote(c.Request.Context(), actor(c), d.Job.ID, d.sheet)
	if err != nil && domain.KindOf(err) != domain.Invalid {
		return nil, err
	}
	wrong := fieldErrors(err)
	p := &QuotePage{Page: s.frame(c, fmt.Sprintf("Quote for %s, %s", d.Instrument.Title(), d.Customer.Name), deskDoor(c))}
	p.Folio = fmt.Sprintf("tag %d", d.Job.Tag)
	if judged || len(d.sheet.Rows) > 0 {
		p.Errors = domain.Fields{}
		for _, fields := range []domain.Fields{d.errs, wrong} {
			for name, text := range fields {
				p.Errors.Add(name, "%s", text)
			}
		}
	}
	p.Dirty = judged
	if !judged {
		p.Errors = wrongRows(p.Errors)
	}
	if len(wrong) == 0 && len(q.Lines) > 0 {
		if d.asked, err = s.Outlook.Ask(c.Request.Context(), &q, d.shelf, d.survey()); err != nil {
			return nil, err
		}
	}
	d.window = workshop.WindowOfQuote(&q, d.asked, d.Shop, s.now())
	d.fill(p, &q, len(wrong), s.now())
	return p, nil
}
