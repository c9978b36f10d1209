package billing

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"winterbench/domain/money"
)

// Margin is what a month earned and what that cost in parts.
type Margin struct {
	Month    string
	Labour   money.Amount // revenue of labour
	Parts    money.Amount // revenue of parts, supplies and goods
	Other    money.Amount // other income: fees, storage, deposits kept, less discounts, cash rounding
	Cost     money.Amount // cost of sales: parts, and supplies used
	Warranty money.Amount
	Losses   money.Amount // scrap, count differences, write-downs, debts, payment fees
}

// Left is what is left of the income after all cost that the journal knows.
func (m Margin) Left() money.Amount {
	return m.Labour + m.Parts + m.Other - m.Cost - m.Warranty - m.Losses
}

// Percent is what is left of each 100 of income, "" without income.
func (m Margin) Percent() string {
	income := m.Labour + m.Parts + m.Other
	if income <= 0 {
		return ""
	}
	return strconv.FormatFloat(100*float64(m.Left())/float64(income), 'f', 1, 64)
}

// marginOf are the accounts of each column, in the order of the columns of money.
var marginOf = [][]Account{
	{LabourRevenue},
	{PartsRevenue, SuppliesRevenue, GoodsRevenue},
	{StorageRevenue, SurchargeRevenue, FeeRevenue, LateChargeRevenue, ForfeitedDeposits, SalesDiscounts, CashRounding},
	{CostOfParts, SuppliesUsed},
	{WarrantyCost},
	{PaymentFees, BadDebts, ScrapLoss, CountDifference, StockWriteDown},
}

func (m *Margin) columns() []*money.Amount {
	return []*money.Amount{&m.Labour, &m.Parts, &m.Other, &m.Cost, &m.Warranty, &m.Losses}
}

// Margins adds income and expense up by month.
func Margins(sums []MonthSum) []Margin {
	var out []Margin
	for _, s := range sums {
		column := slices.IndexFunc(marginOf, func(accounts []Account) bool { return slices.Contains(accounts, s.Account) })
		if column < 0 {
			continue
		}
		i := slices.IndexFunc(out, func(m Margin) bool { return m.Month == s.Month })
		if i < 0 {
			i = len(out)
			out = append(out, Margin{Month: s.Month})
		}
		*out[i].columns()[column] += s.side()
	}
	slices.SortFunc(out, func(a, b Margin) int { return cmp.Compare(a.Month, b.Month) })
	return out
}

var marginColumns = []Column{
	{Name: "month", Head: "Month", Meaning: "the month of the entries: 2026-11"},
	{Name: "labour", Head: "Labour", Meaning: "revenue of labour, without tax and after discounts", Money: true},
	{Name: "parts", Head: "Parts and goods", Meaning: "revenue of parts, shop supplies and goods", Money: true},
	{Name: "other", Head: "Other income", Meaning: "fees, storage, surcharges, late-payment charges, deposits kept, cash rounding, less discounts for early payment", Money: true},
	{Name: "cost", Head: "Cost of sales", Meaning: "parts in invoiced jobs and sold, and shop supplies, at cost", Money: true},
	{Name: "warranty", Head: "Warranty", Meaning: "parts for work that came back and was not charged", Money: true},
	{Name: "losses", Head: "Losses", Meaning: "scrap, count differences, write-downs, debts written off, payment fees", Money: true},
	{Name: "left", Head: "Left", Meaning: "income less all of these", Money: true},
	{Name: "percent", Head: "Per cent", Meaning: "what is left of each 100 of income; empty without income"},
}

// MarginTable is the margin by month.
func MarginTable(rows []Margin) Table {
	out := Table{Name: "margin", Title: "Margin by month", Columns: marginColumns}
	var every []Account
	for _, a := range marginOf {
		every = append(every, a...)
	}
	var all Margin
	for _, r := range rows {
		first, last := MonthDays(r.Month)
		cells := []Cell{text(r.Month)}
		for i, a := range r.columns() {
			cells = append(cells, sum(*a, Lines{From: first, To: last, Accounts: marginOf[i]}))
			*all.columns()[i] += *a
		}
		cells = append(cells, sum(r.Left(), Lines{From: first, To: last, Accounts: every, Sum: Credits}), text(r.Percent()))
		out.Rows = append(out.Rows, Row{Cells: cells})
	}
	out.Total = total("All", marginColumns, out.Rows)
	out.Total[len(out.Total)-1].Text = all.Percent()
	out.Answer = fmt.Sprintf("%d months.", len(rows))
	out.Notes = []string{"Wages, rent and other cost of the house are not in this journal: this is no profit."}
	return out
}
