package money

import (
	"strconv"
	"strings"
	"testing"

	"winterbench/domain"
)

// Source: testdata/iso4217_minor_units.csv.
func TestMinorUnits(t *testing.T) {
	rows := readCSV(t, "iso4217_minor_units.csv")
	if len(rows) != 23 {
		t.Fatalf("got %d rows, want 23", len(rows))
	}
	for _, r := range rows {
		want, err := strconv.Atoi(r["minor_units"])
		if err != nil {
			t.Fatal(err)
		}
		if c := mustCurrency(t, r["code"]); c.Digits != want {
			t.Errorf("%s: got %d decimals, want %d", c.Code, c.Digits, want)
		}
	}
}

func TestCurrencies(t *testing.T) {
	all := Currencies()
	if len(all) != len(digits) || len(all) < 150 {
		t.Fatalf("got %d currencies, want the whole list of more than 150", len(all))
	}
	words := 0
	for _, codes := range byDigits {
		words += len(strings.Fields(codes))
	}
	if words != len(all) {
		t.Errorf("a code is in the list twice: %d words, %d codes", words, len(all))
	}
	for i, c := range all {
		if len(c.Code) != 3 || strings.ToUpper(c.Code) != c.Code || i > 0 && all[i-1].Code >= c.Code {
			t.Errorf("%q is no code or not in order", c.Code)
		}
	}
}

func TestCurrencyOfRefuses(t *testing.T) {
	for _, c := range []struct{ code, right string }{
		{"cad", `"CAD"`}, {" EUR ", `"EUR"`}, {"", "CAD"}, {"XXX", "CAD"}, {"BGN", "CAD"}, {strings.Repeat("é", 90), "..."},
	} {
		_, err := CurrencyOf(c.code)
		if domain.KindOf(err) != domain.Invalid || !strings.Contains(err.Error(), c.right) {
			t.Errorf("CurrencyOf(%q): got %v, want an Invalid error with %s", c.code, err, c.right)
		}
	}
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		code, typed string
		want        Amount
	}{
		{"CAD", "412.40", 41240}, {"CAD", "-3", -300}, {"CAD", "0,5", 50}, {"CAD", " 12,50 ", 1250},
		{"CAD", ".5", 50}, {"CAD", "-.05", -5}, {"CAD", "-0", 0}, {"CAD", "0007", 700}, {"JPY", "120", 120},
		{"KWD", "1.234", 1234}, {"KWD", "1,23", 1230},
		{"CAD", "10000000000000", MaxAmount}, {"CAD", "-10000000000000.00", -MaxAmount},
	} {
		got, err := mustCurrency(t, c.code).Parse(c.typed)
		if err != nil || got != c.want {
			t.Errorf("%s %q: got %d, %v, want %d", c.code, c.typed, got, err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ code, typed, right string }{
		{"CAD", "1.234", "has 2, such as 1234.00"},
		{"CAD", "1.200", "too many decimal places"},
		{"JPY", "5.0", "whole numbers such as 1234"},
		{"CAD", "1,234", "write 1234 or 1.234"},
		{"KWD", "0,500", "write 0500 or 0.500"},
		{"CAD", "1,234.50", "without separators of thousands"},
		{"CAD", "1.234,50", "without separators of thousands"},
		{"CAD", "1 234.50", "write the digits together"},
		{"CAD", "1\u00a0234", "write the digits together"},
		{"CAD", "1'234", "write the digits together"},
		{"CAD", "1e3", "without an exponent"},
		{"CAD", "5.", "ends with its decimal sign"},
		{"CAD", "", "such as 1234.00"}, {"CAD", "-", "such as 1234.00"}, {"CAD", ".", "decimal sign"},
		{"CAD", "--5", "such as 1234.00"}, {"CAD", "+5", "such as 1234.00"}, {"CAD", "5-", "such as 1234.00"},
		{"CAD", "$5", "such as 1234.00"}, {"CAD", "NaN", "such as 1234.00"}, {"CAD", "٣", "such as 1234.00"},
		{"CAD", "10000000000000.01", "at most 10000000000000.00 CAD"},
		{"CAD", strings.Repeat("9", 30), "too large"},
		{"CAD", strings.Repeat("9", 14), "too large"},
	} {
		got, err := mustCurrency(t, c.code).Parse(c.typed)
		if domain.KindOf(err) != domain.Invalid || !strings.Contains(err.Error(), c.right) {
			t.Errorf("%s %q: got %d, %v, want an Invalid error with %q", c.code, c.typed, got, err, c.right)
		}
	}
}

func TestText(t *testing.T) {
	for _, c := range []struct {
		code string
		a    Amount
		want string
	}{
		{"CAD", 41240, "412.40 CAD"}, {"CAD", -300, "-3.00 CAD"}, {"CAD", 0, "0.00 CAD"}, {"CAD", -5, "-0.05 CAD"},
		{"JPY", 120, "120 JPY"}, {"JPY", -7, "-7 JPY"}, {"KWD", 1, "0.001 KWD"},
		{"CAD", -1 << 63, "-92233720368547758.08 CAD"},
	} {
		if got := mustCurrency(t, c.code).Show(c.a); got != c.want {
			t.Errorf("got %s, want %s", got, c.want)
		}
	}
	if got := (Currency{"CAD", 2}).Decimal(-41240); !got.Equal(dec("-412.40")) {
		t.Errorf("got %s, want -412.40", got)
	}
}

// Whatever is typed, Parse gives an Invalid error or an amount within bounds that
// prints as text that Parse reads as the same amount.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"412.40", "-3", "0,5", "1,234.50", "1e9", "", "-", ".", strings.Repeat("9", 30), "٣.٥"} {
		f.Add(s, uint8(2))
	}
	f.Fuzz(func(t *testing.T, typed string, places uint8) {
		c := Currency{"XXX", int(places % 5)}
		a, err := c.Parse(typed)
		if err != nil {
			if domain.KindOf(err) != domain.Invalid || domain.TextOf(err) == "" {
				t.Fatalf("%q: got %v, want an Invalid error with a text", typed, err)
			}
			return
		}
		if a.Check() != nil {
			t.Fatalf("%q: got %d, beyond the largest amount", typed, a)
		}
		if again, err := c.Parse(c.Text(a)); err != nil || again != a {
			t.Fatalf("%q: printed as %q and read as %d, %v; want %d", typed, c.Text(a), again, err, a)
		}
	})
}
