package migrations

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"winterbench/domain"
)

// copyFirst makes a copy of the SQLite file beside it before steps are taken.
// A new file and a database in memory need none. A file that holds tables but
// took no step of ours is another program's and is refused.
func (u upgrade) copyFirst(ctx context.Context, stands int64) error {
	file, err := fileOf(ctx, u.db)
	if err != nil || file == "" {
		return err
	}
	if stands == 0 {
		return refuseForeign(ctx, u.db, file)
	}
	name, err := copyName(file, stands, u.opts.Clock)
	if err != nil {
		return err
	}
	if err := copyTo(ctx, u.db, file, name); err != nil {
		return fmt.Errorf("copy %s before the upgrade: %w", file, err)
	}
	u.opts.Log.InfoContext(ctx, "copied the database before its upgrade", "copy", name)
	return nil
}

// fileOf returns the path of the main SQLite database, "" when in memory.
func fileOf(ctx context.Context, db *sql.DB) (string, error) {
	var file string
	err := db.QueryRowContext(ctx, "SELECT file FROM pragma_database_list WHERE name = 'main'").Scan(&file)
	if err != nil {
		return "", fmt.Errorf("find the database's file: %w", err)
	}
	return file, nil
}

func refuseForeign(ctx context.Context, db *sql.DB, file string) error {
	var tables int
	err := db.QueryRowContext(ctx,
		"SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite^_%' ESCAPE '^' AND name <> ?",
		Table).Scan(&tables)
	if err != nil {
		return fmt.Errorf("look into %s: %w", file, err)
	}
	if tables > 0 {
		return domain.Conflictf("%s holds %d tables that are not Winterbench's; name another file, or one that does not exist yet", file, tables)
	}
	return nil
}

// copyName returns a name beside the file that nothing has yet, such as
// shop.before-upgrade-1-20261125T110000Z.db.
func copyName(file string, stands int64, clock domain.Clock) (string, error) {
	ext := filepath.Ext(file)
	stem := fmt.Sprintf("%s.before-upgrade-%d-%s", strings.TrimSuffix(file, ext), stands,
		clock.Now().UTC().Format("20060102T150405Z"))
	name := stem + ext
	for n := 2; ; n++ {
		_, err := os.Lstat(name)
		if errors.Is(err, fs.ErrNotExist) {
			return name, nil
		}
		if err != nil {
			return "", fmt.Errorf("name the copy of %s: %w", file, err)
		}
		name = fmt.Sprintf("%s-%d%s", stem, n, ext)
	}
}

// copyTo writes a checked copy of the database as name, readable by whoever
// may read the original. It is written under another name first: a copy that
// carries its name is whole.
func copyTo(ctx context.Context, db *sql.DB, file, name string) (err error) {
	part := name + ".part"
	defer func() {
		if err != nil {
			err = errors.Join(err, removeIfThere(part))
		}
	}()
	if err := emptyLike(file, part); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", part); err != nil {
		return err
	}
	if err := checkCopy(ctx, db, part); err != nil {
		return err
	}
	if err := syncFile(part); err != nil {
		return err
	}
	return os.Rename(part, name)
}

// emptyLike makes an empty file with the permissions of another; VACUUM INTO
// accepts an empty file and would itself make one that everybody may read.
func emptyLike(file, part string) error {
	info, err := os.Stat(file)
	if err != nil {
		return err
	}
	if err := removeIfThere(part); err != nil {
		return err
	}
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, info.Mode().Perm())
	if err != nil {
		return err
	}
	return f.Close()
}

// checkCopy reads the copy through a connection of its own.
func checkCopy(ctx context.Context, db *sql.DB, part string) (err error) {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if _, err := conn.ExecContext(ctx, "ATTACH DATABASE ? AS checked_copy", part); err != nil {
		return err
	}
	defer func() {
		_, e := conn.ExecContext(context.WithoutCancel(ctx), "DETACH DATABASE checked_copy")
		err = errors.Join(err, e)
	}()
	var said string
	if err := conn.QueryRowContext(ctx, "PRAGMA checked_copy.integrity_check(1)").Scan(&said); err != nil {
		return err
	}
	if said != "ok" {
		return fmt.Errorf("the copy is damaged, and so may be the database: %s", said)
	}
	return nil
}

func syncFile(name string) error {
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func removeIfThere(name string) error {
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
