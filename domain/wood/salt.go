package wood

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strings"
)

// saltPoint is one row of salts.csv.
type saltPoint struct{ celsius, rh float64 }

//go:embed salts.csv
var saltsFile string

// salts holds the points of each salt by rising temperature; saltNames their order
// in the file.
var salts, saltNames = mustReadSalts(saltsFile)

// Salts lists the salts whose wet slurry holds the air of a closed box at a known
// humidity, the common one first.
func Salts() []string { return append([]string(nil), saltNames...) }

// SaltRH returns the relative humidity, in %, over a saturated solution of the
// salt in a closed box at celsius: the published point, or the straight line
// between two. False for an unknown salt and outside its points, 0 to 40 C and for
// some salts less. Names are read like those of woods: case does not matter.
//
// Purity, temperature swings and a box that leaks cost more than the figures'
// last digit: trust a slurry in a shop to about 1 to 2 %. Sources stand beside
// each row of salts.csv.
func SaltRH(salt string, celsius float64) (float64, bool) {
	points := salts[folded(salt)]
	for i, p := range points {
		switch {
		case celsius == p.celsius:
			return p.rh, true
		case celsius < p.celsius && i > 0:
			before := points[i-1]
			along := (celsius - before.celsius) / (p.celsius - before.celsius)
			return before.rh + along*(p.rh-before.rh), true
		case celsius < p.celsius:
			return 0, false
		}
	}
	return 0, false
}

// mustReadSalts reads salts.csv, a part of the program.
func mustReadSalts(file string) (map[string][]saltPoint, []string) {
	r := csv.NewReader(strings.NewReader(file))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(fmt.Sprintf("salts.csv: %v", err))
	}
	points := map[string][]saltPoint{}
	var names []string
	for _, row := range rows[1:] {
		key := folded(row[0])
		if points[key] == nil {
			names = append(names, row[0])
		}
		points[key] = append(points[key], saltPoint{mustNumber(row[0], row[1]), mustNumber(row[0], row[2])})
	}
	return points, names
}
