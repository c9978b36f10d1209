package stock

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
)

func lists(t *testing.T) Lists {
	t.Helper()
	c, err := money.CurrencyOf("EUR")
	if err != nil {
		t.Fatal(err)
	}
	markup := decimal.NewFromInt(60)
	return Lists{Currency: c, Suppliers: []Supplier{{ID: 2, Name: "Bone and Brass"}}, Parts: []Part{
		{ID: 1, Code: "saddle", Name: "Saddle; blank", Unit: "each", Kind: money.Part, Cost: 500, Price: 800, Markup: &markup, Kept: true, Supplier: 2, Version: 1},
		{ID: 2, Code: "glue", Name: `Hide "glue"`, Unit: "ml", Kind: money.ShopSupplies, ExpiresOn: "2026-12-01", ReorderAt: 50_000, ReorderTo: 250_500, Version: 1},
	}}
}

func TestPartsComeBackFromTheirFile(t *testing.T) {
	l := lists(t)
	var file bytes.Buffer
	if err := WriteParts(&file, l); err != nil {
		t.Fatal(err)
	}
	got, err := ReadParts(append([]byte("\xEF\xBB\xBF"), file.Bytes()...), l)
	if err != nil || got.Same != 2 || len(got.Changed)+len(got.Added)+len(got.Wrong) != 0 {
		t.Errorf("got %+v and %v, want both parts as they were", got, err)
	}
	l.Parts = nil
	got, err = ReadParts(file.Bytes(), l)
	if err != nil || len(got.Added) != 2 || got.Added[1].Name != `Hide "glue"` || got.Added[1].ReorderTo != 250_500 || got.Added[0].Price != 800 {
		t.Errorf("got %+v and %v, want two new parts", got, err)
	}
}

func TestEveryWrongRowIsNamed(t *testing.T) {
	file := strings.Join([]string{
		"code;name;unit;price;supplier;markup;protected;reorder_at;opened_on",
		"nut;Nut;each;1.00;bone and brass;;no;2;",
		"a;A;bushel;1.00;;;;;",
		"b;B;each;one;Nobody;x;perhaps;-1;yesterday",
		"saddle;S;mm;;;;;;",
		`c;"C" and more;each;1.00;;;;;`,
		"nut;Nut again;each;1.00;;;;;",
		"d;D;each;1.00;;;;;;;",
		`e;"never closed;each`,
	}, "\n")
	got, err := ReadParts([]byte(file), lists(t))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Added) != 1 || got.Added[0].Supplier != 2 || got.Added[0].ReorderAt != 2000 {
		t.Errorf("added %+v, want the nut alone", got.Added)
	}
	want := map[int][]string{
		3: {"unit must be one of"}, 4: {"price", "Nobody", "percentage", "yes or no", "reorder_at", "opened_on"}, 5: {"unit stays each"}, 6: {"double quote"},
		7: {"stands on line 2 already"}, 8: {"values for 9 columns"}, 9: {"not closed"},
	}
	if len(got.Wrong) != len(want) {
		t.Errorf("%d rows are wrong, want %d: %+v", len(got.Wrong), len(want), got.Wrong)
	}
	for _, w := range got.Wrong {
		for _, words := range want[w.Line] {
			if !strings.Contains(w.Text, words) {
				t.Errorf("line %d: %q says nothing of %q", w.Line, w.Text, words)
			}
		}
	}
}

func TestForeignFilesAreNamed(t *testing.T) {
	var wide []byte
	for _, u := range utf16.Encode([]rune("code,name\nx,y\n")) {
		wide = append(wide, byte(u), byte(u>>8))
	}
	for words, file := range map[string][]byte{
		"UTF-16":                  append([]byte{0xFF, 0xFE}, wide...),
		"is in UTF-16":            wide,
		"line 2 has the byte E9":  []byte("code,name\nx,caf\xE9\n"),
		"as in Windows-1252":      []byte("code\n\x93x\x94\n"),
		"a column \"colour\"":     []byte("code,colour\n"),
		"twice":                   []byte("code,code\n"),
		"needs a column \"code\"": []byte("name\n"),
		"begin with a line of":    nil,
		"at most 1 MB":            make([]byte, MaxFile+1),
		"more than 5000 rows":     []byte("code\n" + strings.Repeat("x\n", MaxFileRows+1)),
	} {
		_, err := ReadParts(file, lists(t))
		if domain.KindOf(err) != domain.Invalid || !strings.Contains(domain.FieldsOf(err)["file"], words) {
			t.Errorf("got %v, want one about %q", err, words)
		}
	}
}

func TestCountsFromAFile(t *testing.T) {
	l := lists(t)
	var sheet bytes.Buffer
	if err := WriteCount(&sheet, l.Parts); err != nil {
		t.Fatal(err)
	}
	got, err := ReadCount(sheet.Bytes(), l.Parts)
	if err != nil || got.Empty != 2 || len(got.Lines) != 0 {
		t.Errorf("an empty sheet gives %+v, %v", got, err)
	}
	got, err = ReadCount([]byte("code\tfound\tunit\treason\nsaddle\t4\teach\tfirst\nglue\t1.25\tg\t\nwho\t1\t\t\nsaddle\t5\t\t\nglue\t-1\t\t\n"), l.Parts)
	if err != nil || len(got.Lines) != 1 || got.Lines[0] != (CountLine{Part: 1, Found: 4000, Reason: "first"}) || len(got.Wrong) != 4 {
		t.Errorf("got %+v, %v; want the saddle and four wrong rows", got, err)
	}
}

func TestCautions(t *testing.T) {
	p := Part{Name: "Hide glue", ExpiresOn: "2026-12-01"}
	if got := p.Cautions("2026-12-01"); len(got) != 0 {
		t.Errorf("on its last good day: %+v", got)
	}
	if got := p.Cautions("2026-12-02"); len(got) != 1 || !got[0].Stop || !strings.Contains(got[0].Text, "2026-12-01") {
		t.Errorf("past its date: %+v", got)
	}
	p = Part{Species: "Dalbergia nigra", Protected: true}
	if got := p.Cautions("2026-12-02"); len(got) != 1 || !got[0].Stop || !strings.Contains(got[0].Text, "law of the place") {
		t.Errorf("protected without papers: %+v", got)
	}
	p.Papers = "certificate 12 of 2019"
	if got := p.Cautions("2026-12-02"); len(got) != 1 || got[0].Stop || !strings.Contains(got[0].Text, p.Papers) {
		t.Errorf("protected with papers: %+v", got)
	}
}
