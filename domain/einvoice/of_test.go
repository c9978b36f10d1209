package einvoice

import (
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
)

var euro = money.Currency{Code: "EUR", Digits: 2}

func seller() Party {
	return Party{Name: "Frostgate Fretted Instruments", Street: "Millrace 4", Town: "Frostgate", Postcode: "4020", Country: "AT", TaxNumber: "ATU00000000", Phone: "555 0100"}
}

var high, low = money.Tax{Name: "High", Percent: dec("20"), On: []money.LineKind{money.Labour, money.Part}}, money.Tax{Name: "Low", Percent: dec("10"), On: []money.LineKind{money.RetailGoods}}

// invoice sums an invoice with our own arithmetic.
func invoice(t *testing.T, inside bool, discount money.Amount, taxes []money.Tax, lines ...billing.Line) *billing.Invoice {
	t.Helper()
	inv := &billing.Invoice{
		Number: 17, Date: "2026-11-25", BilledTo: "Mara Oduya\nTannery Lane 3\n4020 Frostgate", Lines: lines, Currency: euro, Rounding: money.Rounding{},
		TaxInside: inside, Taxes: taxes, Discount: discount,
	}
	if discount > 0 {
		inv.Reason = "for the wait"
	}
	totals, err := money.Sum(inv.Bill())
	if err != nil {
		t.Fatal(err)
	}
	inv.Totals = totals
	for i := range inv.Lines {
		inv.Lines[i].Net = totals.Lines[i].Net
	}
	return inv
}

func bench(name, count, price, off string) billing.Line {
	return billing.Line{Kind: money.Labour, Name: name, Count: dec(count), Unit: "hours", Price: dec(price), Off: dec(off)}
}

func goods(name, count, price string) billing.Line {
	return billing.Line{Kind: money.RetailGoods, Name: name, Count: dec(count), Unit: "each", Price: dec(price)}
}

// equal holds the document's sums against those of the paper.
func equal(t *testing.T, d *Document, x money.Totals) {
	t.Helper()
	for what, pair := range map[string][2]string{
		"net": {d.Totals.Net.String(), euro.Decimal(x.Net).String()}, "tax": {d.Totals.Tax.String(), euro.Decimal(x.Tax).String()},
		"total": {d.Totals.Total.String(), euro.Decimal(x.Total).String()},
	} {
		if pair[0] != pair[1] {
			t.Errorf("%s: %s in the document, %s on paper", what, pair[0], pair[1])
		}
	}
	raw, err := Write(d)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	if text(t, again) != text(t, d) {
		t.Error("it is not read as it was written")
	}
}

func TestInvoicesOfTheShop(t *testing.T) {
	for name, inv := range map[string]*billing.Invoice{
		"two rates":              invoice(t, false, 0, []money.Tax{high, low}, bench("Crack glued", "1.75", "68", ""), goods("Strings", "2", "14.50")),
		"a discount on two":      invoice(t, false, 1501, []money.Tax{high, low}, bench("Crack glued", "1.75", "68", ""), goods("Strings", "3", "14.33")),
		"a line reduced":         invoice(t, false, 0, []money.Tax{high}, bench("Crack glued", "1.5", "68.35", "100"), bench("Fret dress", "0.9", "71.11", "12.5")),
		"taxes inside":           invoice(t, true, 0, []money.Tax{high, low}, bench("Crack glued", "1.75", "68", ""), bench("Cleats", "3", "12.99", ""), goods("Strings", "2", "14.50")),
		"taxes inside, discount": invoice(t, true, 999, []money.Tax{high, low}, bench("Crack glued", "1.75", "68", "10"), bench("Cleats", "3", "12.99", ""), goods("Strings", "7", "0.33")),
		"no tax at all":          invoice(t, false, 0, nil, bench("Crack glued", "1.75", "68", "")),
		"one untaxed":            invoice(t, false, 500, []money.Tax{low}, bench("Crack glued", "1.75", "68", ""), goods("Strings", "2", "14.50")),
	} {
		t.Run(name, func(t *testing.T) {
			d, err := OfInvoice(inv, seller(), Party{Country: "AT"}, Terms{IBAN: "AT611904300234573201"})
			if err != nil {
				t.Fatal(err)
			}
			if d.Type != TypeInvoice || d.Number != "17" || d.Due != "2026-11-25" || d.Buyer.Name != "Mara Oduya" || d.Buyer.Street != "Tannery Lane 3" || d.Buyer.Extra != "4020 Frostgate" || d.PayBy != "30" {
				t.Errorf("got %+v", d)
			}
			equal(t, d, inv.Totals)
		})
	}
}

