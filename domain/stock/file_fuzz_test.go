package stock

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// FuzzReadParts reads any bytes as a file of parts. What is taken obeys the rules of a
// part, and comes back unchanged from the file that WriteParts makes of it.
func FuzzReadParts(f *testing.F) {
	for _, seed := range []string{
		"code;name;unit;price\nnut;Nut;each;1.00\n",
		"\xEF\xBB\xBFcode,name,markup,protected\nsaddle,Saddle,60 %,yes\n",
		"code,reorder_at\nglue,1e99999999\n",
		"code,reorder_to\nglue,1e-99999999\n",
		"code,markup\nglue,1e9999999\n",
		"code,name\n=A1,\"a\nb\"\n",
		"code\tname\nnut\tNut\n",
		"code,code\nnut,nut\n",
		"\xFF\xFEc\x00o\x00",
		"code,opened_on\nglue,2026-02-30\n",
	} {
		f.Add([]byte(seed))
	}
	c, err := money.CurrencyOf("EUR")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		l := Lists{Currency: c, Suppliers: []Supplier{{ID: 2, Name: "Bone and Brass"}}, Parts: []Part{
			{ID: 2, Code: "glue", Name: "Hide glue", Unit: "ml", Kind: money.ShopSupplies, Kept: true, Version: 1},
		}}
		begun := time.Now()
		got, err := ReadParts(file, l)
		if took := time.Since(begun); took > 2*time.Second && len(file) < 10_000 {
			t.Fatalf("%d bytes took %s", len(file), took)
		}
		if err != nil {
			if domain.KindOf(err) != domain.Invalid {
				t.Fatalf("got %v, want an Invalid error", err)
			}
			return
		}
		for _, w := range got.Wrong {
			if w.Line < 1 || strings.TrimSpace(w.Text) == "" {
				t.Errorf("line %d is wrong without a reason: %q", w.Line, w.Text)
			}
		}
		taken := append(append([]Part{}, got.Added...), got.Changed...)
		for i := range taken {
			if err := taken[i].Check(); err != nil {
				t.Errorf("took %+v, which is refused: %v", taken[i], err)
			}
		}
		comesBack(t, taken, l)
	})
}

// comesBack writes parts and reads them again as what they are.
func comesBack(t *testing.T, parts []Part, l Lists) {
	t.Helper()
	if len(parts) == 0 {
		return
	}
	l.Parts = parts
	var file bytes.Buffer
	if err := WriteParts(&file, l); err != nil {
		t.Fatal(err)
	}
	again, err := ReadParts(file.Bytes(), l)
	if err != nil || again.Same != len(parts) {
		t.Errorf("wrote %q, read %+v and %v; want %d parts as they were", file.Bytes(), again, err, len(parts))
	}
}

// FuzzReadCount reads any bytes as a file of a count. What is taken is a quantity that
// can lie on a shelf, once a part.
func FuzzReadCount(f *testing.F) {
	for _, seed := range []string{
		"code,found\nglue,2.5\n",
		"code;found;unit;reason\nglue;0;ml;spilt\nglue;1;ml;\n",
		"code,found\nglue,1e99999999\n",
		"code,found\nglue,-1\nnobody,3\n",
		"code,found\nglue,\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		begun := time.Now()
		got, err := ReadCount(file, []Part{{ID: 2, Code: "glue", Name: "Hide glue", Unit: "ml"}})
		if took := time.Since(begun); took > 2*time.Second && len(file) < 10_000 {
			t.Fatalf("%d bytes took %s", len(file), took)
		}
		if err != nil {
			if domain.KindOf(err) != domain.Invalid {
				t.Fatalf("got %v, want an Invalid error", err)
			}
			return
		}
		if len(got.Lines) > 1 {
			t.Errorf("took %d lines of one part", len(got.Lines))
		}
		for _, line := range got.Lines {
			if line.Part != 2 || line.Found < 0 || line.Found > MaxQuantity {
				t.Errorf("took %+v", line)
			}
		}
	})
}
