//go:build unix

package record

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// hold makes the lock of a stage and takes it for as long as the file returned is
// open. The system lets go of it when the run dies, however it dies.
func hold(stage string) (*os.File, error) { return lock(stage, os.O_CREATE|os.O_RDWR) }

// take takes the lock of a stage that no run holds.
func take(stage string) (*os.File, error) { return lock(stage, os.O_RDWR) }

func lock(stage string, flag int) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(stage, lockName), flag, 0o666)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		if err == syscall.EWOULDBLOCK {
			err = errTaken
		}
		return nil, fmt.Errorf("%s: %w", f.Name(), err)
	}
	// A lock that was removed while this one waited for the system locks nothing.
	ours, err := f.Stat()
	if err == nil {
		var there os.FileInfo
		if there, err = os.Stat(f.Name()); err == nil && !os.SameFile(ours, there) {
			err = fmt.Errorf("%s: %w", f.Name(), errTaken)
		}
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}
