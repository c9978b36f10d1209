package web

import (
	"strings"
	"time"

	"winterbench/domain"
)

// Person is a person with a phone number: name, number to tap, and a word on
// how to reach them.
type Person struct {
	Name  string
	Phone string // as typed; may be empty
	Email string // may be empty
	Note  string // "best after five"; may be empty
	Href  string // the person's page; "" for no link
}

// Entry is one line of a diary: who did what when, and what it changed.
type Entry struct {
	At       time.Time
	Who      string
	What     string
	Before   string // the value that changed; both empty for none
	After    string
	Note     string
	Href     string // where the thing stands; may be empty
	Corrects bool   // the entry puts an earlier one right
}

// Diary is the list of entries, newest first.
type Diary []Entry

// Wait says why something is not moving and until when.
type Wait struct {
	What    string    // "glue on the cleats"
	Why     string    // "dries overnight"
	Until   time.Time // zero when nobody knows
	Days    int       // whole days so far
	Overdue bool      // until has passed
	Air     bool      // the cabinet: air and moisture
}

// Clock is the large button that starts and stops a person's time on a task.
type Clock struct {
	Action  string    // path the button posts to
	Key     string    // idempotency key
	Task    string    // what the hands do
	Hands   string    // whose clock runs; "" when none does
	Since   time.Time // when it began
	Now     time.Time // the moment of the page
	Mine    bool      // the running clock is the reader's own
	Blocked string    // why it cannot be started; "" when it can
	Hidden  []Pair    // further hidden fields
}

// Running reports whether a clock runs on the task.
func (c Clock) Running() bool { return c.Hands != "" }

// Pair is a name with its value: a hidden field or a fact.
type Pair struct{ Name, Value string }

// Reading is one line of the cabinet or of a hold's list.
type Reading struct {
	Mark    string // "place 4"
	Tag     string // "tag 318"; may be empty
	Href    string // the job's page; may be empty
	When    string // "day 6", or a date
	Facts   []Pair // name and value with its unit: crack, 0.22 mm
	Verdict string // what follows, in words; may be empty
	Stop    bool   // the verdict is a stop
	Next    *Link  // what to do; nil for nothing
}

// Link is a way to somewhere; Now makes it the thing that can be done now.
type Link struct {
	Href, Text string
	Now        bool
}

// Caution warns before work that can hurt, and says where to ask.
type Caution struct {
	Text string
	Stop bool // do not go on at all
}

// Empty says that a list is empty and what to do about it.
type Empty struct {
	Text string
	Do   *Link // nil when there is nothing to do
}

// Undo offers to take the last action back.
type Undo struct {
	Action string // path the button posts to
	Key    string
	Text   string // what would be taken back
	Hidden []Pair
}

// Correction shows a value that was put right, with the reason.
type Correction struct {
	Was, Is string
	Why     string
	Who     string
	At      time.Time
}

// Progress tells how far long work has come.
type Progress struct {
	Text        string // what is being done
	Done, Total int    // Total 0: nobody knows
}

// Percent is the share done, 0 to 100.
func (p Progress) Percent() int {
	if p.Total <= 0 {
		return 0
	}
	return min(max(p.Done, 0)*100/p.Total, 100)
}

// Facts is a list of names with their values.
type Facts []Fact

// Fact is one name with its value.
type Fact struct {
	Name  string
	Value string // with its unit
	Note  string
	Href  string
}

// Pager leads through a long list.
type Pager struct {
	From, To int    // numbers of the first and last line shown, from 1
	Total    int    // 0 when not counted
	Earlier  string // path of the page before; "" at the start
	Later    string // path of the next page; "" at the end
	What     string // "jobs"
}

// Notches shows a grade from 0 to 4 as a word with five notches.
type Notches struct {
	Grade int
	Of    string // what is graded; may be empty
}

