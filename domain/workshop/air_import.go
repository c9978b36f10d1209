package workshop

import (
	"context"
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
)

// AirFile is a logger's file and what it is of.
type AirFile struct {
	Place domain.AirPlaceID
	Meter domain.MeterID // the logger, which is a meter of the shop
	CSV   []byte
	Order air.DateOrder
}

// AirImport is what came, or would come, of a file.
type AirImport struct {
	Taken   int             // readings that are new
	There   int             // left out: the same place, meter and moment was noted before, or stands twice in the file
	Wrong   int             // lines that could not be taken
	Errors  []air.LineError // the first 100 of those
	Columns string          // how the file was read, in words
	From    time.Time       // first and last reading of the file; zero for none
	To      time.Time
	Low     decimal.Decimal // lowest and highest humidity of the file, put right
	High    decimal.Decimal
	Doubted int           // readings of the file whose meter was not within its calibration then
	Doubt   string        // why the last of those is not trusted, "" when all are
	Sample  []air.Reading // the first ten of the file
}

// PreviewAir reads a logger's file and tells what ImportAir would take. It keeps
// nothing.
func (w *Workshop) PreviewAir(ctx context.Context, by domain.Actor, in AirFile) (*AirImport, error) {
	if err := May(by, ActAir); err != nil {
		return nil, err
	}
	f, err := w.readFile(ctx, in)
	if err != nil {
		return nil, fmt.Errorf("look through a logger's file: %w", err)
	}
	var out *AirImport
	err = w.store.InTx(ctx, func(tx Tx) error {
		var rs []air.Reading
		var err error
		if out, rs, err = readAir(ctx, tx, by, in, f, w.Now()); err != nil || len(rs) == 0 {
			return err
		}
		there, err := tx.AirReadings(ctx, in.Place, out.From, out.To.Add(time.Microsecond))
		if err != nil {
			return err
		}
		logged := map[int64]bool{}
		for _, r := range there {
			logged[r.At.UnixMicro()] = logged[r.At.UnixMicro()] || r.Source == air.Logger && r.Meter == in.Meter
		}
		for _, r := range rs {
			if logged[r.At.UnixMicro()] {
				out.Taken, out.There = out.Taken-1, out.There+1
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("look through a logger's file: %w", err)
	}
	return out, nil
}

// ImportAir takes the readings of a logger's file into a place. Lines that make
// no sense are left out and told. The same file again adds nothing: a reading is
// known by place, meter and moment.
func (w *Workshop) ImportAir(ctx context.Context, by domain.Actor, in AirFile) (*AirImport, error) {
	if err := May(by, ActAir); err != nil {
		return nil, err
	}
	f, err := w.readFile(ctx, in)
	if err != nil {
		return nil, fmt.Errorf("take in a logger's file: %w", err)
	}
	var out *AirImport
	read := 0
	taken, err := w.do(ctx, by, ActAir, func(tx Tx, at time.Time) (int64, error) {
		var rs []air.Reading
		var err error
		if out, rs, err = readAir(ctx, tx, by, in, f, at); err != nil {
			return 0, err
		}
		read = len(rs)
		n, err := tx.AddLoggedAir(ctx, rs)
		if err != nil || n == 0 {
			return int64(n), err
		}
		return int64(n), note(ctx, tx, 0, by, at, fmt.Sprintf("took in %d readings of a logger", n), "", out.Columns)
	})
	if err != nil {
		return nil, err
	}
	if out == nil { // done before under the same key: nothing is new
		if out, err = w.PreviewAir(ctx, by, in); err != nil {
			return nil, err
		}
		out.There -= int(taken) - out.Taken
		out.Taken = int(taken)
		return out, nil
	}
	out.Taken, out.There = int(taken), out.There+read-int(taken)
	return out, nil
}

// readFile reads a file before the transaction that keeps it: a long one would
// make the others wait.
func (w *Workshop) readFile(ctx context.Context, in AirFile) (*air.File, error) {
	now := w.Now()
	err := w.store.InTx(ctx, func(tx Tx) (err error) {
		if now, err = here(ctx, tx, now); err != nil {
			return err
		}
		if _, err = placeFor(ctx, tx, in.Place, "place"); err != nil {
			return err
		}
		_, err = meterFor(ctx, tx, in.Meter)
		return err
	})
	if err != nil {
		return nil, err
	}
	return air.ReadFile(in.CSV, now.Location(), in.Order, now)
}

// readAir turns a file into readings, put right by the meter's calibration of
// their day. Taken counts all of them.
func readAir(ctx context.Context, tx Tx, by domain.Actor, in AirFile, f *air.File, at time.Time) (*AirImport, []air.Reading, error) {
	now, err := here(ctx, tx, at)
	if err != nil {
		return nil, nil, err
	}
	if _, err := placeFor(ctx, tx, in.Place, "place"); err != nil {
		return nil, nil, err
	}
	m, err := meterFor(ctx, tx, in.Meter)
	if err != nil {
		return nil, nil, err
	}
	out := &AirImport{Taken: len(f.Rows), There: f.Twice, Wrong: f.Wrong, Errors: f.Errors, Columns: f.Columns}
	rs := make([]air.Reading, len(f.Rows))
	for i, row := range f.Rows {
		r := air.Reading{Place: in.Place, Meter: in.Meter, At: row.At, Raw: row.RH, Celsius: row.Celsius, Source: air.Logger, Noted: at, By: by.Name}
		why := ""
		r.RH, _, r.Trusted, why = m.Correct(r.Raw, r.At.In(now.Location()))
		if why != "" {
			out.Doubted, out.Doubt = out.Doubted+1, why
		}
		rs[i] = r
		out.add(i, r)
	}
	return out, rs, nil
}

// add counts one reading into the span of the file.
func (n *AirImport) add(i int, r air.Reading) {
	if i == 0 {
		n.From, n.Low, n.High = r.At, r.RH, r.RH
	}
	n.To, n.Low, n.High = r.At, decimal.Min(n.Low, r.RH), decimal.Max(n.High, r.RH)
	if i < 10 {
		n.Sample = append(n.Sample, r)
	}
}
