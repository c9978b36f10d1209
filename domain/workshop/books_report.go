package workshop

import (
	"context"
	"fmt"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// Report is one of the accountant's reports.
type Report struct {
	Name  string // of the address and the file
	Title string
	About string // what it is for, in a sentence
	Span  bool   // of a stretch of days; else of the end of one day
	Of    bool   // of one customer
}

var reports = []Report{
	{Name: "trial-balance", Title: "Trial balance", About: "Every account before, in and after the days.", Span: true},
	{Name: "sales-tax", Title: "Sales tax by invoice date", About: "Each component by month, as invoices and credit notes were issued.", Span: true},
	{Name: "sales-tax-paid", Title: "Sales tax by payment date", About: "Each component by month, as invoices were paid.", Span: true},
	{Name: "receivables", Title: "Receivables by age", About: "Who owes what, and for how long."},
	{Name: "stock", Title: "Stock value", About: "What lies on the shelves, at cost."},
	{Name: "bills-to-come", Title: "Bills to come", About: "Parts that came from suppliers and have no bill yet."},
	{Name: "work-in-progress", Title: "Work in progress", About: "Parts in jobs that are not billed yet, at cost."},
	{Name: "margin", Title: "Margin by month", About: "What was earned and what it cost in parts.", Span: true},
	{Name: "journal", Title: "Journal", About: "Every entry, posting by posting.", Span: true},
	{Name: "statement", Title: "Statement of a customer", About: "What a customer was charged and paid.", Span: true, Of: true},
}

// Reports lists the accountant's reports.
func Reports() []Report { return append([]Report(nil), reports...) }

// ReportNamed finds a report; a name that is none is not found.
func ReportNamed(name string) (Report, error) {
	for _, r := range reports {
		if r.Name == name {
			return r, nil
		}
	}
	return Report{}, domain.NotFoundf("there is no report %q", name)
}

// Ask says what a report is asked for.
type Ask struct {
	From, To domain.Date // of a stretch; To is also the day of a report of one day
	Customer domain.CustomerID
}

// mostReportDays is the longest stretch that is listed line by line at once.
const mostReportDays = 366

// Complete fills in what was not asked for, with the month so far, and for the margin
// the twelve months so far. It returns an Invalid error for what cannot be.
func (a Ask) Complete(r Report, today domain.Date) (Ask, error) {
	f := domain.Fields{}
	if a.To == "" {
		a.To = today
	}
	if _, err := domain.ParseDate(string(a.To)); err != nil {
		f.AddErr("to", err)
		return a, f.Err()
	}
	if a.From == "" {
		a.From = domain.Date(MonthOf(a.To) + "-01")
		if r.Name == "margin" || r.Name == "statement" {
			a.From = domain.DateOf(a.From.Time(time.UTC).AddDate(0, -11, 0))
		}
	}
	if _, err := domain.ParseDate(string(a.From)); err != nil {
		f.AddErr("from", err)
		return a, f.Err()
	}
	lines := r.Name == "journal" || r.Name == "sales-tax-paid"
	switch {
	case !r.Span:
	case a.From > a.To:
		f.Add("from", "must not be after the last day, %s", a.To)
	case lines && a.From.DaysTo(a.To) >= mostReportDays:
		f.Add("from", "at most %d days are listed at once; ask for each year by itself", mostReportDays)
	}
	if r.Of && a.Customer <= 0 {
		f.Add("customer", "name the customer")
	}
	return a, f.Err()
}

// ReadReport makes a report. Who asks must be allowed to read the shop's earnings.
func ReadReport(ctx context.Context, read Queries, by domain.Actor, name string, ask Ask, now time.Time) (*billing.Table, Ask, error) {
	if err := May(by, ActReadBalance); err != nil {
		return nil, ask, err
	}
	r, err := ReportNamed(name)
	if err != nil {
		return nil, ask, err
	}
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, ask, err
	}
	if ask, err = ask.Complete(r, shop.Today(now)); err != nil {
		return nil, ask, err
	}
	t, err := reader{ctx, read, shop, ask}.report(name)
	if err != nil {
		return nil, ask, fmt.Errorf("report %s: %w", name, err)
	}
	return &t, ask, nil
}

// reader makes reports for one request.
type reader struct {
	ctx  context.Context
	read Queries
	shop *Shop
	ask  Ask
}

