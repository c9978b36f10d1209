package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// ReportPage is one of the accountant's reports.
type ReportPage struct {
	Page
	Lead   string
	Action string // path of the form that asks for other days
	Ask    []Field
	Hidden []Pair
	Table  Table
	Notes  []string
	Pager  *Pager
	Ways   []Link
	Warn   Caution
}

// reportTable lays a report out; amounts lead to the lines behind them.
func reportTable(t *billing.Table, cur money.Currency) Table {
	out := Table{Caption: t.Title, Hidden: true, Empty: Empty{Text: "There is nothing in these days."}}
	for _, c := range t.Columns {
		if c.Money {
			out.Columns = append(out.Columns, Figures(c.Head, cur.Code))
			continue
		}
		out.Columns = append(out.Columns, Head(c.Head))
	}
	for _, r := range t.Rows {
		out.Rows = append(out.Rows, reportRow(t, r.Cells, cur))
	}
	if len(out.Rows) > 0 && t.Total != nil {
		out.Rows = append(out.Rows, reportRow(t, t.Total, cur))
	}
	return out
}

func reportRow(t *billing.Table, cells []billing.Cell, cur money.Currency) Row {
	var r Row
	for i, c := range cells {
		cell := Cell{Text: c.Text, Href: aboutPath(c)}
		if t.Columns[i].Money && !c.Blank {
			cell.Text = Money(cur, c.Amount)
			if c.Behind != nil && c.Amount != 0 {
				cell.Href = entriesPath + "?" + c.Behind.Query().Encode()
			}
		}
		if _, err := strconv.ParseInt(c.Text, 10, 64); t.Columns[i].Name == "entry" && err == nil { // "All" is none
			cell.Href = entriesPath + "/" + c.Text
		}
		r.Cells = append(r.Cells, cell)
	}
	return r
}

// aboutPath is the page of what a cell is about, "" for nothing.
func aboutPath(c billing.Cell) string {
	switch {
	case c.Text == "":
		return ""
	case c.Job != 0:
		return fmt.Sprintf("/jobs/%d", c.Job)
	case c.Customer != 0:
		return fmt.Sprintf("/customers/%d", c.Customer)
	case c.Invoice != 0:
		return fmt.Sprintf("/invoices/%d", c.Invoice)
	case c.Part != 0:
		return fmt.Sprintf("/parts/%d", c.Part)
	}
	return ""
}

// reportAsk reads what a report is asked for.
func reportAsk(c *gin.Context) workshop.Ask {
	customer, _ := strconv.ParseInt(c.Query("customer"), 10, 64)
	return workshop.Ask{From: domain.Date(c.Query("from")), To: domain.Date(c.Query("to")), Customer: domain.CustomerID(customer)}
}

func (s *Server) report(c *gin.Context) {
	ctx := c.Request.Context()
	r, err := workshop.ReportNamed(c.Param("report"))
	if err != nil {
		s.fail(c, err)
		return
	}
	t, ask, err := workshop.ReadReport(ctx, s.Read, actor(c), r.Name, reportAsk(c), s.now())
	if err != nil && domain.KindOf(err) != domain.Invalid {
		s.fail(c, err)
		return
	}
	shop, shopErr := s.Read.ShopSettings(ctx)
	if shopErr != nil {
		s.fail(c, shopErr)
		return
	}
	p := &ReportPage{Page: s.frame(c, r.Title, domain.Owner), Lead: r.About, Action: reportsPath + "/" + r.Name}
	p.Errors = domain.FieldsOf(err)
	fillReport(p, r, t, ask, shop.Currency)
	status := http.StatusOK
	if err != nil {
		status = http.StatusUnprocessableEntity
	}
	s.page(c, status, "books/report", p)
}

// fillReport lays a report out with the days that it is of; t is nil when it could not
// be made.
func fillReport(p *ReportPage, r workshop.Report, t *billing.Table, ask workshop.Ask, cur money.Currency) {
	p.Answer = "The report cannot be made like this."
	to := DateField("to", "Last day", ask.To)
	if r.Span {
		p.Ask = append(p.Ask, DateField("from", "First day", ask.From).Marked(p.Errors))
	} else {
		to = DateField("to", "At the end of", ask.To)
	}
	p.Ask = append(p.Ask, to.Marked(p.Errors))
	q := url.Values{"to": {string(ask.To)}}
	if r.Span {
		q.Set("from", string(ask.From))
	}
	if r.Of {
		customer := strconv.FormatInt(int64(ask.Customer), 10)
		p.Hidden = []Pair{{Name: "customer", Value: customer}}
		q.Set("customer", customer)
	}
	p.Ways = []Link{{Href: booksPath, Text: "Books"}}
	if t == nil {
		return
	}
	p.Answer, p.Table, p.Notes = t.Answer, reportTable(t, cur), t.Notes
	p.Warn = Caution{Text: billing.TaxNote}
	p.Notes = without(p.Notes, billing.TaxNote)
	p.Ways = append([]Link{{Href: reportsPath + "/" + r.Name + "/file.csv?" + q.Encode(), Text: "As CSV"}}, p.Ways...)
}

func without(texts []string, one string) (out []string) {
	for _, t := range texts {
		if t != one {
			out = append(out, t)
		}
	}
	return out
}

func (s *Server) reportCSV(c *gin.Context) {
	t, _, err := workshop.ReadReport(c.Request.Context(), s.Read, actor(c), c.Param("report"), reportAsk(c), s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	s.tableCSV(c, t)
}

// tableCSV answers with a report as a file.
func (s *Server) tableCSV(c *gin.Context, t *billing.Table) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Header("Content-Type", "text/csv; charset=utf-8")
	c.Header("Content-Disposition", `attachment; filename="`+t.Name+`.csv"`)
	_ = t.WriteCSV(c.Writer, shop.Currency) // whoever reads it went away
}

