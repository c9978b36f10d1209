package web

import (
	"net/http"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/customer"
	"winterbench/domain/workshop"
)

func init() {
	moreSamples = append(moreSamples, func() map[string]Paged {
		return map[string]Paged{"sale/new": sampleSale(), "sale/show": sampleSold()}
	})
}

// sampleSale is the form of a sale in the invented shop.
func sampleSale() *SalePage {
	all := winters().all
	v := &sale{c: quietRequest(), shop: &all.Shop, errs: domain.Fields{}}
	for i := range all.Parts {
		v.shelf = append(v.shelf, workshop.ShelfRow{Part: all.Parts[i], Level: all.Levels[i].Level})
	}
	v.read()
	p := &SalePage{Page: sampleFrame("Sell over the counter"), Action: salesPath, Live: salesPath + "/draft", Back: Link{Href: salesPath, Text: "Sales"}}
	p.Lines, p.Money, p.More, p.Sum = v.lineGroups(), v.moneyGroup(), v.more(), v.sum()
	return p
}

// sampleSold is the first sale of the invented shop.
func sampleSold() *SoldPage {
	all := winters().all
	for _, inv := range all.Invoices {
		if inv.Job != 0 {
			continue
		}
		f := &workshop.SaleFile{Shop: &all.Shop, Invoice: inv}
		for _, p := range all.Payments {
			if p.Invoice == inv.ID {
				f.Payments = append(f.Payments, p)
			}
		}
		f.Balance = billing.BalanceOf(inv, f.Payments, all.Shop.Coin())
		return &SoldPage{
			Page: sampleFrame(inv.Label()), Lines: invoiceTable(inv, inv.Totals), Payments: paymentTable(f.Shop, f.Payments, f.Balance), Facts: soldFacts(f),
			Ways: soldWays(quietRequest(), f), Forms: soldForms(quietRequest(), f, nil),
		}
	}
	panic("the invented shop has sold nothing over the counter")
}

// saleOf is a form that sells so many of a part.
func saleOf(part, count string, more ...string) []string {
	return append([]string{"do", "sell", "lines[0].part", part, "lines[0].count", count, "payments[0].tender", "cash"}, more...)
}

func TestSellingOnThePages(t *testing.T) {
	s := newShop(t)
	part := s.saddle()
	_, err := s.work.Receive(t.Context(), s.owner, workshop.Delivery{Part: part, Quantity: 5000, Cost: 2600})
	s.must(err)
	saddle := text(int64(part))
	s.wantText("/sales", "0 sales over the counter so far", "Nothing was sold")
	s.wantText("/sales/new", "Saddle blank, 14.00 EUR each, 5 free", "Nothing stands on it yet")
	page := textOf(s.form("/sales", values(saleOf(saddle, "6")...), http.StatusConflict))
	wantIn(t, page, "only 5 each free")
	page = s.refusedForm("/sales", "is no quantity", saleOf(saddle, "many", "lines[0].price", "cheap", "payments[0].given", "x")...)
	wantIn(t, page, `value="many"`, `value="cheap"`, `value="x"`)
	s.refusedForm("/sales", "say what is sold", "do", "sell")
	s.refusedForm("/sales", "is needed", saleOf(saddle, "1", "lines[0].price", "10")...) // below the list without a reason
	s.refusedForm("/sales", "choose what is sold", "do", "sell", "lines[1].count", "2", "payments[0].tender", "card")
	page = textOf(s.form("/sales", values(saleOf(saddle, "3", "lines[4].part", saddle, "lines[4].count", "3")...), http.StatusConflict))
	wantIn(t, page, "Line 5, how much only 5 each free")
	s.refusedForm("/sales", "has no price on the list", saleOf("1", "1")...)
	s.refusedForm("/sales", "is needed for what is not", "do", "sell", "lines[40].name", "Capo", "payments[0].tender", "card") // no price
	w := s.as(s.owner, "/sales/draft", values("lines[2].part", saddle, "lines[2].count", "2", "payments[0].tender", "cash", "payments[0].given", "50"), "sum")
	wantIn(t, w.Body.String(), "30.80 EUR", "To pay", "Change", "19.20 EUR")
	to := s.post("/sales", saleOf(saddle, "2", "payments[0].given", "50")...)
	s.wantText(to, "Saddle blank", "is paid", "given 50.00 EUR, change 19.20 EUR")
	s.wantText("/sales", "1 sale over the counter so far", "30.80")
	s.wantText("/invoices", "sale")
	invoice := strings.Replace(to, "/sales/", "/invoices/", 1)
	if w := s.as(s.owner, invoice, nil, ""); w.Header().Get("Location") != to {
		t.Errorf("the invoice leads to %q, want its sale", w.Header().Get("Location"))
	}
	s.pdf(invoice+"/paper.pdf", "/payments/1/receipt.pdf")
	s.refusedForm(to+"/take-back", "say how much", "reason", "too wide")
	s.refusedForm(to+"/take-back", "must be at most 2", "lines[0].count", "3", "reason", "too wide", "tender", "cash")
	note := s.post(to+"/take-back", "lines[0].count", "1", "lines[0].on_shelf", "yes", "reason", "too wide", "tender", "cash")
	s.wantText(note, "too wide", "15.40", "is credited", "Back to the sale")
	s.wantText("/sales/new", "4 free")
	s.pdf(note+"/paper.pdf", "/payments/2/receipt.pdf")
}

