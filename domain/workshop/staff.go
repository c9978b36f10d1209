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
	Hours    Week      // empty: the shop's hours
	Away     []DaySpan // days on which the person does not work
	Skill    int       // of tasks that the person can do, 1 to 4 as templates grade them; 0: as the hats say
	Since    time.Time
	Version  int
}

// Actor returns the person as one who acts.
func (s *Staff) Actor() domain.Actor {
	return domain.Actor{Staff: s.ID, Name: s.Name, Roles: s.Roles}
}

// Skilled is the hardest grade of task that the person can do: 1 counter, 2
// bench junior, 3 bench, 4 senior. When nobody said, the bench's hat is worth 3,
// with the owner's hat over it 4, any other 1. Source: common practice, no source.
func (s *Staff) Skilled() int {
	who := s.Actor()
	switch {
	case s.Skill > 0:
		return s.Skill
	case !who.Wears(domain.Bench):
		return 1
	case who.Wears(domain.Owner):
		return 4
	}
	return 3
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
	s.Hours.check(f)
	s.Away = checkDaySpans(f, "away", s.Away)
	if s.Skill < 0 || s.Skill > 4 {
		f.Add("skill", "must be from 1 to 4, or 0 to go by the hats, not %d", s.Skill)
	}
	return f.Err()
}
