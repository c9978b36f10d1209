package billing

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/money"
)

// history is a random history of jobs, with documents and journal side by side.
type history struct {
	r        *rapid.T
	entries  []Entry
	standing map[domain.JobID]*Standing
	invoices map[domain.JobID]*Invoice
	payments map[domain.JobID][]Payment
	held     money.Amount // output tax of invoices
	id       int64
}

func (h *history) add(entries ...Entry) {
	for _, e := range entries {
		if err := e.Check(); err != nil {
			h.r.Fatalf("%+v: %v %v", e, err, domain.FieldsOf(err))
		}
		h.id++
		e.ID = h.id
		h.entries = append(h.entries, e)
	}
}

// pay takes or gives back an amount in a tender; cash is rounded to five.
func (h *history) pay(j domain.JobID, kind PaymentKind, amount money.Amount, on domain.Date) {
	p := Payment{Job: j, Kind: kind, Tender: rapid.SampledFrom([]Tender{Cash, "card", "bank transfer"}).Draw(h.r, "tender"), Amount: amount}
	if inv := h.invoices[j]; inv != nil {
		p.Invoice = inv.ID
	}
	if p.Tender == Cash {
		p.Amount = money.RoundStep(amount, 5, money.HalfUp)
		p.Rounding = amount - p.Amount
	}
	h.payments[j] = append(h.payments[j], p)
	var tax []TaxPart
	if kind == Deposit && rapid.Bool().Draw(h.r, "taxed when taken") {
		var err error
		if tax, err = DepositTax(amount, money.Totals{Net: 10007, Taxes: []money.TaxTotal{{Name: "HST", Amount: 1301}, {Name: "Levy", Amount: 250}}}); err != nil {
			h.r.Fatal(err)
		}
	}
	e, err := h.standing[j].Paid(p, on, tax...)
	if err != nil {
		h.r.Fatal(err)
	}
	if len(e.Postings) > 0 {
		h.add(e)
	}
}

// step lets one thing happen to a job.
func (h *history) step(t *testing.T, n int) {
	j := domain.JobID(rapid.IntRange(1, 6).Draw(h.r, "job"))
	on := domain.Date("2026-01-01").AddDays(n)
	if h.standing[j] == nil {
		h.standing[j] = &Standing{}
	}
	inv := h.invoices[j]
	due := BalanceOf(inv, h.payments[j], Coin{}).Due
	part := func(whole money.Amount) money.Amount {
		return money.Amount(rapid.Int64Range(1, int64(whole)).Draw(h.r, "part"))
	}
	switch {
	case inv == nil && due < 0 && rapid.IntRange(0, 3).Draw(h.r, "returned") == 0:
		h.pay(j, Refund, -part(-due), on)
	case inv == nil && rapid.Bool().Draw(h.r, "deposit"):
		h.pay(j, Deposit, part(30000), on)
	case inv == nil:
		made := billed(t, rapid.Bool().Draw(h.r, "inside"), priced(money.Labour, fmt.Sprintf("%d.%02d", rapid.IntRange(1, 400).Draw(h.r, "price"), rapid.IntRange(0, 99).Draw(h.r, "cents"))))
		made.ID, made.Job, made.Number, made.Date = domain.InvoiceID(j), j, int(j), on
		h.invoices[j] = made
		h.held += made.Totals.Tax
		entries, err := h.standing[j].Issued(made)
		if err != nil {
			h.r.Fatal(err)
		}
		h.add(entries...)
	case due > 0:
		h.pay(j, Settle, part(due), on)
	case due < 0:
		h.pay(j, Refund, -part(-due), on)
	}
}

// of are the entries of a job.
func (h *history) of(j domain.JobID) []Entry {
	return slices.DeleteFunc(slices.Clone(h.entries), func(e Entry) bool { return e.Job != j })
}

