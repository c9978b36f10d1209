package workshop

import (
	"testing"

	"winterbench/domain"
	"winterbench/domain/job"
)

func TestBenchOfAPerson(t *testing.T) {
	staff := []Staff{
		{ID: 1, Name: "Ines", Active: true, Skill: 4}, {ID: 2, Name: "Teodor", Active: true, Skill: 2},
		{ID: 3, Name: "Old", Skill: 4}, {ID: 4, Name: "Noor", Active: true, Roles: []domain.Role{domain.Counter}},
	}
	rows := []TaskRow{
		{Tag: 1, Task: job.Task{Skill: 2}}, {Tag: 2, Task: job.Task{Skill: 4}}, {Tag: 3, Task: job.Task{Skill: 5}},
		{Tag: 4, Task: job.Task{Skill: 5}, Blocked: "glue"},
	}
	want := map[domain.StaffID][]string{
		1: {"", "", "needs skill 5, which nobody here has", "glue"},
		2: {"", "needs skill 4: Ines", "needs skill 5, which nobody here has", "glue"},
		4: {"needs skill 2: Ines or Teodor", "needs skill 4: Ines", "needs skill 5, which nobody here has", "glue"},
		9: {"", "", "", "glue"},
	}
	for who, reasons := range want {
		for i, r := range BenchOf(rows, who, staff) {
			if r.Blocked != reasons[i] {
				t.Errorf("person %d, tag %d: got %q, want %q", who, r.Tag, r.Blocked, reasons[i])
			}
		}
	}
	if rows[1].Blocked != "" {
		t.Error("the shop's own list was changed")
	}
}
