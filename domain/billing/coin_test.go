package billing

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/money"
)

// The coins of the day stay with the payment, 1 where there is no step.
func TestAPaymentKeepsItsCoins(t *testing.T) {
	owed, over := Balance{Total: 5003, Due: 5003, CashDue: 5005}, Balance{Total: 100, Paid: 203, Due: -103, CashDue: -105}
	for _, c := range []struct {
		coin Coin
		want money.Amount
	}{{Coin{Step: 5, Mode: money.HalfUp}, 5}, {Coin{Step: 1}, 1}, {Coin{}, 1}} {
		owed.CashDue = c.coin.Round(owed.Due)
		p, err := Take(Payment{Tender: Cash, Amount: owed.CashDue}, owed, true, 0, c.coin)
		if err != nil || p.Coin != c.want {
			t.Errorf("coins of %d: took %+v, %v; want %d kept", c.coin.Step, p, err, c.want)
		}
		p, err = GiveBack(Payment{Tender: "card", Amount: 103}, over, c.coin)
		if err != nil || p.Coin != c.want {
			t.Errorf("coins of %d: gave back %+v, %v; want %d kept", c.coin.Step, p, err, c.want)
		}
	}
}

// Of 1.03 that was paid too much, in coins of 0.05 all goes back as 1.05, or 1.00 of
// it, and no 1.01.
func TestMoneyGoesBackInCoins(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	b := Balance{Total: 100, Paid: 203, Due: -103, CashDue: -105}
	for _, c := range []struct {
		tender                 Tender
		amount, back, rounding money.Amount // back is 0 when it is refused
	}{{Cash, 103, -105, 2}, {Cash, 105, -105, 2}, {Cash, 100, -100, 0}, {Cash, 101, 0, 0}, {"card", 101, -101, 0}} {
		p, err := GiveBack(Payment{Tender: c.tender, Amount: c.amount}, b, coin)
		if c.back == 0 {
			if domain.FieldsOf(err)["amount"] == "" {
				t.Errorf("%d by %s goes back as %+v, %v", c.amount, c.tender, p, err)
			}
			continue
		}
		if err != nil || p.Amount != c.back || p.Rounding != c.rounding {
			t.Errorf("%d by %s goes back as %+v, %v; want %d with %d of rounding", c.amount, c.tender, p, err, c.back, c.rounding)
		}
	}
}

// 10.02 is due, in cash 10.00: who pays just that leaves no cents behind to be kept.
func TestARoundedPaymentKeepsNoCents(t *testing.T) {
	coin := Coin{Step: 5, Mode: money.HalfUp}
	b := Balance{Total: 1002, Due: 1002, CashDue: 1000}
	p, err := Take(Payment{Tender: Cash, Amount: 1002, KeepOver: true}, b, true, 0, coin)
	if err != nil || p.Amount != 1000 || p.Rounding != 2 || p.Kept != 0 {
		t.Errorf("took %+v, %v; want 10.00 with 0.02 of rounding and nothing kept", p, err)
	}
}
