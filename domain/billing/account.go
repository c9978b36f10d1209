package billing

import (
	"slices"

	"winterbench/domain/money"
)

// Class is the kind of an account.
type Class string

// The classes. Assets and expenses grow by debits, the others by credits.
const (
	Asset     Class = "asset"
	Liability Class = "liability"
	Income    Class = "income"
	Expense   Class = "expense"
)

// Account is where an amount stands in the journal. The names are those of the
// international standards IAS 2, IFRS 9, IFRS 15 and IAS 37, or plain trade words.
type Account string

// The accounts that the shop's events use.
const (
	CashBox        Account = "cash"
	Bank           Account = "bank"
	CardClearing   Account = "card clearing" // taken by card or phone, not settled yet
	Receivables    Account = "trade receivables"
	LossAllowance  Account = "loss allowance" // takes away from receivables
	PartsStock     Account = "inventories: parts"
	SuppliesStock  Account = "inventories: consumables"
	WorkInProgress Account = "contract fulfilment costs" // parts in jobs that are not invoiced
	InputTax       Account = "input tax recoverable"

	CustomerDeposits  Account = "contract liability: customer deposits"
	StoreCredit       Account = "contract liability: store credit"
	OutputTax         Account = "output tax payable"
	Payables          Account = "trade payables"
	NotInvoiced       Account = "goods received not invoiced"
	WarrantyProvision Account = "warranty provision"
	TipsHeld          Account = "tips held for staff"

	LabourRevenue     Account = "labour revenue"
	PartsRevenue      Account = "parts revenue"
	SuppliesRevenue   Account = "shop supplies revenue"
	GoodsRevenue      Account = "goods revenue"
	StorageRevenue    Account = "storage revenue"
	SurchargeRevenue  Account = "surcharge revenue"
	FeeRevenue        Account = "fee revenue"
	LateChargeRevenue Account = "late-payment charges"
	ForfeitedDeposits Account = "forfeited deposits"
	SalesDiscounts    Account = "sales discounts" // takes away from revenue
	CashRounding      Account = "cash rounding"   // gains and losses in one account

	CostOfParts     Account = "cost of sales: parts"
	SuppliesUsed    Account = "shop supplies"
	PaymentFees     Account = "payment fees"
	BadDebts        Account = "impairment loss on trade receivables"
	ScrapLoss       Account = "inventory loss: scrap"
	CountDifference Account = "inventory loss: stock-take difference"
	StockWriteDown  Account = "write-down of inventories"
	WarrantyCost    Account = "warranty and comeback cost"
)

// chart lists the accounts of each class in the order of a report.
var chart = []struct {
	class    Class
	accounts []Account
}{
	{Asset, []Account{CashBox, Bank, CardClearing, Receivables, LossAllowance, PartsStock, SuppliesStock, WorkInProgress, InputTax}},
	{Liability, []Account{CustomerDeposits, StoreCredit, OutputTax, Payables, NotInvoiced, WarrantyProvision, TipsHeld}},
	{Income, []Account{LabourRevenue, PartsRevenue, SuppliesRevenue, GoodsRevenue, StorageRevenue, SurchargeRevenue, FeeRevenue, LateChargeRevenue, ForfeitedDeposits, SalesDiscounts, CashRounding}},
	{Expense, []Account{CostOfParts, SuppliesUsed, PaymentFees, BadDebts, ScrapLoss, CountDifference, StockWriteDown, WarrantyCost}},
}

// Accounts lists all accounts in the order of a report.
func Accounts() []Account {
	var out []Account
	for _, c := range chart {
		out = append(out, c.accounts...)
	}
	return out
}

// Class returns the class of a known account, "" for another.
func (a Account) Class() Class {
	for _, c := range chart {
		if slices.Contains(c.accounts, a) {
			return c.class
		}
	}
	return ""
}

// revenue is the account of what a kind of line earns.
var revenue = map[money.LineKind]Account{
	money.Labour: LabourRevenue, money.Part: PartsRevenue, money.ShopSupplies: SuppliesRevenue, money.RetailGoods: GoodsRevenue,
	money.Storage: StorageRevenue, money.Surcharge: SurchargeRevenue, money.Fee: FeeRevenue, money.LateCharge: LateChargeRevenue,
}

// Where returns the account that a tender goes to.
func (t Tender) Where() Account {
	switch t {
	case Cash:
		return CashBox
	case "card", "mobile pay":
		return CardClearing
	case FromCredit:
		return StoreCredit
	}
	return Bank
}
