package invoices

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/quote"
)

// amounts lists every amount of a bill that is to be seen on paper.
func amounts(c money.Currency, t money.Totals) []string {
	out := []string{c.Text(t.Total)}
	if t.Discount != 0 {
		out = append(out, c.Text(t.Sum), "−"+c.Text(t.Discount))
	}
	if len(t.Taxes) > 0 {
		out = append(out, c.Text(t.Net))
	}
	for _, l := range t.Lines {
		out = append(out, c.Text(l.Net))
	}
	for _, tax := range t.Taxes {
		out = append(out, c.Text(tax.Base), c.Text(tax.Amount), tax.Name+" "+tax.Percent.String()+" %", "number "+tax.Number)
	}
	return out
}

func wantAll(t *testing.T, text string, wanted []string) {
	t.Helper()
	text = words(text)
	for _, want := range wanted {
		if !strings.Contains(text, want) {
			t.Errorf("the document lacks %q; it says:\n%s", want, text)
		}
	}
}

func TestQuoteSaysEveryAmount(t *testing.T) {
	for _, profile := range []string{quebec, british} {
		for _, basis := range quote.Bases() {
			d := sampleQuoteDoc(t, profile, basis)
			d.Quote.Deposit = 6543
			q, c := d.Quote, d.Quote.Currency
			want := append(amounts(c, q.Totals), "Q 12 · version 2", "65.43", "valid until Wed 9 Dec 2026", "tag 318", "serial OR-0318",
				"Mirembe Oduya-Łukasik", "price "+c.Code, "10 % off, second one", "A splint, if the crack does not close",
				"The crack can open again", "Rosewood may be protected", "the time in the queue before your instrument is not in it",
				"solid: our hands · hatched: waiting", "35–44–62", "60 mm", "Your answer", "if work began on Wed 25 Nov 2026", "DEMONSTRATION - invented shop", d.Shop.Foot)
			if basis == quote.Estimate {
				want = append(want, "About "+c.Show(q.Totals.Total)+", not above "+c.Show(q.Ceiling)+" without your word.",
					c.Text(q.Low)+" – "+c.Text(q.High), c.Text(q.Ceiling))
			} else {
				want = append(want, c.Show(q.Totals.Total)+" for the work below, as a firm price.")
			}
			wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Quote(w, d) })), want)
		}
	}
}

func TestQuoteSaysItsState(t *testing.T) {
	shop := sampleShop(t, quebec)
	answered := func(o quote.Outcome, chosen ...domain.LineID) func(*QuoteDoc) {
		return func(d *QuoteDoc) {
			a := quote.Answer{Outcome: o, Who: "M. Oduya", Channel: "phone", At: noon}
			if err := d.Quote.Take(a, chosen, shop.Guard, today); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, c := range []struct {
		says   string
		change func(*QuoteDoc)
		want   []string
	}{
		{"a draft", func(d *QuoteDoc) { d.Quote.Number, d.Quote.Said = 0, time.Time{} }, []string{"draft · version 2", "DRAFT, not said to the customer"}},
		{"lapsed", func(d *QuoteDoc) { d.Today = "2027-01-05" }, []string{"lapsed"}},
		{"replaced", func(d *QuoteDoc) { d.Quote.Replaced = noon }, []string{"replaced by a newer version"}},
		{"a yes", answered(quote.Whole), []string{"M. Oduya said yes to all of it, phone, on Wed 25 Nov 2026"}},
		{"a part", answered(quote.Part, 1), []string{"said yes to a part of it", "not agreed"}},
		{"a no", answered(quote.Denied), []string{"M. Oduya said no, phone"}},
	} {
		d := sampleQuoteDoc(t, quebec, quote.Estimate)
		c.change(&d)
		text := words(textOf(t, printed(t, func(w io.Writer) error { return Quote(w, d) })))
		for _, want := range c.want {
			if !strings.Contains(text, want) {
				t.Errorf("%s: got no %q in:\n%s", c.says, want, text)
			}
		}
		if strings.Contains(text, "Your answer") {
			t.Errorf("%s: asks for an answer that cannot be given", c.says)
		}
		if strings.Contains(text, "if work began on") != (c.says == "a draft") {
			t.Errorf("%s: names days of a window though it is over, or none though it is not", c.says)
		}
	}
}

func TestInvoiceSaysEveryAmount(t *testing.T) {
	for _, profile := range []string{quebec, british} {
		d := sampleInvoiceDoc(t, profile)
		c := d.Invoice.Currency
		want := append(amounts(c, d.Invoice.Totals), "Invoice 000123", "Agreed: "+c.Show(d.Invoice.Agreed), "To pay: "+c.Show(d.Balance.Due),
			"Receipt 000044", "Receipt 000045", c.Text(d.Balance.Paid), c.Text(d.Balance.Deposits), "Keep the case at 45 % RH.", "Wed 25 Nov 2026")
		for _, p := range d.Payments {
			want = append(want, c.Text(p.Amount))
		}
		if d.Balance.CashDue != d.Balance.Due {
			want = append(want, "in cash "+c.Show(d.Balance.CashDue))
		}
		wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Invoice(w, d) })), want)
	}
}

