package audit

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// start is when the instrument of [right] arrived.
var start = time.Date(2026, 11, 2, 17, 0, 0, 0, time.UTC)

// on the so many-th hour after it.
func hour(n int) time.Time { return start.Add(time.Duration(n) * time.Hour) }

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func moneyOf(t *testing.T, b money.Bill) money.Totals {
	t.Helper()
	totals, err := money.Sum(b)
	if err != nil {
		t.Fatal(err)
	}
	return totals
}

// right is a job of which everything is as it must be: two hours at 50.00 and a part
// at 18.00 with 5 % are 123.90; 18.90 of it were credited, 30.00 came as a deposit and
// 75.00 in cash.
func right(t *testing.T) *Facts {
	t.Helper()
	j := &job.Job{
		ID: 4, Tag: 9, Customer: 3, Instrument: 2, Arrival: job.Arrival{At: start}, Surveyed: hour(1), Quoted: hour(2), Approved: hour(3), Promised: "2026-11-20",
		Tasks: []job.Task{{ID: 11, Name: "Rehumidify", Hold: true, Done: hour(100)}, {ID: 12, Name: "Cleats", Dry: true, Done: hour(120)}, {ID: 13, Name: "Setup"}},
		Holds: []job.Hold{{ID: 31, Task: 11, Place: "place 1", Start: hour(4), End: hour(100), Readings: []job.Reading{
			{ID: 41, At: hour(4)}, {ID: 42, At: hour(50)}, {ID: 43, At: hour(50), Replaces: 42},
		}}},
		Waits:     []job.Wait{{ID: 21, Task: 12, Kind: "glue clamp", Start: hour(104), End: hour(120)}},
		Clockings: []job.Clocking{{ID: 51, Task: 12, Staff: 6, Name: "Runa", Start: hour(102), End: hour(104)}, {ID: 52, Task: 12, Staff: 6, Name: "Runa", Start: hour(102), End: hour(103), Replaces: 51}},
	}
	f := &Facts{
		Job: j, Stage: "on the bench", Since: hour(120),
		Promises: []Promise{{ID: 81, Quote: 61, Said: "2026-11-18"}, {ID: 82, Said: "2026-11-20"}},
		Named:    []Named{{What: "part used", ID: 91, Task: 12}, {What: "check", ID: 92}},
	}
	q := &quote.Quote{
		ID: 61, Job: 4, Version: 1, Currency: cad(t), Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument},
		Taxes: []money.Tax{{Name: "GST", Percent: dec("5"), On: money.LineKinds()}}, YesTotal: 12390, YesLimit: 13629, Ceiling: 13629,
		Lines: []quote.Line{
			{ID: 1, Kind: money.Labour, Name: "Cleats", Count: dec("2"), Price: dec("50"), Net: 10000, Agreed: true},
			{ID: 2, Kind: money.Part, Name: "Strings", Count: dec("1"), Price: dec("18"), Net: 1800, Agreed: true},
		},
		Answer: &quote.Answer{Outcome: quote.Whole, Who: "M. Oduya", Channel: "phone", At: hour(3)},
	}
	q.Totals = moneyOf(t, q.Bill())
	f.Quotes, f.Totals = []*quote.Quote{q}, map[domain.QuoteID]money.Amount{61: 12390}
	f.billed(t, q)
	f.posted(t)
	return f
}

// billed puts the invoice, its credit note and the payments on the job.
func (f *Facts) billed(t *testing.T, q *quote.Quote) {
	t.Helper()
	inv := &billing.Invoice{
		ID: 1, Number: 31, Job: 4, Customer: 3, Quote: 61, Date: "2026-11-08", Currency: q.Currency, Rounding: q.Rounding, Taxes: q.Taxes,
		Totals: moneyOf(t, q.Bill()), Agreed: 12390, Limit: 13629, IssuedAt: hour(130),
	}
	for _, l := range q.Lines {
		inv.Lines = append(inv.Lines, billing.Line{Kind: l.Kind, Name: l.Name, Count: l.Count, Price: l.Price, Net: l.Net})
	}
	note, err := billing.Credit(inv, []billing.Wanted{{Place: 2, Count: dec("1")}}, "the strings were their own")
	if err != nil || note.Totals.Total != 1890 {
		t.Fatalf("the credit note comes to %d, %v; want 1890", note.Totals.Total, err)
	}
	note.ID, note.Number, note.Date, note.IssuedAt = 2, 7, "2026-11-09", hour(140)
	inv.Credits, f.Credited = []billing.CreditNote{note}, map[domain.CreditNoteID]money.Amount{2: 1890}
	f.Invoice, f.InvoiceTotal = inv, 12390
	f.Payments = []billing.Payment{
		{ID: 71, Job: 4, Kind: billing.Deposit, Tender: "card", Amount: 3000, Receipt: 12, At: hour(20)},
		{ID: 72, Job: 4, Invoice: 1, Kind: billing.Settle, Tender: billing.Cash, Amount: 7500, Given: 8000, Change: 500, Receipt: 13, At: hour(150)},
	}
}

