package workshop_test

import (
	"slices"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/billing"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// billsToCome wants the report of a day to hold costs, oldest first, and to come to
// what the journal holds as received and not invoiced.
func (h *house) billsToCome(on domain.Date, costs ...money.Amount) {
	h.t.Helper()
	table, _, err := workshop.ReadReport(h.ctx, h.store, h.owner, "bills-to-come", workshop.Ask{To: on}, h.clock.Now())
	h.must(err)
	var got []money.Amount
	for _, r := range table.Rows {
		got = append(got, r.Cells[9].Amount)
	}
	if !slices.Equal(got, costs) {
		h.t.Errorf("at the end of %s the rows are %v, want %v", on, got, costs)
	}
	sums, err := h.store.AccountSums(h.ctx, on, on)
	h.must(err)
	trial := billing.TrialBalanceOf(sums, on, on)
	if want := trial.Closing(billing.NotInvoiced); table.Total[9].Amount != want {
		h.t.Errorf("at the end of %s the report comes to %d and the journal to %d", on, table.Total[9].Amount, want)
	}
	for _, r := range append(table.Rows, billing.Row{Cells: table.Total}) {
		if behind := r.Cells[9].Behind; behind != nil {
			_, _, sum, err := h.store.JournalLines(h.ctx, *behind, workshop.Page{})
			h.must(err)
			if sum != r.Cells[9].Amount {
				h.t.Errorf("%q shows %d, the lines behind it come to %d", r.Cells[0].Text, r.Cells[9].Amount, sum)
			}
		}
	}
}

func TestBillsToComeAreTheReceiptsWithoutOne(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		shop, err := s.ShopSettings(h.ctx)
		h.must(err)
		saddle := h.listed("saddle", "Saddle blank")
		h.billsToCome(shop.Today(h.clock.Now()))
		billed := h.received(saddle, 10, 8500)
		h.received(saddle, 2, 1801)
		day := shop.Today(h.clock.Now())
		h.billsToCome(day, 8500, 1801)
		h.clock.pass(72 * time.Hour)
		h.must(h.work.Bill(h.ctx, h.counter, billed, 8600, 1118))
		h.billsToCome(shop.Today(h.clock.Now()), 1801)
		h.billsToCome(day, 8500, 1801) // as it stood then
		h.must(h.work.SendBack(h.ctx, h.counter, saddle, 1000, "split"))
		// Ten as billed for 86.00 and two for 18.01 are 104.01, so one is 8.67.
		h.billsToCome(shop.Today(h.clock.Now()), 1801, -867)
		_, _, err = workshop.ReadReport(h.ctx, s, h.bench, "bills-to-come", workshop.Ask{}, h.clock.Now())
		h.refused(err, domain.Denied, "")
	})
}
