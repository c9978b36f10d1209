package web

import (
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// helpers are the functions the templates may call. They format; none of them
// asks anybody anything.
func helpers(zone func() *time.Location, files *Static) template.FuncMap {
	if zone == nil {
		zone = func() *time.Location { return time.UTC }
	}
	at := func(t time.Time) time.Time {
		if t.IsZero() {
			return t
		}
		return t.In(zone())
	}
	return template.FuncMap{
		"asset":    files.Path,
		"day":      func(t time.Time) string { return Day(at(t)) },
		"fullDay":  func(t time.Time) string { return fullDay(at(t)) },
		"hour":     func(t time.Time) string { return Hour(at(t)) },
		"dayHour":  func(t time.Time) string { return DayHour(at(t)) },
		"began":    func(t time.Time) string { return sinceText(at(t)) },
		"machine":  func(t time.Time) string { return t.UTC().Format(time.RFC3339) },
		"civil":    Civil,
		"minutes":  Minutes,
		"since":    func(from, now time.Time) string { return Minutes(int(now.Sub(from).Minutes())) },
		"money":    Money,
		"amount":   func(c money.Currency, a money.Amount) string { return Money(c, a) + "\u00a0" + c.Code },
		"plural":   Plural,
		"join":     func(sep string, s []string) string { return strings.Join(s, sep) },
		"tel":      telLink,
		"fieldID":  FieldID,
		"named":    func(t time.Time) bool { return !t.IsZero() },
		"themes":   Themes,
		"local":    func(s Strip) Strip { return s.In(zone()) },
		"curved":   func(c *Curve) CurveDrawing { return c.In(zone()).Lay() },
		"marked":   func(errs domain.Fields, f Field) Field { return f.Marked(errs) },
		"problems": Problems,
		"wrong":    func(fs []Field) bool { return slices.ContainsFunc(fs, func(f Field) bool { return f.Error != "" }) },

		"textField": TextField, "areaField": AreaField, "choiceField": ChoiceField, "checkField": CheckField,
		"countField": CountField, "dateField": DateField, "timeField": TimeField, "phoneField": PhoneField,
		"emailField": EmailField, "secretField": SecretField, "moneyField": MoneyField, "measureField": MeasureField,
		"caution": func(text string) Caution { return Caution{Text: text} },
		"notches": func(grade int) Notches { return Notches{Grade: grade} },
	}
}

// Day writes a date as a person says it: "Sat 12 Dec". The zero time is "".
func Day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 2 Jan")
}

// fullDay adds the year: "Sat 12 Dec 2026".
func fullDay(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 2 Jan 2006")
}

// Hour writes a time of day: "14:20".
func Hour(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("15:04")
}

// sinceText is DayHour; what began with a day has the day alone.
func sinceText(t time.Time) string {
	if Hour(t) == "00:00" {
		return Day(t)
	}
	return DayHour(t)
}

// DayHour writes date and time of day: "Sat 12 Dec, 14:20".
func DayHour(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return Day(t) + ", " + Hour(t)
}

// Civil writes a civil date with its year: "Sat 12 Dec 2026". "" stays "".
func Civil(d domain.Date) string {
	if d == "" {
		return ""
	}
	return fullDay(d.Time(time.UTC))
}

// Minutes writes a length of time: "20 min", "1 h 20 min", "3 h". Nothing
// below zero is shown.
func Minutes(n int) string {
	h, m := max(n, 0)/60, max(n, 0)%60
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}

// Money shows an amount without its currency, which stands once in the head of
// the table or beside the field. The minus is the true one, as wide as a figure.
func Money(c money.Currency, a money.Amount) string {
	return strings.ReplaceAll(c.Text(a), "-", "\u2212")
}

// Plural writes a count with its noun: Plural(1, "thing", "things") is "1 thing".
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// telLink makes the tel: address of a phone number as typed, and "" when the
// text has no digits. Source: RFC 3966: a leading + and digits.
func telLink(phone string) template.URL {
	digits := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, phone)
	switch {
	case digits == "":
		return ""
	case strings.HasPrefix(strings.TrimSpace(phone), "+"):
		digits = "+" + digits
	}
	return template.URL("tel:" + digits) // safe: only digits and one plus
}