// GradeWord names a grade: fine, slight, moderate, severe, stop. Grades outside
// 0 to 4 are "not graded".
func GradeWord(grade int) string {
	words := []string{"fine", "slight", "moderate", "severe", "stop"}
	if grade < 0 || grade >= len(words) {
		return "not graded"
	}
	return words[grade]
}

// Word names the grade.
func (n Notches) Word() string { return GradeWord(n.Grade) }

// Marks tells for each of the five notches whether it is filled: up to and with
// the grade's own, so that "fine" fills one and "stop" all five.
func (n Notches) Marks() [5]Notch {
	var out [5]Notch
	for i := range out {
		out[i] = Notch{X: 1 + 8*i, Filled: i <= n.Grade && n.Grade <= 4}
	}
	return out
}

// Notch is one drawn notch.
type Notch struct {
	X      int // px from the left
	Filled bool
}

// Table is a list of lines with named columns and totals below. Money columns
// name their currency once, in the head.
type Table struct {
	Caption string
	Hidden  bool // the caption is for screen readers only
	Columns []Column
	Rows    []Row
	Totals  []Total
	Empty   Empty // shown instead when there are no rows
}

// Column is the head of one column.
type Column struct {
	Head   string
	Unit   string // currency or unit, once in the head
	Number bool   // set right, in tabular figures
}

// Row is one line of a table.
type Row struct {
	Cells  []Cell
	Struck bool // no longer counts
}

// Cell is one value.
type Cell struct {
	Text  string
	Note  string // smaller, below
	Href  string // "" for no link
	Grade *Notches
	Strip *Strip
	Bar   *Bar
}

// Total is one line under the table; the last one gets the double rule.
type Total struct {
	Name, Value string
	Note        string
}

// Line makes a row of plain texts.
func Line(texts ...string) Row {
	cells := make([]Cell, len(texts))
	for i, s := range texts {
		cells[i] = Cell{Text: s}
	}
	return Row{Cells: cells}
}

// Head makes a column for words.
func Head(name string) Column { return Column{Head: name} }

// Figures makes a column for numbers of a unit, or amounts of a currency.
func Figures(name, unit string) Column { return Column{Head: name, Unit: unit, Number: true} }

// Span is how many columns a total's name covers.
func (t Table) Span() int { return max(len(t.Columns)-1, 1) }

// Laid pairs each cell with its column.
func (t Table) Laid() []LaidRow {
	out := make([]LaidRow, len(t.Rows))
	for i, r := range t.Rows {
		out[i].Struck = r.Struck
		for j, c := range r.Cells {
			var col Column
			if j < len(t.Columns) {
				col = t.Columns[j]
			}
			out[i].Cells = append(out[i].Cells, LaidCell{Cell: c, Column: col, First: j == 0})
		}
	}
	return out
}

// LaidRow is a row as drawn.
type LaidRow struct {
	Cells  []LaidCell
	Struck bool
}

// LaidCell is a cell with its column.
type LaidCell struct {
	Cell
	Column
	First bool // names the row
}

// Named is the column's head with its unit, for the narrow layout where each
// cell stands under the last.
func (c Column) Named() string {
	return strings.TrimSpace(c.Head + " " + c.Unit)
}

// SignInPage asks for name and password.
type SignInPage struct {
	Page
	Name  string   // as typed
	Staff []string // the demo's names; empty otherwise
	Next  string   // where to go afterwards
	Note  string   // the demo's hint; may be empty
}

// SetupPage is one step of the first settings, and serves any plain settings
// form: groups of fields and one button.
type SetupPage struct {
	Page
	Steps   []Step
	Intro   string
	Groups  []Group
	Caution *Caution
	Action  string // path the form posts to
	Button  string
	Back    string // path of the step before; "" for none
}

// Step is one step of the first settings.
type Step struct {
	Name string
	Done bool
	Here bool
}

// Marked puts errs beside the fields they speak of.
func (g Group) Marked(errs domain.Fields) Group {
	fields := make([]Field, len(g.Fields))
	for i, f := range g.Fields {
		fields[i] = f.Marked(errs)
	}
	g.Fields = fields
	return g
}
