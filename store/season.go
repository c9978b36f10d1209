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
	return b.String() + fmt.Sprintf(" ELSE %d END", len(workshop.LeadOrder()))
}()

// work is what is to be done on one job.
type work struct {
	Lead    int // rank of its main task; see [workshop.LeadOrder]
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
	out, ids, err := readDecided(db, from, to)
	if err != nil {
		return nil, err
	}
	does, err := readWork(db)
	if err != nil {
		return nil, err
	}
	held, err := readHeldDays(db, from)
	if err != nil {
		return nil, err
	}
	order := workshop.LeadOrder()
	for i, id := range ids {
		w, any := does[id]
		out[i].Minutes, out[i].HoldDays = w.Minutes, held[id]
		if any && w.Lead < len(order) {
			out[i].Lead = order[w.Lead]
		}
	}
	// Sorted here, for a sort of the database costs a table of its own.
	slices.SortStableFunc(out, func(a, b workshop.Visit) int { return a.At.Compare(b.At) })
	return out, nil
}

// readDecided reads when each job was decided, and which job that is.
func readDecided(db *gorm.DB, from, to moment) (out []workshop.Visit, ids []int64, err error) {
	rows, err := db.Raw(`SELECT id, approved_at, declined_at FROM jobs
		WHERE COALESCE(approved_at, declined_at) >= ? AND COALESCE(approved_at, declined_at) < ?`, from, to).Rows()
	if err != nil {
		return nil, nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var id int64
		var yes, no *moment
		if err := rows.Scan(&id, &yes, &no); err != nil {
			return nil, nil, err
		}
		v := workshop.Visit{At: yes.orZero()}
		if yes == nil {
			v.At, v.Asked = no.orZero(), true
		}
		out, ids = append(out, v), append(ids, id)
	}
	return out, ids, rows.Err()
}

// readWork adds up the tasks of every job, along an index that holds all it needs: to
// look for each decided job's own took longer.
func readWork(db *gorm.DB) (map[int64]work, error) {
	rows, err := db.Raw("SELECT t.job_id, MIN(" + leadCase + "), SUM(t.minutes_typical) FROM tasks t WHERE t.dropped_at IS NULL GROUP BY t.job_id").Rows()
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := map[int64]work{}
	for rows.Next() {
		var id int64
		var w work
		if err := rows.Scan(&id, &w.Lead, &w.Minutes); err != nil {
			return nil, err
		}
		out[id] = w
	}
	return out, rows.Err()
}

// readHeldDays adds up the days in the cabinet of holds that ended, by job.
func readHeldDays(db *gorm.DB, from moment) (map[int64]float64, error) {
	rows, err := db.Raw("SELECT job_id, started_at, ended_at FROM holds WHERE ended_at IS NOT NULL AND started_at >= ?", from).Rows()
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := map[int64]float64{}
	for rows.Next() {
		var id int64
		var start, end moment
		if err := rows.Scan(&id, &start, &end); err != nil {
			return nil, err
		}
		out[id] += end.Sub(start.Time).Hours() / 24
	}
	return out, rows.Err()
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
