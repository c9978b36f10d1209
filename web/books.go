package web

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

const (
	booksPath   = "/books"
	reportsPath = booksPath + "/reports"
	entriesPath = booksPath + "/entries"
)

// booksRoutes registers the books: months, reports and what stands behind them.
func (s *Server) booksRoutes(r *gin.RouterGroup) {
	r.GET(booksPath, s.books)
	r.POST(booksPath+"/close", s.closeBooks)
	r.POST(booksPath+"/open", s.openBooks)
	r.GET(booksPath+"/note", s.ownEntry)
	r.POST(booksPath+"/note", s.noteOwnEntry)
	r.GET(reportsPath+"/:report", s.report)
	r.GET(reportsPath+"/:report/file.csv", s.reportCSV)
	r.GET(entriesPath, s.entries)
	r.GET(entriesPath+"/file.csv", s.entriesCSV)
	r.GET(entriesPath+"/:entry", s.entry)
	r.POST(entriesPath+"/:entry/reverse", s.reverseEntry)
}

// BooksPage is a month of the books.
type BooksPage struct {
	Page
	Month    string // 2026-11
	Words    string
	Checks   []CheckLine
	Cautions bool // the check list has a caution that does not block
	CanClose bool
	CanOpen  bool
	OpenKey  string
	Reason   Field
	Despite  Field
	Trial    Table
	Months   Table
	Log      Table
	Reports  []ReportLink
	Ways     []Link
	Warn     Caution
}

// CheckLine is a line of the check list.
type CheckLine struct {
	Text string
	Word string // "good", "look" or "stop"
}

// ReportLink leads to a report.
type ReportLink struct{ Href, Title, About string }

func (s *Server) books(c *gin.Context) { s.showBooks(c, http.StatusOK, c.Query("month"), nil) }

func (s *Server) showBooks(c *gin.Context, status int, month string, errs domain.Fields) {
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
	b, err := workshop.ReadBooksMonth(ctx, s.Read, month, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &BooksPage{Page: s.frame(c, "Books", domain.Owner), OpenKey: NewKey()}
	p.Errors = errs
	fillBooks(p, b, shop, workshop.May(actor(c), workshop.ActBooks) == nil)
	s.page(c, status, "books/month", p)
}

// fillBooks lays a month out.
func fillBooks(p *BooksPage, b *workshop.BooksMonth, shop *workshop.Shop, keeps bool) {
	p.Answer, p.Month, p.Words = b.Answer, b.State.Month, workshop.MonthWords(b.State.Month)
	p.Warn = Caution{Text: billing.TaxNote}
	p.CanOpen, p.CanClose = keeps && !b.State.Period.Closed.IsZero(), keeps && b.State.Period.Closed.IsZero()
	for _, c := range b.Checks {
		line := CheckLine{Text: c.Text, Word: "good"}
		switch {
		case !c.Good && c.Blocks:
			line.Word, p.CanClose = "stop", false
		case !c.Good:
			line.Word, p.Cautions = "look", true
		}
		p.Checks = append(p.Checks, line)
	}
	p.Reason = TextField("reason", "Why is it opened again?", "").Need().Marked(p.Errors)
	p.Despite = CheckField("despite", "Close it all the same", false)
	trial := b.Trial.Table()
	p.Trial = reportTable(&trial, shop.Currency)
	p.Months, p.Log = monthsTable(b.Months, shop), logTable(b.Log, shop)
	first, last := billing.MonthDays(b.State.Month)
	for _, r := range workshop.Reports() {
		href := reportsPath + "/" + r.Name + "?to=" + string(last)
		if r.Span {
			href += "&from=" + string(first)
		}
		if r.Name == "margin" {
			href = reportsPath + "/" + r.Name + "?to=" + string(last)
		}
		if r.Of {
			continue // a customer's page leads there
		}
		p.Reports = append(p.Reports, ReportLink{Href: href, Title: r.Title, About: r.About})
	}
	p.Ways = []Link{{Href: "/owner", Text: "Owner"}}
	if keeps {
		p.Ways = append([]Link{{Href: booksPath + "/note", Text: "Note an entry"}}, p.Ways...)
	}
}

func monthsTable(all []workshop.MonthState, shop *workshop.Shop) Table {
	t := Table{Caption: "Months", Hidden: true, Columns: []Column{Head("Month"), Head("State"), Figures("Entries", ""), Figures("Debits", shop.Currency.Code)}, Empty: Empty{Text: "Nothing was posted yet."}}
	for _, m := range all {
		state := "open"
		if !m.Period.Closed.IsZero() {
			state = "closed " + string(domain.DateOf(m.Period.Closed.In(shop.Location()))) + " by " + m.Period.By
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: workshop.MonthWords(m.Month), Href: booksPath + "?month=" + m.Month}, {Text: state}, {Text: strconv.Itoa(m.Entries)}, {Text: Money(shop.Currency, m.Debits)},
		}})
	}
	return t
}

