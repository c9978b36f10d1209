package money

import (
	"slices"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// caution stands beside every sample.
const caution = "A sample to start from, not tax advice. Check every rate, its dates, the kinds of lines it is on and your registration number against the tax office of your place before you bill with it."

// SampleProfiles returns the profiles offered when a shop is first set up, the
// one without tax last. Each carries a caution: rates must be checked by the
// owner. The shop sets its own currency and registration numbers.
//
// Source: the samples of testdata/tax_profile.json, whose rates were read in
// stored copies of the tax offices' pages, none on a live page. The split by kind
// of line is derived there. Surcharges are not in the source; they are treated
// like fees. From memory, unverified, by that source: New Zealand's rate and the
// first days of most rates. Invented by that source: the second US rate.
func SampleProfiles() []Profile {
	return []Profile{
		canadian("CA-ON: HST", component("HST", services(), rate("2010-07-01", "", "13"))),
		canadian("CA-NS: HST", component("HST", services(),
			rate("2010-07-01", "2025-03-31", "15"), rate("2025-04-01", "", "14"))),
		canadian("CA-BC: GST and PST",
			component("GST", services(), rate("2008-01-01", "", "5")),
			component("PST", []LineKind{Labour, Part, RetailGoods}, rate("2013-04-01", "", "7"))),
		canadian("CA-QC: GST and QST",
			component("GST", services(), rate("2008-01-01", "", "5")),
			component("QST", services(), rate("2013-01-01", "", "9.975"))),
		american("US: parts taxed, labour not",
			component("Sales tax", []LineKind{Part, RetailGoods}, rate("2020-01-01", "", "6.25"))),
		american("US: labour and parts taxed",
			component("Sales tax", []LineKind{Labour, Part, ShopSupplies, RetailGoods, Surcharge, Fee}, rate("2020-01-01", "", "8.5"))),
		british(),
		newZealand(),
		sample("No tax", "CAD"),
	}
}

// services is every kind but the charge for paying late.
// Source: Revenu Quebec, Charges for the late payment of a bill.
func services() []LineKind {
	return slices.DeleteFunc(LineKinds(), func(k LineKind) bool { return k == LateCharge })
}

func sample(name, currency string, components ...Component) Profile {
	return Profile{
		Name:       name,
		Caution:    caution,
		Currency:   currency,
		Rounding:   Rounding{HalfUp, ByDocument},
		Components: slices.Concat([]Component{}, components),
		DepositTax: OnApplication,
		CashMode:   HalfUp,
	}
}

// Source of the cash step: CRA info sheet GI-131. Source of the deposit rule:
// Excise Tax Act s. 168(9).
func canadian(name string, components ...Component) Profile {
	p := sample(name, "CAD", components...)
	p.CashStep = 5
	return p
}

// Cash is not rounded: states and shops differ since the one-cent coin ended.
func american(name string, components ...Component) Profile {
	return sample(name, "USD", components...)
}

// Source of the deposit rule: HMRC VAT guide para 14.2.3.
func british() Profile {
	p := sample("GB: VAT, prices with tax", "GBP", component("VAT", LineKinds(), rate("2011-01-04", "", "20")))
	p.PricesIncludeTax, p.DepositTax = true, OnReceipt
	return p
}

// Source of half down: Goods and Services Tax Act 1985 (NZ) s. 19O; of the cash
// step: the recommendation of the retailers, with Reserve Bank material.
func newZealand() Profile {
	p := sample("NZ: GST, prices with tax", "NZD", component("GST", LineKinds(), rate("2010-10-01", "", "15")))
	p.PricesIncludeTax = true
	p.Rounding.Mode = HalfDown
	p.CashStep, p.CashMode = 10, HalfDown
	return p
}

func component(name string, on []LineKind, rates ...Rate) Component {
	return Component{Name: name, On: on, Rates: rates}
}

func rate(from, to domain.Date, percent string) Rate {
	return Rate{From: from, To: to, Percent: decimal.RequireFromString(percent)}
}