// onJobs adds up an account by job.
func (h *history) onJobs(a Account) map[domain.JobID]money.Amount {
	out := map[domain.JobID]money.Amount{}
	for _, e := range h.entries {
		if amount := Balances([]Entry{e})[a]; amount != 0 {
			out[e.Job] += amount
		}
	}
	return out
}

// Whatever happens: each entry balances, what is owed and held by the journal is the
// balance of the documents, deposits are never below zero, and output tax is that of
// the invoices however they were paid. Source: rules 1 to 3 of the worked ledger.
func TestRandomHistoriesAgreeWithTheirDocuments(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		h := &history{r: r, standing: map[domain.JobID]*Standing{}, invoices: map[domain.JobID]*Invoice{}, payments: map[domain.JobID][]Payment{}}
		for n := range rapid.IntRange(20, 300).Draw(r, "steps") {
			h.step(t, n)
		}
		owed, held := h.onJobs(Receivables), h.onJobs(CustomerDeposits)
		var onDeposits money.Amount
		for j := range h.standing {
			tax := TaxOnDeposits(h.of(j)...)
			if diff := cmp.Diff(tax, h.standing[j].Tax, cmpopts.EquateEmpty()); diff != "" || slices.ContainsFunc(tax, func(t TaxPart) bool { return t.Amount < 0 }) || held[j] < 0 || held[j]+SumOf(tax) == 0 && len(tax) > 0 {
				r.Fatalf("job %d holds %d without tax and the tax (-journal +standing)\n%s", j, held[j], diff)
			}
			onDeposits += SumOf(tax)
			held[j] += SumOf(tax)
			due := BalanceOf(h.invoices[j], h.payments[j], Coin{}).Due
			if owed[j]-held[j] != due || held[j] < 0 || owed[j] < 0 || h.invoices[j] != nil && due == 0 && owed[j] != 0 {
				r.Fatalf("job %d owes %d and is held %d, its documents say %d is due", j, owed[j], held[j], due)
			}
			if s := h.standing[j]; s.Owed != owed[j] || s.Held != held[j] {
				r.Fatalf("job %d stands at %+v, the journal says %d owed and %d held", j, *s, owed[j], held[j])
			}
		}
		if tax := Balances(h.entries)[OutputTax]; tax != h.held+onDeposits {
			r.Fatalf("output tax is %d, the invoices say %d and deposits %d", tax, h.held, onDeposits)
		}
		h.taxByPayment(r)
	})
}

// taxByPayment: an invoice that is paid has its whole tax, one that is not, none more
// than its part; and all never more than was billed. What deposits still hold of tax
// comes besides.
func (h *history) taxByPayment(r *rapid.T) {
	var moves []InvoiceMove
	jobs := map[int64]domain.JobID{}
	for j := domain.JobID(1); j <= 6; j++ {
		for _, e := range h.of(j) {
			jobs[e.ID] = j
			m := InvoiceMove{Invoice: e.Invoice, Entry: e.ID, Date: e.Date, Event: e.Event}
			for _, p := range e.Postings {
				m.Take(p.Account, p.Detail, p.Credit-p.Debit)
			}
			moves = append(moves, m)
		}
	}
	tax := map[domain.JobID]money.Amount{}
	for _, l := range TaxPaidLines(moves) {
		tax[jobs[l.Entry]] += l.Amount
	}
	for j, inv := range h.invoices {
		s := h.standing[j]
		got := tax[j] - SumOf(s.Tax)
		if s.Owed == 0 && got != inv.Totals.Tax || got < 0 || got > inv.Totals.Tax || s.Owed == inv.Totals.Total && got != 0 {
			r.Fatalf("invoice %d of %d with tax %d has %d open and %d of tax due", inv.ID, inv.Totals.Total, inv.Totals.Tax, s.Owed, got)
		}
	}
}

