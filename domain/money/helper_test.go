package money

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/shopspring/decimal"
)

var dec = decimal.RequireFromString

// mustCurrency returns a currency of the list.
func mustCurrency(t testing.TB, code string) Currency {
	t.Helper()
	c, err := CurrencyOf(code)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// minor reads an amount of a test file, in major units with any number of places
// that fits the currency.
func minor(t testing.TB, c Currency, s string) Amount {
	t.Helper()
	d := dec(s).Shift(int32(c.Digits))
	if !d.IsInteger() {
		t.Fatalf("%s is finer than the minor unit of %s", s, c.Code)
	}
	return Amount(d.IntPart())
}

func readJSON(t testing.TB, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// readCSV returns the rows of a file, each by the names in its first row.
func readCSV(t testing.TB, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	rows := make([]map[string]string, 0, len(all)-1)
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, head := range all[0] {
			row[head] = r[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// mustSum sums a bill that is right.
func mustSum(t testing.TB, b Bill) Totals {
	t.Helper()
	got, err := Sum(b)
	if err != nil {
		t.Fatalf("Sum: %v", err)
	}
	return got
}

// same fails when an amount is not what it should be.
func same(t testing.TB, c Currency, what string, got, want Amount) {
	t.Helper()
	if got != want {
		t.Errorf("%s: got %s, want %s", what, c.Show(got), c.Show(want))
	}
}

// net returns a pointer to an amount, for Line.Net.
func net(a Amount) *Amount { return &a }
