package money

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"winterbench/domain"

	"github.com/shopspring/decimal"
)

// Currency is a currency of ISO 4217. The zero Currency has no code and no
// decimals and is refused wherever a bill is summed.
type Currency struct {
	Code   string `json:"code"`   // three capital letters
	Digits int    `json:"digits"` // decimal places of the minor unit, 0 to 4
}

// CurrencyOf returns the currency with that code, or an Invalid error.
func CurrencyOf(code string) (Currency, error) {
	if d, ok := digits[code]; ok {
		return Currency{code, d}, nil
	}
	if _, ok := digits[strings.ToUpper(strings.TrimSpace(code))]; ok {
		return Currency{}, domain.Invalidf("%q is no currency code; write %q", code, strings.ToUpper(strings.TrimSpace(code)))
	}
	return Currency{}, domain.Invalidf("%q is no currency code of ISO 4217; write three capital letters such as CAD", clip(code))
}

// Currencies lists all currencies, by code.
func Currencies() []Currency {
	all := make([]Currency, 0, len(digits))
	for code, d := range digits {
		all = append(all, Currency{code, d})
	}
	slices.SortFunc(all, func(a, b Currency) int { return strings.Compare(a.Code, b.Code) })
	return all
}

// clip shortens what a person typed, for an error text.
func clip(s string) string {
	if r := []rune(s); len(r) > 24 {
		return string(r[:24]) + "..."
	}
	return s
}

// example is an amount as it would be right in this currency.
func (c Currency) example() string { return c.Text(Amount(1234 * c.unit())) }

// unit is one major unit in minor units.
func (c Currency) unit() int64 {
	u := int64(1)
	for range c.Digits {
		u *= 10
	}
	return u
}

// Parse reads an amount as a person types it, in major units: "412.40", "-3",
// "0,5". Spaces around it do not matter. The decimal sign is a point, or a comma
// that cannot be taken for a thousands separator.
//
// It returns an Invalid error that says what would be right for more decimal
// places than the currency has, separators of thousands, exponents, amounts
// beyond MaxAmount and everything that is no number. It never rounds.
func (c Currency) Parse(typed string) (Amount, error) {
	s := strings.TrimSpace(typed)
	whole, part, err := c.split(s)
	if err != nil {
		return 0, err
	}
	if len(part) > c.Digits {
		return 0, c.tooFine(s)
	}
	n := strings.TrimLeft(whole+part+strings.Repeat("0", c.Digits-len(part)), "0")
	if len(n) > 16 {
		return 0, c.tooLarge()
	}
	v, err := strconv.ParseInt("0"+n, 10, 64)
	if err != nil || Amount(v) > MaxAmount {
		return 0, c.tooLarge()
	}
	if strings.HasPrefix(s, "-") {
		v = -v
	}
	return Amount(v), nil
}

// split takes an amount apart into the digits before and behind the decimal sign.
func (c Currency) split(s string) (whole, part string, err error) {
	bare := strings.TrimPrefix(s, "-")
	if i := strings.IndexFunc(bare, func(r rune) bool { return !strings.ContainsRune("0123456789.,", r) }); i >= 0 {
		return "", "", c.strange(s)
	}
	if strings.Count(bare, ".")+strings.Count(bare, ",") > 1 {
		return "", "", domain.Invalidf("%q has more than one point or comma; write it without separators of thousands, such as %s", clip(s), c.example())
	}
	at := strings.IndexAny(bare, ".,")
	if at < 0 {
		at = len(bare)
	} else {
		part = bare[at+1:]
		if part == "" {
			return "", "", domain.Invalidf("%q ends with its decimal sign; write an amount such as %s", clip(s), c.example())
		}
		if bare[at] == ',' && len(part) == 3 {
			return "", "", domain.Invalidf("%q can be read in two ways; write %s%s or %s.%s", clip(s), clip(bare[:at]), part, clip(bare[:at]), part)
		}
	}
	if bare == "" {
		return "", "", domain.Invalidf("%q is no amount; write digits, such as %s", clip(s), c.example())
	}
	return bare[:at], part, nil
}

// strange says what is wrong with text that holds more than digits and a sign.
func (c Currency) strange(s string) error {
	switch {
	case strings.ContainsAny(s, "eE"):
		return domain.Invalidf("%q is no plain amount; write it without an exponent, such as %s", clip(s), c.example())
	case strings.ContainsAny(s, " '_\u00a0\u2009\u202f"):
		return domain.Invalidf("%q has separators of thousands; write the digits together, such as %s", clip(s), c.example())
	}
	return domain.Invalidf("%q is no amount; write digits with at most one decimal point, such as %s", clip(s), c.example())
}

func (c Currency) tooFine(s string) error {
	if c.Digits == 0 {
		return domain.Invalidf("%q has decimal places; %s has none, write whole numbers such as %s", clip(s), c.Code, c.example())
	}
	return domain.Invalidf("%q has too many decimal places; %s has %d, such as %s", clip(s), c.Code, c.Digits, c.example())
}

func (c Currency) tooLarge() error {
	return domain.Invalidf("the amount is too large; at most %s", c.Show(MaxAmount))
}

// Text prints an amount with all its decimal places and no symbol: "412.40",
// "-3.00", "0.00". Parse reads it back.
func (c Currency) Text(a Amount) string {
	n, sign := uint64(a), ""
	if a < 0 {
		n, sign = -n, "-"
	}
	if c.Digits == 0 {
		return sign + strconv.FormatUint(n, 10)
	}
	u := uint64(c.unit())
	return fmt.Sprintf("%s%d.%0*d", sign, n/u, c.Digits, n%u)
}

// Show is Text with the currency's code behind it: "412.40 CAD".
func (c Currency) Show(a Amount) string { return c.Text(a) + " " + c.Code }

// Decimal returns the amount in major units.
func (c Currency) Decimal(a Amount) decimal.Decimal { return decimal.New(int64(a), int32(-c.Digits)) }
