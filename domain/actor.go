package domain

import "slices"

// Role is a hat a member of staff wears. One person may wear several.
type Role string

// The three hats of the shop.
const (
	Counter Role = "counter" // intake, calls, money
	Bench   Role = "bench"   // survey, bench work, hold
	Owner   Role = "owner"   // prices, exceptions, refusals, settings
)

// Roles lists every hat, in the order the pages show them.
func Roles() []Role { return []Role{Counter, Bench, Owner} }

// ByLink is what a customer wears who came by a secret link: no hat of the shop.
const ByLink Role = "customer by link"

// Actor is who does something: a member of staff with the hats worn, or a customer
// who came by a secret link.
// The zero Actor is nobody and may do nothing.
type Actor struct {
	Staff StaffID
	Name  string
	Roles []Role

	ReadOnly bool // acts by a token that changes nothing
	Limited  bool // acts with less than the person may, by a PIN or a narrowed token: touches no account

	Link    int64   // the secret link that a customer came by; 0 for staff
	GivenBy StaffID // who made that link
}

// Wears reports whether the actor wears at least one of the hats.
func (a Actor) Wears(hats ...Role) bool {
	return slices.ContainsFunc(hats, func(r Role) bool { return slices.Contains(a.Roles, r) })
}
