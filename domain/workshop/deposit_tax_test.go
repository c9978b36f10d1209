package workshop_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// taxed is a profile that taxes deposits when they are taken: GST 5 % and PST 7 % on
// top, or VAT 20 % inside the prices.
func taxed(p money.Profile, inside bool) money.Profile {
	p.DepositTax = money.OnReceipt
	if inside {
		p.PricesIncludeTax = true
		p.Components = []money.Component{{Name: "VAT", On: money.LineKinds(), Rates: []money.Rate{{From: "2011-01-04", Percent: dec("20")}}}}
	}
	return p
}

func (h *house) taxedBy(p money.Profile) {
	h.t.Helper()
	shop, err := h.store.ShopSettings(h.ctx)
	h.must(err)
	shop.Profile = p
	h.must(h.work.ChangeShop(h.ctx, h.owner, *shop))
}

// eachTaxed runs a test for both profiles on both databases.
func eachTaxed(t *testing.T, fn func(h *house, inside bool)) {
	for name, inside := range map[string]bool{"on top": false, "inside": true} {
		t.Run(name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, s *store.Store) {
				h := open(t, s)
				h.taxedBy(taxed(h.shop.Profile, inside))
				fn(h, inside)
			})
		})
	}
}

// parts are amounts by the names of taxes.
type parts map[string]money.Amount

// outputTax is what the entries of a job put on output tax: those on deposits, and all.
func (h *house) outputTax(id domain.JobID) (deposits, all parts) {
	h.t.Helper()
	entries, err := h.store.Journal(h.ctx, "2026-01-01", "2027-12-31")
	h.must(err)
	deposits, all = parts{}, parts{}
	for _, e := range entries {
		for _, p := range e.Postings {
			if e.Job != id || p.Account != billing.OutputTax {
				continue
			}
			all[p.Detail] += p.Credit - p.Debit
			if e.Event.OnDeposits() {
				deposits[p.Detail] += p.Credit - p.Debit
			}
		}
	}
	for _, m := range []parts{deposits, all} {
		for name, a := range m {
			if a == 0 {
				delete(m, name)
			}
		}
	}
	h.must(h.store.InTx(h.ctx, func(tx workshop.Tx) error {
		got, err := tx.TaxOnDeposits(h.ctx, id)
		read := parts{}
		for _, t := range got {
			read[t.Name] = t.Amount
		}
		if diff := cmp.Diff(deposits, read); diff != "" {
			h.t.Errorf("tax on deposits (-journal +read)\n%s", diff)
		}
		return err
	}))
	return deposits, all
}

// holds wants the deposits of a job with their taxes, and a clean audit.
func (h *house) holds(id domain.JobID, gross money.Amount, want parts) {
	h.t.Helper()
	got, _ := h.outputTax(id)
	if diff := cmp.Diff(want, got); diff != "" {
		h.t.Errorf("tax on the deposits of job %d (-want +got)\n%s", id, diff)
	}
	for _, a := range want {
		gross -= a
	}
	h.standsOnJob(billing.CustomerDeposits, id, gross)
	h.audited()
}

func (h *house) invoiced(id domain.JobID, o billing.Options) *billing.Invoice {
	h.t.Helper()
	_, err := h.work.IssueInvoice(h.ctx, h.counter, id, o)
	h.must(err)
	return h.folder(id).Invoice
}

// settled wants the output tax of a job to be that of its invoice and nothing else open.
func (h *house) settled(id domain.JobID) {
	h.t.Helper()
	want := parts{}
	for _, x := range h.folder(id).Invoice.Totals.Taxes {
		want[x.Name] = x.Amount
	}
	_, got := h.outputTax(id)
	if diff := cmp.Diff(want, got); diff != "" {
		h.t.Errorf("output tax of job %d (-invoice +journal)\n%s", id, diff)
	}
	h.holds(id, 0, parts{})
	h.standsOnJob(billing.Receivables, id, 0)
}

func (h *house) back(id domain.JobID, t billing.Tender, a money.Amount) {
	h.t.Helper()
	_, err := h.work.GiveBack(h.ctx, h.owner, id, billing.Payment{Tender: t, Amount: a})
	h.must(err)
}

// 140.00 were agreed: with VAT of 23.33 inside, or with GST of 7.00 and PST of 9.80 on top
// 156.80. Of 60.00 that are 10.00, or 2.68 (60 x 7 / 156.80 = 2.6786) and 3.75; of 20.00
// that go back, 3.33, or 0.89 and 1.25. Reckoned by hand.
func TestDepositsAreTaxedWhenTaken(t *testing.T) {
	eachTaxed(t, func(h *house, inside bool) {
		all, whole, part, left := money.Amount(15680), parts{"GST": 700, "PST": 980}, parts{"GST": 268, "PST": 375}, parts{"GST": 179, "PST": 250}
		if inside {
			all, whole, part, left = 14000, parts{"VAT": 2333}, parts{"VAT": 1000}, parts{"VAT": 667}
		}
		first := h.checked()
		h.paid(first, billing.Payment{Tender: "bank transfer", Amount: all})
		h.holds(first, all, whole)
		h.invoiced(first, billing.Options{})
		h.settled(first)

		second := h.checked()
		h.paid(second, billing.Payment{Tender: billing.Cash, Amount: 6000})
		h.holds(second, 6000, part)
		h.back(second, "card", 2000)
		h.holds(second, 4000, left)
		h.invoiced(second, billing.Options{})
		h.standsOnJob(billing.Receivables, second, all-4000)
		h.paid(second, billing.Payment{Tender: "card", Amount: all - 4000})
		h.settled(second)

		third := h.checked()
		h.paid(third, billing.Payment{Tender: "card", Amount: all})
		inv := h.invoiced(third, billing.Options{Discount: 2000, Reason: "it took long"})
		h.standsOnJob(billing.Receivables, third, 0)
		h.audited()
		h.back(third, billing.Cash, all-inv.Totals.Total)
		h.settled(third)

		fourth := h.checked()
		h.paid(fourth, billing.Payment{Tender: "card", Amount: 6000})
		h.back(fourth, "card", 2000)
		h.back(fourth, "card", 4000)
		h.holds(fourth, 0, parts{})
	})
}

