package money

import (
	"strings"
	"testing"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Source: testdata/rounding.csv, 118 published or derived cases, each with its
// own source. Three of them round up, to the floor or to the ceiling, which no
// bill needs: those modes must be unknown. "nearest" rows have no tie, so every
// mode to the nearest must agree.
func TestRoundingCases(t *testing.T) {
	rows := readCSV(t, "rounding.csv")
	if len(rows) != 118 {
		t.Fatalf("got %d rows, want 118", len(rows))
	}
	unknown := 0
	for _, r := range rows {
		modes := []Mode{Mode(r["mode"])}
		switch r["mode"] {
		case "up", "floor", "ceiling":
			unknown++
			if modes[0].Valid() {
				t.Errorf("%s: mode %s is known", r["case_id"], modes[0])
			}
			continue
		case "none":
			modes = []Mode{HalfUp, Down}
		case "nearest":
			modes = []Mode{HalfUp, HalfDown, HalfEven}
		case "nearest on the cash part":
			mixedPayment(t, r)
			continue
		}
		for _, m := range modes {
			roundingCase(t, r, m)
		}
	}
	if unknown != 3 {
		t.Errorf("%d rows have a mode we do not offer, want 3", unknown)
	}
}

func roundingCase(t *testing.T, r map[string]string, m Mode) {
	t.Helper()
	in, step, want := dec(r["input"]), dec(r["increment"]), dec(r["expected"])
	if got := RoundTo(in, step, m); !got.Equal(want) {
		t.Errorf("%s: RoundTo(%s, %s, %s): got %s, want %s", r["case_id"], in, step, m, got, want)
	}
	if step.Coefficient().Int64() == 1 {
		if got := Round(in, -step.Exponent(), m); !got.Equal(want) {
			t.Errorf("%s: Round(%s, %d, %s): got %s, want %s", r["case_id"], in, -step.Exponent(), m, got, want)
		}
	}
	if cents := in.Shift(2); r["tender"] == "cash" && cents.IsInteger() {
		got := RoundStep(Amount(cents.IntPart()), Amount(step.Shift(2).IntPart()), m)
		if !decimal.New(int64(got), -2).Equal(want) {
			t.Errorf("%s: RoundStep: got %d, want %s", r["case_id"], got, want)
		}
	}
}

// mixedPayment reads "50.00 cash after 50.00 by card": only the balance left for
// cash is rounded.
func mixedPayment(t *testing.T, r map[string]string) {
	t.Helper()
	words := strings.Fields(r["expected"])
	b := Bill{Currency: Currency{"CAD", 2}, CashStep: 5, Deposit: minor(t, Currency{"CAD", 2}, words[3]),
		Lines: []Line{{Kind: Labour, Net: net(minor(t, Currency{"CAD", 2}, r["input"]))}}}
	got := mustSum(t, b)
	same(t, b.Currency, "cash after card", got.Due+got.CashDifference, minor(t, b.Currency, words[0]))
}

func TestMulRound(t *testing.T) {
	for _, c := range []struct {
		about  string
		a      Amount
		factor string
		mode   Mode
		want   Amount
	}{
		// Source: EN 16931 unit case of BR-CO-17, -6491.34 x 25 % = -1622.84.
		{"a half mirrors for a credit", -649134, "0.25", HalfUp, -162284},
		{"the half goes to the even neighbour", 10, "0.25", HalfEven, 2},
		{"the half goes down", 10, "0.25", HalfDown, 2},
		{"a part is dropped", 19, "0.1", Down, 1},
		{"a whole factor is exact", 7, "3e2", HalfUp, 2100},
		{"nothing stays nothing", 0, "12345.678", "", 0},
	} {
		got, err := MulRound(c.a, dec(c.factor), c.mode)
		if err != nil || got != c.want {
			t.Errorf("%s: got %d, %v, want %d", c.about, got, err, c.want)
		}
	}
}

func TestMulRoundRefuses(t *testing.T) {
	for _, c := range []struct {
		about  string
		a      Amount
		factor decimal.Decimal
		mode   Mode
	}{
		{"a result beyond the largest amount", MaxAmount, dec("1.1"), HalfUp},
		{"a result beyond 64 bits", MaxAmount, dec("1e12"), HalfUp},
		{"an amount beyond the largest", MaxAmount + 1, dec("1"), HalfUp},
		{"a factor with a huge exponent", 1, decimal.New(1, 9999), HalfUp},
		{"a factor with a tiny exponent", 1, decimal.New(1, -9999), HalfUp},
		{"an unknown mode", 1, dec("1"), "up"},
	} {
		if got, err := MulRound(c.a, c.factor, c.mode); domain.KindOf(err) != domain.Invalid {
			t.Errorf("%s: got %d, %v, want an Invalid error", c.about, got, err)
		}
	}
}

func TestRoundEdges(t *testing.T) {
	if got := Round(dec("1255"), -1, HalfUp); !got.Equal(dec("1260")) {
		t.Errorf("tens: got %s, want 1260", got)
	}
	if got := Round(dec("1.5"), 4, Down); !got.Equal(dec("1.5")) {
		t.Errorf("more places than there are: got %s, want 1.5", got)
	}
	if got := RoundTo(dec("1.23"), decimal.Decimal{}, HalfUp); !got.Equal(dec("1.23")) {
		t.Errorf("no step: got %s, want 1.23", got)
	}
	if got := RoundTo(dec("1.3e2"), dec("1e2"), HalfUp); !got.Equal(dec("100")) {
		t.Errorf("hundreds: got %s, want 100", got)
	}
	if got := RoundStep(123, 1, HalfUp); got != 123 {
		t.Errorf("a step of one cent: got %d, want 123", got)
	}
	defer func() {
		if recover() == nil {
			t.Error("an unknown mode did not panic")
		}
	}()
	Round(dec("0.5"), 0, "up")
}

func TestAmounts(t *testing.T) {
	if got := []Amount{Amount(-5).Abs(), Amount(5).Neg(), Amount(5).Abs()}; got[0] != 5 || got[1] != -5 || got[2] != 5 {
		t.Errorf("got %v, want 5, -5, 5", got)
	}
	if Amount(-3).Sign() != -1 || Amount(0).Sign() != 0 || Amount(9).Sign() != 1 {
		t.Error("signs are wrong")
	}
	if got, err := Add(1, 2, -4); got != -1 || err != nil {
		t.Errorf("got %d, %v, want -1", got, err)
	}
	for _, list := range [][]Amount{{MaxAmount, 1}, {-MaxAmount, -1}, {MaxAmount + 1, -5}, {-1 << 63}} {
		if got, err := Add(list...); domain.KindOf(err) != domain.Invalid {
			t.Errorf("Add(%v): got %d, %v, want an Invalid error", list, got, err)
		}
	}
}
