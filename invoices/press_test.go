package invoices

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"testing"
	"time"

	"winterbench/domain/money"
	"winterbench/domain/quote"
	"winterbench/domain/workshop"
)

func TestSameValueSameBytes(t *testing.T) {
	for name, write := range documents(t) {
		t.Run(name, func(t *testing.T) {
			want := printed(t, write)
			again := 10
			if strings.HasPrefix(name, "estimate") {
				again = 40 // it has all there is: fonts, a picture, several pages
			}
			for range again {
				if got := printed(t, write); !bytes.Equal(got, want) {
					t.Fatalf("got %d other bytes, want the same as before (%d)", len(got), len(want))
				}
			}
		})
	}
}

func TestSameBytesSideBySide(t *testing.T) {
	all := documents(t)
	want := map[string][]byte{}
	for name, write := range all {
		want[name] = printed(t, write)
	}
	var wait sync.WaitGroup
	for name, write := range all {
		for range 4 {
			wait.Go(func() {
				var b bytes.Buffer
				if err := write(&b); err != nil || !bytes.Equal(b.Bytes(), want[name]) {
					t.Errorf("%s: got other bytes (error %v), want those it has alone", name, err)
				}
			})
		}
	}
	wait.Wait()
}

func TestWholeNameFits(t *testing.T) {
	s := newSheet(&workshop.Shop{}, about{})
	if got := wrap(strings.Repeat("W", 120), bold, body, s.width/2-4, 0); len(got) > wholeName {
		t.Errorf("120 letters W take %d lines, want at most %d", len(got), wholeName)
	}
}

func TestFontsStayAsTheyAre(t *testing.T) {
	before := make([][]byte, len(faces()))
	for i, f := range faces() {
		before[i] = bytes.Clone(f.ttf)
	}
	for _, write := range documents(t) {
		printed(t, write)
	}
	for i, f := range faces() {
		if !bytes.Equal(f.ttf, before[i]) {
			t.Errorf("%s%s: the library changed the bytes of the font", f.family, f.style)
		}
	}
}

func TestBytesFollowTheValueAndNotTheClock(t *testing.T) {
	d := sampleReceiptDoc(t, quebec)
	before := printed(t, func(w io.Writer) error { return Receipt(w, d) })
	d.Payment.At = d.Payment.At.Add(24 * time.Hour)
	if after := printed(t, func(w io.Writer) error { return Receipt(w, d) }); bytes.Equal(before, after) {
		t.Error("a receipt of another day has the same bytes")
	}
	d.Payment.At = time.Time{}
	undatedOnce := printed(t, func(w io.Writer) error { return Receipt(w, d) })
	if year := fmt.Sprintf("D:%d", time.Now().Year()); bytes.Contains(undatedOnce, []byte(year)) {
		t.Errorf("a receipt without a moment holds %s, which comes from the clock", year)
	}
}

func TestSize(t *testing.T) {
	for name, write := range documents(t) {
		if size := len(printed(t, write)); size >= 60_000 {
			t.Errorf("%s: got %d bytes, want under 60,000", name, size)
		}
	}
}

type fullDisk struct{}

var errFull = errors.New("no space left")

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestWriterErrorIsReturned(t *testing.T) {
	d := sampleTagDoc(t, quebec)
	if err := Tag(fullDisk{}, d); !errors.Is(err, errFull) {
		t.Errorf("got %v, want the writer's error", err)
	}
}

func TestPanicBecomesAnError(t *testing.T) {
	shop := sampleShop(t, quebec)
	for range cap(atOnce) + 1 { // also gives its place back
		err := write(io.Discard, &shop, about{title: "Tag 1"}, func(*sheet) { panic("no glyph") })
		if err == nil || !strings.Contains(err.Error(), "print Tag 1") {
			t.Fatalf("got %v, want an error that names the document", err)
		}
	}
}

func BenchmarkInvoice(b *testing.B) {
	d := sampleInvoiceDoc(b, quebec)
	benchmark(b, func(w io.Writer) error { return Invoice(w, d) })
}

func BenchmarkQuoteEightyLines(b *testing.B) {
	d := sampleQuoteDoc(b, quebec, quote.Estimate)
	rows := make([]quote.Row, 80)
	for i := range rows {
		rows[i] = quote.Row{Name: fmt.Sprintf("Line %d of many", i+1), Kind: money.Labour, Price: "10"}
	}
	d.Quote = sampleQuote(b, d.Shop, quote.Estimate, rows)
	benchmark(b, func(w io.Writer) error { return Quote(w, d) })
}

func BenchmarkInvoiceWithKanji(b *testing.B) {
	d := sampleInvoiceDoc(b, quebec)
	d.Invoice.BilledTo = "山田太郎\n東京"
	benchmark(b, func(w io.Writer) error { return Invoice(w, d) })
}

func benchmark(b *testing.B, write func(io.Writer) error) {
	b.ReportAllocs()
	size := 0
	for b.Loop() {
		size = len(printed(b, write))
	}
	b.ReportMetric(float64(size), "bytes/document")
}
