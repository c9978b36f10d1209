package demo

import (
	"slices"
	"strconv"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// findsMore draws whether more is found while a task is begun.
func (w *walk) findsMore(t *job.Task) bool {
	if w.found || w.j.ComebackOf != 0 || w.latest().Answer.Outcome != quote.Whole {
		return false
	}
	switch t.Template {
	case "CG", "BR", "BF", "BC", "FL":
		return w.bend.more || chance(w.r, 9)
	}
	return false
}

func (w *walk) latest() *quote.Quote { return w.rec.quotes[len(w.rec.quotes)-1] }

// findMore stops for the customer's word on work that was not foreseen.
func (w *walk) findMore(by domain.Actor) {
	words := w.s.crowd.words.pick(w.r, "more")
	w.newVersion(by, words, func(rows []quote.Row) []quote.Row {
		code, quantity := "BC", 1
		if w.has(rows, "BC") || w.kind == "frets" {
			code, quantity = "FR", 2
		}
		if w.has(rows, code) {
			code, quantity = "SN", 1
		}
		if w.has(rows, code) {
			return rows
		}
		return append(rows, quote.Row{Task: code, Quantity: strconv.Itoa(quantity), WithParts: true, Because: words})
	})
}

// splint offers the other repair when a crack will not close.
func (w *walk) splint(by domain.Actor) {
	w.newVersion(by, "the crack did not close in the hold", func(rows []quote.Row) []quote.Row {
		i := slices.IndexFunc(rows, func(r quote.Row) bool { return r.Task == "CG" })
		if i < 0 || w.has(rows, "CS") {
			return rows
		}
		rows[i] = quote.Row{Task: "CS", Quantity: rows[i].Quantity, Because: "will not close"}
		return rows
	})
}

func (w *walk) has(rows []quote.Row, code string) bool {
	return slices.ContainsFunc(rows, func(r quote.Row) bool { return r.Task == code })
}

// newVersion drafts and says a further version and waits for the answer.
func (w *walk) newVersion(by domain.Actor, why string, change func([]quote.Row) []quote.Row) {
	s := w.s
	w.found = true
	if !s.must("wait for an answer", s.w.StartWait(s.ctx, by, w.j.ID, 0, "customer answer", time.Time{}, why)) {
		return
	}
	versions := make([]quote.Quote, 0, len(w.rec.quotes))
	for _, q := range slices.Backward(w.rec.quotes) {
		versions = append(versions, *q)
	}
	sheet, _ := workshop.NextSheet(versions)
	sheet.Rows = change(sheet.Rows)
	sheet.Deposit = "0"
	qid, err := s.w.DraftQuote(s.ctx, by, w.j.ID, sheet, 0)
	if s.must("draft a further version", err) {
		s.in(minutes(10+w.r.IntN(120)), func() { w.say(qid) })
	}
}
