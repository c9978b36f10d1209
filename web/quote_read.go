package web

import (
	"fmt"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

// fill lays out the version itself.
func (v *version) fill(p *VersionPage, now time.Time) {
	q := v.q
	p.State = v.stateFacts(now)
	p.Lines = quoteTable(q)
	p.Facts = v.terms()
	p.Missing, p.Note = q.Missing, q.Note
	p.Job = Link{Href: fmt.Sprintf("/jobs/%d", v.Job.ID), Text: "Back to the job"}
	if !q.Said.IsZero() {
		p.Paper = &Link{Href: fmt.Sprintf("/quotes/%d/paper.pdf", q.ID), Text: "On paper (PDF)"}
	}
	if agreed := workshop.Agreed(pointers(v.Versions)); agreed != nil && agreed.Version < q.Version {
		p.News = newsTable(agreed, q)
	}
	p.Others = versionsTable(v.Versions, v.Shop, now)
}

func (v *version) stateFacts(now time.Time) Facts {
	q, zone := v.q, v.Shop.Location()
	f := Facts{
		{Name: "Job", Value: fmt.Sprintf("tag %d", v.Job.Tag), Href: fmt.Sprintf("/jobs/%d", v.Job.ID)},
		{Name: "Customer", Value: v.Customer.Name, Href: fmt.Sprintf("/customers/%d", v.Customer.ID), Note: v.Customer.Phone},
		{Name: "Instrument", Value: v.Instrument.Title(), Href: fmt.Sprintf("/instruments/%d", v.Instrument.ID)},
		{Name: "State", Value: string(q.StateOn(v.Shop.Today(now)))},
		{Name: "Drafted", Value: DayHour(q.Drafted.In(zone)), Note: q.DraftedBy},
	}
	if q.Number > 0 {
		f = append(f, Fact{Name: "Said", Value: DayHour(q.Said.In(zone)), Note: q.SaidBy})
	}
	if a := q.Answer; a != nil {
		f = append(f, Fact{Name: "Answer", Value: string(a.Outcome) + ", " + a.Channel, Note: fmt.Sprintf("%s, %s; noted by %s. %s", a.Who, DayHour(a.At.In(zone)), a.RecordedBy, a.Note)})
	}
	return f
}

// terms lists what a version binds the shop to.
func (v *version) terms() Facts {
	q, show := v.q, v.q.Currency.Show
	f := Facts{{Name: "Basis", Value: "firm quote", Note: "billed as said"}}
	if q.Basis == quote.Estimate {
		f[0] = Fact{Name: "Basis", Value: "estimate", Note: "not above " + show(q.Ceiling) + " without your word"}
	}
	if q.Days.High.Sign() > 0 {
		f = append(f, Fact{Name: "Days", Value: daysText(q.Days), Note: "by the waits alone, from the day of the yes"})
	}
	if q.Hold.High.Sign() > 0 {
		f = append(f, Fact{Name: "In the cabinet", Value: daysText(q.Hold), Note: "ends by measurement, not by days"})
	}
	if q.Deposit > 0 {
		f = append(f, Fact{Name: "Deposit", Value: show(q.Deposit)})
	}
	if v.Job.Promised != "" {
		f = append(f, Fact{Name: "Day said", Value: Civil(v.Job.Promised)})
	}
	return append(f, Fact{Name: "Valid until", Value: Civil(q.ValidUntil)})
}

// quoteTable lists the lines as the customer reads them.
func quoteTable(q *quote.Quote) Table {
	t := Table{Caption: "Lines of the quote", Hidden: true, Columns: []Column{Head("What"), Head("How much"), Figures("Price", q.Currency.Code)}}
	answered := q.Answer != nil && q.Answer.Outcome == quote.Part
	for _, l := range q.Lines {
		much := countOf(l)
		if len(much) > 2 {
			much = much[2:]
		}
		note := l.Because
		if l.Off.Sign() > 0 {
			note = joined(note, l.Off.String()+" % off: "+l.OffWhy)
		}
		if answered && l.Agreed {
			note = joined(note, "agreed")
		}
		price := Money(q.Currency, l.Net)
		if l.Free {
			price = "free"
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: l.Name, Note: note}, {Text: much}, {Text: price}}, Struck: answered && !l.Agreed})
	}
	t.Totals = totalLines(q.Currency, q.Totals, q.TaxInside, q.Reason)
	return t
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + " · " + b
}

// newsTable sets a later version beside the agreed one.
func newsTable(agreed, q *quote.Quote) *Table {
	t := &Table{
		Caption: fmt.Sprintf("New against version %d, which was agreed", agreed.Version),
		Columns: []Column{Head("What"), Head("Change"), Figures("Before", q.Currency.Code), Figures("Now", q.Currency.Code)},
		Empty:   Empty{Text: fmt.Sprintf("No line differs from version %d.", agreed.Version)},
	}
	for _, ch := range quote.Compare(agreed, q) {
		was, is := "", Money(q.Currency, ch.Line.Net)
		if ch.Was != nil {
			was = Money(q.Currency, ch.Was.Net)
		}
		if ch.Gone {
			is = ""
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: ch.Line.Name}, {Text: ch.What}, {Text: was}, {Text: is}}, Struck: ch.Gone})
	}
	return t
}

// versionsTable lists the versions of a job's quote, newest first.
func versionsTable(versions []quote.Quote, shop *workshop.Shop, now time.Time) Table {
	t := Table{
		Caption: "Versions", Hidden: true,
		Columns: []Column{Head("Version"), Head("State"), Head("Answer"), Figures("Total", shop.Currency.Code)},
		Empty:   Empty{Text: "No quote yet."},
	}
	for i := range versions {
		q := &versions[i]
		answer := ""
		if q.Answer != nil {
			answer = fmt.Sprintf("%s, %s, %s", q.Answer.Who, q.Answer.Channel, Day(q.Answer.At.In(shop.Location())))
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{
			{Text: fmt.Sprintf("%s, %s", q.Label(), q.Basis), Href: fmt.Sprintf("/quotes/%d", q.ID)},
			{Text: string(q.StateOn(shop.Today(now)))}, {Text: answer}, {Text: Money(q.Currency, q.Totals.Total)},
		}})
	}
	return t
}

// dateIn reads a civil date out of the form, "" for none, and notes in f what
// is wrong with it.
func dateIn(f domain.Fields, c *gin.Context, name string) domain.Date {
	typed := form(c, name)
	if typed == "" {
		return ""
	}
	d, err := domain.ParseDate(typed)
	f.AddErr(name, err)
	return d
}
