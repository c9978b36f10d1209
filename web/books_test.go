package web

import (
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// sampleLines are postings of an invented month.
func sampleLines() []billing.JournalLine {
	sold := billing.Entry{ID: 7, Date: "2026-11-20", Event: billing.InvoiceIssued, Text: "invoice 12", Customer: 3, Job: 9, Invoice: 5, By: "Ilse", At: time.Date(2026, 11, 20, 17, 0, 0, 0, time.UTC)}
	line := func(e billing.Entry, place int, p billing.Posting) billing.JournalLine {
		return billing.JournalLine{Posting: p, Entry: e, Place: place, Tag: 318, Number: 12, Name: "M. Oduya"}
	}
	return []billing.JournalLine{
		line(sold, 1, billing.Posting{Account: billing.Receivables, Debit: 27120}),
		line(sold, 2, billing.Posting{Account: billing.LabourRevenue, Credit: 24000}),
		line(sold, 3, billing.Posting{Account: billing.OutputTax, Detail: "HST", Credit: 3120}),
	}
}

func sampleBooksMonth(shop *workshop.Shop) *workshop.BooksMonth {
	sums := []billing.AccountSum{{Account: billing.Receivables, Debit: 27120}, {Account: billing.LabourRevenue, Credit: 24000}, {Account: billing.OutputTax, Credit: 3120}}
	b := &workshop.BooksMonth{Answer: "November 2026 can be closed.", State: workshop.MonthState{Month: "2026-11", Entries: 1, Debits: 27120}}
	b.Trial = billing.TrialBalanceOf(sums, "2026-11-01", "2026-11-30")
	b.Checks = workshop.CheckMonth(workshop.MonthFacts{Month: "2026-11", Today: "2026-12-03", Currency: shop.Currency, Trial: b.Trial, NotBilled: 2})
	b.Months = []workshop.MonthState{b.State, {Month: "2026-10", Entries: 4, Debits: 120050, Period: workshop.Period{Month: "2026-10", Closed: time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC), By: "Ilse"}}}
	b.Log = []workshop.PeriodChange{{ID: 1, Month: "2026-10", Change: workshop.PeriodClosed, Entries: 4, Debits: 120050, At: time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC), By: "Ilse"}}
	return b
}

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		euro, err := money.CurrencyOf("EUR")
		if err != nil {
			panic(err)
		}
		shop := &workshop.Shop{Currency: euro, Zone: "UTC"}
		month := &BooksPage{Page: sampleFrame("Books"), OpenKey: "k2"}
		fillBooks(month, sampleBooksMonth(shop), shop, true)
		month.CanOpen = true // both forms at once, as no real page has them
		report := &ReportPage{Page: sampleFrame("Journal"), Lead: "Every entry.", Action: reportsPath + "/journal"}
		r, err := workshop.ReportNamed("journal")
		if err != nil {
			panic(err)
		}
		t := billing.JournalTable(sampleLines())
		fillReport(report, r, &t, workshop.Ask{From: "2026-11-01", To: "2026-11-30"}, euro)
		entry := &EntryPage{Page: sampleFrame("Entry"), Reverse: entriesPath + "/7/reverse"}
		e := sampleLines()[0].Entry
		for _, l := range sampleLines() {
			e.Postings = append(e.Postings, l.Posting)
		}
		fillEntry(entry, &e, shop)
		return map[string]Paged{"books/month": month, "books/report": report, "books/entry": entry}
	})
}

func TestTheMonthIsClosedOnItsPage(t *testing.T) {
	s := newShop(t)
	s.gone()
	page := s.get(booksPath)
	if got := mainText(page); !strings.Contains(got, "trade receivables") || !strings.Contains(got, "is not over before the end of") {
		t.Fatalf("the month that runs: got %q", got)
	}
	month := workshop.MonthOf(domain.DateOf(s.clock.now))
	s.clock.now = s.clock.now.AddDate(0, 1, 5)
	if got := mainText(s.get(booksPath + "?month=" + month)); !strings.Contains(got, "can be closed") {
		t.Fatalf("the month that is over: got %q", got)
	}
	s.post(booksPath+"/close", "month", month, "despite", "yes")
	page = s.get(booksPath + "?month=" + month)
	if got := mainText(page); !strings.Contains(got, "is closed: it earned") || !strings.Contains(got, "Open "+workshop.MonthWords(month)+" again") {
		t.Fatalf("the month that was closed: got %q", got)
	}
	refused := s.refused(booksPath+"/note", "event", "card takings settled", "date", month+"-02", "text", "late", "debit", "bank", "credit", "card clearing", "amount", "5")
	if got := mainText(refused); !strings.Contains(got, "takes no more entries") {
		t.Errorf("an entry for a closed month: got %q", got)
	}
	s.refused(booksPath+"/open", "month", month, "reason", "")
	s.post(booksPath+"/open", "month", month, "reason", "a bill was missing")
	if got := mainText(s.get(booksPath + "?month=" + month)); !strings.Contains(got, "a bill was missing") {
		t.Errorf("the log of months: got %q", got)
	}
}

// Each figure of each report opens to lines that come to it, and the file says what
// the page says.
func TestEveryFigureOpensToItsLines(t *testing.T) {
	s := newShop(t)
	s.gone()
	shop, err := s.store.ShopSettings(t.Context())
	s.must(err)
	figures := 0
	for _, r := range workshop.Reports() {
		ask := workshop.Ask{}
		query := ""
		if r.Of {
			ask.Customer, query = 1, "?customer=1"
		}
		table, _, err := workshop.ReadReport(t.Context(), s.store, s.owner, r.Name, ask, s.clock.now)
		s.must(err)
		if table.Name != r.Name || table.Answer == "" || len(table.Columns) == 0 {
			t.Errorf("report %s: got %q with %d columns and answer %q", r.Name, table.Name, len(table.Columns), table.Answer)
		}
		page := mainText(s.get(reportsPath + "/" + r.Name + query))
		file, err := csv.NewReader(strings.NewReader(s.as(s.owner, reportsPath+"/"+r.Name+"/file.csv"+query, nil, "").Body.String())).ReadAll()
		s.must(err)
		if len(file) != len(table.Rows)+1 {
			t.Errorf("report %s: the file has %d lines, want %d", r.Name, len(file)-1, len(table.Rows))
			continue
		}
		for i, row := range table.Rows {
			for k, cell := range row.Cells {
				if !table.Columns[k].Money {
					continue
				}
				if file[i+1][k] != shop.Currency.Text(cell.Amount) || !strings.Contains(page, Money(shop.Currency, cell.Amount)) {
					t.Errorf("report %s, line %d, %s: the file says %s, the page lacks it or not, want %s", r.Name, i, table.Columns[k].Name, file[i+1][k], shop.Currency.Text(cell.Amount))
				}
				if cell.Behind == nil {
					continue
				}
				figures++
				lines, err := billing.ReadLines(cell.Behind.Query())
				s.must(err)
				b, err := workshop.ReadBehind(t.Context(), s.store, s.owner, lines, workshop.Page{})
				s.must(err)
				if want := cell.Amount; b.Sum != want {
					t.Errorf("report %s, line %d, %s: the lines behind come to %d, want %d", r.Name, i, table.Columns[k].Name, b.Sum, want)
				}
			}
		}
	}
	if figures < 20 {
		t.Errorf("%d figures were opened, too few to say anything", figures)
	}
}
