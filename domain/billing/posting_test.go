package billing

import (
	"encoding/csv"
	"fmt"
	"os"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"winterbench/domain"
	"winterbench/domain/money"
)

// workedExamples reads testdata/ledger_examples.csv: each worked posting as sorted
// lines "account debit credit". The sources stand in the file, row by row.
func workedExamples(t *testing.T) map[string][]string {
	t.Helper()
	file, err := os.Open("testdata/ledger_examples.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, r := range rows[1:] {
		out[r[0]] = append(out[r[0]], line(workedAccount(t, r[2]), cents(t, r[3]), cents(t, r[4])))
	}
	for id := range out {
		sort.Strings(out[id])
	}
	return out
}

// workedNames are the accounts of the examples whose names differ from ours.
var workedNames = map[string]Account{
	"liability: contract liability (customer deposits)":         CustomerDeposits,
	"liability: contract liability (store credit)":              StoreCredit,
	"liability: output tax payable - GST":                       OutputTax,
	"liability: output tax payable - QST":                       OutputTax,
	"income: parts revenue (returns)":                           PartsRevenue,
	"income: cash rounding gain":                                CashRounding,
	"expense: cash rounding loss":                               CashRounding,
	"income: sales discounts (contra revenue)":                  SalesDiscounts,
	"asset: loss allowance (contra receivables)":                LossAllowance,
	"asset: inventories - parts":                                PartsStock,
	"asset: inventories - consumables":                          SuppliesStock,
	"asset: contract fulfilment costs (work in progress)":       WorkInProgress,
	"expense: cost of sales - parts":                            CostOfParts,
	"expense: inventory loss - scrap":                           ScrapLoss,
	"expense: inventory loss - stock-take difference":           CountDifference,
	"expense: impairment loss on trade receivables (bad debts)": BadDebts,
	"expense: impairment loss on trade receivables":             BadDebts,
	"income: late-payment charges":                              LateChargeRevenue,
	"expense: warranty and comeback cost":                       WarrantyCost,
	"liability: goods received not invoiced":                    NotInvoiced,
	"liability: trade payables":                                 Payables,
}

func workedAccount(t *testing.T, name string) Account {
	if a, ok := workedNames[name]; ok {
		return a
	}
	class, plain, _ := strings.Cut(name, ": ")
	if a := Account(plain); a.Class() == Class(class) {
		return a
	}
	t.Fatalf("the example's account %q is none of ours", name)
	return ""
}

func line(a Account, debit, credit money.Amount) string {
	return fmt.Sprintf("%s %d %d", a, debit, credit)
}

func lines(ps []Posting) []string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = line(p.Account, p.Debit, p.Credit)
	}
	sort.Strings(out)
	return out
}

func cents(t *testing.T, typed string) money.Amount {
	if typed == "" {
		return 0
	}
	d, err := decimal.NewFromString(typed)
	if err != nil {
		t.Fatal(err)
	}
	return money.Amount(d.Shift(2).IntPart())
}

// billed sums a bill at 13 % and makes it an invoice.
func billed(t *testing.T, inside bool, lines ...money.Line) *Invoice {
	t.Helper()
	cad, err := money.CurrencyOf("CAD")
	if err != nil {
		t.Fatal(err)
	}
	tax := money.Tax{Name: "HST", Percent: decimal.NewFromInt(13), On: []money.LineKind{money.Labour, money.Part}}
	bill := money.Bill{Currency: cad, PricesIncludeTax: inside, Taxes: []money.Tax{tax}, Lines: lines}
	totals, err := money.Sum(bill)
	if err != nil {
		t.Fatal(err)
	}
	inv := &Invoice{Currency: cad, TaxInside: inside, Taxes: bill.Taxes, Totals: totals}
	for i, l := range lines {
		inv.Lines = append(inv.Lines, Line{Kind: l.Kind, Net: totals.Lines[i].Net})
	}
	return inv
}

func priced(kind money.LineKind, price string) money.Line {
	return money.Line{Kind: kind, Quantity: decimal.NewFromInt(1), UnitPrice: decimal.RequireFromString(price)}
}

