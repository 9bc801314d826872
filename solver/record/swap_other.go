//go:build !linux

package record

import "errors"

// swap is not to be had here.
func swap(_, _ string) error { return errors.ErrUnsupported }
