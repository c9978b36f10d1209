package workshop

import (
	"fmt"
	"slices"
	"strconv"

	"winterbench/domain"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/quote"
)

// The templates of a crack that is glued and of one that is splinted.
const (
	crackGlue   = "CG"
	crackSplint = "CS"
)

// SplintSheet puts a splint on a sheet for a crack that will not close: in place
// of gluing it, as long as that or as the survey measured. A sheet that has one
// stays as it is.
func SplintSheet(sheet quote.Sheet, survey *job.Survey, h *job.Hold, says hold.Judgement) quote.Sheet {
	if slices.ContainsFunc(sheet.Rows, func(r quote.Row) bool { return r.Task == crackSplint }) {
		return sheet
	}
	row := quote.Row{Task: crackSplint, Because: splintReason(h, says)}
	if mm := CrackLength(survey); mm > 0 {
		row.Quantity = strconv.Itoa(mm)
	}
	sheet.Rows = slices.Clone(sheet.Rows)
	i := slices.IndexFunc(sheet.Rows, func(r quote.Row) bool { return r.Task == crackGlue })
	if i < 0 {
		sheet.Rows = append(sheet.Rows, row)
		return sheet
	}
	if sheet.Rows[i].Quantity != "" {
		row.Quantity = sheet.Rows[i].Quantity
	}
	sheet.Rows[i] = row
	return sheet
}

// splintReason is what the customer hears.
func splintReason(h *job.Hold, says hold.Judgement) string {
	width := ""
	for _, r := range h.Standing() {
		if r.Gap.Is() {
			width = r.Gap.Text()
		}
	}
	if width == "" || says.Verdict != hold.WillNotClose {
		return "the crack does not close by itself"
	}
	standing := h.Standing()
	last := standing[len(standing)-1].At
	return fmt.Sprintf("the crack has settled at %s after %d days in the cabinet and will not close", width, domain.WholeDays(h.Start, last))
}
