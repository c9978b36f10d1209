package workshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// MonthCheck is a line of the check list before a month is closed.
type MonthCheck struct {
	Name   string // in JSON: "over", "posted", "balanced", "earlier", "billed", "negative", "bills"
	Text   string // what was found, in a sentence
	Good   bool
	Blocks bool // the month cannot be closed before it is put right; else it is a caution
}

// MonthFacts is what the check list of a month goes by.
type MonthFacts struct {
	Month     string
	Today     domain.Date
	Currency  money.Currency
	Trial     billing.TrialBalance // of the month
	Unposted  Unposted             // up to its last day
	NotBilled int                  // jobs checked and not billed by then
	Earlier   []string             // months before it that have entries and are open
}

// CheckMonth is the check list of a month.
func CheckMonth(m MonthFacts) []MonthCheck {
	_, last := billing.MonthDays(m.Month)
	words := MonthWords(m.Month)
	before, within := m.Trial.Off()
	bills := m.Trial.Closing(billing.NotInvoiced)
	return []MonthCheck{
		checked("over", m.Today > last, true, words+" is over.", fmt.Sprintf("%s is not over before the end of %s.", words, last.Time(time.UTC).Format("Mon 2 Jan"))),
		checked("posted", m.Unposted.Sum() == 0, true, "Every invoice, payment and stock move is in the journal.",
			fmt.Sprintf("Not in the journal: %d invoices, %d payments and %d stock moves.", m.Unposted.Invoices, m.Unposted.Payments, m.Unposted.Moves)),
		checked("balanced", before == 0 && within == 0, true, "Debits and credits are equal.",
			fmt.Sprintf("Debits and credits differ by %s.", m.Currency.Show(before+within))),
		checked("earlier", len(m.Earlier) == 0, false, "All earlier months are closed.", fmt.Sprintf("%s open, the first is %s.", several(len(m.Earlier), "earlier month is", "earlier months are"), firstMonth(m.Earlier))),
		checked("billed", m.NotBilled == 0, false, "Every job that passed its check has its invoice.",
			fmt.Sprintf("%s and had no invoice by the end of the month.", several(m.NotBilled, "job passed its check", "jobs passed their check"))),
		checked("negative", len(m.Trial.Negative()) == 0, false, "No account stands below zero that should not.", negativeWords(m)),
		checked("bills", bills == 0, false, "A supplier's bill is there for everything that came.",
			fmt.Sprintf("Parts for %s came without their supplier's bill.", m.Currency.Show(bills))),
	}
}

func firstMonth(months []string) string {
	if len(months) == 0 {
		return ""
	}
	return MonthWords(slices.Min(months))
}

func checked(name string, good, blocks bool, yes, no string) MonthCheck {
	text := yes
	if !good {
		text = no
	}
	return MonthCheck{Name: name, Text: text, Good: good, Blocks: blocks}
}

func negativeWords(m MonthFacts) string {
	text := "Below zero at the end:"
	for i, a := range m.Trial.Negative() {
		if i > 0 {
			text += ","
		}
		text += fmt.Sprintf(" %s %s", a.Account, m.Currency.Show(a.Closing()))
	}
	return text + "."
}

// BooksMonth is a month of the books as its page shows it.
type BooksMonth struct {
	State  MonthState
	Trial  billing.TrialBalance
	Checks []MonthCheck // none for a month that is closed
	Months []MonthState // all, newest first
	Log    []PeriodChange
	Answer string
}

// booksReads is what the check list reads, in a transaction or outside.
type booksReads interface {
	AccountSums(ctx context.Context, from, to domain.Date) ([]billing.AccountSum, error)
	UnpostedUntil(ctx context.Context, on domain.Date) (Unposted, error)
	CheckedNotBilled(ctx context.Context, on domain.Date) (int, error)
	Months(ctx context.Context) ([]MonthState, error)
}

// checkMonthOf reads what the check list of a month needs and goes through it.
func checkMonthOf(ctx context.Context, read booksReads, shop *Shop, month string, now time.Time) (MonthFacts, error) {
	m := MonthFacts{Month: month, Today: shop.Today(now), Currency: shop.Currency}
	from, to := billing.MonthDays(month)
	if from == "" {
		return m, domain.Invalidf("%q is no month; write year-month, such as 2026-11", month)
	}
	sums, err := read.AccountSums(ctx, from, to)
	if err != nil {
		return m, err
	}
	m.Trial = billing.TrialBalanceOf(sums, from, to)
	if m.Unposted, err = read.UnpostedUntil(ctx, to); err != nil {
		return m, err
	}
	if m.NotBilled, err = read.CheckedNotBilled(ctx, to); err != nil {
		return m, err
	}
	months, err := read.Months(ctx)
	for _, s := range months {
		if s.Month < month && s.Entries > 0 && s.Period.Closed.IsZero() {
			m.Earlier = append(m.Earlier, s.Month)
		}
	}
	return m, err
}

