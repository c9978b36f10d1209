package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"

	"winterbench/domain/money"
	"winterbench/domain/workshop"
)

// leadCase ranks a task by what names a job's kind, as SQL.
var leadCase = func() string {
	var b strings.Builder
	b.WriteString("CASE t.phase")
	for i, p := range workshop.LeadOrder() {
		fmt.Fprintf(&b, " WHEN %d THEN %d", p, i)
	}
	return b.String() + " END"
}()

// visitRow is one decided job with its tasks added up.
type visitRow struct {
	ID      int64
	At      moment
	Asked   bool
	Lead    *int
	Minutes int
}

// Visits reads the jobs that were agreed or declined from one moment to another.
func (s *Store) Visits(ctx context.Context, from, to time.Time) ([]workshop.Visit, error) {
	var out []workshop.Visit
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		out, err = readVisits(db, at(from), at(to))
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the visits of the season: %w", err)
	}
	return out, nil
}

func readVisits(db *gorm.DB, from, to moment) ([]workshop.Visit, error) {
	var rows []visitRow
	err := db.Raw(`SELECT j.id, COALESCE(j.approved_at, j.declined_at) AS at, j.approved_at IS NULL AS asked,
			MIN(`+leadCase+`) AS lead, COALESCE(SUM(t.minutes_typical), 0) AS minutes
		FROM jobs j LEFT JOIN tasks t ON t.job_id = j.id AND t.dropped_at IS NULL
		WHERE COALESCE(j.approved_at, j.declined_at) >= ? AND COALESCE(j.approved_at, j.declined_at) < ?
		GROUP BY j.id`, from, to).Scan(&rows).Error
	if err != nil {
		return nil, err
	}
	held, err := readHeldDays(db, from)
	if err != nil {
		return nil, err
	}
	order := workshop.LeadOrder()
	out := make([]workshop.Visit, len(rows))
	for i, r := range rows {
		out[i] = workshop.Visit{At: r.At.Time, Asked: r.Asked, Minutes: r.Minutes, HoldDays: held[r.ID]}
		if r.Lead != nil {
			out[i].Lead = order[*r.Lead]
		}
	}
	// Sorted here, for a sort of the database costs a table of its own.
	slices.SortStableFunc(out, func(a, b workshop.Visit) int { return a.At.Compare(b.At) })
	return out, nil
}

// readHeldDays adds up the days in the cabinet of holds that ended, by job.
func readHeldDays(db *gorm.DB, from moment) (map[int64]float64, error) {
	var rows []struct {
		JobID     int64
		StartedAt moment
		EndedAt   moment
	}
	err := db.Raw("SELECT job_id, started_at, ended_at FROM holds WHERE ended_at IS NOT NULL AND started_at >= ?", from).Scan(&rows).Error
	if err != nil {
		return nil, err
	}
	out := map[int64]float64{}
	for _, r := range rows {
		out[r.JobID] += r.EndedAt.Sub(r.StartedAt.Time).Hours() / 24
	}
	return out, nil
}

// AgreedMoney adds up what customers said yes to.
func (s *Store) AgreedMoney(ctx context.Context, from, to time.Time) (workshop.AgreedMoney, error) {
	var row struct {
		Jobs  int
		Total int64
	}
	err := s.db.WithContext(ctx).Raw(`SELECT COUNT(DISTINCT job_id) AS jobs, CAST(COALESCE(SUM(yes_total), 0) AS BIGINT) AS total FROM quotes
		WHERE answered_at >= ? AND answered_at < ? AND answer_outcome IN ('whole', 'part') AND replaced_at IS NULL`, at(from), at(to)).Scan(&row).Error
	if err != nil {
		return workshop.AgreedMoney{}, fmt.Errorf("add up what was agreed: %w", translate(err))
	}
	return workshop.AgreedMoney{Jobs: row.Jobs, Total: money.Amount(row.Total)}, nil
}
