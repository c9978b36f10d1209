package money

import "strings"

// digits holds the decimal places of each currency in use, by code.
//
// Source: ISO 4217, list of current codes, in the copy datasets/currency-codes
// commit 051762c4, which is old. What has changed since is from memory and not
// verified: BYN, MRU, SLE, STN, VED, VES, XCG, ZMW and ZWG came for older codes,
// BGN, HRK, LTL and LVL went into EUR, CUC was withdrawn, UGX has no decimals
// (the old copy says 2). Funds codes, metals and test codes are left out: nobody
// pays a shop in them.
var digits = byCode()

// byDigits lists the codes by their number of decimal places.
var byDigits = map[int]string{
	0: `BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF`,
	2: `AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD
		CAD CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS
		GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP
		LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK
		NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS
		SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST
		XCD XCG YER ZAR ZMW ZWG`,
	3: `BHD IQD JOD KWD LYD OMR TND`,
}

func byCode() map[string]int {
	m := map[string]int{}
	for d, codes := range byDigits {
		for code := range strings.FieldsSeq(codes) {
			m[code] = d
		}
	}
	return m
}
