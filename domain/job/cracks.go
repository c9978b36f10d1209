package job

import (
	"github.com/shopspring/decimal"

	"winterbench/domain/wood"
)

// sameCrack reports whether two findings tell of one crack: the same place and
// nothing of where it runs that differs.
func sameCrack(a, b Finding) bool {
	return a.Place == b.Place && sameWord(a.Detail.Side, b.Detail.Side) && near(a.Detail.FromSeam, b.Detail.FromSeam)
}

func sameWord(a, b string) bool { return a == "" || b == "" || a == b }

// near reports whether two distances are within a millimetre, or one unknown.
func near(a, b wood.Measure) bool {
	return !a.Is() || !b.Is() || a.Value.Sub(b.Value).Abs().LessThanOrEqual(decimal.NewFromInt(1))
}

// WidthOf returns the width of a crack: its own, or that of the finding which
// tells the width of the same crack; not measured when nobody did.
func (s Survey) WidthOf(f Finding) wood.Measure {
	if f.Symptom == "crack width" {
		return f.Measure
	}
	if f.Detail.Width.Is() {
		return f.Detail.Width
	}
	for _, other := range s.Findings {
		if other.Symptom == "crack width" && other.Measure.Is() && sameCrack(f, other) {
			return other.Measure
		}
	}
	return wood.Measure{Known: wood.NotMeasured}
}

// TopCracks adds up the widths of the cracks in the top that run with the
// grain, in mm, and counts them. A crack that has a finding for its width and
// one for its length counts once; one without a width has no part in it.
func (s Survey) TopCracks() (total decimal.Decimal, count int) {
	for _, f := range s.Findings {
		if !f.onTop() || !f.WithGrain() {
			continue
		}
		width := f.Detail.Width
		switch {
		case f.Symptom == "crack width":
			width = f.Measure
		case s.hasWidth(f):
			continue
		}
		if width.Is() && width.Value.Sign() > 0 {
			total, count = total.Add(width.Value), count+1
		}
	}
	return total, count
}

// hasWidth reports whether another finding tells the width of the crack.
func (s Survey) hasWidth(f Finding) bool {
	for _, other := range s.Findings {
		if other.Symptom == "crack width" && other.Measure.Is() && sameCrack(f, other) {
			return true
		}
	}
	return false
}
