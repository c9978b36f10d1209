package store

import "gorm.io/gorm"

// What tests of the package's outside need of its inside.
var (
	LoadJobs    = loadJobs
	LoadSurveys = loadSurveys
	LoadDiary   = loadDiary
	OpenAt      = openAt
)

// DB gives tests the database itself.
func (s *Store) DB() *gorm.DB { return s.db }
