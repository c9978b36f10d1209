package billing

import (
	"strings"

	"github.com/shopspring/decimal"
)

// Spent is what was clocked on one task of a job that was handed over, and how it was
// billed. All times are seconds of a person's work.
type Spent struct {
	Clocked  int64           // as the clock ran, slips among it
	Counted  int64           // after slips were put right
	OnBill   bool            // the task has a line on the invoice
	Agreed   bool            // the customer said yes to the task
	Free     bool            // it is never billed, as a check after hand-over
	ByTime   bool            // the line is billed by the clock
	Full     int64           // on the bill before anything is taken off: its minutes, or its price at the quoted hourly rate
	Off      decimal.Decimal // taken off the line, percent
	Comeback bool            // Off is the share of work that came back, not a discount
	Cut      decimal.Decimal // share of the whole bill that was taken off, 0 to 1
	Kept     bool            // Cut kept the bill to what was agreed, not a discount
}

// Unbilled tells where clocked time went that was not billed, in seconds: Clocked
// less Billed is the sum of the causes. A cause below 0 was billed without being
// clocked, as when a flat price was beaten.
type Unbilled struct {
	Clocked int64 // as the clock ran
	Billed  int64 // what the bill pays for, at the quoted hourly rate

	Over     int64 // above what was agreed
	Quicker  int64 // below what was agreed on a set price; never above 0
	Comeback int64 // free or cheaper because it came back
	Fixed    int64 // a clock that was put right
	Rounding int64 // the clock rounded to what is billed; below 0 when rounded up
	Declined int64 // work the customer did not say yes to
	Discount int64 // taken off for another reason
	Free     int64 // work that is never billed
	NoBill   int64 // agreed work that stands on no bill
}

// UnbilledOf tells where the clocked time of one task went. It is pure, and its causes
// add up to clocked less billed for any figures.
func UnbilledOf(s Spent) Unbilled {
	u := Unbilled{Clocked: s.Clocked, Fixed: s.Clocked - s.Counted}
	if !s.OnBill {
		switch {
		case s.Free:
			u.Free = s.Counted
		case !s.Agreed:
			u.Declined = s.Counted
		default:
			u.NoBill = s.Counted
		}
		return u
	}
	switch beyond := s.Counted - s.Full; {
	case s.ByTime:
		u.Rounding = beyond
	case beyond > 0:
		u.Over = beyond
	default:
		u.Quicker = beyond
	}
	line := less(s.Full, s.Off.Shift(-2))
	if s.Comeback {
		u.Comeback = s.Full - line
	} else {
		u.Discount = s.Full - line
	}
	u.Billed = less(line, s.Cut)
	if s.Kept {
		u.Over += line - u.Billed
	} else {
		u.Discount += line - u.Billed
	}
	return u
}

// less takes a share off, rounded half up to a second.
func less(seconds int64, share decimal.Decimal) int64 {
	return decimal.NewFromInt(seconds).Mul(decimal.NewFromInt(1).Sub(share)).Round(0).IntPart()
}

// Plus adds two accounts, cause by cause.
func (u Unbilled) Plus(v Unbilled) Unbilled {
	return Unbilled{
		Clocked: u.Clocked + v.Clocked, Billed: u.Billed + v.Billed,
		Over: u.Over + v.Over, Quicker: u.Quicker + v.Quicker, Comeback: u.Comeback + v.Comeback, Fixed: u.Fixed + v.Fixed, Rounding: u.Rounding + v.Rounding,
		Declined: u.Declined + v.Declined, Discount: u.Discount + v.Discount, Free: u.Free + v.Free, NoBill: u.NoBill + v.NoBill,
	}
}

// Cause is one reason with its seconds.
type Cause struct {
	Key     string // of lists, such as over_agreed
	Name    string
	Seconds int64
}

// Causes lists every cause in the order in which they are shown.
func (u Unbilled) Causes() []Cause {
	return []Cause{
		{"over_agreed", "above what was agreed", u.Over}, {"quicker", "quicker than agreed", u.Quicker}, {"comeback", "came back", u.Comeback},
		{"declined", "not agreed to", u.Declined}, {"corrections", "clock put right", u.Fixed}, {"rounding", "rounding", u.Rounding},
		{"discount", "discounts", u.Discount}, {"free", "free of charge", u.Free}, {"no_bill", "on no bill", u.NoBill},
	}
}

// keptToLimit is what an invoice says when it was kept to what was agreed.
const keptToLimit = "kept to the agreed limit"

// KeptToLimit reports whether the reason of a discount says that the bill was kept to
// what was agreed.
func KeptToLimit(reason string) bool { return strings.HasSuffix(reason, keptToLimit) }