// behind reads the lines that the address asks for; nil when the answer was given.
func (s *Server) behind(c *gin.Context, page workshop.Page) *workshop.BehindFigure {
	q := c.Request.URL.Query()
	pageFrom := q.Get("at")
	if n, err := strconv.Atoi(pageFrom); err == nil && n > 0 && page.Limit > 0 {
		page.Offset = n
	}
	l, err := billing.ReadLines(q)
	if err == nil {
		var b *workshop.BehindFigure
		if b, err = workshop.ReadBehind(c.Request.Context(), s.Read, actor(c), l, page); err == nil {
			return b
		}
	}
	s.fail(c, err)
	return nil
}

// linesAtOnce is how many lines stand on a page.
const linesAtOnce = 100

func (s *Server) entries(c *gin.Context) {
	page := workshop.Page{Limit: linesAtOnce}
	b := s.behind(c, page)
	if b == nil {
		return
	}
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &ReportPage{Page: s.frame(c, b.Table.Title, domain.Owner), Warn: Caution{Text: billing.TaxNote}}
	p.Answer = fmt.Sprintf("%s: they come to %s.", Plural(b.Count, "line", "lines"), shop.Currency.Show(b.Sum))
	p.Table = reportTable(&b.Table, shop.Currency)
	p.Ways = []Link{{Href: entriesPath + "/file.csv?" + c.Request.URL.RawQuery, Text: "All as CSV"}, {Href: booksPath, Text: "Books"}}
	if b.Count > len(b.Table.Rows) {
		pg := linesPager(c, len(b.Table.Rows), b.Count)
		p.Pager = &pg
	}
	s.page(c, http.StatusOK, "books/report", p)
}

// linesPager leads through lines; "from" is taken by the days.
func linesPager(c *gin.Context, shown, total int) Pager {
	at, _ := strconv.Atoi(c.Query("at"))
	at = max(at, 0)
	out := Pager{From: at + 1, To: at + shown, Total: total, What: "lines"}
	to := func(n int) string {
		q := c.Request.URL.Query()
		q.Set("at", strconv.Itoa(n))
		return entriesPath + "?" + q.Encode()
	}
	if at > 0 {
		out.Earlier = to(max(at-linesAtOnce, 0))
	}
	if out.To < total {
		out.Later = to(at + linesAtOnce)
	}
	return out
}

func (s *Server) entriesCSV(c *gin.Context) {
	if b := s.behind(c, workshop.Page{}); b != nil {
		s.tableCSV(c, &b.Table)
	}
}

// EntryPage is one entry of the journal.
type EntryPage struct {
	Page
	Facts    Facts
	Postings Table
	Reverse  string // path of the form that takes it back; "" when it cannot be
	Why      Field
	Ways     []Link
}

func (s *Server) entry(c *gin.Context) { s.showEntry(c, http.StatusOK, nil) }

func (s *Server) showEntry(c *gin.Context, status int, errs domain.Fields) {
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
	e, err := s.Read.EntryByID(ctx, number(c, "entry"))
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &EntryPage{Page: s.frame(c, "Entry", domain.Owner), Ways: []Link{{Href: booksPath + "?month=" + workshop.MonthOf(e.Date), Text: "Books of the month"}}}
	p.Errors = errs
	fillEntry(p, e, shop)
	if workshop.May(actor(c), workshop.ActBooks) == nil && workshop.Reversible(e) == nil {
		p.Reverse = entriesPath + "/" + strconv.FormatInt(e.ID, 10) + "/reverse"
	}
	s.page(c, status, "books/entry", p)
}

// fillEntry lays an entry out.
func fillEntry(p *EntryPage, e *billing.Entry, shop *workshop.Shop) {
	p.Folio = fmt.Sprintf("entry %d", e.ID)
	p.Answer = fmt.Sprintf("%s: %s.", e.Event, e.Text)
	p.Facts = Facts{{Name: "Date", Value: string(e.Date)}, {Name: "Posted", Value: e.At.In(shop.Location()).Format("2006-01-02 15:04")}, {Name: "By", Value: e.By}}
	for _, l := range []struct {
		name, path string
		id         int64
	}{
		{"Customer", "/customers/", int64(e.Customer)}, {"Job", "/jobs/", int64(e.Job)}, {"Invoice", "/invoices/", int64(e.Invoice)}, {"Takes back entry", entriesPath + "/", e.Reverses},
	} {
		if l.id != 0 {
			id := strconv.FormatInt(l.id, 10)
			p.Facts = append(p.Facts, Fact{Name: l.name, Value: "open", Href: l.path + id})
		}
	}
	p.Postings = Table{Caption: "Postings", Hidden: true, Columns: []Column{Head("Account"), Head("Detail"), Figures("Debit", shop.Currency.Code), Figures("Credit", shop.Currency.Code)}}
	for _, x := range e.Postings {
		p.Postings.Rows = append(p.Postings.Rows, Line(string(x.Account), x.Detail, Money(shop.Currency, x.Debit), Money(shop.Currency, x.Credit)))
	}
	p.Why = TextField("why", "Why is it taken back?", "").Need().Marked(p.Errors)
}

func (s *Server) reverseEntry(c *gin.Context) {
	id, err := s.Work.ReverseEntry(keyed(c), actor(c), number(c, "entry"), form(c, "why"))
	switch {
	case domain.KindOf(err) == domain.Invalid, domain.KindOf(err) == domain.Conflict:
		s.showEntry(c, http.StatusUnprocessableEntity, fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, "It is taken back.")
		Go(c, entriesPath+"/"+strconv.FormatInt(id, 10))
	}
}