// An invoice of 113.00 with 13.00 of tax: 40.00 paid makes 4.60 due (13 x 40 / 113 =
// 4.6018), the other 73.00 the remaining 8.40, and 22.60 credited and given back takes
// 2.60 away. Reckoned by hand.
func TestTaxByPayment(t *testing.T) {
	hst := func(a money.Amount) []TaxPart { return []TaxPart{{"HST", a}} }
	moves := []InvoiceMove{
		{Invoice: 5, Entry: 1, Date: "2026-10-30", Event: InvoiceIssued, Billed: 11300, Taxes: hst(1300)},
		{Invoice: 5, Entry: 2, Date: "2026-10-31", Event: PaymentTaken, Paid: 4000},
		{Invoice: 5, Entry: 3, Date: "2026-11-02", Event: PaymentTaken, Paid: 7300},
		{Invoice: 5, Entry: 4, Date: "2026-11-20", Event: CreditIssued, Billed: -2260, Taxes: hst(-260)},
		{Invoice: 5, Entry: 5, Date: "2026-12-01", Event: PaymentReturned, Paid: -2260},
		{Invoice: 6, Entry: 6, Date: "2026-11-02", Event: InvoiceIssued, Billed: 11300, Taxes: hst(1300)},
		{Invoice: 6, Entry: 7, Date: "2026-12-02", Event: DebtWrittenOff},
	}
	lines := TaxPaidLines(moves)
	want := []TaxPaidRow{{"2026-10", "HST", 460}, {"2026-11", "HST", 840 - 260}}
	if diff := cmp.Diff(want, TaxPaid(lines, "2026-01-01", "2026-12-31")); diff != "" {
		t.Errorf("(-reckoned +got)\n%s", diff)
	}
	if got := TaxPaid(lines, "2026-11-01", "2026-11-30"); len(got) != 1 || got[0].Due != 580 {
		t.Errorf("November: %+v", got)
	}
	behind := TaxPaidLineTable(lines, Lines{From: "2026-11-01", To: "2026-11-30", Detail: "HST"})
	if total := behind.Total[6].Amount; len(behind.Rows) != 2 || total != 580 {
		t.Errorf("behind November stand %d lines of %d", len(behind.Rows), total)
	}
}

// ledgerMonth is a month out of the worked examples: L01 and L03 to L08, L11 and L30.
func ledgerMonth(t *testing.T) []Entry {
	inv := posted(t, billed(t, false, priced(money.Labour, "180.00"), priced(money.Part, "60.00")))
	credit := billed(t, false, priced(money.Part, "20.00"))
	credit.Totals.Total, credit.Totals.Taxes[0].Amount, credit.Totals.Lines[0].Net = -credit.Totals.Total, -credit.Totals.Taxes[0].Amount, -credit.Totals.Lines[0].Net
	return []Entry{
		{ID: 1, Date: "2026-10-31", Event: DepositTaken, Postings: PostDeposit(Payment{Tender: Cash, Amount: 10000})},
		{ID: 2, Date: "2026-11-02", Event: InvoiceIssued, Postings: inv},
		{ID: 3, Date: "2026-11-02", Event: DepositApplied, Postings: PostDepositApplied(10000)},
		{ID: 4, Date: "2026-11-03", Event: PaymentTaken, Postings: PostPayment(Payment{Tender: "card", Amount: 12117}, 0, 0)},
		{ID: 5, Date: "2026-11-03", Event: PaymentTaken, Postings: PostPayment(Payment{Tender: Cash, Amount: 5005, Rounding: -2}, 0, 0)},
		{ID: 6, Date: "2026-11-04", Event: CreditIssued, Postings: posted(t, credit)},
		{ID: 7, Date: "2026-11-05", Event: DebtWrittenOff, Postings: PostWriteOff(11300, TaxPart{"HST", 1300})},
		{ID: 8, Date: "2026-11-06", Event: TaxRemitted, Postings: PostTaxRemitted(3120, 1170)},
		{ID: 9, Date: "2026-11-07", Event: PartsUsed, Postings: PostUsed(8250)},
		{ID: 10, Date: "2026-11-08", Event: CostOfJob, Postings: CostOf(8250, 0, false)},
		{ID: 11, Date: "2026-11-09", Event: WarrantyUsed, Postings: CostOf(900, 480, true)},
	}
}

