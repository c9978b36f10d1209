package web

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

// emptyRows is how many days can be added in one go.
const emptyRows = 2

// daySpans splits days into those that are over by today, which a form leaves
// alone, and the others.
func daySpans(all []workshop.DaySpan, today domain.Date) (over, now []workshop.DaySpan) {
	for _, s := range all {
		if s.To < today {
			over = append(over, s)
		} else {
			now = append(now, s)
		}
	}
	return over, now
}

// typedSpan is one row of days as typed.
type typedSpan struct {
	workshop.DaySpan
	gone bool
}

func spanName(list string, row int, field string) string {
	return fmt.Sprintf("%s[%d].%s", list, row, field)
}

// typedSpans reads the rows of a list as they were typed.
func typedSpans(c *gin.Context, list string) []typedSpan {
	var rows []typedSpan
	for i := range 500 {
		if _, there := c.GetPostForm(spanName(list, i, "from")); !there {
			break
		}
		rows = append(rows, typedSpan{
			DaySpan: workshop.DaySpan{From: domain.Date(form(c, spanName(list, i, "from"))), To: domain.Date(form(c, spanName(list, i, "to"))), Why: form(c, spanName(list, i, "why"))},
			gone:    form(c, spanName(list, i, "gone")) == "yes",
		})
	}
	return rows
}

// daysIn reads the days of a list behind those that are over: rows that are
// ticked or empty are left out, and a missing last day is the first. The rows
// tell from which row of the form each of the days came.
func daysIn(c *gin.Context, list string, over []workshop.DaySpan) (days []workshop.DaySpan, rows []int) {
	days = slices.Clone(over)
	for i, r := range typedSpans(c, list) {
		if r.gone || r.DaySpan == (workshop.DaySpan{}) {
			continue
		}
		if r.To == "" {
			r.To = r.From
		}
		days, rows = append(days, r.DaySpan), append(rows, i)
	}
	return days, rows
}

// spanErrors gives errors about the days the names of the form's rows.
func spanErrors(f domain.Fields, list string, over int, rows []int) domain.Fields {
	out := domain.Fields{}
	for name, text := range f {
		if rest, ours := strings.CutPrefix(name, list+"["); ours {
			number, field, _ := strings.Cut(rest, "].")
			if n, err := strconv.Atoi(number); err == nil && n >= over && n-over < len(rows) {
				name = spanName(list, rows[n-over], field)
			}
		}
		out.Add(name, "%s", text)
	}
	return out
}

// spanGroups asks for each row of days; of is what a row is about.
func spanGroups(list, legend, of, note string, rows []typedSpan, errs domain.Fields) []Group {
	var out []Group
	for i, r := range rows {
		name := func(field string) string { return spanName(list, i, field) }
		g := Group{Legend: legend, Across: true, Note: note}
		switch {
		case r.DaySpan == (workshop.DaySpan{}) && !r.gone:
			g.Legend = "Add days"
		case i > 0:
			g.Legend = fmt.Sprintf("%s, %d", legend, i+1)
		}
		note = ""
		g.Fields = []Field{
			DateField(name("from"), "First day", r.From), DateField(name("to"), "Last day", r.To),
			TextField(name("why"), "Why", r.Why).Limit(80).Middle(),
		}
		if r.From != "" || r.gone {
			g.Fields = append(g.Fields, CheckField(name("gone"), "take it off the list", r.gone))
		}
		for k := range g.Fields {
			g.Fields[k].Of = fmt.Sprintf("%s %d", of, i+1)
		}
		g.Fields = markAll(errs, g.Fields)
		out = append(out, g)
	}
	return out
}

// shownSpans are the rows to show: what is kept and empty ones to fill in.
func shownSpans(now []workshop.DaySpan) []typedSpan {
	rows := make([]typedSpan, len(now), len(now)+emptyRows)
	for i, s := range now {
		rows[i] = typedSpan{DaySpan: s}
	}
	return append(rows, make([]typedSpan, emptyRows)...)
}
