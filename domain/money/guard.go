package money

import (
	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Combine says which of a guard's two limits counts when both are set.
type Combine string

// The ways to combine.
const (
	Greater Combine = "greater" // the greater rise is allowed
	Lesser  Combine = "lesser"  // only the lesser rise is allowed
)

// Guard is how far a bill may rise above its estimate without a new yes. The
// limits of consumer law differ from place to place: it is a setting, and the
// owner checks it. Both limits zero: no rise at all.
type Guard struct {
	Percent  decimal.Decimal `json:"percent"`           // of the estimate, 0 to 100, at most six decimal places
	Absolute Amount          `json:"absolute"`          // zero or more
	Combine  Combine         `json:"combine,omitempty"` // "" when at most one limit is set
}

// Validate returns an Invalid error that names every wrong field.
func (g Guard) Validate() error {
	f := domain.Fields{}
	checkPercent(f, "percent", g.Percent)
	if g.Absolute < 0 || g.Absolute > MaxAmount {
		f.Add("absolute", "must be zero or more")
	}
	switch {
	case g.Combine == "" && g.Absolute != 0 && !g.Percent.IsZero():
		f.Add("combine", "must say greater or lesser, because both limits are set")
	case g.Combine != "":
		domain.OneOf(f, "combine", g.Combine, []Combine{Greater, Lesser})
	}
	return f.Err()
}

// Ceiling returns the largest bill that the guard allows for an estimate, both
// without tax or both with it. The share is rounded down, because a ceiling must
// not be passed. With an empty Combine the limit that is set counts, and the
// lesser when both are. A guard that Validate refuses, or an estimate that is
// negative, allows no rise. The ceiling is never above MaxAmount.
//
// Source of the two ways to combine: Ohio Adm. Code 109:4-3-05 (the greater of
// 10 % and 5 dollars); Ontario Consumer Protection Act, 2002 s. 10 (10 %).
func Ceiling(estimate Amount, guard Guard) Amount {
	if estimate < 0 || estimate > MaxAmount || guard.Validate() != nil {
		return estimate
	}
	share := mulDiv(estimate, parts(guard.Percent), whole, Down)
	rise := max(share, guard.Absolute)
	if guard.Combine == Lesser {
		rise = min(share, guard.Absolute)
	}
	return min(estimate+rise, MaxAmount)
}