// summed adds entries up as the store does.
func summed(entries []Entry, from domain.Date) (sums []AccountSum, months []MonthSum) {
	at := map[Account]int{}
	for _, e := range entries {
		for _, p := range e.Postings {
			i, there := at[p.Account]
			if !there {
				i = len(sums)
				at[p.Account], sums = i, append(sums, AccountSum{Account: p.Account})
			}
			if e.Date < from {
				sums[i].Before += p.Debit - p.Credit
				continue
			}
			sums[i].Debit, sums[i].Credit = sums[i].Debit+p.Debit, sums[i].Credit+p.Credit
			months = append(months, MonthSum{Month: string(e.Date[:7]), Account: p.Account, Detail: p.Detail, Event: e.Event, Debit: p.Debit, Credit: p.Credit})
		}
	}
	return sums, months
}

// The figures are those of the worked examples, added up by hand.
func TestReportsOfTheWorkedMonth(t *testing.T) {
	sums, months := summed(ledgerMonth(t), "2026-11-01")
	trial := TrialBalanceOf(sums, "2026-11-01", "2026-11-30")
	if before, within := trial.Off(); before != 0 || within != 0 {
		t.Errorf("off by %d and %d", before, within)
	}
	for a, want := range map[Account]money.Amount{
		CashBox: 15005, CardClearing: 12117, Receivables: -2260 - 11300, CustomerDeposits: 0, LabourRevenue: 18000, PartsRevenue: 4000,
		CashRounding: 2, OutputTax: 3120 - 260 - 1300 - 3120, CostOfParts: 8250, WarrantyCost: 420, WorkInProgress: -900,
	} {
		if got := trial.Closing(a); got != want {
			t.Errorf("%s closes at %d, want %d", a, got, want)
		}
	}
	var below []string
	for _, s := range trial.Negative() {
		below = append(below, string(s.Account))
	}
	if diff := cmp.Diff([]string{string(Receivables), string(PartsStock), string(WorkInProgress), string(WarrantyProvision)}, below); diff != "" {
		t.Errorf("below zero (-want +got)\n%s", diff)
	}
	want := []TaxRow{{Month: "2026-11", Tax: "", Remitted: 3120}, {Month: "2026-11", Tax: "HST", Invoiced: 3120, Credited: 260, WrittenOff: 1300}}
	tax := SalesTax(months)
	if diff := cmp.Diff(want, tax); diff != "" || tax[1].Owed() != 1560 {
		t.Errorf("sales tax (-want +got)\n%s", diff)
	}
	margins := Margins(months)
	if diff := cmp.Diff([]Margin{{Month: "2026-11", Labour: 18000, Parts: 4000, Other: 2, Cost: 8250, Warranty: 420, Losses: 10000}}, margins); diff != "" {
		t.Errorf("margin (-want +got)\n%s", diff)
	}
	if left, percent := margins[0].Left(), margins[0].Percent(); left != 3332 || percent != "15.1" {
		t.Errorf("%d is left, %s %%; want 3332 and 15.1", left, percent)
	}
	if grew := trial.Class(Income) - trial.Class(Expense); grew != margins[0].Left() {
		t.Errorf("the trial balance earned %d, the margin says %d", grew, margins[0].Left())
	}
}

