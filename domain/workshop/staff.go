package workshop

import (
	"slices"
	"strings"
	"time"

	"winterbench/domain"
)

// Staff is a person who works in the shop.
type Staff struct {
	ID       domain.StaffID
	Name     string
	Password string // argon2id hash in PHC form; "" cannot sign in
	Roles    []domain.Role
	Active   bool
	Since    time.Time
	Version  int
}

// Actor returns the person as one who acts.
func (s *Staff) Actor() domain.Actor {
	return domain.Actor{Staff: s.ID, Name: s.Name, Roles: s.Roles}
}

// NameKey is the form of a name by which a person signs in: case does not matter.
func NameKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// Check returns an Invalid error that names each wrong field.
func (s *Staff) Check() error {
	f := domain.Fields{}
	s.Name = domain.Line(f, "name", s.Name, 60, true)
	if len(s.Roles) == 0 {
		f.Add("roles", "choose at least one")
	}
	for _, r := range s.Roles {
		domain.OneOf(f, "roles", r, domain.Roles())
	}
	slices.Sort(s.Roles)
	s.Roles = slices.Compact(s.Roles)
	return f.Err()
}

// Token is a key with which a program signs in for a person. Only a hash of it
// is kept.
type Token struct {
	ID      int64
	Staff   domain.StaffID
	Name    string
	Hash    string // SHA-256, hex
	Created time.Time
	Used    time.Time
	Revoked time.Time
}
