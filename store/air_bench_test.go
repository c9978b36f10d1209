package store_test

import (
	"context"
	"testing"
	"time"

	"winterbench/domain/air"
	"winterbench/domain/workshop"
	"winterbench/store/storetest"
)

// BenchmarkAir takes in a logger's largest file, and tells the alarms of a room
// with a reading each ten minutes for two years.
func BenchmarkAir(b *testing.B) {
	for _, engine := range storetest.Engines() {
		b.Run(engine, func(b *testing.B) {
			s := storetest.Open(b, engine)
			p, m := addAir(b, s)
			rows := make([]air.Reading, air.MaxRows)
			for i := range rows {
				rh := dec("40").Add(dec("0.1").Mul(dec([]string{"1", "20", "37", "55"}[i%4])))
				rows[i] = air.Reading{
					Place: p.ID, Meter: m.ID, At: start.Add(-time.Duration(i) * 10 * time.Minute), Raw: rh, RH: rh, Trusted: true, Source: air.Logger, Noted: start, By: "Runa",
				}
			}
			begin := time.Now()
			inTx(b, s, func(ctx context.Context, tx workshop.Tx) error {
				_, err := tx.AddLoggedAir(ctx, rows)
				return err
			})
			took := time.Since(begin)
			for b.Loop() {
				if _, err := workshop.AirAlarms(b.Context(), s, start); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(took.Seconds(), "s/file")
		})
	}
}
