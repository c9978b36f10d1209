package store_test

import (
	"context"
	"testing"
	"time"

	"gorm.io/gorm"

	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// BenchmarkOwnerDesk reads the owner's desk of a shop with ten winters in its books:
// 5,200 jobs handed over with their invoices, and 40 in the house. The queue is not
// played.
func BenchmarkOwnerDesk(b *testing.B) {
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			s := storetest.Open(b, engine)
			p := addPeople(b, s)
			shop := fullShop()
			inTx(b, s, func(ctx context.Context, tx workshop.Tx) error { return tx.SaveShop(ctx, &shop) })
			jobs := handedOver(p, 5240)
			for _, j := range jobs[5200:] {
				j.Ready, j.Collected, j.Checked = time.Time{}, time.Time{}, time.Time{}
				j.HandOver = job.HandOver{}
			}
			totals, err := money.Sum(money.Bill{
				Currency: euro, Rounding: money.Rounding{Mode: money.HalfUp, Level: money.ByDocument}, PricesIncludeTax: true,
				Lines: []money.Line{{Kind: money.Labour, Quantity: dec("1"), UnitPrice: dec("90")}, {Kind: money.Part, Quantity: dec("3"), UnitPrice: dec("1.5")}},
				Taxes: []money.Tax{{Name: "VAT", Percent: dec("25.5"), On: money.LineKinds()}},
			})
			if err != nil {
				b.Fatal(err)
			}
			load(b, s, func(db *gorm.DB) error { return store.LoadJobs(db, jobs) })
			inTx(b, s, func(ctx context.Context, tx workshop.Tx) error {
				for i, j := range jobs[:5200] {
					inv := fullInvoice(j, i+1)
					inv.Totals, inv.Lines[0].Task, inv.Lines[1].Task = totals, j.Tasks[2].ID, j.Tasks[2].ID
					if err := tx.AddInvoice(ctx, inv); err != nil {
						return err
					}
				}
				return nil
			})
			for b.Loop() {
				d, err := workshop.ReadOwnerDesk(b.Context(), s, nil, start)
				if err != nil {
					b.Fatal(err)
				}
				if d.Margins.All.Jobs < 400 || d.HouseAll.Jobs != 40 || d.ThenFull.Arrived == 0 {
					b.Fatalf("%+v", d)
				}
			}
		})
	}
}
