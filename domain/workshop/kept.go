package workshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"winterbench/domain/season"
)

// KeptMonth is how the days that fell into one month were kept.
type KeptMonth struct {
	Month string // 2026-11; "" for all together

	Said  int // days said that are over, or whose work was done before
	Kept  int // of them, done by the end of the day
	Moved int // jobs whose day was told anew after the yes

	Windows int // jobs done, or past their P80, whose window is known
	InP50   int // of them, done by the likely moment
	InP80   int
}

// KeptReport is how good the shop's promises are.
type KeptReport struct {
	Months []KeptMonth // newest first
	All    KeptMonth
	Open   int    // days said that are still to come
	Since  string // the first month
	Answer string
}

// keptMonths is how far back promises are looked at.
const keptMonths = 24

// HowKept reads how the promises of the last two years were kept.
func HowKept(ctx context.Context, read Queries, now time.Time) (*KeptReport, error) {
	shop, err := read.ShopSettings(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := read.PromisesKept(ctx, now.AddDate(0, -keptMonths, 0))
	if err != nil {
		return nil, err
	}
	report := KeptOf(rows, shop, now)
	return &report, nil
}

// KeptOf counts promises. Of each job counts what was told last before the yes, for
// that is what the customer agreed to; a day told later counts as moved. The month
// is that of the day. rows are by job and then oldest first.
func KeptOf(rows []PromiseKept, shop *Shop, now time.Time) KeptReport {
	months := map[string]*KeptMonth{}
	out := KeptReport{}
	for len(rows) > 0 {
		n := slices.IndexFunc(rows, func(r PromiseKept) bool { return r.Job != rows[0].Job })
		if n < 0 {
			n = len(rows)
		}
		out.job(rows[:n], months, shop, now)
		rows = rows[n:]
	}
	for month, m := range months {
		m.Month = month
		out.Months = append(out.Months, *m)
		out.All.add(*m)
	}
	slices.SortFunc(out.Months, func(a, b KeptMonth) int { return -cmpText(a.Month, b.Month) })
	if n := len(out.Months); n > 0 {
		out.Since = out.Months[n-1].Month
	}
	out.Answer = keptAnswer(out)
	return out
}

func cmpText(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func (m *KeptMonth) add(n KeptMonth) {
	m.Said, m.Kept, m.Moved = m.Said+n.Said, m.Kept+n.Kept, m.Moved+n.Moved
	m.Windows, m.InP50, m.InP80 = m.Windows+n.Windows, m.InP50+n.InP50, m.InP80+n.InP80
}

// job counts one job.
func (k *KeptReport) job(rows []PromiseKept, months map[string]*KeptMonth, shop *Shop, now time.Time) {
	agreed := -1
	for i, r := range rows {
		if !r.Approved.IsZero() && !r.At.After(r.Approved) {
			agreed = i
		}
	}
	if agreed < 0 || rows[agreed].Said == "" {
		return
	}
	r := rows[agreed]
	over := r.Said.AddDays(1).Time(shop.Location())
	if r.Checked.IsZero() && now.Before(over) {
		k.Open++
		return
	}
	m := months[string(r.Said)[:7]]
	if m == nil {
		m = &KeptMonth{}
		months[string(r.Said)[:7]] = m
	}
	m.Said++
	if !r.Checked.IsZero() && r.Checked.Before(over) {
		m.Kept++
	}
	if slices.ContainsFunc(rows[agreed+1:], func(later PromiseKept) bool { return later.Said != r.Said }) {
		m.Moved++
	}
	if w := r.Window; w != nil && (!r.Checked.IsZero() || now.After(w.P80)) {
		m.Windows++
		if !r.Checked.IsZero() && !r.Checked.After(w.P50) {
			m.InP50++
		}
		if !r.Checked.IsZero() && !r.Checked.After(w.P80) {
			m.InP80++
		}
	}
}

// Share says k of n as a share with its limits, or only the cases when they are few.
func Share(k, n int) string {
	if n < season.FewCases {
		return fmt.Sprintf("%d of %d", k, n)
	}
	low, high := season.Wilson(k, n)
	return fmt.Sprintf("%d of %d: %.0f %% (%.0f to %.0f)", k, n, 100*float64(k)/float64(n), 100*low, 100*high)
}

func keptAnswer(k KeptReport) string {
	a := k.All
	switch {
	case a.Said == 0 && k.Open == 0:
		return "No day has been said to a customer yet."
	case a.Said == 0:
		return fmt.Sprintf("No promised day is over yet; still to come: %d.", k.Open)
	}
	s := fmt.Sprintf("Of %d promised days since %s we kept %d", a.Said, monthName(k.Since), a.Kept)
	if a.Said >= season.FewCases {
		s += fmt.Sprintf(": %.0f %%", 100*float64(a.Kept)/float64(a.Said))
	}
	s += "."
	switch {
	case a.Windows == 0:
		return s + " How sure the windows are is not known yet."
	case a.Windows < season.FewCases:
		return s + fmt.Sprintf(" The late end of the window held %d of %d times: too few to judge.", a.InP80, a.Windows)
	}
	share := float64(a.InP80) / float64(a.Windows)
	s += fmt.Sprintf(" The late end of the window, which should hold 80 times in 100, held %.0f.", 100*share)
	low, high := season.Wilson(a.InP80, a.Windows)
	switch {
	case high < 0.75:
		s += " It is too early: say a surer day, and look at the minutes of your templates."
	case low > 0.85:
		s += " It is later than it need be."
	}
	return s
}

func monthName(month string) string {
	t, err := time.Parse("2006-01", month)
	if err != nil {
		return month
	}
	return t.Format("January 2006")
}

// Name is the month as a person says it.
func (m KeptMonth) Name() string { return monthName(m.Month) }
