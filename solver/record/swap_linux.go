package record

import (
	"errors"
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// swap exchanges two folders in one step, or fails with errors.ErrUnsupported
// where the file system cannot.
func swap(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	switch {
	case err == nil:
		return nil
	case err == unix.EINVAL, err == unix.ENOSYS:
		return fmt.Errorf("exchange %s: %w", b, errors.ErrUnsupported)
	}
	return &os.LinkError{Op: "exchange", Old: a, New: b, Err: err}
}
