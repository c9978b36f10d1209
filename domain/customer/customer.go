// Package customer keeps who brings instruments and what they own.
package customer

import (
	"strings"
	"time"

	"winterbench/domain"
	"winterbench/domain/money"
)

// Contact is how a customer wants to hear from the shop.
type Contact string

// The ways to reach a customer.
const (
	ByPhone   Contact = "phone"
	ByMessage Contact = "message"
	ByLetter  Contact = "letter"
)

// Contacts lists the ways, the usual first.
func Contacts() []Contact { return []Contact{ByPhone, ByMessage, ByLetter} }

// Customer is a person or a house that owns instruments.
type Customer struct {
	ID         domain.CustomerID
	Name       string // as it stands on paper; never empty
	Phone      string
	Email      string
	Address    string // several lines
	Contact    Contact
	Note       string
	Exempt     *money.Exemption // nil: pays tax like everybody
	Electronic *Electronic      // for electronic invoices; nil: nothing
	Since      time.Time
	Version    int // grows with each save
}

// Check trims the fields and returns an Invalid error that names each wrong one.
func (c *Customer) Check() error {
	f := domain.Fields{}
	c.Name = domain.Line(f, "name", c.Name, 120, true)
	c.Phone = domain.Line(f, "phone", c.Phone, 40, false)
	c.Email = domain.Line(f, "email", c.Email, 120, false)
	c.Address = domain.Paragraph(f, "address", c.Address, 400, false)
	c.Note = domain.Paragraph(f, "note", c.Note, 2000, false)
	if c.Contact == "" {
		c.Contact = ByPhone
	}
	domain.OneOf(f, "contact", c.Contact, Contacts())
	if c.Email != "" && (strings.Count(c.Email, "@") != 1 || strings.ContainsAny(c.Email, " <>,;")) {
		f.Add("email", "must be one address with one @, such as name@example.org")
	}
	if c.Phone != "" && len(Digits(c.Phone)) < 3 {
		f.Add("phone", "must have at least three digits")
	}
	if c.Exempt != nil {
		f.AddErr("exempt", checkExemption(*c.Exempt))
	}
	if c.Electronic != nil {
		own := domain.Fields{}
		c.Electronic.check(own)
		f.AddErr("electronic", own.Err())
		if *c.Electronic == (Electronic{}) {
			c.Electronic = nil
		}
	}
	return f.Err()
}

func checkExemption(e money.Exemption) error {
	f := domain.Fields{}
	domain.OneOf(f, "reason", e.Reason, []string{"exempt", "resale"})
	domain.Line(f, "certificate", e.Certificate, 60, true)
	for name, d := range map[string]domain.Date{"from": e.From, "to": e.To} {
		if d != "" {
			_, err := domain.ParseDate(string(d))
			f.AddErr(name, err)
		}
	}
	if e.From != "" && e.To != "" && e.To < e.From {
		f.Add("to", "must not be before %s", e.From)
	}
	return f.Err()
}

// Digits returns the digits of a phone number, by which it is found however it
// was typed.
func Digits(phone string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, phone)
}
