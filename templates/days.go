package templates

import "github.com/shopspring/decimal"

// Days is a figure in elapsed days: good luck, the usual, bad luck. Weekends
// and nights count. None is negative and Low <= Typical <= High.
type Days struct {
	Low     decimal.Decimal `json:"low"`
	Typical decimal.Decimal `json:"typical"`
	High    decimal.Decimal `json:"high"`
}

// Plus returns the sum, figure by figure.
func (d Days) Plus(e Days) Days {
	return Days{d.Low.Add(e.Low), d.Typical.Add(e.Typical), d.High.Add(e.High)}
}

// IsZero reports whether there is nothing to wait for.
func (d Days) IsZero() bool { return d.High.IsZero() }

// Days returns the days that the item waits before hand-over, see [Template.WaitDays].
func (it Item) Days() Days {
	low, typical, high := it.waitDays()
	return Days{low, typical, high}
}

// Window is [WindowDays] as one value.
func Window(items []Item) Days {
	low, typical, high := WindowDays(items)
	return Days{low, typical, high}
}

// IsHold reports whether the task is the rehumidify hold itself.
func (t Template) IsHold() bool { return t.Phase == PhaseHold }
