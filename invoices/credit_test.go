package invoices

import (
	"bytes"
	"strings"
	"testing"

	"winterbench/domain/billing"
)

// The paper of a credit note names the net of the note, each of its taxes and its
// total, to the cent, for each line of an invoice with a discount, two taxes and cash
// rounding. The figures are those of the note, read out of the paper by another program.
func TestPaperOfACreditNoteHasTheFiguresOfTheNote(t *testing.T) {
	d := sampleCreditDoc(t, british)
	for i, l := range d.Invoice.Lines {
		n, err := billing.Credit(d.Invoice, []billing.Wanted{{Place: i + 1, Count: l.Count}}, "taken back")
		if err != nil {
			t.Fatal(err)
		}
		n.ID, n.Number, n.Date, n.IssuedAt, n.IssuedBy = 2, 6, today, noon, "Solveig"
		d.Note = &n
		var pdf bytes.Buffer
		if err := Credit(&pdf, d); err != nil {
			t.Fatal(err)
		}
		text := words(textOf(t, pdf.Bytes()))
		want := []string{d.Invoice.Currency.Text(n.Totals.Total), d.Invoice.Currency.Text(n.Totals.Net)}
		for _, x := range n.Totals.Taxes {
			want = append(want, x.Name, d.Invoice.Currency.Text(x.Amount))
		}
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("the paper for line %d lacks %q: %s", i+1, w, text)
			}
		}
	}
}