func logTable(all []workshop.PeriodChange, shop *workshop.Shop) Table {
	t := Table{Caption: "Closed and opened", Hidden: true, Columns: []Column{Head("When"), Head("Month"), Head("What"), Head("By"), Head("Why"), Figures("Entries", ""), Figures("Debits", shop.Currency.Code)}, Empty: Empty{Text: "No month was closed yet."}}
	for _, c := range all {
		t.Rows = append(t.Rows, Line(c.At.In(shop.Location()).Format("2006-01-02 15:04"), workshop.MonthWords(c.Month), c.Change, c.By, c.Reason, strconv.Itoa(c.Entries), Money(shop.Currency, c.Debits)))
	}
	return t
}

func (s *Server) closeBooks(c *gin.Context) {
	month := form(c, "month")
	err := s.Work.CloseMonth(keyed(c), actor(c), month, form(c, "despite") == "yes")
	s.afterBooks(c, err, month, workshop.MonthWords(month)+" is closed.")
}

func (s *Server) openBooks(c *gin.Context) {
	month := form(c, "month")
	err := s.Work.OpenMonth(keyed(c), actor(c), month, form(c, "reason"))
	s.afterBooks(c, err, month, workshop.MonthWords(month)+" is open again.")
}

// afterBooks answers a change of a month.
func (s *Server) afterBooks(c *gin.Context, err error, month, done string) {
	switch {
	case domain.KindOf(err) == domain.Invalid && len(domain.FieldsOf(err)) > 0, domain.KindOf(err) == domain.Conflict:
		s.showBooks(c, http.StatusUnprocessableEntity, month, fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, done)
		Go(c, booksPath+"?month="+month)
	}
}

// accountOptions lists accounts to choose from.
func accountOptions() (out []Option) {
	out = append(out, Option{Value: "", Label: "choose"})
	for _, a := range workshop.OwnAccounts() {
		out = append(out, Option{Value: string(a), Label: string(a)})
	}
	return out
}

func (s *Server) ownEntry(c *gin.Context) {
	s.showOwnEntry(c, http.StatusOK, workshop.OwnEntry{Event: billing.CardSettled}, nil)
}

func (s *Server) showOwnEntry(c *gin.Context, status int, o workshop.OwnEntry, errs domain.Fields) {
	if err := workshop.May(actor(c), workshop.ActBooks); err != nil {
		s.fail(c, err)
		return
	}
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	if o.Date == "" && errs == nil {
		o.Date = shop.Today(s.now())
	}
	p := &FormPage{Page: s.frame(c, "Note an entry", domain.Owner), Lead: "", Back: Link{Href: booksPath, Text: "Books"}}
	p.Answer = "What happened beside the shop’s own documents is noted here, on two accounts."
	p.Errors = errs
	p.Groups, p.Button, p.Action = ownEntryGroups(o, form(c, "amount"), shop.Currency, errs), "Post the entry", booksPath+"/note"
	s.formPage(c, status, p)
}

func ownEntryGroups(o workshop.OwnEntry, amount string, cur money.Currency, errs domain.Fields) []Group {
	var events []Option
	for _, e := range workshop.OwnEvents() {
		events = append(events, Option{Value: string(e), Label: string(e)})
	}
	mark := func(f Field) Field { return f.Marked(errs) }
	return []Group{
		{Legend: "What happened", Fields: []Field{
			mark(ChoiceField("event", "Event", string(o.Event), events)), mark(DateField("date", "Day", o.Date)), mark(TextField("text", "In words", o.Text).Need()),
		}},
		{Legend: "Between", Note: "Accounts that follow documents, such as receivables, deposits and stock, are not offered.", Fields: []Field{
			mark(ChoiceField("debit", "Debit", string(o.Debit), accountOptions())), mark(ChoiceField("credit", "Credit", string(o.Credit), accountOptions())),
			mark(TextField("detail", "Tax, when it is one", o.Detail)), mark(MoneyField("amount", "Amount", amount, cur.Code).Need()),
		}},
	}
}

func (s *Server) noteOwnEntry(c *gin.Context) {
	shop, err := s.Read.ShopSettings(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	f := domain.Fields{}
	o := workshop.OwnEntry{
		Date: dateIn(f, c, "date"), Event: billing.Event(form(c, "event")), Text: form(c, "text"), Debit: billing.Account(form(c, "debit")),
		Credit: billing.Account(form(c, "credit")), Detail: form(c, "detail"), Amount: amountIn(f, c, "amount", shop.Currency),
	}
	if len(f) > 0 {
		s.showOwnEntry(c, http.StatusUnprocessableEntity, o, f)
		return
	}
	id, err := s.Work.NoteEntry(keyed(c), actor(c), o)
	switch {
	case domain.KindOf(err) == domain.Invalid, domain.KindOf(err) == domain.Conflict:
		s.showOwnEntry(c, http.StatusUnprocessableEntity, o, fieldErrors(err))
	case err != nil:
		s.fail(c, err)
	default:
		s.say(c, "Entry "+strconv.FormatInt(id, 10)+" is posted.")
		Go(c, entriesPath+"/"+strconv.FormatInt(id, 10))
	}
}
