package store

import (
	"archive/tar"
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"strings"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/migrations"
)

// CheckCopy reads a copy from end to end and returns what it holds. A file that
// was cut short or changed is an Invalid error that says where.
func CheckCopy(ctx context.Context, file string, tell Progress) (Copied, error) {
	c := &copyChecker{tell: tell}
	if c.tell == nil {
		c.tell = func(int, int, string) {}
	}
	err := eachFile(ctx, file, c.take)
	if err == nil {
		err = c.close()
	}
	if err != nil {
		return c.found, fmt.Errorf("check %s: %w", file, err)
	}
	if info, err := os.Stat(file); err == nil {
		c.found.Bytes = info.Size()
	}
	return c.found, nil
}

// eachFile walks through a copy.
func eachFile(ctx context.Context, file string, take func(name string, content io.Reader) error) error {
	f, err := os.Open(file)
	if err != nil {
		return domain.Invalidf("the copy cannot be read: %v", err)
	}
	defer f.Close()
	zipped, err := gzip.NewReader(bufio.NewReaderSize(f, 1<<20))
	if err != nil {
		return domain.Invalidf("this is no copy of a shop: it is not compressed as one")
	}
	r := tar.NewReader(zipped)
	for {
		h, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return domain.Invalidf("the copy is damaged or cut short: %v", err)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := take(h.Name, r); err != nil {
			return err
		}
	}
}

// copyChecker compares the files of a copy with the sums at its end.
type copyChecker struct {
	tell  Progress
	files []fileSum
	found Copied
	sums  *sums
}

func (c *copyChecker) take(name string, content io.Reader) error {
	sum := sha256.New()
	var kept bytes.Buffer
	to := io.Writer(sum)
	if name == archiveAbout || name == archiveSums {
		to = io.MultiWriter(sum, &kept)
	}
	n, err := io.Copy(to, content)
	if err != nil {
		return domain.Invalidf("the copy is damaged or cut short in %s: %v", name, err)
	}
	switch name {
	case archiveAbout:
		err = json.Unmarshal(kept.Bytes(), &c.found.About)
	case archiveSums:
		c.sums = &sums{}
		return json.Unmarshal(kept.Bytes(), c.sums)
	}
	c.files = append(c.files, fileSum{Name: name, Bytes: n, Sum: hex.EncodeToString(sum.Sum(nil))})
	c.tell(len(c.files), 0, "checked "+strings.TrimPrefix(name, archiveRoot))
	return err
}

func (c *copyChecker) close() error {
	if c.found.Form != archiveForm {
		return domain.Invalidf("this is no copy of a shop, or one of another form (%d, this program knows %d)", c.found.Form, archiveForm)
	}
	if c.sums == nil || !c.sums.Complete {
		return domain.Invalidf("the copy is cut short: its end is missing")
	}
	if len(c.sums.Files) != len(c.files) {
		return domain.Invalidf("the copy holds %d files and should hold %d", len(c.files), len(c.sums.Files))
	}
	for i, want := range c.sums.Files {
		got := c.files[i]
		if got.Name != want.Name || got.Bytes != want.Bytes || got.Sum != want.Sum {
			return domain.Invalidf("the copy was changed or is damaged: %s is not as it was written", want.Name)
		}
		c.found.Rows += want.Rows
		if strings.HasPrefix(want.Name, archivePhotos) {
			c.found.Photos++
		}
	}
	c.found.Complete = true
	return nil
}

// Restore puts a copy into an empty place: a SQLite file that does not exist or a
// PostgreSQL database without tables. The copy is checked from end to end first,
// then all goes in or nothing. A copy of an older program is upgraded; one of a
// newer program is refused with both versions, as is a place that is not empty.
func Restore(ctx context.Context, file, database string, log *slog.Logger, tell Progress, options ...Option) (Copied, error) {
	found, err := CheckCopy(ctx, file, nil)
	if err != nil {
		return found, err
	}
	if found.Version > migrations.Latest() {
		return found, domain.Conflictf("the copy is of version %d, newer than this program, which knows version %d: use the newer program", found.Version, migrations.Latest())
	}
	if err := refuseExisting(database); err != nil {
		return found, err
	}
	if err := restoreAs(ctx, file, database, log, found, tell, options); err != nil {
		return found, errors.Join(fmt.Errorf("restore %s: %w", file, err), removeNew(database))
	}
	s, err := Open(ctx, database, log, options...) // takes the steps since the copy
	if err != nil {
		return found, err
	}
	return found, s.Close()
}

func refuseExisting(database string) error {
	if isAddress(database) {
		return nil // its tables are looked at once it is open
	}
	if _, err := os.Stat(database); !errors.Is(err, fs.ErrNotExist) {
		return domain.Conflictf("%s is there already; name a file that does not exist", database)
	}
	return nil
}