// posted writes the journal of the documents; tax is that of the deposit, where it is
// taxed when it is taken.
func (f *Facts) posted(t *testing.T, tax ...billing.TaxPart) {
	t.Helper()
	var s billing.Standing
	taken, err := s.Paid(f.Payments[0], "2026-11-03", tax...)
	if err != nil {
		t.Fatal(err)
	}
	issued, err := s.Issued(f.Invoice)
	if err != nil {
		t.Fatal(err)
	}
	back, err := billing.PostCredit(f.Invoice, &f.Invoice.Credits[0])
	if err != nil {
		t.Fatal(err)
	}
	credit := billing.Entry{Date: "2026-11-09", Event: billing.CreditIssued, Job: 4, Invoice: 1, Postings: back}
	paid, err := s.Paid(f.Payments[1], "2026-11-09")
	if err != nil {
		t.Fatal(err)
	}
	f.Entries = append(append([]billing.Entry{taken}, issued...), credit, paid)
	for i := range f.Entries {
		f.Entries[i].ID = int64(101 + i)
	}
}

func terms(t *testing.T) Terms {
	t.Helper()
	return Terms{Currency: cad(t), Coin: billing.Coin{Step: 5, Mode: money.HalfUp}}
}

// wantBreaks wants each break to begin with its rule and to hold words, written as
// "rule: words".
func wantBreaks(t *testing.T, r Report, want ...string) {
	t.Helper()
	got := make([]string, len(r.Breaks))
	for i, b := range r.Breaks {
		got[i] = b.Rule + ": " + b.Text
	}
	if len(got) != len(want) {
		t.Fatalf("got %d breaks, want %d:\n%s", len(got), len(want), strings.Join(got, "\n"))
	}
	for i, w := range want {
		rule, words, _ := strings.Cut(w, ": ")
		if r.Breaks[i].Rule != rule || !strings.Contains(r.Breaks[i].Text, words) {
			t.Errorf("got %q, want %q", got[i], w)
		}
	}
}

// plant is a fault, and what the audit says of it; none when it is no fault.
type plant struct {
	fault func(f *Facts)
	want  []string
}

// planted puts each fault into facts that are right and audits the job. The stage that
// is written down follows the facts, unless kept.
func planted(t *testing.T, kept bool, faults map[string]plant) {
	t.Helper()
	for name, c := range faults {
		t.Run(name, func(t *testing.T) {
			f := right(t)
			c.fault(f)
			if !kept {
				f.Stage, f.Since = string(job.StageOf(f.Job)), job.StageSince(f.Job)
			}
			a := New(terms(t))
			a.Job(f)
			r := a.Done()
			wantBreaks(t, r, c.want...)
			for _, b := range r.Breaks {
				if b.Job != 4 {
					t.Errorf("%q belongs to job %d, want 4", b.Text, b.Job)
				}
			}
		})
	}
}

func TestAJobThatIsRight(t *testing.T) {
	a := New(terms(t))
	a.Job(right(t))
	r := a.Done()
	if !r.Clean() || r.Jobs != 1 {
		t.Errorf("got %d jobs and %+v, want one without a break", r.Jobs, r.Breaks)
	}
	looked := map[string]int{}
	for _, l := range r.Lines {
		looked[l.Code] = l.Looked
	}
	for rule, want := range map[string]int{
		"stage": 1, "belongs": 6, "totals": 3, "agreed": 2, "payments": 2, "cash rounding": 2, "clocks": 2, "tasks": 3, "holds": 1, "readings": 3, "promises": 1,
		"journal": 5, "posted": 4, "receivables": 1, "shelf": 0,
	} {
		if looked[rule] != want {
			t.Errorf("%s: looked at %d facts, want %d", rule, looked[rule], want)
		}
	}
}

func TestEveryRuleIsNamedOnce(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range Rules() {
		if seen[r.Code] || r.Code == "" {
			t.Errorf("the code %q is there twice, or empty", r.Code)
		}
		seen[r.Code] = true
		for _, text := range []string{r.Holds, r.Why} {
			if !strings.HasSuffix(text, ".") {
				t.Errorf("%s: %q is no sentence", r.Code, text)
			}
		}
	}
}

// span writes the two moments as a text has them.
func span(from, to time.Time) string {
	return fmt.Sprintf("from %s to %s", when(from), when(to))
}
