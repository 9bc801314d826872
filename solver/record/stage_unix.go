//go:build unix

package record

import (
	"os"
	"path/filepath"
	"syscall"
)

// hold takes the lock of a stage for as long as the file returned is open. The
// system lets go of it when the run dies, however it dies.
func hold(stage string) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(stage, lockName), os.O_CREATE|os.O_RDWR, 0o666)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// abandoned says whether no run holds the stage's lock.
func abandoned(stage string) bool {
	f, err := os.OpenFile(filepath.Join(stage, lockName), os.O_RDWR, 0)
	if err != nil {
		return false // no lock yet, or not ours to judge
	}
	defer f.Close()
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil
}