// removeNew removes the SQLite file that a failed return has made.
func removeNew(database string) error {
	if isAddress(database) {
		return nil
	}
	var errs []error
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.Remove(database + end); !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// restoreAs fills a database that stands at the copy's own version.
func restoreAs(ctx context.Context, file, database string, log *slog.Logger, found Copied, tell Progress, options []Option) (err error) {
	s, err := openAt(ctx, database, log, found.Version, options...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if tell == nil {
		tell = func(int, int, string) {}
	}
	return translate(s.db.WithContext(ctx).Transaction(func(db *gorm.DB) error {
		r := &restorer{store: s, db: db, tell: tell}
		if err := r.prepare(); err != nil {
			return err
		}
		r.total = len(r.tables) + found.Photos
		if err := eachFile(ctx, file, r.take); err != nil {
			return err
		}
		return s.countersForward(db)
	}))
}

// restorer puts the files of a copy where they belong.
type restorer struct {
	store       *Store
	db          *gorm.DB
	tell        Progress
	tables      map[string]table
	done, total int
}

func (r *restorer) prepare() error {
	if err := refuseFull(r.db); err != nil {
		return err
	}
	all, err := r.store.tables(r.db)
	if err != nil {
		return err
	}
	r.tables = map[string]table{}
	for _, t := range all {
		r.tables[t.name] = t
	}
	return r.db.Exec("DELETE FROM series").Error // the migrations put its first rows in
}

func (r *restorer) take(name string, content io.Reader) error {
	what := "photos"
	switch {
	case strings.HasPrefix(name, archiveTables):
		what = strings.TrimSuffix(strings.TrimPrefix(name, archiveTables), ".ndjson")
		t, known := r.tables[what]
		if !known {
			return domain.Invalidf("the copy holds a table %q that its version does not have", what)
		}
		if err := r.table(t, content); err != nil {
			return fmt.Errorf("fill %s: %w", what, err)
		}
	case strings.HasPrefix(name, archivePhotos):
		data, err := io.ReadAll(content)
		if err != nil {
			return err
		}
		if err := r.store.pictures.Keep(strings.TrimSuffix(strings.TrimPrefix(name, archivePhotos), ".jpg"), data); err != nil {
			return err
		}
	default:
		return nil
	}
	r.done++
	r.tell(r.done, r.total, what)
	return nil
}

// mostParams is how many values one statement takes on either engine.
const mostParams = 20_000

// table inserts the rows of a table, many with each statement.
func (r *restorer) table(t table, content io.Reader) error {
	lines := json.NewDecoder(content)
	lines.UseNumber()
	var names []string
	if err := lines.Decode(&names); err != nil {
		return err
	}
	kinds := make([]columnKind, len(names))
	for i, name := range names {
		at := -1
		for j, c := range t.columns {
			if c.name == name {
				at = j
			}
		}
		if at < 0 {
			return domain.Invalidf("the copy holds a column %q that its version does not have", name)
		}
		kinds[i] = t.columns[at].kind
	}
	var args []any
	for {
		var row []any
		err := lines.Decode(&row)
		if errors.Is(err, io.EOF) {
			return r.insert(t.name, names, args)
		}
		if err != nil || len(row) != len(names) {
			return domain.Invalidf("a row does not have %d values (%v)", len(names), err)
		}
		for i, v := range row {
			v, err := unarchived(v, kinds[i])
			if err != nil {
				return fmt.Errorf("%s: %w", names[i], err)
			}
			args = append(args, v)
		}
		if len(args)+len(names) > mostParams {
			if err := r.insert(t.name, names, args); err != nil {
				return err
			}
			args = args[:0]
		}
	}
}

func (r *restorer) insert(table string, names []string, args []any) error {
	if len(args) == 0 {
		return nil
	}
	one := "(" + strings.Repeat("?, ", len(names)-1) + "?)"
	rows := strings.Repeat(one+", ", len(args)/len(names)-1) + one
	return r.db.Exec(`INSERT INTO "`+table+`" ("`+strings.Join(names, `", "`)+`") VALUES `+rows, args...).Error
}

// unarchived is a value of a copy as the engine at hand keeps it.
func unarchived(v any, kind columnKind) (any, error) {
	switch v := v.(type) {
	case json.Number:
		n, err := v.Int64()
		if kind == yesNoColumn {
			return n != 0, err
		}
		return n, err
	case string:
		if kind == momentColumn {
			return time.Parse(sqliteMoment, v)
		}
	case map[string]any:
		text, _ := v["base64"].(string)
		return base64.StdEncoding.DecodeString(text)
	}
	return v, nil
}