func TestInvoiceSaysLimitExemptionAndCashRounding(t *testing.T) {
	d := sampleInvoiceDoc(t, quebec)
	d.Invoice.Limit = d.Invoice.Agreed + 1234
	d.Customer.Exempt = &money.Exemption{Reason: money.ReasonResale, Certificate: "C-77"}
	for i := range d.Invoice.Totals.Taxes {
		d.Invoice.Totals.Taxes[i].Exempt = money.ReasonResale
	}
	d.Payments[1].Rounding = -2
	d.Balance.Due, d.Balance.CashDue = -321, -320
	c := d.Invoice.Currency
	wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Invoice(w, d) })), []string{
		"Agreed: about " + c.Show(d.Invoice.Agreed) + ", not above " + c.Show(d.Invoice.Limit), "resale, certificate C-77",
		"cash rounding −0.02", "To be given back to you: 3.21 CAD.", "rounded to the smallest coin: 3.20",
	})
}

func TestReceiptSaysEveryAmount(t *testing.T) {
	d := sampleReceiptDoc(t, quebec)
	c := d.Invoice.Currency
	wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Receipt(w, d) })), []string{
		"Receipt 000045", "Received: 100.00 CAD, cash, on Invoice 000123.", "Given 120.00", "Change 20.00", "Invoice 000123, total " + c.Text(d.Balance.Total),
		c.Text(d.Balance.Paid), "Due after it " + c.Text(d.Balance.Due), "taken by Solveig", "Wed 25 Nov 2026, 12:00",
	})
	d.Invoice, d.Payment, d.Balance = nil, billing.Payment{Kind: billing.Deposit, Tender: "card", Amount: 4000, Receipt: 44, Reference: "slip 9"}, billing.Balance{Paid: 4000}
	wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Receipt(w, d) })), []string{
		"Received as a deposit: 40.00 CAD, card, for tag 318.", "Deposits so far, to come off the invoice 40.00", "reference slip 9",
	})
	d.Payment = billing.Payment{Kind: billing.Refund, Tender: "cash", Amount: -1500, Rounding: -1}
	wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Receipt(w, d) })), []string{
		"Given back: 15.00 CAD, cash, for tag 318.", "−15.00", "−0.01", "refund without a receipt",
	})
}

func TestCreditNoteSaysEveryAmount(t *testing.T) {
	for _, profile := range []string{quebec, british} {
		d := sampleCreditDoc(t, profile)
		c, totals := d.Invoice.Currency, d.Note.Totals
		want := []string{"Credit note 000006", "Credited: " + c.Show(totals.Total) + " of Invoice 000123", "the parts were collected after all", c.Text(totals.Total), c.Text(totals.Net)}
		for _, x := range totals.Taxes {
			want = append(want, x.Name, c.Text(x.Amount))
		}
		wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Credit(w, d) })), want)
	}
}