// All that was agreed is paid before, 10.00 less are billed, and a tuner is credited: the
// deposit that is left goes back first, with its tax, and then what the credit leaves.
func TestADepositAndACreditGoBackTogether(t *testing.T) {
	eachTaxed(t, func(h *house, inside bool) {
		id := h.checked()
		due := money.Amount(15680)
		if inside {
			due = 14000
		}
		h.paid(id, billing.Payment{Tender: "card", Amount: due})
		inv := h.invoiced(id, billing.Options{Discount: 1000, Reason: "it took long"})
		h.clock.pass(time.Minute)
		_, err := h.work.IssueCreditNote(h.ctx, h.owner, id, one(), "one too many")
		h.must(err)
		h.audited()
		held := due - inv.Totals.Total
		b := h.folder(id).Balance
		h.back(id, "card", held+1)
		h.holds(id, 0, parts{})
		h.back(id, "card", -b.Due-held-1)
		h.standsOnJob(billing.Receivables, id, 0)
		h.holds(id, 0, parts{})
	})
}

// Who changes the settings between deposit and invoice gets back what was posted.
func TestTaxOnADepositGoesAsItCame(t *testing.T) {
	eachTaxed(t, func(h *house, inside bool) {
		before, after := h.checked(), h.checked()
		h.paid(before, billing.Payment{Tender: "card", Amount: 6000})
		held, _ := h.outputTax(before)
		h.taxedBy(settings(h.t).Profile)
		h.holds(before, 6000, held)
		h.paid(before, billing.Payment{Tender: "card", Amount: 1000})
		h.holds(before, 7000, held)
		h.paid(after, billing.Payment{Tender: "card", Amount: 6000})
		h.holds(after, 6000, parts{})
		h.taxedBy(taxed(settings(h.t).Profile, !inside))
		for _, id := range []domain.JobID{before, after} {
			h.invoiced(id, billing.Options{KeepToLimit: true})
			h.paid(id, billing.Payment{Tender: "card", Amount: h.folder(id).Balance.Due})
			h.settled(id)
		}
	})
}

// 60.00 are taken in November, the invoice of December takes their tax off, and by
// payment date December has the rest. Each figure opens to lines that come to it.
func TestReportsCountTheTaxOfADepositOnce(t *testing.T) {
	eachTaxed(t, func(h *house, inside bool) {
		tax, taken, whole := "GST", money.Amount(268), money.Amount(700)
		if inside {
			tax, taken, whole = "VAT", 1000, 2333
		}
		id := h.checked()
		h.paid(id, billing.Payment{Tender: "card", Amount: 6000})
		h.clock.pass(10 * 24 * time.Hour)
		h.invoiced(id, billing.Options{})
		h.paid(id, billing.Payment{Tender: "card", Amount: h.folder(id).Balance.Due})
		byInvoice := h.figures("sales-tax", tax)
		if n, d := byInvoice["2026-11"], byInvoice["2026-12"]; n["other"] != taken || n["owed"] != taken || d["invoiced"] != whole || d["other"] != -taken || d["owed"] != whole-taken {
			h.t.Errorf("by invoice date: %v", byInvoice)
		}
		byPayment := h.figures("sales-tax-paid", tax)
		if byPayment["2026-11"]["due"] != taken || byPayment["2026-12"]["due"] != whole-taken {
			h.t.Errorf("by payment date: %v", byPayment)
		}
	})
}

// figures reads a report of taxes by month and column, for one tax, and wants each
// figure to be the sum of the lines behind it.
func (h *house) figures(report, tax string) map[string]parts {
	h.t.Helper()
	out := map[string]parts{}
	table, _, err := workshop.ReadReport(h.ctx, h.store, h.owner, report, workshop.Ask{From: "2026-11-01", To: "2026-12-31"}, h.clock.Now())
	h.must(err)
	for _, r := range table.Rows {
		if r.Cells[1].Text != tax {
			continue
		}
		of := parts{}
		out[r.Cells[0].Text] = of
		for i, c := range r.Cells {
			if c.Behind == nil {
				continue
			}
			of[table.Columns[i].Name] = c.Amount
			b, err := workshop.ReadBehind(h.ctx, h.store, h.owner, *c.Behind, workshop.Page{})
			h.must(err)
			if b.Sum != c.Amount {
				h.t.Errorf("%s, %s of %s: behind %d stand %d", report, table.Columns[i].Name, r.Cells[0].Text, c.Amount, b.Sum)
			}
		}
	}
	return out
}
