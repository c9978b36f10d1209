package invoices

import (
	"fmt"
	"io"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// QuoteDoc is what a quote or an estimate is printed from.
type QuoteDoc struct {
	Shop       workshop.Shop
	Customer   customer.Customer
	Instrument customer.Instrument
	Job        *job.Job
	Quote      *quote.Quote
	Today      domain.Date           // the day it is printed on: it decides whether the quote still stands
	Told       *workshop.PromiseMade // of the day, when it was said; nil for nothing
	Tell       []string              // what the templates say the owner must hear first; may be nil
}

// Quote writes a quote or an estimate as PDF: what it comes to, each task with
// its minutes of hands and days of waiting, taxes, limits, and what is not
// included. It returns an error when the writer or the PDF library fails.
func Quote(w io.Writer, d QuoteDoc) error {
	at := d.Quote.Said
	if at.IsZero() {
		at = d.Quote.Drafted
	}
	about := about{title: titleOf(d.Quote), at: at, tag: d.Job.Tag}
	return write(w, &d.Shop, about, d.draw)
}

// titleOf says whether it is an estimate or a quote, and which.
func titleOf(q *quote.Quote) string {
	if q.Basis == quote.Estimate {
		return "Estimate " + q.Label()
	}
	return "Quote " + q.Label()
}

func (d QuoteDoc) draw(s *sheet) {
	q := d.Quote
	s.letterhead(d.facts(s)...)
	s.parties("For", nameAndAddress(d.Customer), d.Instrument, d.Job)
	s.answer(d.sentences()...)
	d.strip(s)
	s.prose("Because", q.Because)
	s.together(gap(3))
	d.table(s)
	d.sums(s)
	s.prose("Not included", q.Missing)
	s.prose("Note", q.Note)
	s.list("Before you say yes", append(d.Tell[:len(d.Tell):len(d.Tell)], d.Instrument.Protected()))
	d.answered(s)
	s.closing()
}

// facts are the lines beside the title.
func (d QuoteDoc) facts(s *sheet) []string {
	q := d.Quote
	state := q.StateOn(d.Today)
	if state == quote.Draft {
		return []string{"drafted " + s.day(q.Drafted), "DRAFT, not said to the customer"}
	}
	return []string{s.day(q.Said), string(state), "valid until " + civil(q.ValidUntil)}
}

// sentences answer first: what it costs, what is asked, when it is ready.
func (d QuoteDoc) sentences() []string {
	q := d.Quote
	cost := fmt.Sprintf("%s for the work below, as a firm price.", show(q.Currency, q.Totals.Total))
	if q.Basis == quote.Estimate {
		cost = fmt.Sprintf("About %s, not above %s without your word.", show(q.Currency, q.Totals.Total), show(q.Currency, q.Ceiling))
	}
	if told := d.told(); told != "" {
		return []string{cost, told, d.window()}
	}
	return []string{cost, d.window()}
}

// told is the day that was said with this version, and what the queue foretold then.
func (d QuoteDoc) told() string {
	t := d.Told
	if t == nil || t.Said == "" {
		return ""
	}
	if t.Window == nil {
		return fmt.Sprintf("We say %s.", civil(t.Said))
	}
	text := fmt.Sprintf("Likely ready %s; we say %s.", civil(d.Shop.Today(t.Window.P50)), civil(t.Said))
	if t.Because != "" {
		text += " " + t.Because
	}
	return text
}

// window says how long the work takes by its waits alone, and that it is so.
// Dates are named only while the quote can still be agreed to.
func (d QuoteDoc) window() string {
	q := d.Quote
	if q.Days.IsZero() {
		return "Nothing has to wait by itself. How soon we begin is not in this: it depends on the work before yours."
	}
	text := fmt.Sprintf("%s days of waiting, usually %s", fromTo(q.Days), q.Days.Typical.Ceil())
	if state := q.StateOn(d.Today); state == quote.Draft || state == quote.Open {
		w := workshop.WindowFrom(d.Today, q.Days)
		text += fmt.Sprintf(": from %s to %s if work began on %s", civil(w.Earliest), civil(w.Late), civil(d.Today))
	}
	text += "."
	if q.Hold.Typical.Sign() > 0 {
		text += fmt.Sprintf(" %s of them in the cabinet, until the wood is steady by measurement.", fromTo(q.Hold))
	}
	return text + " That counts the waits alone; the time in the queue before your instrument is not in it."
}

func (d QuoteDoc) strip(s *sheet) {
	picture := stripOf(d.Quote, s.width)
	if picture == nil {
		return
	}
	high := float64(stripHigh) / dots
	s.together(gap(2.5), line{height: high, pieces: []piece{{w: s.width, h: high, picture: picture}}}, gap(0.8),
		greyed(textLine(0, "solid: our hands · hatched: waiting · a usual course, without the queue · three figures below: at best, usually, at worst", plain, small))[0])
}

func (d QuoteDoc) table(s *sheet) {
	q := d.Quote
	t := s.newTable(column{head: "task"}, column{head: "how much", width: 25}, column{head: "hands, min", width: 22, right: true},
		column{head: "wait, days", width: 21, right: true}, column{head: "price " + q.Currency.Code, width: 27, right: true})
	for _, l := range q.Lines {
		much := counted(l.Count, l.Unit)
		if l.Template != "" {
			much = fmt.Sprint(l.Quantity)
			if l.Unit != "" {
				much += " " + l.Unit
			}
		}
		cost := amount(q.Currency, l.Net)
		if l.Free {
			cost = "no charge"
		}
		t.row(d.notes(l), l.Name, much, minutes(l.Minutes), days(l.Days), cost)
	}
}

// notes are what stands in small letters under a line.
func (d QuoteDoc) notes(l quote.Line) []string {
	q := d.Quote
	var out []string
	add := func(text string) {
		if text != "" {
			out = append(out, text)
		}
	}
	add(l.Because)
	if l.Template == "" && !l.Count.Equal(one) {
		add(price(q.Currency, l.Price) + " each")
	}
	if l.ByTime && !l.Typed && !l.Free && q.Basis == quote.Estimate {
		add("billed by the minutes it takes")
	}
	add(off(l.Off, l.OffWhy))
	if q.Answer != nil && q.Answer.Outcome == quote.Part {
		if l.Agreed {
			add("agreed")
		} else {
			add("not agreed")
		}
	}
	return out
}

func (d QuoteDoc) sums(s *sheet) {
	q := d.Quote
	b := s.newSums(q.Currency)
	b.totals(q.Totals, q.TaxInside, q.Reason, d.Customer.Exempt)
	if q.Basis == quote.Estimate {
		if q.Low != q.High {
			b.put("By our quickest and slowest minutes", amount(q.Currency, q.Low)+" – "+amount(q.Currency, q.High), plain, body)
		}
		b.amount("Not above, without your word", q.Ceiling)
	}
	if q.Deposit != 0 {
		b.amount("Deposit asked", q.Deposit)
	}
	b.done()
}

// answered prints the answer that was given, or room for one.
func (d QuoteDoc) answered(s *sheet) {
	q := d.Quote
	switch q.StateOn(d.Today) {
	case quote.Open:
		s.together(gap(4), textLine(0, "Your answer", bold, small),
			textLine(0, "Yes to all of it ____     Yes to a part, marked above ____     No ____", plain, body),
			gap(9), ruleLine(0, s.width/2-6, 0, 0.6), greyed(textLine(0, "name and date", plain, small))[0])
	case quote.Agreed, quote.Partly:
		a := q.Answer
		s.prose("Answer", joinFilled(" ", fmt.Sprintf("%s said yes to %s, %s, on %s: %s, not above %s.", a.Who, extent(a.Outcome), a.Channel,
			s.day(a.At), show(q.Currency, q.YesTotal), show(q.Currency, q.YesLimit)), a.Note))
	case quote.Refused:
		a := q.Answer
		s.prose("Answer", joinFilled(" ", fmt.Sprintf("%s said no, %s, on %s.", a.Who, a.Channel, s.day(a.At)), a.Note))
	}
}

func extent(o quote.Outcome) string {
	if o == quote.Whole {
		return "all of it"
	}
	return "a part of it"
}
