package workshop

import (
	"strings"
	"testing"
	"time"

	"winterbench/domain/billing"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

func TestVersionAnswerSaysTheState(t *testing.T) {
	now := time.Date(2026, time.December, 3, 12, 0, 0, 0, time.UTC)
	shop := &Shop{Zone: "UTC", Currency: money.Currency{Code: "EUR", Digits: 2}}
	base := quote.Quote{
		Version: 1, Basis: quote.Estimate, Currency: shop.Currency, Totals: money.Totals{Total: 9130}, Ceiling: 10043, ValidUntil: "2026-12-17",
		Lines: []quote.Line{{Name: "x"}},
	}
	said := now.Add(-48 * time.Hour)
	yes := &quote.Answer{Outcome: quote.Whole, Who: "Mara", At: now.Add(-time.Hour)}
	for _, c := range []struct {
		name   string
		change func(q *quote.Quote)
		want   string
	}{
		{"a draft", func(*quote.Quote) {}, "Not said to the customer yet."},
		{"said", func(q *quote.Quote) { q.Said = said }, "About 91.30 EUR, not above 100.43. Said Tue 1 Dec, no answer yet."},
		{"lapsed", func(q *quote.Quote) { q.Said, q.ValidUntil = said, "2026-12-02" }, "It lapsed on Wed 2 Dec without an answer."},
		{"agreed", func(q *quote.Quote) { q.Said, q.Answer, q.YesTotal, q.YesLimit = said, yes, 9130, 10043 }, "Mara agreed to all of it today 11:00: 91.30 EUR, not above 100.43."},
		{"a part", func(q *quote.Quote) {
			q.Said, q.Answer, q.YesTotal, q.YesLimit = said, &quote.Answer{Outcome: quote.Part, Who: "Mara", At: said}, 4840, 5324
		}, "Mara agreed to a part of it Tue 1 Dec: 48.40 EUR, not above 53.24."},
		{"declined", func(q *quote.Quote) {
			q.Said, q.Answer = said, &quote.Answer{Outcome: quote.Denied, Who: "Mara", At: said}
		}, "Mara said no Tue 1 Dec."},
		{"replaced", func(q *quote.Quote) { q.Said, q.Replaced = said, now }, "A newer version took its place; this one came to 91.30 EUR."},
	} {
		t.Run(c.name, func(t *testing.T) {
			q := base
			c.change(&q)
			if got := VersionAnswer(&q, WindowFrom(shop.Today(now), q.Days), shop, now); !strings.Contains(got, c.want) {
				t.Errorf("got %q, want %q in it", got, c.want)
			}
		})
	}
}

func TestMoneyAndLeaveAnswers(t *testing.T) {
	at := time.Date(2026, time.December, 3, 12, 0, 0, 0, time.UTC)
	inv := &billing.Invoice{Number: 7}
	for _, c := range []struct {
		name         string
		file         File
		money, leave string
	}{
		{"nothing yet", File{Job: &job.Job{Tag: 3, Approved: at}, Stage: job.OnBench}, "Nothing is billed and nothing is paid yet.", "Tag 3 is on the bench: it can leave when it is checked and billed."},
		{"agreed", File{Job: &job.Job{Tag: 3, Approved: at}, Stage: job.Approved, Quote: &quote.Quote{YesTotal: 9130}}, "91.30 EUR is agreed; nothing is billed and nothing is paid yet.", "Tag 3 is approved: it can leave when it is checked and billed."},
		{"paid ahead", File{Job: &job.Job{Tag: 3, Approved: at, Checked: at}, Stage: job.Checked, Balance: billing.Balance{Paid: 2739}}, "27.39 EUR is paid ahead; the bill is not issued yet.", "Tag 3 is checked; issue its invoice before it leaves."},
		{"due", File{Job: &job.Job{Tag: 3, Approved: at, Checked: at}, Invoice: inv, Balance: billing.Balance{Due: 7304}}, "73.04 EUR is to pay on Invoice 000007.", "Tag 3 can leave when 73.04 EUR is paid."},
		{"too much", File{Job: &job.Job{Tag: 3, Approved: at, Checked: at}, Invoice: inv, Balance: billing.Balance{Due: -100}}, "The shop owes 1.00 EUR back on Invoice 000007.", "Give 1.00 EUR back, then tag 3 can leave."},
		{"paid", File{Job: &job.Job{Tag: 3, Approved: at, Checked: at}, Invoice: inv, Balance: billing.Balance{Total: 10043, Paid: 10043}}, "Invoice 000007 over 100.43 EUR is paid.", "Tag 3 can leave: nothing is owed."},
		{"declined with a survey fee", File{Job: &job.Job{Tag: 3, Declined: at, Arrival: job.Arrival{SurveyFee: 3000}}, Stage: job.Declined}, "Nothing is billed and nothing is paid yet.", "Tag 3 can leave when the survey fee is billed and paid."},
		{"quoted", File{Job: &job.Job{Tag: 3, Quoted: at}, Stage: job.Quoted}, "Nothing is billed and nothing is paid yet.", "Tag 3 waits for the customer's answer: record it before it leaves."},
		{"declined", File{Job: &job.Job{Tag: 3, Declined: at}, Stage: job.Declined}, "Nothing is billed and nothing is paid yet.", "Tag 3 can leave: nothing is owed."},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := &Folder{File: c.file, Shop: &Shop{Currency: money.Currency{Code: "EUR", Digits: 2}}}
			if got := MoneyAnswer(f); got != c.money {
				t.Errorf("money: got %q, want %q", got, c.money)
			}
			if got := LeaveAnswer(f); got != c.leave {
				t.Errorf("leave: got %q, want %q", got, c.leave)
			}
		})
	}
}

func TestDraftAnswerSaysWhatIsMissing(t *testing.T) {
	q := &quote.Quote{Currency: money.Currency{Code: "EUR", Digits: 2}, Lines: []quote.Line{{Name: "x"}}}
	for _, c := range []struct {
		q     *quote.Quote
		wrong int
		want  string
	}{
		{&quote.Quote{}, 1, "Nothing is on the quote yet: add the first task."},
		{q, 1, "One field needs another look before there is a total."},
		{q, 3, "3 fields need another look before there is a total."},
		{q, 0, QuoteAnswer(q, WindowFrom("2026-12-03", q.Days), "2026-12-03")},
	} {
		if got := DraftAnswer(c.q, WindowFrom("2026-12-03", c.q.Days), "2026-12-03", c.wrong); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
