package store

import (
	"fmt"

	"github.com/shopspring/decimal"

	"winterbench/domain/wood"
)

// measureRow is a measure in four columns, whose names begin with its own.
type measureRow struct {
	Known string
	Typed string
	Value *string // plain digits; NULL unless measured
	Unit  string
}

// rowOfMeasure makes the columns of a measure. The zero Measure comes back as
// wood.NotMeasured, which says the same.
func rowOfMeasure(m wood.Measure) measureRow {
	r := measureRow{Known: string(m.Known), Typed: m.Typed, Unit: string(m.Unit)}
	if r.Known == "" {
		r.Known = string(wood.NotMeasured)
	}
	if m.Is() {
		digits := m.Value.String()
		r.Value = &digits
	}
	return r
}

func (r measureRow) measure() (wood.Measure, error) {
	m := wood.Measure{Known: wood.Known(r.Known), Typed: r.Typed, Unit: wood.Unit(r.Unit)}
	if r.Value == nil {
		return m, nil
	}
	var err error
	m.Value, err = readDecimal(*r.Value)
	return m, err
}

// measures sets each target to the measure of its columns.
func measures(pairs ...measurePair) error {
	for _, p := range pairs {
		m, err := p.from.measure()
		if err != nil {
			return err
		}
		*p.to = m
	}
	return nil
}

type measurePair struct {
	to   *wood.Measure
	from measureRow
}

// readDecimal reads plain digits that the program wrote.
func readDecimal(digits string) (decimal.Decimal, error) {
	d, err := decimal.NewFromString(digits)
	if err != nil {
		return d, fmt.Errorf("the database holds %q where a decimal belongs: %w", digits, err)
	}
	return d, nil
}