func posted(t *testing.T, inv *Invoice) []Posting {
	t.Helper()
	out, err := PostInvoice(inv)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestPostingsMeetTheWorkedExamples(t *testing.T) {
	worked := workedExamples(t)
	credit := billed(t, false, priced(money.Part, "20.00"))
	credit.Totals.Total, credit.Totals.Taxes[0].Amount, credit.Totals.Lines[0].Net = -credit.Totals.Total, -credit.Totals.Taxes[0].Amount, -credit.Totals.Lines[0].Net
	ours := map[string][]Posting{
		"L01": PostDeposit(Payment{Tender: Cash, Amount: 10000}),
		"L02": PostDeposit(Payment{Tender: "bank transfer", Amount: 12000}, TaxPart{"VAT", 2000}),
		"L03": posted(t, billed(t, false, priced(money.Labour, "180.00"), priced(money.Part, "60.00"))),
		"L04": PostDepositApplied(10000),
		"L05": append(PostPayment(Payment{Tender: "card", Amount: 12117}, 0, 0), PostPayment(Payment{Tender: Cash, Amount: 5005, Rounding: -2}, 0, 0)...),
		"L06": PostPayment(Payment{Tender: Cash, Amount: 20225, Rounding: 2}, 0, 0),
		"L07": PostCardSettled(12117, 303),
		"L08": posted(t, credit),
		"L09": PostPayment(Payment{Kind: Refund, Tender: Cash, Amount: -2260}, 0, 0),
		"L10": PostPutBack(900),
		"L11": PostWriteOff(11300, TaxPart{"HST", 1300}),
		"L12": PostAllowance(1500),
		"L13": PostReceivedBilled(9000, 1170),
		"L14": PostReceived(8500),
		"L15": PostSupplierBill(8500, 100, 0, 1118),
		"L16": PostSold(8250),
		"L17": PostSold(8000),
		"L18": append(PostUsed(8250), PostJobCost(8250)...),
		"L19": PostScrapped(825),
		"L20": PostCounted(-1650),
		"L21": PostCounted(825),
		"L22": PostWrittenDown(3000),
		"L23": PostWarranty(900, 0),
		"L24": PostProvision(480),
		"L25": PostWarranty(900, 480),
		"L26": PostDepositForfeited(5000, TaxPart{"GST", 238}, TaxPart{"QST", 454}),
		"L27": PostDepositReturned("bank transfer", 10000),
		"L28": PostDiscountTaken("bank transfer", 11298, 200),
		"L29": PostPayment(Payment{Tender: "bank transfer", Amount: 30000}, 2880, 0),
		"L30": PostTaxRemitted(3120, 1170),
		"L31": posted(t, billed(t, false, priced(money.LateCharge, "5.00"))),
		"L32": PostSupplies(340),
	}
	for id, want := range worked {
		got, ok := ours[id]
		if !ok {
			t.Errorf("%s is not posted", id)
			continue
		}
		if diff := cmp.Diff(want, lines(posts(got).merged())); diff != "" {
			t.Errorf("%s (-worked +ours)\n%s", id, diff)
		}
		if err := (Entry{Date: "2027-01-15", Postings: got}).Check(); err != nil {
			t.Errorf("%s: %v %v", id, err, domain.FieldsOf(err))
		}
	}
	if len(worked) != 32 {
		t.Errorf("%d worked examples, want 32", len(worked))
	}
}

// A tip is neither revenue nor part of the receivable; our own rule, no source.
func TestATipStandsApart(t *testing.T) {
	want := []string{line(CardClearing, 5500, 0), line(TipsHeld, 0, 500), line(Receivables, 0, 5000)}
	if diff := cmp.Diff(want, lines(PostPayment(Payment{Tender: "card", Amount: 5000}, 0, 500))); diff != "" {
		t.Error(diff)
	}
}

// With the tax inside, revenue, tax and receivable still add up to the cent.
func TestInvoicesWithTaxInsideBalance(t *testing.T) {
	kinds := []money.LineKind{money.Labour, money.Part, money.RetailGoods, money.LateCharge}
	rapid.Check(t, func(r *rapid.T) {
		var ls []money.Line
		for range rapid.IntRange(1, 8).Draw(r, "lines") {
			price := decimal.New(rapid.Int64Range(1, 99999).Draw(r, "price"), -2)
			ls = append(ls, money.Line{Kind: rapid.SampledFrom(kinds).Draw(r, "kind"), Quantity: decimal.NewFromInt(1), UnitPrice: price})
		}
		inv := billed(t, rapid.Bool().Draw(r, "inside"), ls...)
		ps := posted(t, inv)
		if err := (Entry{Date: "2027-01-15", Postings: ps}).Check(); err != nil {
			r.Fatalf("%v %v: %v", err, domain.FieldsOf(err), ps)
		}
		b := Balances([]Entry{{Postings: ps}})
		if b[Receivables] != inv.Totals.Total || b[OutputTax] != inv.Totals.Tax {
			r.Fatalf("receivable %d and tax %d, want %d and %d", b[Receivables], b[OutputTax], inv.Totals.Total, inv.Totals.Tax)
		}
	})
}

func TestAnEntryThatCannotBe(t *testing.T) {
	good := []Posting{{Account: CashBox, Debit: 5}, {Account: Bank, Credit: 5}}
	for want, e := range map[string]Entry{
		"date":                {Date: "2027-02-30", Postings: good},
		"postings":            {Date: "2027-01-15", Postings: []Posting{{Account: CashBox, Debit: 5}, {Account: Bank, Credit: 6}}},
		"postings[0].account": {Date: "2027-01-15", Postings: []Posting{{Account: "drawer", Debit: 5}, {Account: Bank, Credit: 5}}},
		"postings[1]":         {Date: "2027-01-15", Postings: []Posting{{Account: CashBox, Debit: 5}, {Account: Bank, Debit: 5, Credit: 10}}},
	} {
		if fields := domain.FieldsOf(e.Check()); fields[want] == "" {
			t.Errorf("%+v gives %v, want a note on %s", e, fields, want)
		}
	}
}

func TestReversed(t *testing.T) {
	e := Entry{ID: 9, Date: "2027-01-15", Event: PaymentTaken, Postings: PostPayment(Payment{Tender: Cash, Amount: 20225, Rounding: 2}, 0, 0)}
	r := e.Reversed("2027-02-01", "wrong tender")
	if r.Reverses != 9 || r.Date != "2027-02-01" || r.Check() != nil {
		t.Errorf("reversed to %+v, %v", r, r.Check())
	}
	for account, left := range Balances([]Entry{e, r}) {
		if left != 0 {
			t.Errorf("%d is left on %s", left, account)
		}
	}
}

func TestEveryKindOfLineHasItsRevenue(t *testing.T) {
	for _, k := range money.LineKinds() {
		if revenue[k].Class() != Income {
			t.Errorf("%s earns on %q", k, revenue[k])
		}
	}
	seen := map[Account]bool{}
	for _, a := range Accounts() {
		if seen[a] || a.Class() == "" {
			t.Errorf("%q stands twice in the chart, or nowhere", a)
		}
		seen[a] = true
	}
}
