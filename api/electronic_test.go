package api_test

import (
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/einvoice"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// The house has two taxes on a line, which the standard does not know; with one of
// them lifted there is a file, whose sums are those of the invoice.
func TestElectronicInvoices(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w := open(t, s)
		w.post("/customers", map[string]any{"name": "Ada", "electronic": map[string]any{"country": "Austria", "scheme": "1"}}).
			wrong(422, "electronic.country", "two letters").wrong(422, "electronic.address", "needed")
		w.post("/customers", map[string]any{"name": "Ada", "electronic": map[string]any{"country": "at", "tax_number": "ATU 1234"}}).is(201).
			want("electronic.country", "AT").want("electronic.tax_number", "ATU1234")
		done := w.finished()
		id := done.post(done.job+"/invoices", nil).is(201).text("id")
		done.ask("GET", "/invoices/"+id+"/electronic", nil).problem(422, "GST and PST stand on one")
		done.ask("GET", "/invoices/99/electronic", nil).problem(404)
		done.ask("GET", "/credit-notes/99/electronic", nil).problem(404)
	})
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		w := open(t, s)
		shop, err := s.ShopSettings(t.Context())
		w.must(err)
		shop.Profile.Components = shop.Profile.Components[:1]
		shop.Electronic = workshop.Electronic{Country: "CA", TaxNumber: "CA123456"}
		w.must(w.work.ChangeShop(t.Context(), tove, *shop))
		done := w.finished()
		who, err := s.CustomerByID(t.Context(), 1)
		w.must(err)
		who.Electronic = &customer.Electronic{Country: "CA"}
		_, err = w.work.NoteCustomer(t.Context(), tove, *who)
		w.must(err)
		made := done.post(done.job+"/invoices", nil).is(201)
		r := done.ask("GET", "/invoices/"+made.text("id")+"/electronic", nil).is(200)
		if got := r.header.Get("Content-Type"); !strings.HasPrefix(got, "application/xml") {
			t.Errorf("got %s, want XML", got)
		}
		d, err := einvoice.Read(r.raw)
		w.must(err)
		total, err := money.Currency{Code: "CAD", Digits: 2}.Parse(made.text("totals.total"))
		w.must(err)
		if want := (money.Currency{Code: "CAD", Digits: 2}).Decimal(total); !d.Totals.Total.Equal(want) {
			t.Errorf("the file comes to %s, the invoice to %s", d.Totals.Total, want)
		}
	})
}

// tove is the owner of the house, with every hat.
var tove = domain.Actor{Staff: 1, Name: "Tove", Roles: domain.Roles()}