func TestReceiptSaysTipAndCredit(t *testing.T) {
	d := sampleReceiptDoc(t, quebec)
	d.Payment.Tip, d.Payment.Kept = 200, 795
	wantAll(t, textOf(t, printed(t, func(w io.Writer) error { return Receipt(w, d) })), []string{
		"Kept for you as store credit 7.95", "For the staff, with thanks 2.00", "Laid down in all 109.95",
	})
}

func TestTag(t *testing.T) {
	d := sampleTagDoc(t, quebec)
	pdf := printed(t, func(w io.Writer) error { return Tag(w, d) })
	text := textOf(t, pdf)
	if n := strings.Count(text, "318"); n < 3 {
		t.Errorf("the number stands %d times, want on each of the three parts:\n%s", n, text)
	}
	wantAll(t, text, []string{"customer's part", "for the case", "for the instrument", "cut here", "survey fee agreed: 30.00 CAD", "It buzzes since", "ding, treble lower bout", "capo, strap"})
	if strings.Contains(text, d.Customer.Phone) {
		t.Errorf("the customer's phone %s stands on a tag that hangs in the open", d.Customer.Phone)
	}
	for _, url := range []string{"", strings.Repeat("x", 1001)} {
		d.URL = url
		if err := Tag(io.Discard, d); domain.KindOf(err) != domain.Invalid {
			t.Errorf("an address of %d letters: got error %v, want an invalid one", len(url), err)
		}
	}
}

func TestPageCounts(t *testing.T) {
	shop := sampleShop(t, quebec)
	for n := 1; n <= 80; n += 3 {
		rows := make([]quote.Row, n)
		for i := range rows {
			rows[i] = quote.Row{Name: fmt.Sprintf("Line %d", i+1), Kind: money.Labour, Price: "10"}
		}
		d := sampleQuoteDoc(t, quebec, quote.Firm)
		d.Quote = sampleQuote(t, shop, quote.Firm, rows)
		s := newSheet(&shop, about{})
		d.draw(s)
		pdf := printed(t, func(w io.Writer) error { return Quote(w, d) })
		if got, want := pagesOf(pdf), len(s.pages()); got != want {
			t.Errorf("%d lines: got %d pages, want %d as laid out", n, got, want)
		}
	}
}

func TestEightyLinesKeepHeadAndTotals(t *testing.T) {
	for _, profile := range []string{quebec, british} {
		d := sampleQuoteDoc(t, profile, quote.Estimate)
		rows := make([]quote.Row, 80)
		for i := range rows {
			rows[i] = quote.Row{Name: fmt.Sprintf("Line %d of many", i+1), Kind: money.Labour, Price: "10"}
		}
		d.Quote = sampleQuote(t, d.Shop, quote.Estimate, rows)
		pages := strings.Split(strings.TrimSuffix(textOf(t, printed(t, func(w io.Writer) error { return Quote(w, d) })), "\f"), "\f")
		if len(pages) < 3 {
			t.Fatalf("got %d pages, want at least 3 for 80 lines", len(pages))
		}
		for i, p := range pages {
			if strings.Contains(p, "of many") && strings.Count(p, "hands, min") != 1 {
				t.Errorf("page %d has lines of the table and %d heads, want 1", i+1, strings.Count(p, "hands, min"))
			}
			if want := fmt.Sprintf("page %d of %d", i+1, len(pages)); !strings.Contains(p, want) {
				t.Errorf("page %d lacks %q", i+1, want)
			}
			if strings.Contains(p, "Discount, long-standing") != strings.Contains(p, "Total "+d.Quote.Currency.Code) {
				t.Errorf("page %d has only a part of the totals", i+1)
			}
		}
	}
}
