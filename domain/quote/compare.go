package quote

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Change is one difference between the agreed version and a later one.
type Change struct {
	Line Line   // as it stands in the later version; as it was, when it fell away
	Was  *Line  // as it was agreed; nil for a new line
	Gone bool   // it no longer stands in the later version
	What string // in words: "new", "60 to 80 mm", "falls away"
}

// Compare lists what a later version changes against what was agreed: new
// lines, other quantities, other amounts, and what fell away. Lines that were
// not agreed in the earlier version count as new.
func Compare(agreed, later *Quote) []Change {
	var out []Change
	taken := make([]bool, len(agreed.Lines))
	for _, l := range later.Lines {
		i := counterpart(agreed.Lines, taken, l)
		if i < 0 {
			out = append(out, Change{Line: l, What: "new"})
			continue
		}
		taken[i] = true
		if what := difference(agreed.Lines[i], l, agreed.Currency.Text); what != "" {
			out = append(out, Change{Line: l, Was: &agreed.Lines[i], What: what})
		}
	}
	for i, l := range agreed.Lines {
		if l.Agreed && !taken[i] {
			out = append(out, Change{Line: l, Was: &agreed.Lines[i], Gone: true, What: "falls away"})
		}
	}
	return out
}

// counterpart finds the agreed line that l goes on with: the same task, part
// or words. -1 when there is none.
func counterpart(lines []Line, taken []bool, l Line) int {
	i := -1
	return slices.IndexFunc(lines, func(o Line) bool {
		i++
		same := o.Template == l.Template && o.Part == l.Part && o.For == l.For
		if l.Template == "" && l.Part == "" {
			same = same && o.Name == l.Name
		}
		return same && o.Agreed && !taken[i]
	})
}

func difference(was, is Line, text func(money.Amount) string) string {
	switch {
	case was.Template != "" && was.Quantity != is.Quantity:
		return strings.TrimSpace(fmt.Sprintf("%d to %d %s", was.Quantity, is.Quantity, domain.UnitFor(is.Quantity, is.Unit)))
	case was.Template == "" && !was.Count.Equal(is.Count):
		return strings.TrimSpace(was.Count.String() + " to " + is.Count.String() + " " + is.Unit)
	case was.Net != is.Net:
		return text(was.Net) + " to " + text(is.Net)
	}
	return ""
}
