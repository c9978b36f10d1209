package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"hash/fnv"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"
	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverdatabasesql"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"

	"winterbench/domain"
)

// Chores are what a server does by itself: a copy of the shop each day, and the round
// of the mail each minute. They are
// kept in a database of their own beside the shop's, a file or a schema, so that a
// copy never carries them. Of several servers on one database each chore is done by
// one.
type Chores struct {
	client *river.Client[*sql.Tx]
	pool   *sql.DB
}

// choreSchema holds the chores on PostgreSQL.
const choreSchema = "winterbench_chores"

// CopyPlan says where and when the daily copies go.
type CopyPlan struct {
	Folder string // "" for none
	At     string // time of day by the shop's own clock, such as "03:30"
	Keep   int    // days for which copies stay, from 1 to 3650
}

// Check returns an Invalid error that says what of a plan cannot be meant.
func (p CopyPlan) Check() error {
	f := domain.Fields{}
	if _, err := time.Parse("15:04", p.At); err != nil {
		f.Add("copies-at", "is %q; write a time of day such as 03:30", p.At)
	}
	if p.Keep < 1 || p.Keep > 3650 {
		f.Add("copies-keep", "is %d; it must be from 1 to 3650 days", p.Keep)
	}
	return f.Err()
}

// dayCopy is the chore of copying the shop on one day. The day is in it, so that
// it is asked for once, however many servers ask.
type dayCopy struct {
	Day domain.Date `json:"day"`
}

// Kind names the chore.
func (dayCopy) Kind() string { return "copy-of-the-day" }

// InsertOpts lets a copy be tried a few times, each day's once.
func (dayCopy) InsertOpts() river.InsertOpts {
	return river.InsertOpts{MaxAttempts: 5, UniqueOpts: river.UniqueOpts{ByArgs: true}}
}

// mailRound is the chore of the mail. Of several servers one at a time goes round.
type mailRound struct{}

// Kind names the chore.
func (mailRound) Kind() string { return "mail-round" }

// InsertOpts tries a round once: the next one comes soon.
func (mailRound) InsertOpts() river.InsertOpts {
	return river.InsertOpts{MaxAttempts: 1, Queue: mailQueue, UniqueOpts: river.UniqueOpts{ByPeriod: mailEvery}}
}

// mailEvery is how often mail goes out.
const mailEvery = time.Minute

// carrier goes the round of the mail.
type carrier struct {
	river.WorkerDefaults[mailRound]
	round func(context.Context) error
	log   *slog.Logger
}

// Timeout is how long a round may take.
func (*carrier) Timeout(*river.Job[mailRound]) time.Duration { return 30 * time.Minute }

// Work goes one round. What was not sent is in the outbox and is tried again from there.
func (c *carrier) Work(ctx context.Context, _ *river.Job[mailRound]) error {
	if err := c.round(ctx); err != nil {
		c.log.Warn("not all mail went out", "error", err)
	}
	return nil
}

// copier makes copies.
type copier struct {
	river.WorkerDefaults[dayCopy]
	store  *Store
	folder string
	keep   int
	log    *slog.Logger
	made   func(time.Time) // told when a copy is there; may be nil
}

// Timeout is how long a copy may take.
func (*copier) Timeout(*river.Job[dayCopy]) time.Duration { return 2 * time.Hour }

// Work makes the day's copy, reads it from end to end, and only then removes
// those that are too old.
func (c *copier) Work(ctx context.Context, job *river.Job[dayCopy]) error {
	file := filepath.Join(c.folder, CopyName(job.Args.Day))
	made, err := c.store.Backup(ctx, file, nil)
	if err != nil && domain.KindOf(err) != domain.Conflict { // there already: an earlier try came so far
		c.log.Error("the copy of the day was not made", "file", file, "error", err)
		return err
	}
	if _, err := CheckCopy(ctx, file, nil); err != nil {
		c.log.Error("the copy of the day is not whole", "file", file, "error", err)
		return errors.Join(err, os.Remove(file))
	}
	c.log.Info("copied the shop", "file", file, "rows", made.Rows, "photos", made.Photos, "bytes", made.Bytes)
	if c.made != nil {
		c.made(time.Now())
	}
	return c.tidy()
}

