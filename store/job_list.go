package store

import (
	"context"
	"fmt"
	"strings"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/job"
	"winterbench/domain/money"
	"winterbench/domain/workshop"
	"winterbench/templates"
)

const newestFirst = "j.arrived_at DESC, j.id DESC"

// mostRows is the longest page of a list.
const mostRows = 200

// jobList reads one page of jobs, %[1]s being the conditions and %[2]s the
// order. The page is cut out of jobs alone, so that everything else is looked up
// for its rows only.
const jobList = `
	SELECT j.id, j.tag, j.stage, j.stage_since, j.arrived_at, j.customer_id, j.instrument_id, j.complaint, j.rack, j.case_opened,
		j.promised, j.recheck, j.comeback_of,
		c.name, c.phone, c.contact, i.maker, i.model, i.kind,
		h.place, w.kind AS wait_kind, w.until_at,
		(SELECT count(*) FROM tasks t WHERE t.job_id = j.id AND t.done_at IS NULL AND t.dropped_at IS NULL) AS tasks_open,
		(SELECT count(*) FROM tasks t WHERE t.job_id = j.id AND t.done_at IS NOT NULL) AS tasks_done,
		coalesce((SELECT v.total FROM invoices v WHERE v.job_id = j.id), 0) AS total,
		(SELECT CAST(coalesce(sum(p.amount + p.rounding), 0) AS BIGINT) FROM payments p WHERE p.job_id = j.id) AS paid,
		(SELECT CAST(coalesce(sum(n.total), 0) AS BIGINT) FROM credit_notes n WHERE n.job_id = j.id) AS credited,
		coalesce((SELECT o.amount FROM write_offs o WHERE o.job_id = j.id), 0) AS written_off,
		coalesce((SELECT q.yes_total FROM quotes q WHERE q.job_id = j.id AND q.answer_outcome IN ('whole', 'part')
			ORDER BY q.version DESC LIMIT 1), 0) AS agreed
	FROM (SELECT j.* FROM jobs j WHERE %[1]s ORDER BY %[2]s LIMIT ? OFFSET ?) j
	JOIN customers c ON c.id = j.customer_id
	JOIN instruments i ON i.id = j.instrument_id
	LEFT JOIN holds h ON h.job_id = j.id AND h.ended_at IS NULL
	LEFT JOIN waits w ON w.id = (SELECT min(o.id) FROM waits o WHERE o.job_id = j.id AND o.ended_at IS NULL)
	ORDER BY %[2]s`

// jobListRow is a row of jobList.
type jobListRow struct {
	ID           int64
	Tag          int
	Stage        string
	StageSince   moment
	ArrivedAt    moment
	CustomerID   int64
	InstrumentID int64
	Complaint    string
	Rack         string
	CaseOpened   bool
	Promised     *string
	Recheck      *string
	ComebackOf   *int64
	Name         string
	Phone        string
	Contact      string
	Maker        string
	Model        string
	Kind         string
	Place        *string
	WaitKind     *string
	UntilAt      *moment
	TasksOpen    int
	TasksDone    int
	Total        int64
	Paid         int64
	Credited     int64
	WrittenOff   int64
	Agreed       int64
}

// row makes a row of the list. A hold goes before a wait, as it does in the
// job's stage, and nobody knows its end: it is released by measurement.
func (r *jobListRow) row() workshop.JobRow {
	out := workshop.JobRow{
		ID: domain.JobID(r.ID), Tag: r.Tag, Stage: job.Stage(r.Stage), Since: r.StageSince.Time, Arrived: r.ArrivedAt.Time,
		Customer: domain.CustomerID(r.CustomerID), Name: r.Name, Phone: r.Phone, Contact: customer.Contact(r.Contact),
		Instrument: domain.InstrumentID(r.InstrumentID), Title: titleOf(r.Maker, r.Model, r.Kind),
		Complaint: r.Complaint, Rack: r.Rack, Cold: !r.CaseOpened, Promised: orEmpty[domain.Date](r.Promised), Recheck: orEmpty[domain.Date](r.Recheck),
		TasksOpen: r.TasksOpen, TasksDone: r.TasksDone,
		Total: money.Amount(r.Total), Agreed: money.Amount(r.Agreed), Paid: money.Amount(r.Paid), Credited: noLongerOwed(r.Total, r.Paid, r.Credited, r.WrittenOff), Comeback: r.ComebackOf != nil,
	}
	if r.Place != nil {
		out.Waits = *r.Place
		return out
	}
	out.Waits, out.WaitUntil = orEmpty[string](r.WaitKind), r.UntilAt.orZero()
	return out
}

// titleOf names an instrument in a line.
func titleOf(maker, model, kind string) string {
	return customer.Instrument{Maker: maker, Model: model, Kind: kind}.Title()
}

// Jobs reads one page of the jobs that a filter chooses, newest arrival first,
// and how many there are in all.
func (s *Store) Jobs(ctx context.Context, f workshop.JobFilter, p workshop.Page) ([]workshop.JobRow, int, error) {
	where, args := jobConditions(f)
	order := newestFirst
	if f.Oldest {
		order = "j.arrived_at, j.id"
	}
	var rows []workshop.JobRow
	var total int
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		if err := db.Raw("SELECT count(*) FROM jobs WHERE "+where, args...).Scan(&total).Error; err != nil {
			return err
		}
		rows, err = listJobs(db, where, args, order, p)
		return err
	})
	if err != nil {
		return nil, 0, fmt.Errorf("list jobs: %w", err)
	}
	return rows, total, nil
}

// jobConditions writes a filter as SQL on jobs.
func jobConditions(f workshop.JobFilter) (string, []any) {
	where, args := []string{"1 = 1"}, []any{}
	if len(f.Stages) > 0 {
		where, args = append(where, "stage IN ?"), append(args, f.Stages)
	}
	if f.Open {
		where = append(where, "collected_at IS NULL AND unclaimed_at IS NULL")
	}
	if f.Customer != 0 {
		where, args = append(where, "customer_id = ?"), append(args, f.Customer)
	}
	if f.Instrument != 0 {
		where, args = append(where, "instrument_id = ?"), append(args, f.Instrument)
	}
	if f.Recheck[1] != "" {
		where = append(where, "collected_at IS NOT NULL AND recheck BETWEEN ? AND ?", noFollowUp)
		args = append(args, f.Recheck[0], f.Recheck[1], int(templates.PhaseFollowUp))
	}
	return strings.Join(where, " AND "), args
}

// noFollowUp chooses jobs whose follow-up was not done.
const noFollowUp = "id NOT IN (SELECT job_id FROM tasks WHERE phase = ? AND done_at IS NOT NULL)"

// listJobs reads a page of jobs. where names columns of jobs, order those of j.
func listJobs(db *gorm.DB, where string, args []any, order string, p workshop.Page) ([]workshop.JobRow, error) {
	args = append(append([]any{}, args...), min(max(p.Limit, 1), mostRows), max(p.Offset, 0))
	var rows []jobListRow
	if err := db.Raw(fmt.Sprintf(jobList, where, order), args...).Scan(&rows).Error; err != nil {
		return nil, err
	}
	return each(rows, (*jobListRow).row), nil
}