func (r reader) report(name string) (billing.Table, error) {
	switch name {
	case "trial-balance":
		sums, err := r.read.AccountSums(r.ctx, r.ask.From, r.ask.To)
		return billing.TrialBalanceOf(sums, r.ask.From, r.ask.To).Table(), err
	case "sales-tax", "margin":
		sums, err := r.read.MonthSums(r.ctx, r.ask.From, r.ask.To)
		if name == "margin" {
			return billing.MarginTable(billing.Margins(sums)), err
		}
		return billing.TaxTable(billing.SalesTax(sums)), err
	case "sales-tax-paid":
		moves, err := r.read.InvoiceMoves(r.ctx, r.ask.From, r.ask.To)
		return billing.TaxPaidTable(billing.TaxPaid(billing.TaxPaidLines(moves), r.ask.From, r.ask.To)), err
	case "receivables":
		owed, err := r.read.OwedOn(r.ctx, r.ask.To)
		return billing.AgeTable(billing.AgeOwed(owed, r.ask.To), r.ask.To), err
	case "work-in-progress":
		jobs, err := r.read.InProgressOn(r.ctx, r.ask.To)
		return billing.ProgressTable(jobs, r.ask.To), err
	case "stock":
		return r.stock()
	case "bills-to-come":
		return r.billsToCome()
	case "statement":
		return r.statement()
	}
	lines, _, _, err := r.read.JournalLines(r.ctx, billing.Lines{From: r.ask.From, To: r.ask.To}, Page{})
	return billing.JournalTable(lines), err
}

func (r reader) stock() (billing.Table, error) {
	shelves, err := r.read.OnShelfOn(r.ctx, r.ask.To)
	if err != nil {
		return billing.Table{}, err
	}
	sums, err := r.read.AccountSums(r.ctx, r.ask.To, r.ask.To)
	t := billing.TrialBalanceOf(sums, r.ask.To, r.ask.To)
	return billing.ShelfTable(shelves, t.Closing(billing.PartsStock)+t.Closing(billing.SuppliesStock), r.ask.To, r.shop.Currency), err
}

func (r reader) billsToCome() (billing.Table, error) {
	rows, err := r.read.BillsToCome(r.ctx, r.ask.To.AddDays(1).Time(r.shop.Location()))
	if err != nil {
		return billing.Table{}, err
	}
	for i := range rows {
		rows[i].Day = r.shop.Today(rows[i].At)
	}
	sums, err := r.read.AccountSums(r.ctx, r.ask.To, r.ask.To)
	t := billing.TrialBalanceOf(sums, r.ask.To, r.ask.To)
	return billing.BillsToComeTable(rows, t.Closing(billing.NotInvoiced), r.ask.To, r.shop.Currency), err
}

func (r reader) statement() (billing.Table, error) {
	c, err := r.read.CustomerByID(r.ctx, r.ask.Customer)
	if err != nil {
		return billing.Table{}, err
	}
	lines, _, _, err := r.read.JournalLines(r.ctx, billing.Lines{To: r.ask.To, Customer: c.ID, Accounts: billing.StatementAccounts()}, Page{})
	if err != nil {
		return billing.Table{}, err
	}
	before, within := billing.SplitLines(lines, r.ask.From)
	return billing.StatementTable(c.Name, before, within, r.ask.From, r.ask.To, r.shop.Currency), nil
}

// BehindFigure is what stands behind a figure of a report.
type BehindFigure struct {
	Table billing.Table
	Count int // of all lines; the table holds those of the page
	Sum   money.Amount
}

// ReadBehind reads the lines behind a figure, one page of them; a page of limit 0
// reads all.
func ReadBehind(ctx context.Context, read Queries, by domain.Actor, l billing.Lines, p Page) (*BehindFigure, error) {
	if err := May(by, ActReadBalance); err != nil {
		return nil, err
	}
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	if l.Paid {
		return readTaxPaid(ctx, read, l)
	}
	lines, n, sum, err := read.JournalLines(ctx, l, p)
	if err != nil {
		return nil, err
	}
	b := &BehindFigure{Table: billing.JournalTable(lines), Count: n, Sum: sum}
	b.Table.Name, b.Table.Title = "entries", "Lines behind a figure"
	b.Table.Answer = fmt.Sprintf("%d postings come to %s.", n, shop.Currency.Show(sum))
	if len(lines) < n {
		b.Table.Total = nil
	}
	return b, nil
}

func readTaxPaid(ctx context.Context, read Queries, l billing.Lines) (*BehindFigure, error) {
	f := domain.Fields{}
	for name, d := range map[string]domain.Date{"from": l.From, "to": l.To} {
		if _, err := domain.ParseDate(string(d)); err != nil {
			f.AddErr(name, err)
		}
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	moves, err := read.InvoiceMoves(ctx, l.From, l.To)
	if err != nil {
		return nil, err
	}
	t := billing.TaxPaidLineTable(billing.TaxPaidLines(moves), l)
	return &BehindFigure{Table: t, Count: len(t.Rows), Sum: t.Total[len(t.Total)-1].Amount}, nil
}
