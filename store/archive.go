package store

import (
	"archive/tar"
	"bufio"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gorm.io/gorm"

	"winterbench/domain"
	"winterbench/migrations"
)

// A copy of the shop is one file: a tar compressed by gzip, which common tools
// open. It is the same from either engine and goes back into either.
//
//	winterbench/about.json       what made it, and the version of the tables
//	winterbench/tables/NAME.ndjson  a line of column names, then a line for each row
//	winterbench/photos/NAME.jpg
//	winterbench/sums.json        rows, bytes and SHA-256 of each file before it
//
// A row is a list of values: whole numbers and texts as they are, yes and no as 1
// and 0, moments as texts in UTC, bytes as {"base64":"..."}.
const (
	archiveRoot   = "winterbench/"
	archiveAbout  = archiveRoot + "about.json"
	archiveSums   = archiveRoot + "sums.json"
	archiveTables = archiveRoot + "tables/"
	archivePhotos = archiveRoot + "photos/"
	archiveForm   = 1
)

// About opens a copy.
type About struct {
	Form     int       `json:"form"`   // of the file, 1
	Version  int64     `json:"tables"` // the newest migration that the tables have
	Engine   string    `json:"engine"` // that it was made from
	Made     time.Time `json:"made"`
	Complete bool      `json:"complete"` // in the sums at the end: nothing is missing
}

// fileSum is what sums.json says of one file.
type fileSum struct {
	Name  string `json:"name"`
	Rows  int    `json:"rows,omitempty"`
	Bytes int64  `json:"bytes"`
	Sum   string `json:"sha256"`
}

// sums close a copy.
type sums struct {
	About
	Files []fileSum `json:"files"`
}

// Progress is told what a copy or its return has done; total counts tables and
// photos together.
type Progress func(done, total int, what string)

// Copied says what a copy holds.
type Copied struct {
	About
	Rows, Photos int
	Bytes        int64 // of the file
}

// Backup writes the whole shop as it stands at one moment to a new file, while
// others go on working. The file appears under its name when it is whole and on
// the disk; one that is there already is a conflict.
func (s *Store) Backup(ctx context.Context, file string, tell Progress) (Copied, error) {
	if _, err := os.Stat(file); err == nil {
		return Copied{}, domain.Conflictf("%s is there already; name a file that does not exist", file)
	}
	f, err := os.CreateTemp(filepath.Dir(file), ".copy-*")
	if err != nil {
		return Copied{}, fmt.Errorf("make the copy: %w", err)
	}
	defer os.Remove(f.Name()) // gone already when all went well
	made, err := s.writeCopy(ctx, f, tell)
	if err == nil {
		err = f.Sync()
	}
	if info, statErr := f.Stat(); statErr == nil {
		made.Bytes = info.Size()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return Copied{}, fmt.Errorf("make the copy: %w", err)
	}
	if err := os.Link(f.Name(), file); err != nil { // unlike a rename it refuses a file that came meanwhile
		if err := os.Rename(f.Name(), file); err != nil {
			return Copied{}, fmt.Errorf("name the copy: %w", err)
		}
	}
	return made, syncFolder(filepath.Dir(file))
}

func (s *Store) writeCopy(ctx context.Context, to io.Writer, tell Progress) (Copied, error) {
	zipped := gzip.NewWriter(to)
	w := &archiveWriter{tar: tar.NewWriter(zipped), tell: tell}
	if w.tell == nil {
		w.tell = func(int, int, string) {}
	}
	err := s.inReadTx(ctx, func(db *gorm.DB) error { return s.copyRows(ctx, db, w) })
	if err == nil {
		err = s.copyPhotos(ctx, w)
	}
	if err == nil {
		w.made.Complete = true
		err = w.json(archiveSums, sums{About: w.made.About, Files: w.files})
	}
	return w.made, errors.Join(err, w.tar.Close(), zipped.Close())
}

// copyRows writes what the tables hold, all within one transaction.
func (s *Store) copyRows(ctx context.Context, db *gorm.DB, w *archiveWriter) error {
	var version int64
	if err := db.Raw("SELECT max(version_id) FROM " + migrations.Table).Scan(&version).Error; err != nil {
		return err
	}
	w.made.About = About{Form: archiveForm, Version: version, Engine: string(s.dialect), Made: domain.Moment(time.Now())}
	if err := w.json(archiveAbout, w.made.About); err != nil {
		return err
	}
	all, err := s.tables(db)
	if err != nil {
		return err
	}
	photos, err := s.pictures.Names()
	if err != nil {
		return err
	}
	w.total = len(all) + len(photos)
	for _, t := range all {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := w.table(db, t); err != nil {
			return fmt.Errorf("copy %s: %w", t.name, err)
		}
	}
	return nil
}

