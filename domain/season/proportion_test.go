package season

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// The limits of Newcombe's table and more digits of the same formula; the sources
// stand in testdata/proportions.csv, row by row.
func TestWilsonMeetsNewcombe(t *testing.T) {
	file, err := os.Open("testdata/proportions.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, r := range rows[1:] {
		low, high := Wilson(int(number(r[0])), int(number(r[1])))
		if math.Abs(low-number(r[2])) > 1e-8 || math.Abs(high-number(r[3])) > 1e-8 {
			t.Errorf("%s of %s: %.10f to %.10f, want %s to %s", r[0], r[1], low, high, r[2], r[3])
		}
		if r[6] != "" && (math.Abs(low-number(r[6])) > 5e-5 || math.Abs(high-number(r[7])) > 5e-5) {
			t.Errorf("%s of %s: %.4f to %.4f, published %s to %s", r[0], r[1], low, high, r[6], r[7])
		}
	}
	if len(rows) < 10 {
		t.Errorf("%d rows, want ten", len(rows))
	}
	if low, high := Wilson(0, 0); low != 0 || high != 1 {
		t.Errorf("without cases %v to %v, want 0 to 1", low, high)
	}
}