// pdf checks that there is paper at each path.
func (s *openShop) pdf(paths ...string) {
	s.Helper()
	for _, path := range paths {
		if w := s.as(s.owner, path, nil, ""); w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "%PDF") {
			s.Errorf("%s: got %d, want paper", path, w.Code)
		}
	}
}

// Two ways to pay: what is typed of the first, and the rest with the second. A
// customer with a name may take things along on account.
func TestSalesInTwoTendersAndOnAccount(t *testing.T) {
	s := newShop(t)
	part := s.saddle()
	_, err := s.work.Receive(t.Context(), s.owner, workshop.Delivery{Part: part, Quantity: 9000, Cost: 4680})
	s.must(err)
	saddle := text(int64(part))
	to := s.post("/sales", saleOf(saddle, "2", "payments[0].amount", "10", "payments[1].tender", "card", "payments[1].reference", "slip 9")...)
	s.wantText(to, "cash", "10.00", "card · slip 9", "20.80", "is paid")
	page := s.refusedForm("/sales", "still to pay", saleOf(saddle, "2", "payments[0].amount", "10")...)
	wantIn(t, page, `value="10"`)
	s.refusedForm("/sales", "is less than the amount", "do", "sell", "lines[0].part", saddle, "payments[1].tender", "cash", "payments[1].given", "1")
	who, err := s.work.NoteCustomer(t.Context(), s.owner, customer.Customer{Name: "Lune Street School"})
	s.must(err)
	s.must(s.work.GrantAccount(t.Context(), s.owner, who, &customer.Account{Days: 30, Limit: 10000}))
	id := text(int64(who))
	s.wantText("/sales/new?customer="+id, "For Lune Street School")
	to = s.post("/sales", "do", "sell", "customer", id, "lines[0].part", saddle)
	s.wantText(to, "15.40 EUR is to pay", "Lune Street School", "Take the payment")
	s.wantText("/customers/"+id+"/account", "15.40")
	s.wantText("/sales?customer="+id, "1 sale over the counter to Lune Street School", "Sell something")
	s.wantText("/customers/"+id, "What they bought")
	s.refusedForm(to+"/pay", "must be more than 0", "tender", "card", "amount", "0")
	if got := s.post(to+"/pay", "tender", "card", "amount", "5"); got != to {
		t.Errorf("paying leads to %s, want the sale", got)
	}
	s.post(to+"/write-off", "reason", "moved away")
	s.wantText(to, "was given up", "10.40", "Take what comes in after all", "ask your adviser")
	s.refusedForm(to+"/pay", "must be more than 0", "tender", "card", "amount", "0")
	s.post(to+"/pay", "tender", "card", "amount", "4")
	s.wantText(to, "6.40 EUR on", "is given up; 4.00 EUR came in after that", "Came in after that")
}
