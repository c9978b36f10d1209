package store

import (
	"context"

	"gorm.io/gorm"

	"winterbench/domain/audit"
)

// What tests of the package's outside need of its inside.
var (
	LoadJobs    = loadJobs
	LoadSurveys = loadSurveys
	LoadDiary   = loadDiary
	OpenAt      = openAt
)

// DB gives tests the database itself.
func (s *Store) DB() *gorm.DB { return s.db }

// AuditIn audits within a transaction of the test.
func (s *Store) AuditIn(ctx context.Context, db *gorm.DB) (audit.Report, error) {
	return s.auditIn(ctx, db, func(int, int, string) {})
}
