// Package audit proves that the books agree with themselves: each rule is a plain
// function over plain facts, is named once, and says in plain words, with
// identities, what breaks it.
//
// An [Audit] is fed with facts in pieces and keeps little of them, so that a house
// with many years of jobs is read in one go; the store does the reading.
package audit

import (
	"fmt"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

// Rule is one thing that must hold in the books.
type Rule struct {
	Code  string // one or two words, for programs
	Holds string // what must be so, a sentence
	Why   string // what goes wrong when it is not so, a sentence
}

// Break is one thing that is not as a rule says.
type Break struct {
	Rule string       `json:"rule"`          // the rule's code
	Job  domain.JobID `json:"job,omitempty"` // 0 when it belongs to none
	Text string       `json:"text"`          // what is wrong, with its identities
}

// MostBreaks is how many breaks a report holds in words; beyond it they are only
// counted.
const MostBreaks = 1000

// Line is what a report says of one rule.
type Line struct {
	Code   string `json:"code"`
	Holds  string `json:"holds"`
	Why    string `json:"why"`
	Looked int    `json:"looked"` // facts that it was held against; 0: there was nothing to look at
	Breaks int    `json:"breaks"`
}

// Report is the result of an audit.
type Report struct {
	At      time.Time     `json:"at"`       // the moment of the books that were read
	Engine  string        `json:"engine"`   // of the database
	Jobs    int           `json:"jobs"`     // read
	Lines   []Line        `json:"rules"`    // every rule, in its order
	Breaks  []Break       `json:"breaks"`   // at most [MostBreaks]
	LeftOut int           `json:"left_out"` // breaks beyond them
	Took    time.Duration `json:"took"`     // nanoseconds
}

// Clean reports whether every rule holds.
func (r *Report) Clean() bool { return len(r.Breaks) == 0 && r.LeftOut == 0 }

// Found counts all breaks.
func (r *Report) Found() int { return len(r.Breaks) + r.LeftOut }

// Audit holds facts against the rules. It is for one goroutine.
type Audit struct {
	terms  Terms
	report Report
	lines  map[string]int // place of a rule's line
	links  map[domain.JobID]domain.JobID
	places last[string, Stay]
	people last[domain.StaffID, Clocking]
	shelf  Level // after the last move
}

// Terms are what the shop's settings say that rules need.
type Terms struct {
	Currency money.Currency // of payments
	Coin     billing.Coin   // the smallest step of cash today
}

// New starts an audit.
func New(t Terms) *Audit {
	a := &Audit{terms: t, lines: map[string]int{}, links: map[domain.JobID]domain.JobID{}}
	for i, r := range Rules() {
		a.lines[r.Code] = i
		a.report.Lines = append(a.report.Lines, Line{Code: r.Code, Holds: r.Holds, Why: r.Why})
	}
	a.report.Breaks = []Break{}
	return a
}

// Done closes the audit: rules that need all facts are held now. Breaks come by
// rule, and of one rule by job.
func (a *Audit) Done() Report {
	a.noCircles()
	slices.SortStableFunc(a.report.Breaks, func(x, y Break) int {
		if d := a.lines[x.Rule] - a.lines[y.Rule]; d != 0 {
			return d
		}
		return int(x.Job - y.Job)
	})
	return a.report
}

// looked counts facts that a rule was held against.
func (a *Audit) looked(r Rule, n int) { a.report.Lines[a.lines[r.Code]].Looked += n }

// broken notes a break; job is 0 when it belongs to none.
func (a *Audit) broken(r Rule, job domain.JobID, format string, args ...any) {
	a.report.Lines[a.lines[r.Code]].Breaks++
	if len(a.report.Breaks) >= MostBreaks {
		a.report.LeftOut++
		return
	}
	a.report.Breaks = append(a.report.Breaks, Break{Rule: r.Code, Job: job, Text: fmt.Sprintf(format, args...)})
}

// last keeps the fact that ends latest of each key, as facts come in order of
// their starts.
type last[K comparable, V any] map[K]V

func (l *last[K, V]) keep(k K, v V) {
	if *l == nil {
		*l = last[K, V]{}
	}
	(*l)[k] = v
}

// when is a moment in a text.
func when(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05 UTC") }
