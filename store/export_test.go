package store

import (
	"context"
	"slices"

	"gorm.io/gorm"

	"winterbench/domain/audit"
	"winterbench/domain/job"
)

// What tests of the package's outside need of its inside.
var (
	LoadSurveys = loadSurveys
	LoadDiary   = loadDiary
	OpenAt      = openAt
)

// LoadJobs loads jobs whose parts left no shelf.
func LoadJobs(db *gorm.DB, all []*job.Job) error { return loadJobs(db, all, nil) }

// DB gives tests the database itself.
func (s *Store) DB() *gorm.DB { return s.db }

// AuditIn audits within a transaction of the test.
func (s *Store) AuditIn(ctx context.Context, db *gorm.DB) (audit.Report, error) {
	return s.auditIn(ctx, db, func(int, int, string) {})
}

// CopiedTable is what a test must know of a table to multiply its rows.
type CopiedTable struct {
	Table   string
	Columns []string
	Highest int64           // identity; 0 for a table without rows or identities
	Steps   map[string]Step // by column: identities and references
}

// Step is a column with identities of a table, and the highest there.
type Step struct {
	Table   string
	Highest int64
}

// Copying lists the tables in an order in which they can be filled.
func (s *Store) Copying(db *gorm.DB) ([]CopiedTable, error) {
	r := &auditReader{ctx: db.Statement.Context, db: db, store: s}
	tables, err := s.tables(db)
	if err != nil {
		return nil, err
	}
	refs, err := r.referring()
	if err != nil {
		return nil, err
	}
	highest := map[string]int64{}
	for _, t := range tables {
		if slices.Contains(t.names(), "id") {
			var most int64
			if err := db.Raw("SELECT coalesce(max(id), 0) FROM " + t.name).Scan(&most).Error; err != nil {
				return nil, err
			}
			highest[t.name] = most
		}
	}
	var out []CopiedTable
	for _, t := range tables {
		c := CopiedTable{Table: t.name, Columns: t.names(), Highest: highest[t.name], Steps: map[string]Step{"id": {t.name, highest[t.name]}}}
		for _, f := range refs {
			if f.Table == t.name {
				c.Steps[f.Column] = Step{f.Refers, highest[f.Refers]}
			}
		}
		out = append(out, c)
	}
	return out, nil
}
