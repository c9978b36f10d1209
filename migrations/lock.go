package migrations

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/pressly/goose/v3/lock"
)

// lockID marks the upgrade among PostgreSQL's advisory locks. Any fixed number
// does; this one spells "winter" in ASCII.
const lockID = 0x77696e746572

// lockPause is how often a waiting program asks for the lock of a file again.
const lockPause = 20 * time.Millisecond

// locked calls fn while no other program upgrades the same database. Waiting
// ends with ctx; on PostgreSQL after five minutes too.
func (u upgrade) locked(ctx context.Context, fn func() error) error {
	if u.dialect == Postgres {
		return u.lockedSession(ctx, fn)
	}
	file, err := fileOf(ctx, u.db)
	if err != nil {
		return err
	}
	if file == "" {
		return fn()
	}
	return lockedFile(ctx, file+"-upgrade.lock", fn)
}

// lockedSession holds an advisory lock on a connection of its own.
func (u upgrade) lockedSession(ctx context.Context, fn func() error) (err error) {
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockID(lockID), lock.WithLockTimeout(1, 300))
	if err != nil {
		return err
	}
	conn, err := u.db.Conn(ctx)
	if err != nil {
		return fmt.Errorf("connect to lock the upgrade: %w", err)
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := locker.SessionLock(ctx, conn); err != nil {
		return fmt.Errorf("wait for another program's upgrade: %w", err)
	}
	defer func() { err = errors.Join(err, locker.SessionUnlock(context.WithoutCancel(ctx), conn)) }()
	return fn()
}

// lockedFile holds the system's lock on a side file, which is left in place:
// removing it would let two programs lock two files of the same name. The
// system gives the lock back when a program dies.
func lockedFile(ctx context.Context, name string, fn func() error) (err error) {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return fmt.Errorf("open the upgrade's lock: %w", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }() // closing unlocks
	for {
		got, err := tryLock(f)
		if err != nil {
			return fmt.Errorf("lock %s: %w", name, err)
		}
		if got {
			return fn()
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("wait for another program's upgrade: %w", context.Cause(ctx))
		case <-time.After(lockPause):
		}
	}
}