// tidy removes copies that are too old.
func (c *copier) tidy() error {
	entries, err := os.ReadDir(c.folder)
	if err != nil {
		return err
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	for _, name := range Outdated(names, c.keep) {
		err = errors.Join(err, os.Remove(filepath.Join(c.folder, name)))
	}
	return err
}

// daily is a schedule: once a day at a time of the shop's own clock.
type daily struct {
	at   string // HH:MM
	zone func() *time.Location
}

// Next returns the first such time after now. A time that the clocks leave out
// in spring comes as much later as they are put forward.
func (d daily) Next(now time.Time) time.Time {
	at, _ := time.Parse("15:04", d.at) // checked at the start
	now = now.In(d.zone())
	for days := 0; ; days++ {
		next := time.Date(now.Year(), now.Month(), now.Day()+days, at.Hour(), at.Minute(), 0, 0, now.Location())
		if next.After(now) {
			return next.UTC()
		}
	}
}

// day is the civil date of the newest such time up to now: the day whose copy is due.
func (d daily) day(now time.Time) domain.Date {
	today := domain.DateOf(now.In(d.zone()))
	if next := d.Next(now); domain.DateOf(next.In(d.zone())) == today {
		return today.AddDays(-1)
	}
	return today
}

// StartChores starts the daily copies of a store that was opened on a database, or
// none when the plan names no folder, and the rounds of the mail, or none when mail
// is nil. made, which may be nil, is told when a copy is there. Stop the chores
// before the store is closed.
func StartChores(ctx context.Context, s *Store, database string, plan CopyPlan, log *slog.Logger, made func(time.Time), mail func(context.Context) error) (*Chores, error) {
	if plan.Folder == "" && mail == nil {
		return &Chores{}, nil
	}
	if plan.Folder != "" {
		if err := plan.Check(); err != nil {
			return nil, err
		}
		if err := os.MkdirAll(plan.Folder, 0o700); err != nil {
			return nil, fmt.Errorf("make the folder for copies: %w", err)
		}
	}
	pool, driver, schema, err := choreDatabase(ctx, database)
	if err != nil {
		return nil, fmt.Errorf("open the chores: %w", err)
	}
	workers, often := river.NewWorkers(), []*river.PeriodicJob{}
	if plan.Folder != "" {
		river.AddWorker(workers, &copier{store: s, folder: plan.Folder, keep: plan.Keep, log: log, made: made})
		often = append(often, copyEachDay(ctx, s, plan))
	}
	queues := map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: 1}}
	if mail != nil {
		river.AddWorker(workers, &carrier{round: mail, log: log})
		queues[mailQueue] = river.QueueConfig{MaxWorkers: 1} // a long copy holds no mail up
		often = append(often, river.NewPeriodicJob(river.PeriodicInterval(mailEvery), func() (river.JobArgs, *river.InsertOpts) {
			return mailRound{}, nil
		}, &river.PeriodicJobOpts{RunOnStart: true}))
	}
	client, err := river.NewClient(driver, &river.Config{
		Schema: schema, Workers: workers, Logger: log, Queues: queues,
		FetchPollInterval: 5 * time.Second, CompletedJobRetentionPeriod: 72 * time.Hour,
		PeriodicJobs: often,
	})
	if err == nil {
		err = client.Start(context.WithoutCancel(ctx))
	}
	if err != nil {
		return nil, fmt.Errorf("start the chores: %w", errors.Join(err, pool.Close()))
	}
	return &Chores{client: client, pool: pool}, nil
}

// mailQueue is where rounds of the mail wait.
const mailQueue = "mail"

// copyEachDay asks for the copy of each day.
func copyEachDay(ctx context.Context, s *Store, plan CopyPlan) *river.PeriodicJob {
	when := daily{at: plan.At, zone: func() *time.Location {
		shop, err := s.ShopSettings(context.WithoutCancel(ctx))
		if err != nil {
			return time.UTC
		}
		return shop.Location()
	}}
	return river.NewPeriodicJob(when, func() (river.JobArgs, *river.InsertOpts) {
		return dayCopy{Day: when.day(time.Now())}, nil
	}, &river.PeriodicJobOpts{RunOnStart: true})
}

// Stop lets a copy under way finish, for a while.
func (c *Chores) Stop(ctx context.Context) error {
	if c.client == nil {
		return nil
	}
	patient, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	err := c.client.Stop(patient)
	if errors.Is(err, context.DeadlineExceeded) {
		err = c.client.StopAndCancel(ctx)
	}
	return errors.Join(err, c.pool.Close())
}

// choreDatabase opens the chores' own database beside the shop's and brings it up
// to date.
func choreDatabase(ctx context.Context, database string) (*sql.DB, riverdriver.Driver[*sql.Tx], string, error) {
	if isAddress(database) {
		pool, err := sql.Open("pgx", database)
		if err != nil {
			return nil, nil, "", err
		}
		pool.SetMaxOpenConns(4)
		driver := riverdatabasesql.New(pool)
		return pool, driver, choreSchema, closeOn(pool, migrateChores(ctx, pool, driver))
	}
	pool, err := sql.Open("sqlite", "file:"+filepath.ToSlash(database)+"-chores?_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)")
	if err != nil {
		return nil, nil, "", err
	}
	pool.SetMaxOpenConns(1) // as the library's driver wants it
	driver := riversqlite.New(pool)
	return pool, driver, "", closeOn(pool, stepChores(ctx, driver, ""))
}

func closeOn(pool *sql.DB, err error) error {
	if err != nil {
		return errors.Join(err, pool.Close())
	}
	return nil
}

// migrateChores brings the schema up to date under a lock, so that of servers that
// start together one does it.
func migrateChores(ctx context.Context, pool *sql.DB, driver riverdriver.Driver[*sql.Tx]) error {
	conn, err := pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	h := fnv.New64a()
	h.Write([]byte(choreSchema))
	if _, err := conn.ExecContext(ctx, "SELECT pg_advisory_lock($1)", int64(h.Sum64())); err != nil {
		return err
	}
	defer func() {
		_, _ = conn.ExecContext(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock($1)", int64(h.Sum64())) // ends with the connection otherwise
	}()
	if _, err := conn.ExecContext(ctx, "CREATE SCHEMA IF NOT EXISTS "+pgx.Identifier{choreSchema}.Sanitize()); err != nil {
		return err
	}
	return stepChores(ctx, driver, choreSchema)
}

func stepChores(ctx context.Context, driver riverdriver.Driver[*sql.Tx], schema string) error {
	m, err := rivermigrate.New(driver, &rivermigrate.Config{Schema: schema, Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	_, err = m.Migrate(ctx, rivermigrate.DirectionUp, nil)
	return err
}