// ReadBooksMonth reads a month of the books; "" is the present one.
func ReadBooksMonth(ctx context.Context, read Queries, month string, now time.Time) (*BooksMonth, error) {
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	if month == "" {
		month = MonthOf(shop.Today(now))
	}
	facts, err := checkMonthOf(ctx, read, shop, month, now)
	if err != nil {
		return nil, err
	}
	b := &BooksMonth{State: MonthState{Month: month}, Trial: facts.Trial}
	if b.Months, err = read.Months(ctx); err != nil {
		return nil, err
	}
	for _, s := range b.Months {
		if s.Month == month {
			b.State = s
		}
	}
	if b.Log, err = read.PeriodChanges(ctx); err != nil {
		return nil, err
	}
	b.State.Period.Month = month
	if b.State.Period.Closed.IsZero() {
		b.Checks = CheckMonth(facts)
	}
	b.Answer = monthAnswer(b, shop)
	return b, nil
}

// monthAnswer is the month in one sentence.
func monthAnswer(b *BooksMonth, shop *Shop) string {
	words := MonthWords(b.State.Month)
	earned := shop.Currency.Show(b.Trial.Class(billing.Income))
	if p := b.State.Period; !p.Closed.IsZero() {
		return fmt.Sprintf("%s is closed: it earned %s in %d entries.", words, earned, b.State.Entries)
	}
	for _, c := range b.Checks {
		if c.Blocks && !c.Good {
			return fmt.Sprintf("%s is open and earned %s so far. %s", words, earned, c.Text)
		}
	}
	return fmt.Sprintf("%s can be closed: it earned %s in %d entries.", words, earned, b.State.Entries)
}

// CloseMonth closes a month: it takes no more entries, and a correction goes to a
// month that is open. Whoever posts into it at this moment comes first. It returns a
// conflict when the check list has a line that blocks, or when it has a caution and
// despite is not set.
func (w *Workshop) CloseMonth(ctx context.Context, by domain.Actor, month string, despite bool) error {
	return w.changePeriod(ctx, by, month, func(tx Tx, shop *Shop, p *Period, at time.Time) (PeriodChange, error) {
		if !p.Closed.IsZero() {
			return PeriodChange{}, domain.Conflictf("%s was closed on %s by %s", MonthWords(month), domain.DateOf(p.Closed.In(shop.Location())), p.By)
		}
		facts, err := checkMonthOf(ctx, tx, shop, month, at)
		if err != nil {
			return PeriodChange{}, err
		}
		for _, c := range CheckMonth(facts) {
			switch {
			case c.Good:
			case c.Blocks:
				return PeriodChange{}, domain.Conflictf("%s cannot be closed: %s", MonthWords(month), c.Text)
			case !despite:
				return PeriodChange{}, domain.Conflictf("%s Look into it, or close %s all the same.", c.Text, MonthWords(month))
			}
		}
		p.Closed, p.By = at, by.Name
		return PeriodChange{Change: PeriodClosed}, nil
	})
}

// OpenMonth opens a closed month again, for a reason that is kept.
func (w *Workshop) OpenMonth(ctx context.Context, by domain.Actor, month, reason string) error {
	f := domain.Fields{}
	reason = domain.Line(f, "reason", reason, 200, true)
	if err := f.Err(); err != nil {
		return err
	}
	return w.changePeriod(ctx, by, month, func(_ Tx, _ *Shop, p *Period, _ time.Time) (PeriodChange, error) {
		if p.Closed.IsZero() {
			return PeriodChange{}, domain.Conflictf("%s is open", MonthWords(month))
		}
		p.Closed, p.By = time.Time{}, ""
		return PeriodChange{Change: PeriodOpened, Reason: reason}, nil
	})
}

// changePeriod lets fn change a month and keeps it with a line of the log.
func (w *Workshop) changePeriod(ctx context.Context, by domain.Actor, month string, fn func(Tx, *Shop, *Period, time.Time) (PeriodChange, error)) error {
	_, err := w.do(ctx, by, ActBooks, func(tx Tx, at time.Time) (int64, error) {
		if from, _ := billing.MonthDays(month); from == "" {
			return 0, domain.Invalidf("%q is no month; write year-month, such as 2026-11", month)
		}
		shop, err := tx.Shop(ctx)
		if err != nil {
			return 0, err
		}
		p, err := tx.Period(ctx, month)
		if err != nil {
			return 0, err
		}
		c, err := fn(tx, shop, p, at)
		if err != nil {
			return 0, err
		}
		c.Month, c.At, c.By = month, at, by.Name
		if c.Entries, c.Debits, err = tx.MonthTotals(ctx, month); err != nil {
			return 0, err
		}
		if err := tx.SavePeriod(ctx, p, &c); err != nil {
			return 0, err
		}
		return c.ID, note(ctx, tx, 0, by, at, "books of "+MonthWords(month)+" "+c.Change, "", c.Reason)
	})
	return err
}

// several counts things: "1 job is", "3 jobs are".
func several(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
