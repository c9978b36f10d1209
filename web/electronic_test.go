package web

import (
	"encoding/xml"
	"net/http"
	"strings"
	"testing"

	"winterbench/domain/einvoice"
)

// The owner notes what is needed, and what is missing is said until then; the file has
// the sums of the paper.
func TestAnInvoiceAsAnElectronicDocument(t *testing.T) {
	s := newShop(t)
	s.agreed()
	s.finished()
	inv, err := s.store.InvoiceByID(t.Context(), 1)
	s.must(err)
	w := s.as(s.owner, "/invoices/1/electronic.xml", nil, "")
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "the seller has no country (BR-09)") || !strings.Contains(w.Body.String(), "settings of electronic invoices") {
		t.Fatalf("without a country: got %d: %s", w.Code, textOf(parse(t, w.Body.String())))
	}
	page := s.refusedForm(electronicPath, "check digits do not fit", "version", "9", "electronic.country", "at", "electronic.iban", "AT61 1904 3002 3457 3202")
	if got := attr(find(parse(t, page), "name", "electronic.iban"), "value"); got == "" {
		t.Error("the account that was typed is gone")
	}
	if !strings.Contains(page, "Somebody else saved this") {
		t.Error("an older form is not told of what was saved meanwhile")
	}
	version := attr(find(s.get(electronicPath), "name", "version"), "value")
	s.post(electronicPath, "version", version, "electronic.country", "at", "electronic.street", "Millrace 4", "electronic.tax_number", "atu 0000 0000", "electronic.iban", "AT61 1904 3002 3457 3201")
	if w := s.as(s.owner, "/invoices/1/electronic.xml", nil, ""); w.Code != 422 || !strings.Contains(w.Body.String(), "the buyer has no country (BR-11)") {
		t.Errorf("without the customer's country: got %d", w.Code)
	}
	who, err := s.store.CustomerByID(t.Context(), inv.Customer)
	s.must(err)
	s.refusedForm(customerPath(who.ID)+"/edit", "two letters", "version", "1", "name", who.Name, "contact", "phone", "electronic.country", "Austria")
	s.post(customerPath(who.ID)+"/edit", "version", "1", "name", who.Name, "contact", "phone", "electronic.country", "AT", "electronic.buyer_ref", "D-7")
	if got := textOf(s.get(customerPath(who.ID))); !strings.Contains(got, "D-7") {
		t.Errorf("the customer's page lacks the reference: %s", got)
	}
	w = s.as(s.owner, "/invoices/1/electronic.xml", nil, "")
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "application/xml") || !strings.Contains(w.Header().Get("Content-Disposition"), `invoice-1.xml`) {
		t.Fatalf("got %d, %v: %s", w.Code, w.Header(), w.Body)
	}
	d, err := einvoice.Read(w.Body.Bytes())
	s.must(err)
	if got, want := d.Totals.Total, inv.Currency.Decimal(inv.Totals.Total); !got.Equal(want) {
		t.Errorf("the file comes to %s, the paper to %s", got, want)
	}
	if d.Seller.TaxNumber != "ATU00000000" || d.BuyerRef != "D-7" || d.IBAN != "AT611904300234573201" || d.Buyer.Name != who.Name {
		t.Errorf("got %+v", d)
	}
	at := s.post("/jobs/1/credit", "lines[0].count", "0.5", "reason", "sounds dull")
	w = s.as(s.owner, at+"/electronic.xml", nil, "")
	d, err = einvoice.Read(w.Body.Bytes())
	s.must(err)
	inv, err = s.store.InvoiceByID(t.Context(), 1)
	s.must(err)
	if want := inv.Currency.Decimal(inv.Credits[0].Totals.Total); !d.CreditNote() || d.Corrects != "1" || !d.Totals.Total.Equal(want) {
		t.Errorf("the credit note comes to %s, on paper to %s: %+v", d.Totals.Total, want, d)
	}
	if err := xml.Unmarshal(w.Body.Bytes(), new(struct{ XMLName xml.Name })); err != nil {
		t.Error(err)
	}
}
