package invoices

import (
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/templates"
)

const dayForm = "Mon 2 Jan 2006"

// day writes a moment as the shop's civil day, with its year. The zero time is
// "no date".
func (s *sheet) day(t time.Time) string {
	if t.IsZero() {
		return "no date"
	}
	return t.In(s.shop.Location()).Format(dayForm)
}

// dayHour adds the time of day.
func (s *sheet) dayHour(t time.Time) string {
	if t.IsZero() {
		return "no date"
	}
	return t.In(s.shop.Location()).Format(dayForm + ", 15:04")
}

// civil writes a date with its year; what is no date is printed as it is.
func civil(d domain.Date) string {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return string(d)
	}
	return t.Format(dayForm)
}

// amount writes an amount without its currency, with the true minus.
func amount(c money.Currency, a money.Amount) string { return trueMinus(c.Text(a)) }

// show writes an amount with its currency.
func show(c money.Currency, a money.Amount) string { return trueMinus(c.Show(a)) }

func trueMinus(s string) string { return strings.ReplaceAll(s, "-", "−") }

// price writes a price per piece with at least the currency's decimal places.
func price(c money.Currency, d decimal.Decimal) string {
	places := max(int32(c.Digits), -d.Exponent())
	if d.Equal(d.Round(int32(c.Digits))) {
		places = int32(c.Digits)
	}
	return trueMinus(d.StringFixed(places))
}

// minutes writes a range of minutes: "35-44-62"; one figure when all agree; ""
// for none.
func minutes(r templates.Range) string {
	switch {
	case r.High == 0:
		return ""
	case r.Low == r.High:
		return fmt.Sprint(r.Typical)
	}
	return fmt.Sprintf("%d–%d–%d", r.Low, r.Typical, r.High)
}

// days writes a range of days in the same way.
func days(d templates.Days) string {
	switch {
	case d.IsZero():
		return ""
	case d.Low.Equal(d.High):
		return d.Typical.String()
	}
	return fmt.Sprintf("%s–%s–%s", d.Low, d.Typical, d.High)
}

// percent writes a rate.
func percent(d decimal.Decimal) string { return d.String() + " %" }

// counted writes a count with its unit. "each" is not written.
func counted(n decimal.Decimal, unit string) string {
	if unit == "" || unit == "each" {
		return trueMinus(n.String())
	}
	return trueMinus(n.String()) + " " + unit
}

var one = decimal.NewFromInt(1)

// fromTo writes the ends of a range in whole days, begun days counted: "8 to 18".
func fromTo(d templates.Days) string {
	low, high := d.Low.Ceil(), d.High.Ceil()
	if low.Equal(high) {
		return low.String()
	}
	return fmt.Sprintf("%s to %s", low, high)
}
