package billing

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/money"
)

// chosen adds up the postings that lines choose, as the store does.
func chosen(entries []Entry, l Lines) (sum money.Amount) {
	for _, e := range entries {
		in := (l.From == "" || e.Date >= l.From) && (l.To == "" || e.Date <= l.To) && (len(l.Events) == 0 || slices.Contains(l.Events, e.Event)) && !slices.Contains(l.Not, e.Event)
		for _, p := range e.Postings {
			if !in || len(l.Accounts) > 0 && !slices.Contains(l.Accounts, p.Account) || l.Detail != "" && p.Detail != l.Detail || l.NoDetail && p.Detail != "" {
				continue
			}
			switch l.Sum {
			case OwnSide:
				sum += p.Account.signed(p)
			case DebitsOnly:
				sum += p.Debit
			case CreditsOnly:
				sum += p.Credit
			case Debits:
				sum += p.Debit - p.Credit
			case Credits:
				sum += p.Credit - p.Debit
			}
		}
	}
	return sum
}

// holds wants every row to fill the columns, every figure to be what the lines behind
// it come to, and every total to be the sum of its column.
func holds(t *testing.T, table Table, entries []Entry) {
	t.Helper()
	sums := make([]money.Amount, len(table.Columns))
	for n, r := range table.Rows {
		if len(r.Cells) != len(table.Columns) {
			t.Fatalf("%s: row %d has %d cells for %d columns", table.Name, n+1, len(r.Cells), len(table.Columns))
		}
		for i, c := range r.Cells {
			sums[i] += c.Amount
			if c.Behind == nil {
				continue
			}
			if got := chosen(entries, *c.Behind); got != c.Amount {
				t.Errorf("%s, row %d: %s is %d, the lines behind it come to %d", table.Name, n+1, table.Columns[i].Name, c.Amount, got)
			}
		}
	}
	if len(table.Total) != len(table.Columns) {
		t.Fatalf("%s: %d totals for %d columns", table.Name, len(table.Total), len(table.Columns))
	}
	for i, c := range table.Total {
		if table.Columns[i].Money && !c.Blank && c.Amount != sums[i] {
			t.Errorf("%s: %s comes to %d, the total says %d", table.Name, table.Columns[i].Name, sums[i], c.Amount)
		}
	}
}

