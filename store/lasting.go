package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/workshop"
	"winterbench/migrations"
)

// dayOf is the number of a moment's day, UTC, from 1970 on, as SQL.
func (s *Store) dayOf(column string) string {
	if s.dialect == migrations.Postgres {
		return "CAST(FLOOR(EXTRACT(EPOCH FROM " + column + ") / 86400) AS BIGINT)"
	}
	return "unixepoch(" + column + ") / 86400"
}

// secondsOf is how many seconds lie between two moments, each cut to a whole one, as
// SQL.
func (s *Store) secondsOf(from, to string) string {
	if s.dialect == migrations.Postgres {
		return fmt.Sprintf("CAST(FLOOR(EXTRACT(EPOCH FROM %s)) - FLOOR(EXTRACT(EPOCH FROM %s)) AS BIGINT)", to, from)
	}
	return fmt.Sprintf("(unixepoch(%s) - unixepoch(%s))", to, from)
}

// firstDay is day 0 of [Store.dayOf].
const firstDay = domain.Date("1970-01-01")

// Mended counts the jobs handed over since a moment by what was mended, the day and
// whether the care brief was given, in one grouped statement.
func (s *Store) Mended(ctx context.Context, since time.Time) ([]workshop.Mended, error) {
	var rows []struct {
		Template string
		Day      int
		Brief    bool
		Jobs     int
	}
	err := s.db.WithContext(ctx).Raw(`SELECT w.template, w.day, w.brief, COUNT(*) AS jobs FROM (
			SELECT DISTINCT j.id, `+s.dayOf("j.collected_at")+` AS day, j.brief_given AS brief, t.template
			FROM jobs j JOIN tasks t ON t.job_id = j.id
			WHERE j.collected_at >= ? AND t.done_at IS NOT NULL AND t.phase IN ?) w
		GROUP BY w.template, w.day, w.brief`, at(since), workshop.MendingPhases()).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("count what was mended: %w", translate(err))
	}
	out := make([]workshop.Mended, len(rows))
	for i, r := range rows {
		out[i] = workshop.Mended{Template: r.Template, On: firstDay.AddDays(r.Day), Brief: r.Brief, Jobs: r.Jobs}
	}
	return out, nil
}

// cameBackRow is a job with the one that it repeats.
type cameBackRow struct {
	ID          int64
	ArrivedAt   moment
	Share       string
	Earlier     int64
	Tag         int
	CollectedAt moment
	Brief       bool
}

// backAtOnce is how many comebacks are read with what belongs to them at once:
// SQLite takes at most 32,766 values in a statement.
const backAtOnce = 2000

// CameBack reads the jobs that repeat one handed over since a moment, by arrival,
// each with the finished tasks and the surveys of the earlier one.
func (s *Store) CameBack(ctx context.Context, since time.Time) ([]workshop.CameBack, error) {
	var out []workshop.CameBack
	err := s.inReadTx(ctx, func(db *gorm.DB) error {
		out = nil
		var rows []cameBackRow
		err := db.Raw(`SELECT c.id, c.arrived_at, c.comeback_share AS share, j.id AS earlier, j.tag, j.collected_at, j.brief_given AS brief
			FROM jobs c JOIN jobs j ON j.id = c.comeback_of
			WHERE c.comeback_of IS NOT NULL AND j.collected_at >= ? ORDER BY c.arrived_at, c.id`, at(since)).Scan(&rows).Error
		if err != nil {
			return err
		}
		for some := range slices.Chunk(rows, backAtOnce) {
			more, err := s.backOf(db, some)
			if err != nil {
				return err
			}
			out = append(out, more...)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read what came back: %w", err)
	}
	return out, nil
}

// backOf reads what belongs to some comebacks.
func (s *Store) backOf(db *gorm.DB, rows []cameBackRow) ([]workshop.CameBack, error) {
	var both, earlier, ours []int64
	for _, r := range rows {
		both, earlier = append(both, r.ID, r.Earlier), append(earlier, r.Earlier)
		if job.Share(r.Share) == job.Ours {
			ours = append(ours, r.ID)
		}
	}
	surveys, err := surveysOf(db, both)
	if err != nil {
		return nil, err
	}
	tasks, err := doneTasksOf(db, earlier)
	if err != nil {
		return nil, err
	}
	cost, err := s.costOf(db, ours)
	if err != nil {
		return nil, err
	}
	out := make([]workshop.CameBack, len(rows))
	for i, r := range rows {
		old := &job.Job{ID: domain.JobID(r.Earlier), Tag: r.Tag, Collected: r.CollectedAt.Time, HandOver: job.HandOver{Brief: r.Brief}, Tasks: tasks[r.Earlier]}
		out[i] = workshop.CameBack{
			Job: domain.JobID(r.ID), Arrived: r.ArrivedAt.Time, Share: job.Share(r.Share), AtCost: cost[r.ID],
			Earlier: job.PastJob{Job: old, Surveys: surveys[r.Earlier]},
		}
		if first := job.AsItCame(surveys[r.ID]); first != nil {
			out[i].Now = first.Findings
		}
	}
	return out, nil
}

// doneTasksOf reads the finished tasks of some jobs, by job.
func doneTasksOf(db *gorm.DB, ids []int64) (map[int64][]job.Task, error) {
	var rows []taskRow
	if err := db.Where("job_id IN ? AND done_at IS NOT NULL", ids).Order("id").Find(&rows).Error; err != nil {
		return nil, err
	}
	out := map[int64][]job.Task{}
	for i := range rows {
		t, err := rows[i].task()
		if err != nil {
			return nil, err
		}
		out[rows[i].JobID] = append(out[rows[i].JobID], t)
	}
	return out, nil
}

// costOf adds up the clocked seconds and the parts of some jobs, by job.
func (s *Store) costOf(db *gorm.DB, ids []int64) (map[int64]workshop.AtCost, error) {
	out := map[int64]workshop.AtCost{}
	if len(ids) == 0 {
		return out, nil
	}
	var rows []struct{ JobID, Seconds, Thousandths int64 }
	err := db.Raw(`SELECT c.job_id, CAST(SUM(`+s.secondsOf("c.started_at", "c.ended_at")+`) AS BIGINT) AS seconds, 0 AS thousandths
			FROM clockings c WHERE c.job_id IN ? AND c.ended_at IS NOT NULL AND NOT EXISTS (SELECT 1 FROM clockings r WHERE r.replaces = c.id) GROUP BY c.job_id
		UNION ALL SELECT p.job_id, 0, CAST(SUM(coalesce(1000 * p.value, p.quantity * p.cost)) AS BIGINT) FROM parts_used p WHERE p.job_id IN ? GROUP BY p.job_id`, ids, ids).Scan(&rows).Error
	if err != nil {
		return nil, err
	}
	for _, r := range rows {
		c := out[r.JobID]
		c.Seconds, c.Thousandths = c.Seconds+r.Seconds, c.Thousandths+r.Thousandths
		out[r.JobID] = c
	}
	return out, nil
}
