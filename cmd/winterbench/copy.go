package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"winterbench/store"
)

// shopFlags name a shop: its database and where its photos lie.
type shopFlags struct {
	Database string `help:"A file, or a postgres:// address." default:"${database}" env:"WINTERBENCH_DATABASE" placeholder:"FILE"`
	Photos   string `help:"Folder for photos, as for serve." env:"WINTERBENCH_PHOTOS" placeholder:"FOLDER"`
}

func (f shopFlags) photos() store.Option { return store.PhotosIn(photosOf(f.Photos, f.Database)) }

// photosOf is the folder that was named; a PostgreSQL server has no place beside
// it, so its photos lie with the program's other files.
func photosOf(named, database string) string {
	if named == "" && strings.HasPrefix(database, "postgres") && strings.Contains(database, "://") {
		return filepath.Join(dataFolder(), "photos")
	}
	return named
}

type backupCommand struct {
	shopFlags
	File string `arg:"" help:"The file to write; it must not be there yet." placeholder:"FILE"`
}

// Help gives examples.
func (backupCommand) Help() string {
	return "The copy holds everything but the sign-ins: tables and photos, as of one moment, while the shop goes on working. " +
		"Keep it where the shop's computer cannot take it along when it fails, and guard it: it holds customers' names.\n\n" +
		"Examples:\n  winterbench backup monday.tar.gz\n  winterbench backup --database postgres://bench@localhost/winterbench monday.tar.gz"
}

// Run makes the copy.
func (c *backupCommand) Run(ctx context.Context, t *terminal) error {
	if err := mustExist(c.Database); err != nil {
		return err
	}
	s, err := store.Open(ctx, c.Database, nil, c.photos())
	if err != nil {
		return err
	}
	defer s.Close()
	bar := newBar(t.err)
	made, err := s.Backup(ctx, c.File, bar.tell)
	bar.clear()
	if err != nil {
		return err
	}
	fmt.Fprintf(t.out, "Copied %s to %s, %s.\n", copiedText(made), c.File, bytesText(made.Bytes))
	return nil
}

// mustExist refuses a file that is not there: opening it would make an empty shop.
func mustExist(database string) error {
	if strings.Contains(database, "://") {
		return nil
	}
	if _, err := os.Stat(database); err != nil {
		return fmt.Errorf("there is no shop at %s; name its file with --database", database)
	}
	return nil
}

type restoreCommand struct {
	shopFlags
	File  string `arg:"" help:"The copy." placeholder:"FILE"`
	Check bool   `help:"Only read the copy from end to end and say what it holds."`
}

// Help gives examples.
func (restoreCommand) Help() string {
	return "The copy is checked from end to end and goes into an empty place only: a file that does not exist, or a PostgreSQL database without tables. " +
		"A copy of either kind of database goes into either.\n\n" +
		"Examples:\n  winterbench restore --check monday.tar.gz\n  winterbench restore monday.tar.gz --database new.db"
}

// Run brings the copy back, or checks it.
func (c *restoreCommand) Run(ctx context.Context, t *terminal) error {
	bar := newBar(t.err)
	if c.Check {
		found, err := store.CheckCopy(ctx, c.File, bar.tell)
		bar.clear()
		if err != nil {
			return err
		}
		fmt.Fprintf(t.out, "The copy of %s is whole: %s.\n", found.Made.Local().Format("2 January 2006, 15:04"), copiedText(found))
		return nil
	}
	found, err := store.Restore(ctx, c.File, c.Database, nil, bar.tell, c.photos())
	bar.clear()
	if err != nil {
		return err
	}
	fmt.Fprintf(t.out, "Restored %s into %s. Open it with: winterbench serve --database %s\n", copiedText(found), c.Database, c.Database)
	return nil
}

func copiedText(c store.Copied) string {
	photos := fmt.Sprintf("%d photos", c.Photos)
	if c.Photos == 1 {
		photos = "1 photo"
	}
	return fmt.Sprintf("%d rows and %s", c.Rows, photos)
}

func bytesText(n int64) string {
	if n < 1_000_000 {
		return fmt.Sprintf("%d kB", (n+999)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

// bar shows how far long work has come, on a terminal only and a few times a second.
type bar struct {
	to   io.Writer
	last time.Time
}

func newBar(to io.Writer) *bar {
	if f, ok := to.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
			return &bar{to: to}
		}
	}
	return &bar{to: io.Discard}
}

const (
	barWidth = 30
	barPause = 100 * time.Millisecond
)

func (b *bar) tell(done, total int, what string) {
	if time.Since(b.last) < barPause {
		return
	}
	b.last = time.Now()
	if total == 0 {
		fmt.Fprintf(b.to, "\r\x1b[K%d %s", done, what)
		return
	}
	full := min(barWidth, barWidth*done/total)
	fmt.Fprintf(b.to, "\r\x1b[K%s%s %d of %d, %s", strings.Repeat("█", full), strings.Repeat("░", barWidth-full), done, total, what)
}

func (b *bar) clear() { fmt.Fprint(b.to, "\r\x1b[K") }
