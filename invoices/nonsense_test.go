package invoices

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/quote"
)

// nonsense is text that nobody should send and somebody will.
func nonsense() []string {
	return []string{
		"", strings.Repeat("W", 120), strings.Repeat("Ж", 120), "🎸🎻 emoji 👩🏽‍🔧 \U0010FFFF", "عربي mixed שלום 123", "a\x00b\x1b[31m\r\n\x7f",
		"\xff\xfe\xc3\x28 broken", strings.Repeat("line\n", 30), "e\u0301\u0327\u0300" + strings.Repeat("\u0301", 60), "(paren) \\ back\\slash <</Type /Page>> %%EOF",
		"山田太郎の修理工房", "한글 ไทย हिन्दी", strings.Repeat("word ", 400), "\u202eright to left\u2066", "\ufeff\u200b\u00ad",
	}
}

func spoiled(in customer.Instrument, c customer.Customer, j *job.Job, text string) (customer.Instrument, customer.Customer, *job.Job) {
	in.Maker, in.Model, in.Serial, in.Identity, in.Made = text, text, text, text, text
	c.Name, c.Address, c.Phone = text, text, text
	j.Arrival.Complaint, j.Arrival.Contents, j.Arrival.MarksSeenBy = text, text, text
	j.Marks = append(j.Marks, job.Mark{What: text, Place: text, Note: text})
	return in, c, j
}

func TestNonsenseTextNeverPanics(t *testing.T) {
	for i, text := range nonsense() {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			q, inv, r, tag := sampleQuoteDoc(t, quebec, quote.Estimate), sampleInvoiceDoc(t, british), sampleReceiptDoc(t, quebec), sampleTagDoc(t, british)
			q.Instrument, q.Customer, q.Job = spoiled(q.Instrument, q.Customer, q.Job, text)
			q.Shop.Name, q.Shop.Address, q.Shop.Foot, q.Quote.Because, q.Quote.Missing, q.Tell = text, text, text, text, text, []string{text}
			for k := range q.Quote.Lines {
				q.Quote.Lines[k].Name, q.Quote.Lines[k].Unit, q.Quote.Lines[k].Because, q.Quote.Lines[k].OffWhy = text, text, text, text
			}
			inv.Invoice.BilledTo, inv.Invoice.Note, inv.Invoice.Reason, inv.Invoice.Lines[0].Name, inv.Invoice.Lines[0].Detail = text, text, text, text, text
			inv.Invoice.Totals.Taxes[0].Name, inv.Invoice.Totals.Taxes[0].Number = text, text
			r.Payment.Reference, r.Payment.By, r.Payment.Tender = text, text, billing.Tender(text)
			tag.Instrument, tag.Customer, tag.Job = spoiled(tag.Instrument, tag.Customer, tag.Job, text)
			tag.Shop.Name, tag.Job.Tag = text, 1_234_567_890
			for name, write := range map[string]func(io.Writer) error{
				"quote":   func(w io.Writer) error { return Quote(w, q) },
				"invoice": func(w io.Writer) error { return Invoice(w, inv) },
				"receipt": func(w io.Writer) error { return Receipt(w, r) },
				"tag":     func(w io.Writer) error { return Tag(w, tag) },
			} {
				pdf := printed(t, write)
				if n := pagesOf(pdf); n < 1 || n > 12 {
					t.Errorf("%s: got %d pages, want from 1 to 12", name, n)
				}
				if name == "tag" && pagesOf(pdf) != 1 {
					t.Errorf("tag: got %d pages, want 1", pagesOf(pdf))
				}
			}
		})
	}
}

// Nothing may be set outside the margins, whatever the names are.
func TestNothingLeavesThePage(t *testing.T) {
	for _, text := range nonsense() {
		d := sampleQuoteDoc(t, quebec, quote.Estimate)
		d.Instrument, d.Customer, d.Job = spoiled(d.Instrument, d.Customer, d.Job, text)
		d.Shop.Name, d.Shop.Address = text, text
		for k := range d.Quote.Lines {
			d.Quote.Lines[k].Name, d.Quote.Lines[k].Unit = text, text
		}
		tag := TagDoc{Shop: d.Shop, Customer: d.Customer, Instrument: d.Instrument, Job: d.Job}
		for name, draw := range map[string]func(*sheet){"quote": d.draw, "tag": func(s *sheet) { tag.draw(s, nil) }} {
			s := newSheet(&d.Shop, about{title: strings.Repeat("Q", 90)})
			draw(s)
			for n, lines := range s.pages() {
				inside(t, fmt.Sprintf("%s of %.12q, page %d", name, text, n+1), s, lines)
			}
		}
	}
}

func inside(t *testing.T, name string, s *sheet, lines []line) {
	t.Helper()
	if got, most := heightOf(lines), s.size.height-marginTop-marginBottom; got > most {
		t.Errorf("%s: the lines are %.2f mm high, want at most %.2f", name, got, most)
	}
	for _, l := range lines {
		for _, p := range l.pieces {
			end := p.x
			for _, r := range p.runs {
				end += r.width
			}
			if p.x < -1.01 || end > s.width+0.3 {
				t.Errorf("%s: a text reaches from %.2f to %.2f mm, want within 0 to %.2f", name, p.x, end, s.width)
			}
			if p.y > l.height+1.5 {
				t.Errorf("%s: a baseline is %.2f mm down in a line of %.2f mm", name, p.y, l.height)
			}
		}
	}
}
