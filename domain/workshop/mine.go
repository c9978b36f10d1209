package workshop

import (
	"fmt"
	"slices"
	"strings"

	"winterbench/domain"
)

// BenchOf is the bench's list for one person: free work that asks for more skill than
// theirs is not free for them, with the names of those who can do it. Nothing is
// changed for a person who is not known.
func BenchOf(rows []TaskRow, who domain.StaffID, staff []Staff) []TaskRow {
	i := slices.IndexFunc(staff, func(s Staff) bool { return s.ID == who })
	if i < 0 {
		return rows
	}
	out := slices.Clone(rows)
	for k, r := range out {
		if r.Blocked == "" && r.Task.Skill > staff[i].Skilled() {
			out[k].Blocked = skillReason(r.Task.Skill, staff)
		}
	}
	return out
}

// skillReason says who can do work of a skill.
func skillReason(skill int, staff []Staff) string {
	var names []string
	for _, s := range staff {
		if s.Active && s.Skilled() >= skill {
			names = append(names, s.Name)
		}
	}
	if len(names) == 0 {
		return fmt.Sprintf("needs skill %d, which nobody here has", skill)
	}
	return fmt.Sprintf("needs skill %d: %s", skill, strings.Join(names, " or "))
}
