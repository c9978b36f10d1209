//go:build unix && !solaris && !aix

package migrations

import (
	"errors"
	"os"
	"syscall"
)

// tryLock asks for the exclusive lock of an open file and does not wait. The
// lock belongs to this opening of the file, so two callers in one program
// exclude each other too.
func tryLock(f *os.File) (bool, error) {
	err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) || errors.Is(err, syscall.EINTR) {
		return false, nil
	}
	return err == nil, err
}
