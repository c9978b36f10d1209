package demo

import (
	_ "embed" // for the month table
	"fmt"
	"strconv"
)

//go:embed data/months.csv
var monthsFile string

// kinds of work, as the columns of months.csv after the third.
var kinds = []string{"crack", "bridge", "binding", "brace", "ends", "setup", "frets", "saddle", "action", "heel", "finish"}

// month is what a calendar month brings.
type month struct {
	number   int
	arrivals float64 // in the whole month
	openDays float64 // the usual number
	caseRH   float64 // air in the cases, % RH
	weights  []int   // of kinds
}

func monthTable() ([]month, error) {
	var out []month
	for _, row := range rowsOf(monthsFile, ";") {
		if len(row) != 3+len(kinds) {
			return nil, fmt.Errorf("demo: months.csv: a row has %d fields, want %d", len(row), 3+len(kinds))
		}
		n := make([]int, len(row))
		for i, field := range row {
			v, err := strconv.Atoi(field)
			if err != nil {
				return nil, fmt.Errorf("demo: months.csv: %q is no whole number", field)
			}
			n[i] = v
		}
		out = append(out, month{number: n[0], arrivals: float64(n[1]), openDays: 21.5, caseRH: float64(n[2]), weights: n[3:]})
	}
	if len(out) != 12 {
		return nil, fmt.Errorf("demo: months.csv has %d months, want 12", len(out))
	}
	return out, nil
}

// month is the table's row for the present moment.
func (s *sim) month() month { return s.months[s.now.In(s.cal.zone).Month()-1] }

// kindFor draws the kind of work of an arrival.
func (s *sim) kindFor(m month) string {
	sum := 0
	for _, w := range m.weights {
		sum += w
	}
	n := s.r.IntN(sum)
	for i, w := range m.weights {
		if n -= w; n < 0 {
			return kinds[i]
		}
	}
	return kinds[0]
}