func TestReceivablesByAge(t *testing.T) {
	owed := []Owed{
		{Invoice: 1, Number: 1, Name: "B", Date: "2026-11-30", Amount: 100}, {Invoice: 2, Number: 2, Name: "A", Date: "2026-10-31", Amount: 200},
		{Invoice: 3, Number: 3, Name: "A", Date: "2026-08-01", Due: "2026-12-15", Amount: 300}, {Invoice: 4, Number: 4, Name: "C", Date: "2026-08-01", Amount: 400},
		{Invoice: 5, Number: 5, Name: "C", Date: "2026-08-01", Amount: -50}, {Invoice: 6, Name: "D", Date: "2026-08-01"}, {Name: "E", Date: "2026-09-20", Amount: 7},
	}
	rows := AgeOwed(owed, "2026-11-30")
	var got []string
	for _, a := range rows {
		got = append(got, fmt.Sprintf("%s %d: %d days, %s", a.Name, a.Amount, a.Late, AgeNames[a.Age]))
	}
	want := []string{"A 300: 0 days, not due", "A 200: 30 days, 1 to 30 days late", "B 100: 0 days, not due", "C 400: 121 days, over 90 days late", "C -50: 0 days, not due", "E 7: 71 days, 61 to 90 days late"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	table := AgeTable(rows, "2026-11-30")
	if total := table.Total[9].Amount; total != 957 || table.Rows[5].Cells[1].Text != "" {
		t.Errorf("all come to %d, want 957", total)
	}
}

func TestAStatementRunsFromBeforeToAfter(t *testing.T) {
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	var lines []JournalLine
	for _, e := range ledgerMonth(t)[:6] {
		for _, p := range e.Postings {
			if strings.HasPrefix(string(p.Account), "contract liability") || p.Account == Receivables {
				lines = append(lines, JournalLine{Posting: p, Entry: e, Tag: 318})
			}
		}
	}
	before, within := SplitLines(lines, "2026-11-01")
	if all, none := SplitLines(lines, "2027-01-01"); all != -2260 || none != nil || before != -10000 {
		t.Errorf("before November %d, before January %d; want -10000 and -2260", before, all)
	}
	table := StatementTable("M. Oduya", before, within, "2026-11-01", "2026-11-30", cad)
	var got []money.Amount
	for _, r := range table.Rows {
		got = append(got, r.Cells[5].Amount)
	}
	if diff := cmp.Diff([]money.Amount{-10000, 17120, 5003, 0, -2260}, got); diff != "" || !strings.Contains(table.Answer, "holds 22.60 CAD") {
		t.Errorf("balances (-reckoned +got), answer %q\n%s", table.Answer, diff)
	}
}

func TestLinesComeBackFromTheirQuery(t *testing.T) {
	for _, l := range []Lines{
		{}, {From: "2026-11-01", To: "2026-11-30", Accounts: []Account{OutputTax, Receivables}, Detail: "TPS & TVQ", Events: []Event{InvoiceIssued}, Not: []Event{TaxRemitted}, Sum: Debits},
		{Customer: 3, Job: 4, Invoice: 5}, {NoInvoice: true, NoJob: true, NoCustomer: true, Paid: true, Sum: CreditsOnly},
	} {
		got, err := ReadLines(l.Query())
		if diff := cmp.Diff(l, got); diff != "" || err != nil {
			t.Errorf("%v (-want +got)\n%s", err, diff)
		}
	}
	bad := map[string][]string{"from": {"2026-02-30"}, "account": {"drawer"}, "job": {"x"}, "sum": {"both"}}
	_, err := ReadLines(bad)
	for name := range bad {
		if domain.FieldsOf(err)[name] == "" {
			t.Errorf("nothing said of %s in %v", name, err)
		}
	}
}

func TestAReportAsCSV(t *testing.T) {
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	e := Entry{ID: 7, Date: "2026-11-20", Event: InvoiceIssued, Text: "=SUM(A1), \"12\"\nand more", By: "Åse"}
	table := JournalTable([]JournalLine{{Posting: Posting{Account: Receivables, Debit: 120450}, Entry: e, Name: "M. Oduya", Tag: 318}})
	var out bytes.Buffer
	if err := table.WriteCSV(&out, cad); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("read back %v, %v", rows, err)
	}
	want := []string{"7", "2026-11-20", "invoice issued", "'=SUM(A1), \"12\"\nand more", "M. Oduya", "318", "", "", "", "trade receivables", "", "1204.50", "0.00", "Åse", "CAD"}
	if diff := cmp.Diff(want, rows[1]); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func TestStockAndWorkInProgressAsTables(t *testing.T) {
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	shelf := []OnShelf{{Part: 1, Code: "saddle", Name: "Saddle", Quantity: "3", Unit: "each", Value: 1000}, {Part: 2, Code: "nut", Name: "Nut", Quantity: "1.5", Unit: "each", Value: 250}}
	if good := ShelfTable(shelf, 1250, "2026-11-30", cad); !strings.Contains(good.Answer, "12.50 CAD") || !strings.Contains(good.Answer, "so the journal says") {
		t.Errorf("answer %q", good.Answer)
	}
	if off := ShelfTable(shelf, 1200, "2026-11-30", cad); !strings.Contains(off.Answer, "a move was not posted") {
		t.Errorf("answer %q", off.Answer)
	}
	rows := ProgressTable([]InProgress{{Job: 4, Tag: 318, Name: "M", Since: "2026-11-02", Value: 700}, {Value: 50}}, "2026-11-30")
	if rows.Total[3].Amount != 750 || rows.Rows[1].Cells[0].Text != "" || !rows.Rows[1].Cells[3].Behind.NoJob {
		t.Errorf("work in progress %+v", rows)
	}
	if first, last := MonthDays("2028-02"); first != "2028-02-01" || last != "2028-02-29" {
		t.Errorf("February runs from %s to %s", first, last)
	}
	if first, _ := MonthDays("soon"); first != "" {
		t.Errorf("no month begins on %s", first)
	}
}

func TestBillsToComeSayWhatWaits(t *testing.T) {
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	one := BillToCome{Day: "2026-11-20", Order: 12, Code: "saddle", Quantity: "3", Cost: 1500}
	for want, rows := range map[string][]BillToCome{
		"Everything that came by the end of 2026-11-30 has its supplier's bill.":                                         nil,
		"One receipt for 15.00 CAD waits for its supplier's bill at the end of 2026-11-30, since 2026-11-20.":            {one},
		"2 receipts for 30.00 CAD wait for their supplier's bill at the end of 2026-11-30, the oldest since 2026-11-20.": {one, one},
	} {
		got := BillsToComeTable(rows, 1500*money.Amount(len(rows)), "2026-11-30", cad)
		if got.Answer != want || len(got.Rows) != len(rows) {
			t.Errorf("%d receipts: %d rows, %q", len(rows), len(got.Rows), got.Answer)
		}
		if len(rows) > 0 && (got.Rows[0].Cells[2].Text != "12" || got.Rows[0].Cells[8].Text != "10") {
			t.Errorf("order and days of the first are %q and %q, want 12 and 10", got.Rows[0].Cells[2].Text, got.Rows[0].Cells[8].Text)
		}
	}
	if off := BillsToComeTable([]BillToCome{one}, 1300, "2026-11-30", cad); off.Total[9].Amount != 1300 || off.Rows[1].Cells[9].Amount != -200 {
		t.Errorf("with 2.00 sent back the table is %+v", off)
	}
}

// The column list of the documentation is that of the reports.
func TestEveryColumnIsDocumented(t *testing.T) {
	doc, err := os.ReadFile("../../docs/books.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range ReportColumns() {
		want := "### " + table.Name + "\n\n| column | meaning |\n| --- | --- |\n"
		for _, c := range table.Columns {
			meaning := c.Meaning
			if c.Money {
				meaning += " (amount)"
			}
			want += "| `" + c.Name + "` | " + meaning + " |\n"
		}
		if !strings.Contains(string(doc), want) {
			t.Errorf("docs/books.md should hold\n%s", want)
		}
	}
}
