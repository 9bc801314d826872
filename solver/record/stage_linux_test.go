package record

import (
	"bytes"
	"encoding/binary"
	"path/filepath"
	"testing"

	"golang.org/x/sys/unix"
)

// TestKeptBeforeItIsLetGo: the lock of results that are given to the user is gone
// before it is let go: in between, any other run's sweep would take the results for a
// dead run's and remove them. Against what the system saw of the stage, in order.
func TestKeptBeforeItIsLetGo(t *testing.T) {
	s := staged(t, filepath.Join(t.TempDir(), "out"))
	watch, err := unix.InotifyInit1(unix.IN_CLOEXEC | unix.IN_NONBLOCK)
	if err != nil {
		t.Skip("the system does not tell what it sees: ", err)
	}
	defer unix.Close(watch)
	const gone, letGo = unix.IN_DELETE, unix.IN_CLOSE_WRITE
	if _, err := unix.InotifyAddWatch(watch, s.path, gone|letGo); err != nil {
		t.Skip("the system does not tell what it sees: ", err)
	}
	s.keep()
	if s.lock != nil {
		t.Error("the lock is still held")
	}
	buf := make([]byte, 4096)
	n, err := unix.Read(watch, buf)
	if err != nil {
		t.Fatal(err)
	}
	var first unix.InotifyEvent
	if err := binary.Read(bytes.NewReader(buf[:n]), binary.NativeEndian, &first); err != nil {
		t.Fatal(err)
	}
	if first.Mask&gone == 0 {
		t.Errorf("first the lock is let go (event %#x), want it removed first (event %#x)", first.Mask, gone)
	}
}
