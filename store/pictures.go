package store

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"winterbench/domain"
	"winterbench/domain/photo"
)

// Pictures is the folder that holds the bytes of photos beside the database:
// DIR/ab/abcd....jpg, named after the SHA-256 of the content. A file is never
// changed once it is there, so several programs may share a folder, and a copy of
// it made while they run is whole. It is safe for use by many goroutines.
type Pictures struct{ dir string }

// Dir is the path of the folder, "" when there is none.
func (p *Pictures) Dir() string { return p.dir }

// path is where a picture lies. A name of another form than [photo.Name] gives
// is a not-found error, so that no name leads out of the folder.
func (p *Pictures) path(name string) (string, error) {
	if !photo.IsName(name) {
		return "", domain.NotFoundf("there is no such picture")
	}
	if p.dir == "" {
		return "", errors.New("the store has no folder for pictures; name one with --photos")
	}
	return filepath.Join(p.dir, name[:2], name+".jpg"), nil
}

// Keep writes a picture under the name of its content. When it returns nil the
// file outlives a power cut. A picture that is there already stays as it is.
func (p *Pictures) Keep(name string, data []byte) error {
	path, err := p.path(name)
	if err != nil {
		return err
	}
	if photo.Name(data) != name {
		return fmt.Errorf("keep picture %s: the content has another name, %s", name, photo.Name(data))
	}
	if err := p.keep(path, data); err != nil {
		return fmt.Errorf("keep picture %s: %w", name, err)
	}
	return nil
}

func (p *Pictures) keep(path string, data []byte) error {
	folder := filepath.Dir(path)
	if there, err := os.ReadFile(path); err == nil && bytes.Equal(there, data) {
		return syncFolder(folder)
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	temporary, err := writeBeside(folder, data)
	if err != nil {
		return err
	}
	if err := os.Rename(temporary, path); err != nil {
		return errors.Join(err, os.Remove(temporary))
	}
	return errors.Join(syncFolder(folder), syncFolder(p.dir), syncFolder(filepath.Dir(p.dir)))
}

// writeBeside writes data to a new file that only its owner can read, down to
// the disk, and returns its path. On an error nothing is left.
func writeBeside(folder string, data []byte) (path string, err error) {
	f, err := os.CreateTemp(folder, ".new-*")
	if err != nil {
		return "", err
	}
	defer func() {
		if err = errors.Join(err, f.Close()); err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if _, err := f.Write(data); err != nil {
		return "", err
	}
	return f.Name(), f.Sync()
}

// syncFolder brings the names in a folder down to the disk. Windows has no such
// thing and needs none.
func syncFolder(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Read returns a picture as it was kept. A name without a file is a not-found error.
func (p *Pictures) Read(name string) ([]byte, error) {
	path, err := p.path(name)
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, domain.NotFoundf("the file of this picture is not in the folder of photos; bring it back from a backup")
	}
	if err != nil {
		return nil, fmt.Errorf("read picture %s: %w", name, err)
	}
	return data, nil
}

// Names lists the pictures that are kept, in order, for a backup to walk. What
// else lies in the folder is left out. A folder that does not exist yet is empty.
func (p *Pictures) Names() ([]string, error) {
	if p.dir == "" {
		return nil, nil
	}
	var names []string
	err := fs.WalkDir(os.DirFS(p.dir), ".", func(path string, d fs.DirEntry, err error) error {
		if path == "." && errors.Is(err, fs.ErrNotExist) {
			return fs.SkipAll
		}
		name, isPicture := strings.CutSuffix(d.Name(), ".jpg")
		if err == nil && isPicture && photo.IsName(name) && path == name[:2]+"/"+name+".jpg" {
			names = append(names, name)
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("list the pictures: %w", err)
	}
	return names, nil
}
