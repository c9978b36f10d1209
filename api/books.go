package api

import (
	"bytes"
	"context"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/workshop"
)

// booksMonth is a month of the books.
type booksMonth struct {
	Month    string     `json:"month" doc:"2026-11"`
	Entries  int        `json:"entries"`
	Debits   string     `json:"debits" doc:"Sum of the month's debits, which is that of its credits"`
	Closed   *time.Time `json:"closed" doc:"null while it takes entries"`
	ClosedBy string     `json:"closed_by,omitempty"`
}

type booksMonthWhole struct {
	Currency string         `json:"currency"`
	Answer   string         `json:"answer" doc:"In a sentence"`
	Month    booksMonth     `json:"month"`
	Checks   []monthCheck   `json:"checks" doc:"What is to be looked at before it is closed; empty for a closed month"`
	Changes  []periodChange `json:"changes" doc:"When months were closed and opened again, newest first"`
}

type monthCheck struct {
	Name   string `json:"name"`
	Text   string `json:"text"`
	Good   bool   `json:"good"`
	Blocks bool   `json:"blocks" doc:"It must be good before the month can be closed"`
}

type periodChange struct {
	Month   string    `json:"month"`
	Change  string    `json:"change"`
	Reason  string    `json:"reason"`
	Entries int       `json:"entries" doc:"Of the month at that moment"`
	Debits  string    `json:"debits"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
}

// OnMonth names a month in the path.
type OnMonth struct {
	Month string `path:"month" doc:"2026-11"`
}

type closeMonthIn struct {
	OnMonth
	Body struct {
		Despite bool `json:"despite,omitempty" doc:"Close it although a check that does not block is not good"`
	}
}

type openMonthIn struct {
	OnMonth
	Body struct {
		Reason string `json:"reason"`
	}
}

// booksReport is one of the accountant's reports.
type booksReport struct {
	Name     string            `json:"name"`
	Title    string            `json:"title"`
	Answer   string            `json:"answer" doc:"In a sentence"`
	Currency string            `json:"currency"`
	From     string            `json:"from,omitempty"`
	To       string            `json:"to,omitempty"`
	Columns  []reportColumn    `json:"columns"`
	Rows     []reportRow       `json:"rows"`
	Total    map[string]string `json:"total,omitempty" doc:"By column"`
	Notes    []string          `json:"notes"`
	Lines    int               `json:"lines,omitempty" doc:"Behind a figure: how many there are in all"`
	Sum      string            `json:"sum,omitempty" doc:"Behind a figure: what all of them come to"`
}

type reportColumn struct {
	Name    string `json:"name"`
	Meaning string `json:"meaning"`
	Money   bool   `json:"money"`
}

type reportRow struct {
	Cells map[string]string `json:"cells" doc:"By column; amounts in the currency, with a point"`
	Lines map[string]string `json:"lines,omitempty" doc:"By column of money: the address of the lines that come to it"`
}

// ReportAsk asks for a report.
type ReportAsk struct {
	Report   string `path:"report" doc:"Its name"`
	From     string `query:"from" doc:"First day; left out: the first of the month, for the margin and a statement a year"`
	To       string `query:"to" doc:"Last day; left out: today"`
	Customer int64  `query:"customer" minimum:"0" doc:"Of a statement"`
}

// LinesAsk chooses lines of the journal.
type LinesAsk struct {
	Paged
	From       string   `query:"from" doc:"First day; left out: from the beginning"`
	To         string   `query:"to" doc:"Last day; left out: to the end"`
	Account    []string `query:"account,explode" doc:"Any of these"`
	Detail     string   `query:"detail" doc:"Such as the name of a tax"`
	NoDetail   string   `query:"no_detail" doc:"yes: only what has no detail"`
	Event      []string `query:"event,explode" doc:"Any of these"`
	Not        []string `query:"not,explode" doc:"None of these events"`
	Customer   string   `query:"customer" doc:"Identity of the customer"`
	Job        string   `query:"job" doc:"Identity of the job"`
	Invoice    string   `query:"invoice" doc:"Identity of the invoice"`
	NoInvoice  string   `query:"no_invoice" doc:"yes: only what is on no invoice"`
	NoJob      string   `query:"no_job" doc:"yes: only what is on no job"`
	NoCustomer string   `query:"no_customer" doc:"yes: only what is of no customer"`
	Paid       string   `query:"paid" doc:"yes: what of a tax became due by payments"`
	Sum        string   `query:"sum" doc:"How they are added up: empty, on the account's own side; debit or credit, only those; debits or credits, those less the others"`
}

type csvOut struct {
	ContentType string `header:"Content-Type" doc:"text/csv"`
	Body        []byte
}

// entryDoc is one entry of the journal.
type entryDoc struct {
	ID       int64        `json:"id"`
	Currency string       `json:"currency"`
	Date     string       `json:"date"`
	Event    string       `json:"event"`
	Text     string       `json:"text"`
	Customer *int64       `json:"customer"`
	Job      *int64       `json:"job"`
	Invoice  *int64       `json:"invoice"`
	Payment  *int64       `json:"payment"`
	Move     *int64       `json:"move" doc:"Of stock"`
	Reverses *int64       `json:"reverses" doc:"The entry that this one takes back"`
	At       time.Time    `json:"at"`
	By       string       `json:"by"`
	Postings []postingDoc `json:"postings"`
}

type postingDoc struct {
	Account string `json:"account"`
	Detail  string `json:"detail"`
	Debit   string `json:"debit"`
	Credit  string `json:"credit"`
}

// OnEntry names an entry of the journal in the path.
type OnEntry struct {
	Entry int64 `path:"entry" minimum:"1" doc:"Its number"`
}

type ownEntryIn struct {
	Body struct {
		Date   string `json:"date,omitempty" doc:"Left out: today"`
		Event  string `json:"event"`
		Text   string `json:"text"`
		Debit  string `json:"debit" doc:"Account"`
		Credit string `json:"credit" doc:"Account"`
		Detail string `json:"detail,omitempty" doc:"The tax, when a side is output tax"`
		Amount string `json:"amount"`
	}
}

type reverseIn struct {
	OnEntry
	Body struct {
		Why string `json:"why"`
	}
}

const booksAbout = "Which tax is owed, when, and on which basis is the law of the place; have your own adviser check every report before you file."

func (a *API) booksRoutes() {
	o := operation{noun: "books", act: workshop.ActReadBalance, method: http.MethodGet, path: "/books/months", id: "list_months", summary: "The months that have entries, newest first"}
	add(a, o, a.bookMonths)
	o.path, o.id, o.summary = "/books/months/{month}", "get_month", "A month of the books with what is to be looked at before it is closed"
	add(a, o, func(ctx context.Context, in *OnMonth) (*read[booksMonthWhole], error) {
		return a.bookMonth(ctx, in.Month)
	})
	o.path, o.id, o.summary, o.about = "/books/reports/{report}", "get_report", "A report for the accountant", booksAbout
	add(a, o, a.bookReport)
	o.path, o.id, o.summary = "/books/reports/{report}/csv", "get_report_csv", "A report for the accountant as CSV by RFC 4180"
	add(a, o, a.bookReportCSV)
	o.path, o.id, o.summary, o.about = "/books/entries", "list_lines", "Postings of the journal, oldest first: the lines behind a figure", ""
	add(a, o, a.bookLines)
	o.path, o.id, o.summary = "/books/entries/{entry}", "get_entry", "One entry of the journal with its postings"
	add(a, o, func(ctx context.Context, in *OnEntry) (*read[entryDoc], error) { return a.bookEntry(ctx, in.Entry) })
	o = operation{noun: "books", act: workshop.ActBooks, method: http.MethodPost, path: "/books/months/{month}/close", id: "close_month", summary: "Close a month: it takes no more entries"}
	add(a, o, func(ctx context.Context, in *closeMonthIn) (*read[booksMonthWhole], error) {
		if err := a.work.CloseMonth(ctx, by(ctx), in.Month, in.Body.Despite); err != nil {
			return nil, err
		}
		return a.bookMonth(ctx, in.Month)
	})
	o.path, o.id, o.summary = "/books/months/{month}/open", "open_month", "Open a closed month again, for a reason that is kept"
	add(a, o, func(ctx context.Context, in *openMonthIn) (*read[booksMonthWhole], error) {
		if err := a.work.OpenMonth(ctx, by(ctx), in.Month, in.Body.Reason); err != nil {
			return nil, err
		}
		return a.bookMonth(ctx, in.Month)
	})
	o = operation{noun: "books", act: workshop.ActBooks, method: http.MethodPost, path: "/books/entries", id: "note_entry", summary: "Note an entry by hand, on two accounts", status: http.StatusCreated}
	add(a, o, a.noteEntry)
	o.path, o.id, o.summary = "/books/entries/{entry}/reverse", "reverse_entry", "Take an entry that was noted by hand back, by a new one of today"
	add(a, o, func(ctx context.Context, in *reverseIn) (*read[entryDoc], error) {
		id, err := a.work.ReverseEntry(ctx, by(ctx), in.Entry, in.Body.Why)
		if err != nil {
			return nil, err
		}
		return a.bookEntry(ctx, id)
	})
}

func (a *API) bookMonths(ctx context.Context, _ *struct{}) (*many[booksMonth], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	all, err := a.read.Months(ctx)
	if err != nil {
		return nil, err
	}
	return whole(shop.Currency.Code, each(all, func(m workshop.MonthState) booksMonth { return booksMonthOf(m, shop) })), nil
}

func booksMonthOf(m workshop.MonthState, shop *workshop.Shop) booksMonth {
	return booksMonth{Month: m.Month, Entries: m.Entries, Debits: shop.Currency.Text(m.Debits), Closed: moment(m.Period.Closed), ClosedBy: m.Period.By}
}

func (a *API) bookMonth(ctx context.Context, month string) (*read[booksMonthWhole], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	b, err := workshop.ReadBooksMonth(ctx, a.read, month, a.work.Now())
	if err != nil {
		return nil, err
	}
	doc := booksMonthWhole{Currency: shop.Currency.Code, Answer: b.Answer, Month: booksMonthOf(b.State, shop)}
	doc.Checks = each(b.Checks, func(c workshop.MonthCheck) monthCheck {
		return monthCheck{Name: c.Name, Text: c.Text, Good: c.Good, Blocks: c.Blocks}
	})
	doc.Changes = each(b.Log, func(c workshop.PeriodChange) periodChange {
		return periodChange{Month: c.Month, Change: c.Change, Reason: c.Reason, Entries: c.Entries, Debits: shop.Currency.Text(c.Debits), At: c.At.UTC(), By: c.By}
	})
	return &read[booksMonthWhole]{Body: doc}, nil
}

func (in *ReportAsk) ask() workshop.Ask {
	return workshop.Ask{From: domain.Date(in.From), To: domain.Date(in.To), Customer: domain.CustomerID(in.Customer)}
}

func (a *API) bookReport(ctx context.Context, in *ReportAsk) (*read[booksReport], error) {
	t, ask, err := workshop.ReadReport(ctx, a.read, by(ctx), in.Report, in.ask(), a.work.Now())
	if err != nil {
		return nil, err
	}
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	doc := reportOf(t, shop)
	doc.To = string(ask.To)
	if r, err := workshop.ReportNamed(in.Report); err == nil && r.Span {
		doc.From = string(ask.From)
	}
	return &read[booksReport]{Body: doc}, nil
}

// reportOf says a report in JSON.
func reportOf(t *billing.Table, shop *workshop.Shop) booksReport {
	doc := booksReport{Name: t.Name, Title: t.Title, Answer: t.Answer, Currency: shop.Currency.Code, Notes: same(t.Notes)}
	doc.Columns = each(t.Columns, func(c billing.Column) reportColumn {
		return reportColumn{Name: c.Name, Meaning: c.Meaning, Money: c.Money}
	})
	cells := func(row []billing.Cell) map[string]string {
		out := map[string]string{}
		for i, c := range row {
			out[t.Columns[i].Name] = t.Text(i, c, shop.Currency)
		}
		return out
	}
	doc.Rows = each(t.Rows, func(r billing.Row) reportRow {
		row := reportRow{Cells: cells(r.Cells), Lines: map[string]string{}}
		for i, c := range r.Cells {
			if c.Behind != nil {
				row.Lines[t.Columns[i].Name] = Root + "/books/entries?" + c.Behind.Query().Encode()
			}
		}
		return row
	})
	if t.Total != nil {
		doc.Total = cells(t.Total)
	}
	return doc
}

func (a *API) bookReportCSV(ctx context.Context, in *ReportAsk) (*csvOut, error) {
	t, _, err := workshop.ReadReport(ctx, a.read, by(ctx), in.Report, in.ask(), a.work.Now())
	if err != nil {
		return nil, err
	}
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := t.WriteCSV(&out, shop.Currency); err != nil {
		return nil, err
	}
	return &csvOut{ContentType: "text/csv; charset=utf-8", Body: out.Bytes()}, nil
}

// query is what was asked as [billing.ReadLines] reads it.
func (in *LinesAsk) query() url.Values {
	q := url.Values{"account": in.Account, "event": in.Event, "not": in.Not}
	for name, v := range map[string]string{
		"from": in.From, "to": in.To, "detail": in.Detail, "customer": in.Customer, "job": in.Job, "invoice": in.Invoice,
		"no_invoice": in.NoInvoice, "no_job": in.NoJob, "no_customer": in.NoCustomer, "no_detail": in.NoDetail, "paid": in.Paid, "sum": in.Sum,
	} {
		q.Set(name, v)
	}
	return q
}

func (a *API) bookLines(ctx context.Context, in *LinesAsk) (*read[booksReport], error) {
	l, err := billing.ReadLines(in.query())
	if err != nil {
		return nil, err
	}
	b, err := workshop.ReadBehind(ctx, a.read, by(ctx), l, in.page())
	if err != nil {
		return nil, err
	}
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	doc := reportOf(&b.Table, shop)
	doc.Lines, doc.Sum = b.Count, shop.Currency.Text(b.Sum)
	return &read[booksReport]{Body: doc}, nil
}

func (a *API) bookEntry(ctx context.Context, id int64) (*read[entryDoc], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	e, err := a.read.EntryByID(ctx, id)
	if err != nil {
		return nil, err
	}
	c := shop.Currency
	doc := entryDoc{
		ID: e.ID, Currency: c.Code, Date: string(e.Date), Event: string(e.Event), Text: e.Text, Customer: identity(e.Customer), Job: identity(e.Job),
		Invoice: identity(e.Invoice), Payment: identity(e.Payment), Move: identity(e.Move), Reverses: identity(e.Reverses), At: e.At.UTC(), By: e.By,
	}
	doc.Postings = each(e.Postings, func(p billing.Posting) postingDoc {
		return postingDoc{Account: string(p.Account), Detail: p.Detail, Debit: c.Text(p.Debit), Credit: c.Text(p.Credit)}
	})
	return &read[entryDoc]{Body: doc}, nil
}

func (a *API) noteEntry(ctx context.Context, in *ownEntryIn) (*one[entryDoc], error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	f := domain.Fields{}
	o := workshop.OwnEntry{
		Date: dateIn(f, "date", in.Body.Date), Event: billing.Event(in.Body.Event), Text: in.Body.Text, Debit: billing.Account(in.Body.Debit),
		Credit: billing.Account(in.Body.Credit), Detail: in.Body.Detail, Amount: amountIn(f, "amount", in.Body.Amount, shop.Currency),
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	id, err := a.work.NoteEntry(ctx, by(ctx), o)
	if err != nil {
		return nil, err
	}
	doc, err := a.bookEntry(ctx, id)
	if err != nil {
		return nil, err
	}
	return &one[entryDoc]{Location: Root + "/books/entries/" + strconv.FormatInt(id, 10), Body: doc.Body}, nil
}
