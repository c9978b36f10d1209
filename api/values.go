package api

import (
	"context"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/money"
	"winterbench/domain/wood"
	"winterbench/templates"
)

// each turns a slice into another, never nil, so that JSON has [] and not null.
func each[A, B any](all []A, fn func(A) B) []B {
	out := make([]B, len(all))
	for i, x := range all {
		out[i] = fn(x)
	}
	return out
}

func same(s []string) []string { return each(s, func(t string) string { return t }) }

// moment is nil for what has not happened.
func moment(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	return &t
}

// civil is nil for no date.
func civil(d domain.Date) *string {
	if d == "" {
		return nil
	}
	s := string(d)
	return &s
}

// identity is nil for none.
func identity[T ~int64](id T) *int64 {
	if id == 0 {
		return nil
	}
	n := int64(id)
	return &n
}

// dateIn reads a date, "" for none.
func dateIn(f domain.Fields, field, typed string) domain.Date {
	if typed == "" {
		return ""
	}
	d, err := domain.ParseDate(typed)
	f.AddErr(field, err)
	return d
}

// amountIn reads an amount in major units, "" for 0. It is negative only if the
// domain allows it.
func amountIn(f domain.Fields, field, typed string, c money.Currency) money.Amount {
	if typed == "" {
		return 0
	}
	a, err := c.Parse(typed)
	f.AddErr(field, err)
	return a
}

// typedIn reports whether something was typed, and notes in f when not: where 0 says
// something, nothing must not say it.
func typedIn(f domain.Fields, field, typed string) bool {
	if typed == "" {
		f.Add(field, "must not be empty; write 0 for nothing")
	}
	return typed != ""
}

// decimalIn reads a decimal, "" for 0.
func decimalIn(f domain.Fields, field, typed string) decimal.Decimal {
	if typed == "" {
		return decimal.Zero
	}
	d, err := decimal.NewFromString(typed)
	if err != nil || len(typed) > 24 || strings.ContainsAny(typed, "eE") {
		f.Add(field, "must be a decimal of at most 24 digits in quotes, such as 12.5")
		return decimal.Zero
	}
	return d
}

// measureIn reads a measure as a bench writes it.
func measureIn(f domain.Fields, field, typed string, unit wood.Unit) wood.Measure {
	m, err := wood.ParseMeasure(typed, unit)
	f.AddErr(field, err)
	return m
}

// measure is one measured value.
type measure struct {
	Known word[knownWords] `json:"known" doc:"Not measured, could not reach and 0 are three different answers"`
	Typed string           `json:"typed" doc:"As the bench wrote it"`
	Value *string          `json:"value" doc:"In the unit; null unless measured"`
	Unit  string           `json:"unit" doc:"mm, C, % or g"`
}

func measureOf(m wood.Measure) measure {
	out := measure{Known: word[knownWords](m.Known), Typed: m.Typed, Unit: string(m.Unit)}
	if m.Known == "" {
		out.Known = word[knownWords](wood.NotMeasured)
	}
	if m.Is() {
		text := m.Value.String()
		out.Value = &text
	}
	return out
}

// minutes is a figure in minutes of hands-on work.
type minutes struct {
	Low     int `json:"low" doc:"With good luck"`
	Typical int `json:"typical" doc:"Usually"`
	High    int `json:"high" doc:"With bad luck"`
}

func minutesOf(r templates.Range) minutes { return minutes(r) }

// days is a figure in elapsed days.
type days struct {
	Low     string `json:"low" doc:"With good luck"`
	Typical string `json:"typical" doc:"Usually"`
	High    string `json:"high" doc:"With bad luck"`
}

func daysOf(d templates.Days) days {
	return days{Low: d.Low.String(), Typical: d.Typical.String(), High: d.High.String()}
}

// currency is the shop's; every amount is read and written in it.
func (a *API) currency(ctx context.Context) (money.Currency, error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return money.Currency{}, err
	}
	return shop.Currency, nil
}
