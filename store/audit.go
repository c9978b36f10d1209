package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/domain/audit"
	"winterbench/migrations"
)

// jobsAtOnce is how many jobs an audit reads together, with all that hangs on
// them: what it needs of memory does not grow with the books.
const jobsAtOnce = 500

// Audit holds everything that is kept against the rules of package audit, as it
// stands at one moment, while others go on working. It changes nothing. Files of
// photos are read too.
func (s *Store) Audit(ctx context.Context, tell Progress) (audit.Report, error) {
	if tell == nil {
		tell = func(int, int, string) {}
	}
	var report audit.Report
	err := s.inReadTx(ctx, func(db *gorm.DB) (err error) {
		report, err = s.auditIn(ctx, db, tell)
		return err
	})
	if err != nil {
		return audit.Report{}, fmt.Errorf("audit the books: %w", err)
	}
	return report, nil
}

// auditIn is [Store.Audit] within a transaction.
func (s *Store) auditIn(ctx context.Context, db *gorm.DB, tell Progress) (audit.Report, error) {
	began := time.Now()
	r := &auditReader{ctx: ctx, db: db, store: s, tell: tell}
	report, err := r.run()
	report.Engine, report.Took = string(s.dialect), time.Since(began)
	return report, err
}

// auditReader reads the books for an audit within one transaction.
type auditReader struct {
	ctx   context.Context
	db    *gorm.DB
	store *Store
	tell  Progress
	audit *audit.Audit
	done  int
	total int
}

func (r *auditReader) run() (audit.Report, error) {
	if r.store.dialect == migrations.Postgres { // one look over all rows may take longer than a page
		if err := r.db.Exec("SET LOCAL statement_timeout = 0").Error; err != nil {
			return audit.Report{}, err
		}
	}
	terms, err := r.terms()
	if err != nil {
		return audit.Report{}, err
	}
	at := domain.Moment(time.Now())
	r.audit = audit.New(terms)
	if err := r.db.Raw("SELECT count(*) FROM jobs").Scan(&r.total).Error; err != nil {
		return audit.Report{}, err
	}
	for _, step := range []struct {
		what string
		do   func() error
	}{
		{"jobs", r.jobs}, {"sales", r.sales}, {"comebacks", r.links}, {"clocks", r.clockings}, {"holds", r.stays}, {"numbers", r.series},
		{"request keys", r.keys},
		{"journal", r.entries}, {"months", r.months}, {"kept money", r.kept}, {"shelf", r.shelf}, {"references", r.strays}, {"references", r.orphans}, {"photos", r.photos},
	} {
		if err := step.do(); err != nil {
			return audit.Report{}, fmt.Errorf("%s: %w", step.what, err)
		}
		r.tell(max(r.done, 1), max(r.total, 1), step.what)
	}
	report := r.audit.Done()
	report.At = at
	return report, nil
}

// terms are those of the shop, the zero ones before it is set up.
func (r *auditReader) terms() (audit.Terms, error) {
	shop, err := readShop(r.db)
	if domain.KindOf(err) == domain.NotFound {
		return audit.Terms{}, nil
	}
	if err != nil {
		return audit.Terms{}, err
	}
	return audit.Terms{Currency: shop.Currency, Coin: shop.Coin()}, nil
}

// rows gives each row of a statement to take, which must not ask anything itself.
func (r *auditReader) rows(query string, args []any, take func(*sql.Rows) error) (err error) {
	rows, err := r.db.Raw(query, args...).Rows()
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := take(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// links gives the audit each comeback with the job it names.
func (r *auditReader) links() error {
	return r.rows(`SELECT j.id, o.id, j.instrument_id, o.instrument_id, j.arrived_at >= o.arrived_at
		FROM jobs j JOIN jobs o ON o.id = j.comeback_of WHERE j.comeback_of IS NOT NULL ORDER BY j.id`, nil,
		func(rows *sql.Rows) error {
			var l audit.Link
			if err := rows.Scan(&l.Job, &l.Of, &l.Instrument, &l.OfOne, &l.ArrivedAfter); err != nil {
				return err
			}
			r.audit.Link(l)
			return nil
		})
}

// clockings gives the audit the stretches that count, by person and start.
func (r *auditReader) clockings() error {
	return r.rows(`SELECT id, staff_id, name, job_id, started_at, ended_at FROM clockings c
		WHERE NOT EXISTS (SELECT 1 FROM clockings r WHERE r.replaces = c.id) ORDER BY staff_id, started_at, id`, nil,
		func(rows *sql.Rows) error {
			var c audit.Clocking
			var start moment
			var end *moment
			if err := rows.Scan(&c.ID, &c.Staff, &c.Name, &c.Job, &start, &end); err != nil {
				return err
			}
			c.Start, c.End = start.Time, end.orZero()
			r.audit.Clocking(c)
			return nil
		})
}

// stays gives the audit the holds, by place and start.
func (r *auditReader) stays() error {
	return r.rows("SELECT id, job_id, place, started_at, ended_at FROM holds ORDER BY place, started_at, id", nil,
		func(rows *sql.Rows) error {
			var s audit.Stay
			var start moment
			var end *moment
			if err := rows.Scan(&s.ID, &s.Job, &s.Place, &start, &end); err != nil {
				return err
			}
			s.Start, s.End = start.Time, end.orZero()
			r.audit.Stay(s)
			return nil
		})
}

// AuditBooks is [Store.Audit] without a word meanwhile.
func (s *Store) AuditBooks(ctx context.Context) (audit.Report, error) { return s.Audit(ctx, nil) }
