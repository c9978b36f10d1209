package billing

import (
	"fmt"
	"slices"

	"winterbench/domain"
	"winterbench/domain/money"
)

// AccountSum is what was posted to an account: before a stretch of days, and in it.
type AccountSum struct {
	Account       Account
	Before        money.Amount // debits less credits before the stretch
	Debit, Credit money.Amount // in it
}

// TrialBalance is the trial balance of a stretch of days.
type TrialBalance struct {
	From, To domain.Date
	Rows     []AccountSum // in the order of the chart; accounts that were never used are left out
}

// TrialBalanceOf puts the sums of the accounts in the order of the chart.
func TrialBalanceOf(sums []AccountSum, from, to domain.Date) TrialBalance {
	t := TrialBalance{From: from, To: to}
	for _, a := range Accounts() {
		for _, s := range sums {
			if s.Account == a {
				t.Rows = append(t.Rows, s)
			}
		}
	}
	return t
}

// Opening and Closing are the balances on the account's own side before and after.
func (s AccountSum) Opening() money.Amount { return s.Account.onSide(s.Before) }

// Closing is the balance on the account's own side at the end.
func (s AccountSum) Closing() money.Amount { return s.Account.onSide(s.Before + s.Debit - s.Credit) }

// onSide turns debits less credits to the account's own side.
func (a Account) onSide(debits money.Amount) money.Amount {
	return a.signed(Posting{Debit: debits})
}

// Off is by how much debits and credits differ, in the stretch and before it: 0 in a
// journal that is whole.
func (t TrialBalance) Off() (before, within money.Amount) {
	for _, r := range t.Rows {
		before, within = before+r.Before, within+r.Debit-r.Credit
	}
	return before, within
}

// Closing is the balance of an account at the end, 0 for one that was never used.
func (t TrialBalance) Closing(a Account) money.Amount {
	for _, r := range t.Rows {
		if r.Account == a {
			return r.Closing()
		}
	}
	return 0
}

// Class adds up what a class grew by in the stretch.
func (t TrialBalance) Class(c Class) (grew money.Amount) {
	for _, r := range t.Rows {
		if r.Account.Class() == c {
			grew += r.Account.onSide(r.Debit - r.Credit)
		}
	}
	return grew
}

// mayTurn are the accounts that may stand on the other side: those that take away
// from their class, those that hold gains and losses, and the bank.
var mayTurn = []Account{LossAllowance, SalesDiscounts, CashRounding, CountDifference, Bank, InputTax, OutputTax, CostOfParts, StockWriteDown}

// Negative lists the accounts that stand below zero at the end and never should: cash
// that was paid out and never taken, deposits given back twice, parts used that were
// never received.
func (t TrialBalance) Negative() (out []AccountSum) {
	for _, r := range t.Rows {
		if r.Closing() < 0 && !slices.Contains(mayTurn, r.Account) {
			out = append(out, r)
		}
	}
	return out
}

var trialColumns = []Column{
	{Name: "class", Head: "Class", Meaning: "asset, liability, income or expense"},
	{Name: "account", Head: "Account", Meaning: "the account's name"},
	{Name: "opening", Head: "Before", Meaning: "balance before the first day, above zero on the account's own side", Money: true},
	{Name: "debit", Head: "Debit", Meaning: "sum of the debits in the period", Money: true},
	{Name: "credit", Head: "Credit", Meaning: "sum of the credits in the period", Money: true},
	{Name: "closing", Head: "After", Meaning: "balance after the last day, above zero on the account's own side", Money: true},
}

// Table is the trial balance as a report. Only debits and credits are added up: the
// balances stand on two sides.
func (t TrialBalance) Table() Table {
	out := Table{Name: "trial-balance", Title: "Trial balance", Columns: trialColumns, Total: make([]Cell, len(trialColumns))}
	for _, r := range t.Rows {
		upTo := Lines{To: t.From.AddDays(-1), Accounts: []Account{r.Account}}
		debits := Lines{From: t.From, To: t.To, Accounts: []Account{r.Account}, Sum: DebitsOnly}
		credits := debits
		credits.Sum = CreditsOnly
		until := Lines{To: t.To, Accounts: []Account{r.Account}}
		out.Rows = append(out.Rows, Row{Cells: []Cell{
			text(string(r.Account.Class())), text(string(r.Account)),
			sum(r.Opening(), upTo), sum(r.Debit, debits), sum(r.Credit, credits), sum(r.Closing(), until),
		}})
		out.Total[3].Amount += r.Debit
		out.Total[4].Amount += r.Credit
	}
	out.Total[0].Text, out.Total[2].Blank, out.Total[5].Blank = "All", true, true
	out.Answer = "Debits and credits are equal."
	if before, within := t.Off(); before != 0 || within != 0 {
		out.Answer = fmt.Sprintf("The journal is off by %d in the smallest unit: look into it before anything else.", before+within)
	}
	return out
}
