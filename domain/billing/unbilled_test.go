package billing

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"
	"pgregory.net/rapid"
)

func causesSum(u Unbilled) int64 {
	sum := int64(0)
	for _, c := range u.Causes() {
		sum += c.Seconds
	}
	return sum
}

// Whatever the figures, the causes add up to clocked less billed, to the second.
func TestUnbilledCausesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seconds := rapid.Int64Range(0, 1_000_000)
		flag := rapid.Bool()
		s := Spent{
			Clocked: seconds.Draw(t, "clocked"), Counted: seconds.Draw(t, "counted"), Full: seconds.Draw(t, "full"),
			OnBill: flag.Draw(t, "on bill"), Agreed: flag.Draw(t, "agreed"), Free: flag.Draw(t, "free"), ByTime: flag.Draw(t, "by time"),
			Comeback: flag.Draw(t, "comeback"), Kept: flag.Draw(t, "kept"),
			Off: decimal.New(rapid.Int64Range(0, 100_000).Draw(t, "off"), -3), Cut: decimal.New(rapid.Int64Range(0, 10_000).Draw(t, "cut"), -4),
		}
		u := UnbilledOf(s)
		if got, want := causesSum(u), u.Clocked-u.Billed; got != want {
			t.Fatalf("%+v: the causes come to %d s, clocked less billed is %d", s, got, want)
		}
		if u.Billed < 0 || u.Billed > s.Full || u.Quicker > 0 {
			t.Fatalf("%+v is %+v", s, u)
		}
		twice := u.Plus(u)
		if causesSum(twice) != 2*causesSum(u) || twice.Clocked != 2*u.Clocked || twice.Billed != 2*u.Billed {
			t.Fatalf("twice %+v is %+v", u, twice)
		}
	})
}

func TestUnbilledByCause(t *testing.T) {
	pct := decimal.NewFromInt
	for name, c := range map[string]struct {
		s    Spent
		want Unbilled
	}{
		"a flat price that took longer": {Spent{Clocked: 3600, Counted: 3600, OnBill: true, Agreed: true, Full: 2400}, Unbilled{Clocked: 3600, Billed: 2400, Over: 1200}},
		"a flat price that was beaten":  {Spent{Clocked: 1800, Counted: 1800, OnBill: true, Agreed: true, Full: 2400}, Unbilled{Clocked: 1800, Billed: 2400, Quicker: -600}},
		"the clock rounded up":          {Spent{Clocked: 2500, Counted: 2500, OnBill: true, Agreed: true, ByTime: true, Full: 2700}, Unbilled{Clocked: 2500, Billed: 2700, Rounding: -200}},
		"ours":                          {Spent{Clocked: 1800, Counted: 1800, OnBill: true, Agreed: true, ByTime: true, Full: 1800, Off: pct(100), Comeback: true}, Unbilled{Clocked: 1800, Comeback: 1800}},
		"shared":                        {Spent{Clocked: 1800, Counted: 1800, OnBill: true, Agreed: true, ByTime: true, Full: 1800, Off: pct(50), Comeback: true}, Unbilled{Clocked: 1800, Billed: 900, Comeback: 900}},
		"a regular's ten percent":       {Spent{Clocked: 1800, Counted: 1800, OnBill: true, Agreed: true, ByTime: true, Full: 1800, Off: pct(10)}, Unbilled{Clocked: 1800, Billed: 1620, Discount: 180}},
		"kept to the limit":             {Spent{Clocked: 3600, Counted: 3600, OnBill: true, Agreed: true, ByTime: true, Full: 3600, Cut: decimal.RequireFromString("0.25"), Kept: true}, Unbilled{Clocked: 3600, Billed: 2700, Over: 900}},
		"goodwill":                      {Spent{Clocked: 3600, Counted: 3600, OnBill: true, Agreed: true, ByTime: true, Full: 3600, Cut: decimal.RequireFromString("0.25")}, Unbilled{Clocked: 3600, Billed: 2700, Discount: 900}},
		"a clock left on overnight":     {Spent{Clocked: 60000, Counted: 1800, OnBill: true, Agreed: true, ByTime: true, Full: 1800}, Unbilled{Clocked: 60000, Billed: 1800, Fixed: 58200}},
		"not agreed to":                 {Spent{Clocked: 900, Counted: 900}, Unbilled{Clocked: 900, Declined: 900}},
		"a look after the hand-over":    {Spent{Clocked: 900, Counted: 900, Agreed: true, Free: true}, Unbilled{Clocked: 900, Free: 900}},
		"handed over without a bill":    {Spent{Clocked: 900, Counted: 900, Agreed: true}, Unbilled{Clocked: 900, NoBill: 900}},
	} {
		if diff := cmp.Diff(c.want, UnbilledOf(c.s)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

func TestAKeptBillIsKnownByItsReason(t *testing.T) {
	for reason, want := range map[string]bool{"kept to the agreed limit": true, "a regular; kept to the agreed limit": true, "a regular": false, "": false} {
		if got := KeptToLimit(reason); got != want {
			t.Errorf("%q: got %v", reason, got)
		}
	}
}
