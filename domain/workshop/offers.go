package workshop

import (
	"fmt"

	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/templates"

	"github.com/shopspring/decimal"
)

// Offer is a task that a survey suggests for the quote.
type Offer struct {
	Code     string // of the template
	Name     string
	Quantity int    // in the template's unit
	Unit     string // "" for each
	Because  string // the finding behind it
}

// offered pairs a symptom with the task that mends it. Source: the repairs as
// the templates describe them; common practice, no source.
var offered = map[string]string{
	"crack length": "CG", "fret ends proud": "FE", "binding gap": "BX", "heel gap": "HC",
	"bridge lift": "BR", "loose brace": "BC",
}

// dryBelow is the humidity in the case, in %, below which the hold is offered.
// Source: common practice, no source.
var dryBelow = decimal.NewFromInt(40)

// Offers lists the tasks that the survey suggests and that stand on no row yet,
// for findings of at least grade 1. The person decides; nothing is added by
// itself. A nil survey offers nothing.
func Offers(s *job.Survey, editions map[string]quote.Edition, rows []quote.Row) []Offer {
	if s == nil {
		return nil
	}
	l := offerList{editions: editions, taken: map[string]bool{}}
	for _, r := range rows {
		l.taken[r.Task] = true
	}
	if s.CaseRH.Is() && s.CaseRH.Value.LessThan(dryBelow) {
		l.add("RH", 1, "case air "+s.CaseRH.Text())
	}
	for _, f := range s.Findings {
		if f.Grade == job.Fine {
			continue
		}
		l.add(offered[f.Symptom], l.quantity(f), f.Symptom+" "+f.Measure.Text())
	}
	if mm := CrackLength(s); mm > 0 {
		l.add("CC", templates.CleatCount(mm), fmt.Sprintf("a crack of %d mm", mm))
	}
	return l.out
}

type offerList struct {
	editions map[string]quote.Edition
	taken    map[string]bool
	out      []Offer
}

func (l *offerList) add(code string, quantity int, because string) {
	e, ok := l.editions[code]
	if !ok || e.Retired || l.taken[code] || quantity < 1 {
		return
	}
	l.taken[code] = true
	l.out = append(l.out, Offer{Code: code, Name: e.Name, Quantity: quantity, Unit: e.Unit, Because: because})
}

// quantity is the measured length for a task that goes by millimetres, else 1.
func (l *offerList) quantity(f job.Finding) int {
	if l.editions[offered[f.Symptom]].Unit != "mm" {
		return 1
	}
	return millimetres(f)
}

func millimetres(f job.Finding) int {
	if !f.Measure.Is() {
		return 0
	}
	return int(f.Measure.Value.Ceil().IntPart())
}

// CrackLength is the longest crack that a survey measured, in whole mm rounded
// up; 0 when it found none. A nil survey has none.
func CrackLength(s *job.Survey) int {
	longest := 0
	if s == nil {
		return 0
	}
	for _, f := range s.Findings {
		if f.Symptom == "crack length" {
			longest = max(longest, millimetres(f))
		}
	}
	return longest
}
