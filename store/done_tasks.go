package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm"

	"winterbench/domain/workshop"
	"winterbench/templates"
)

// DoneTasks reads what was finished since a moment with the minutes that count: a
// clocking that was put right counts by its newer row.
func (s *Store) DoneTasks(ctx context.Context, since time.Time) ([]workshop.DoneTask, error) {
	return readDone(s.db.WithContext(ctx), since)
}

// DoneTasks reads what was finished since a moment.
func (t *tx) DoneTasks(ctx context.Context, since time.Time) ([]workshop.DoneTask, error) {
	return readDone(t.db.WithContext(ctx), since)
}

func readDone(db *gorm.DB, since time.Time) ([]workshop.DoneTask, error) {
	var rows []struct {
		ID                                      int64
		Template, Unit                          string
		Quantity                                int
		MinutesLow, MinutesTypical, MinutesHigh int
		DoneAt, StartedAt, EndedAt              moment
	}
	err := db.Raw(`SELECT t.id, t.template, t.quantity, t.unit, t.minutes_low, t.minutes_typical, t.minutes_high, t.done_at, c.started_at, c.ended_at
		FROM tasks t JOIN clockings c ON c.job_id = t.job_id AND c.task_id = t.id
		WHERE t.done_at >= ? AND c.ended_at IS NOT NULL AND NOT EXISTS (SELECT 1 FROM clockings r WHERE r.replaces = c.id)
		ORDER BY t.id, c.id`, at(since)).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read the work finished since %s: %w", since.Format(time.DateOnly), translate(err))
	}
	var out []workshop.DoneTask
	last := int64(0)
	for _, r := range rows {
		if r.ID != last {
			out = append(out, workshop.DoneTask{
				Template: r.Template, Quantity: r.Quantity, Unit: r.Unit, Planned: templates.Range{Low: r.MinutesLow, Typical: r.MinutesTypical, High: r.MinutesHigh}, Done: r.DoneAt.Time,
			})
			last = r.ID
		}
		out[len(out)-1].Clocked += r.EndedAt.Sub(r.StartedAt.Time).Minutes()
	}
	return out, nil
}