func TestFiguresAreWhatStandsBehindThem(t *testing.T) {
	entries := ledgerMonth(t)
	sums, months := summed(entries, "2026-11-01")
	trial, tax, margin := TrialBalanceOf(sums, "2026-11-01", "2026-11-30").Table(), TaxTable(SalesTax(months)), MarginTable(Margins(months))
	for _, table := range []Table{trial, tax, margin} {
		if len(table.Rows) == 0 {
			t.Fatalf("%s is empty", table.Name)
		}
		holds(t, table, entries)
	}
	for _, c := range []struct{ got, want string }{
		{trial.Answer, "Debits and credits are equal."}, {tax.Answer, "2 components in 1 months."}, {margin.Answer, "1 months."},
		{margin.Total[8].Text, "15.1"}, {margin.Rows[0].Cells[8].Text, "15.1"}, {strings.Join(tax.Notes, ""), TaxNote},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	if !trial.Total[2].Blank || !trial.Total[5].Blank || trial.Total[3].Amount != trial.Total[4].Amount {
		t.Errorf("the totals of the trial balance are %+v, want debits and credits alone, and equal", trial.Total)
	}
}

// What was remitted without naming a tax stands in a row of its own, and the lines
// behind its zeros are none, not those of every tax.
func TestTaxWithoutANameHasItsOwnLines(t *testing.T) {
	_, months := summed(ledgerMonth(t), "2026-11-01")
	table := TaxTable(SalesTax(months))
	for i, name := range []string{"", "HST"} {
		row := table.Rows[i]
		if row.Cells[1].Text != name {
			t.Fatalf("row %d is of %q, want %q", i+1, row.Cells[1].Text, name)
		}
		for _, c := range row.Cells[2:] {
			if c.Behind.NoDetail != (name == "") || c.Behind.Detail != name {
				t.Errorf("%q: the lines behind %d are %+v", name, c.Amount, *c.Behind)
			}
		}
	}
	got, err := ReadLines(table.Rows[0].Cells[2].Behind.Query())
	if diff := cmp.Diff(*table.Rows[0].Cells[2].Behind, got); diff != "" || err != nil {
		t.Errorf("%v (-want +got)\n%s", err, diff)
	}
}

func TestTaxByPaymentAsATable(t *testing.T) {
	table := TaxPaidTable([]TaxPaidRow{{"2026-10", "HST", 460}, {"2028-02", "HST", -580}})
	if len(table.Rows) != 2 || table.Total[2].Amount != -120 || table.Total[0].Text != "All" {
		t.Errorf("got %d rows that come to %d", len(table.Rows), table.Total[2].Amount)
	}
	want := Lines{From: "2028-02-01", To: "2028-02-29", Detail: "HST", Paid: true}
	if diff := cmp.Diff(want, *table.Rows[1].Cells[2].Behind); diff != "" {
		t.Errorf("behind February (-want +got)\n%s", diff)
	}
}

func TestATrialBalanceThatIsOff(t *testing.T) {
	trial := TrialBalanceOf([]AccountSum{{Account: CashBox, Before: 3, Debit: 100}, {Account: LabourRevenue, Credit: 99}}, "2026-11-01", "2026-11-30")
	if got := trial.Table().Answer; !strings.Contains(got, "off by 4 in the smallest unit") {
		t.Errorf("got %q, want by how much it is off", got)
	}
	if got := trial.Closing(Bank); got != 0 {
		t.Errorf("an account that was never used closes at %d", got)
	}
	for a, want := range map[Account][2]money.Amount{CashBox: {3, 103}, LabourRevenue: {0, 99}} {
		for _, r := range trial.Rows {
			if r.Account == a && (r.Opening() != want[0] || r.Closing() != want[1]) {
				t.Errorf("%s goes from %d to %d, want %v", a, r.Opening(), r.Closing(), want)
			}
		}
	}
}

func TestMarginWithoutIncome(t *testing.T) {
	table := MarginTable([]Margin{{Month: "2026-11", Losses: 500}})
	if c := table.Rows[0].Cells; c[7].Amount != -500 || c[8].Text != "" {
		t.Errorf("a month of losses leaves %d, %q %%; want -500 and no per cent", c[7].Amount, c[8].Text)
	}
}

func TestHowAStatementEnds(t *testing.T) {
	of := func(id int64, a Account, debit, credit money.Amount) JournalLine {
		return JournalLine{Posting: Posting{Account: a, Debit: debit, Credit: credit}, Entry: Entry{ID: id, Date: "2026-11-02", Event: PaymentTaken, Text: "card", Job: 4}, Tag: 318}
	}
	used := []JournalLine{of(2, CustomerDeposits, 3000, 0), of(2, Receivables, 0, 3000)} // changes nothing
	for answer, c := range map[string]struct {
		before money.Amount
		lines  []JournalLine
		rows   int
	}{
		"M. Oduya owes 20.00 CAD at the end of 2026-11-30.":               {0, append([]JournalLine{of(1, Receivables, 2000, 0)}, used...), 2},
		"The shop holds 30.00 CAD for M. Oduya at the end of 2026-11-30.": {-3000, used, 1},
		"Nothing is open for M. Oduya at the end of 2026-11-30.":          {2000, []JournalLine{of(1, Receivables, 0, 2000)}, 2},
	} {
		table := StatementTable("M. Oduya", c.before, c.lines, "2026-11-01", "2026-11-30", cad())
		if table.Answer != answer || len(table.Rows) != c.rows {
			t.Errorf("got %d rows and %q, want %d and %q", len(table.Rows), table.Answer, c.rows, answer)
		}
	}
	if diff := cmp.Diff([]Account{Receivables, CustomerDeposits, StoreCredit, OutputTax}, StatementAccounts()); diff != "" {
		t.Errorf("accounts of a statement (-want +got)\n%s", diff)
	}
}

// A spreadsheet must not run a text; an amount below zero stays an amount.
func TestTextsOfAReportAreNoFormulas(t *testing.T) {
	for in, want := range map[string]string{"": "", "Nut": "Nut", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\tx": "'\tx", "\rx": "'\rx"} {
		if got := plainText(in); got != want {
			t.Errorf("%q is written as %q, want %q", in, got, want)
		}
	}
	table := JournalTable([]JournalLine{{Posting: Posting{Account: CashBox, Debit: -500}, Entry: Entry{ID: 7}, Number: 31, Receipt: 12}})
	var out bytes.Buffer
	if err := table.WriteCSV(&out, cad()); err != nil || !strings.Contains(out.String(), ",31,12,") || !strings.Contains(out.String(), ",-5.00,0.00,") {
		t.Errorf("got %q, %v", out.String(), err)
	}
	if err := table.WriteCSV(fullDisk{}, cad()); !errors.Is(err, errFull) {
		t.Errorf("writing to a full disk: got %v, want its error", err)
	}
}

var errFull = errors.New("no space")

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestWhereMoneyGoes(t *testing.T) {
	want := map[Tender]Account{Cash: CashBox, "card": CardClearing, "mobile pay": CardClearing, "bank transfer": Bank, "cheque": Bank, FromCredit: StoreCredit}
	for _, tender := range Tenders() {
		if got := tender.Where(); got != want[tender] {
			t.Errorf("%s goes to %q, want %q", tender, got, want[tender])
		}
	}
}

func TestWhatIsTooMuchIsSaidInWords(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{&OverpaidError{Limit: 500}, "that is more than is owed"},
		{&OverpaidError{Currency: cad()}, "nothing is owed, so nothing can be taken"},
		{&OverpaidError{Limit: 500, Currency: cad()}, "at most 5.00 CAD"},
		{&BeyondError{Limit: 500}, "nothing beyond what the shop owes"},
		{&BeyondError{Currency: cad()}, "issue a credit note first"},
		{&BeyondError{Limit: 500, Currency: cad()}, "at most 5.00 CAD can be given back"},
		{&LimitError{Currency: cad(), Total: 10001, Limit: 10000}, "comes to 100.01 CAD, but no more than 100.00 CAD was agreed"},
	} {
		if !strings.Contains(c.err.Error(), c.want) || domain.KindOf(c.err) != domain.Conflict {
			t.Errorf("got %q of kind %v, want %q, a conflict", c.err, domain.KindOf(c.err), c.want)
		}
	}
	if got := (&CreditNote{Number: 45}).Label(); got != "Credit note 000045" {
		t.Errorf("got %q", got)
	}
}