// Pieces of an invoice are credited; each is a document of its own.
func TestCreditNotesOfTheShop(t *testing.T) {
	for name, inside := range map[string]bool{"without tax": false, "taxes inside": true} {
		t.Run(name, func(t *testing.T) {
			inv := invoice(t, inside, 1001, []money.Tax{high, low}, bench("Crack glued", "1.75", "68", ""), goods("Strings", "3", "14.33"))
			for i, want := range [][]billing.Wanted{{{Place: 2, Count: dec("1")}}, {{Place: 1, Count: dec("0.5")}, {Place: 2, Count: dec("2")}}, {{Place: 1, Count: dec("1.25")}}} {
				c, err := billing.Credit(inv, want, "charged twice")
				if err != nil {
					t.Fatal(err)
				}
				c.Number, c.Date = 3+i, "2026-12-01"
				d, err := OfCreditNote(inv, &c, seller(), Party{Country: "AT"}, Terms{})
				if err != nil {
					t.Fatal(err)
				}
				if d.Type != TypeCreditNote || d.Corrects != "17" || d.CorrectedOn != "2026-11-25" {
					t.Errorf("got %+v", d)
				}
				equal(t, d, c.Totals)
				raw, err := Write(d)
				if err != nil || !strings.Contains(string(raw), "<CreditNote ") || !strings.Contains(string(raw), "CreditedQuantity") {
					t.Errorf("%v: %s", err, raw)
				}
				inv.Credits = append(inv.Credits, c)
			}
		})
	}
}

func TestUntaxedLines(t *testing.T) {
	inv := invoice(t, false, 0, nil, bench("Crack glued", "1", "68", ""))
	d, err := OfInvoice(inv, seller(), Party{Country: "AT"}, Terms{Untaxed: Exempt, Reason: "small business, by the law of the country"})
	if err != nil {
		t.Fatal(err)
	}
	if d.Taxes[0].Category.Code != Exempt || d.Taxes[0].Reason == "" {
		t.Errorf("got %+v", d.Taxes)
	}
	lifted := high
	lifted.On, lifted.Exempt = nil, "resale, certificate 7"
	inv = invoice(t, false, 0, []money.Tax{lifted}, bench("Crack glued", "1", "68", ""))
	if d, err = OfInvoice(inv, seller(), Party{Country: "AT"}, Terms{}); err != nil || d.Taxes[0].Category.Code != Exempt || d.Taxes[0].Reason != "resale, certificate 7" {
		t.Errorf("got %+v and %v, want the customer's own exemption", d, err)
	}
}

func TestWhatCannotBeWrittenIsSaid(t *testing.T) {
	second := money.Tax{Name: "Second", Percent: dec("7"), On: []money.LineKind{money.Labour}}
	for name, c := range map[string]struct {
		inv    *billing.Invoice
		seller Party
		buyer  Party
		says   string
	}{
		"two taxes on a line": {invoice(t, false, 0, []money.Tax{high, second}, bench("Crack glued", "1", "68", "")), seller(), Party{Country: "AT"}, "High and Second stand on one"},
		"no country":          {invoice(t, false, 0, []money.Tax{high}, bench("Crack glued", "1", "68", "")), seller(), Party{}, "the buyer has no country (BR-11)"},
		"no tax number":       {invoice(t, false, 0, []money.Tax{high}, bench("Crack glued", "1", "68", "")), Party{Name: "Frostgate", Country: "AT"}, Party{Country: "AT"}, "neither a tax number nor a registration (BR-CO-26)"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := OfInvoice(c.inv, c.seller, c.buyer, Terms{})
			if domain.KindOf(err) != domain.Invalid || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want an Invalid error that says %q", err, c.says)
			}
		})
	}
}
