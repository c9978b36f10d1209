package customer

import (
	"math/big"
	"strconv"
	"strings"

	"winterbench/domain"
)

// Electronic is what an electronic invoice says of a customer besides name and address.
type Electronic struct {
	Country   string `json:"country"`    // two letters of ISO 3166-1
	TaxNumber string `json:"tax_number"` // with the letters of its country
	BuyerRef  string `json:"buyer_ref"`  // what the customer asks to be named
	Address   string `json:"address"`    // electronic
	Scheme    string `json:"scheme"`     // of the address, four digits
}

// check trims the fields and notes each wrong one.
func (e *Electronic) check(f domain.Fields) {
	e.Country = CheckCountry(f, "country", e.Country)
	e.TaxNumber = CheckTaxNumber(f, "tax_number", e.TaxNumber)
	e.BuyerRef = domain.Line(f, "buyer_ref", e.BuyerRef, 80, false)
	e.Address, e.Scheme = CheckAddress(f, "address", e.Address, "scheme", e.Scheme)
	if e.Country == "" && *e != (Electronic{}) {
		f.Add("country", "is needed for an electronic invoice: two letters, such as AT")
	}
}

// CheckCountry returns the two letters of a country as capitals; "" stays.
func CheckCountry(f domain.Fields, field, typed string) string {
	code := strings.ToUpper(domain.Line(f, field, typed, 20, false))
	if code != "" && (len(code) != 2 || strings.Trim(code, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "") {
		f.Add(field, "must be the two letters of a country (ISO 3166-1), such as AT")
	}
	return code
}

// CheckTaxNumber returns a tax number without spaces; "" stays. It begins with the
// letters of its country, as rule BR-CO-09 of EN 16931 asks.
func CheckTaxNumber(f domain.Fields, field, typed string) string {
	number := strings.ToUpper(strings.ReplaceAll(domain.Line(f, field, typed, 40, false), " ", ""))
	if number == "" {
		return ""
	}
	if len(number) < 4 || number[0] < 'A' || number[0] > 'Z' || number[1] < 'A' || number[1] > 'Z' {
		f.Add(field, "must begin with the two letters of its country, such as ATU12345678")
	}
	return number
}

// CheckAddress returns an electronic address and its scheme, which come together.
func CheckAddress(f domain.Fields, field, typed, schemeField, scheme string) (string, string) {
	address, code := domain.Line(f, field, typed, 120, false), domain.Line(f, schemeField, scheme, 20, false)
	digits := len(code) == 4 && strings.Trim(code, "0123456789") == ""
	switch {
	case address == "" && code != "":
		f.Add(field, "is needed with a scheme")
	case address != "" && code == "":
		f.Add(schemeField, "is needed with an electronic address: four digits")
	case code != "" && !digits:
		f.Add(schemeField, "must be four digits of the list of electronic address schemes")
	}
	return address, code
}

// CheckIBAN returns an account number without spaces; "" stays.
//
// Source: check digits after ISO 13616 and ISO/IEC 7064, MOD 97-10: the first four
// signs go to the end, letters count from A = 10, and the remainder by 97 is 1.
func CheckIBAN(f domain.Fields, field, typed string) string {
	iban := strings.ToUpper(strings.ReplaceAll(domain.Line(f, field, typed, 60, false), " ", ""))
	if iban == "" {
		return ""
	}
	if len(iban) < 15 || len(iban) > 34 {
		f.Add(field, "must be an account number of 15 to 34 letters and digits (IBAN)")
		return iban
	}
	var digits strings.Builder
	for _, c := range iban[4:] + iban[:4] {
		switch {
		case c >= '0' && c <= '9':
			digits.WriteRune(c)
		case c >= 'A' && c <= 'Z':
			digits.WriteString(strconv.Itoa(int(c-'A') + 10))
		default:
			f.Add(field, "must be letters and digits (IBAN)")
			return iban
		}
	}
	n, _ := new(big.Int).SetString(digits.String(), 10)
	if n.Mod(n, big.NewInt(97)).Int64() != 1 {
		f.Add(field, "is no account number (IBAN): its check digits do not fit; look for a slip")
	}
	return iban
}
