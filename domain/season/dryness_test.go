package season

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"winterbench/domain/wood"
)

// Source: testdata/indoor_rh.csv, computed apart with the Magnus formula: outdoor air
// heated with no moisture added is what the dryness of a winter comes from.
func TestIndoorAirOfAWinter(t *testing.T) {
	file, err := os.Open("testdata/indoor_rh.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) < 10 {
		t.Fatalf("got %d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		var v [7]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		if v[6] > 100 { // colder inside than out: the program stops at 100
			continue
		}
		rh := wood.HeatedIndoor(v[0], v[1], v[2])
		near(t, "indoor humidity at "+row[0]+" C", rh, v[6], 0.1)
		near(t, "dryness", Dryness(rh), max(0, 45-v[6])/10, 0.01)
	}
}
