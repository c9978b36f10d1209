package wood

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// row is one row of a file in testdata, by column. Its README names the sources.
type row map[string]string

// rows reads a file of testdata; it fails the test when there are none.
func rows(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) < 2 {
		t.Fatalf("%s: %d lines, %v", name, len(lines), err)
	}
	var out []row
	for _, l := range lines[1:] {
		r := row{}
		for i, column := range lines[0] {
			r[column] = l[i]
		}
		out = append(out, r)
	}
	return out
}

// num is a figure of the row.
func (r row) num(t *testing.T, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %s of %v: %v", column, r, err)
	}
	return v
}

// near reports whether got lies within tolerance of want; a NaN never does.
func near(got, want, tolerance float64) bool { return math.Abs(got-want) <= tolerance }