// copyPhotos writes the files of photos. They never change and are there before
// the rows that name them, so all that the rows of the copy name are found.
func (s *Store) copyPhotos(ctx context.Context, w *archiveWriter) error {
	names, err := s.pictures.Names()
	if err != nil {
		return err
	}
	w.total = w.done + len(names)
	for _, name := range names {
		if err := ctx.Err(); err != nil {
			return err
		}
		data, err := s.pictures.Read(name)
		if err != nil {
			return err
		}
		if err := w.file(archivePhotos+name+".jpg", data, 0); err != nil {
			return err
		}
		w.made.Photos++
		w.step("photos")
	}
	return nil
}

// archiveWriter writes the files of a copy and adds up what they hold.
type archiveWriter struct {
	tar         *tar.Writer
	tell        Progress
	files       []fileSum
	made        Copied
	done, total int
}

func (w *archiveWriter) step(what string) {
	w.done++
	w.tell(w.done, w.total, what)
}

func (w *archiveWriter) json(name string, v any) error {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	return w.file(name, append(data, '\n'), 0)
}

func (w *archiveWriter) file(name string, data []byte, rows int) error {
	sum := sha256.Sum256(data)
	w.files = append(w.files, fileSum{Name: name, Rows: rows, Bytes: int64(len(data)), Sum: hex.EncodeToString(sum[:])})
	if err := w.tar.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: int64(len(data)), ModTime: w.made.Made, Format: tar.FormatPAX}); err != nil {
		return err
	}
	_, err := w.tar.Write(data)
	return err
}

// table writes one table by way of a file beside the temporary ones, since a tar
// wants to know its size first.
func (w *archiveWriter) table(db *gorm.DB, t table) (err error) {
	f, err := os.CreateTemp("", "winterbench-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close(), os.Remove(f.Name())) }()
	sum := sha256.New()
	count, rows, err := writeRows(db, t, io.MultiWriter(f, sum))
	if err != nil {
		return err
	}
	w.made.Rows += rows
	defer w.step(t.name)
	return w.stream(archiveTables+t.name+".ndjson", f, count, rows, sum)
}

func (w *archiveWriter) stream(name string, f *os.File, size int64, rows int, sum hash.Hash) error {
	w.files = append(w.files, fileSum{Name: name, Rows: rows, Bytes: size, Sum: hex.EncodeToString(sum.Sum(nil))})
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	if err := w.tar.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: size, ModTime: w.made.Made, Format: tar.FormatPAX}); err != nil {
		return err
	}
	_, err := io.Copy(w.tar, f)
	return err
}

// writeRows writes a table's lines and returns how many bytes and rows they are.
func writeRows(db *gorm.DB, t table, to io.Writer) (int64, int, error) {
	counted := &counter{to: to}
	out := bufio.NewWriter(counted)
	lines := json.NewEncoder(out)
	lines.SetEscapeHTML(false)
	if err := lines.Encode(t.names()); err != nil {
		return 0, 0, err
	}
	rows, err := db.Raw(`SELECT "` + strings.Join(t.names(), `", "`) + `" FROM "` + t.name + `"` + t.orderOf()).Rows()
	if err != nil {
		return 0, 0, err
	}
	n, err := encodeRows(rows, t, lines)
	err = errors.Join(err, rows.Err(), rows.Close(), out.Flush())
	return counted.n, n, err
}

func encodeRows(rows *sql.Rows, t table, lines *json.Encoder) (int, error) {
	values, into := make([]any, len(t.columns)), make([]any, len(t.columns))
	for i := range values {
		into[i] = &values[i]
	}
	n := 0
	for ; rows.Next(); n++ {
		if err := rows.Scan(into...); err != nil {
			return n, err
		}
		for i, v := range values {
			values[i] = archived(v)
		}
		if err := lines.Encode(values); err != nil {
			return n, err
		}
	}
	return n, nil
}

// archivedBytes is how a copy writes bytes.
type archivedBytes struct {
	Base64 []byte `json:"base64"`
}

// archived is a value as a copy writes it, the same from both engines.
func archived(v any) any {
	switch v := v.(type) {
	case bool:
		if v {
			return 1
		}
		return 0
	case time.Time:
		return domain.Moment(v).Format(sqliteMoment)
	case []byte:
		return archivedBytes{v}
	}
	return v
}

// counter counts what is written.
type counter struct {
	to io.Writer
	n  int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.to.Write(p)
	c.n += int64(n)
	return n, err
}
