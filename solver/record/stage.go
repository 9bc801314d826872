package record

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// stage is where a run writes: a folder beside the results folder, with a lock
// for as long as the run lives.
//
//	DIR.part-123/.lock    held by the run; near its end it holds a copy of run.json
//	DIR.part-123/results  what becomes DIR, and after a swap what DIR was
//	DIR.part-123/old      what DIR was, between two renames
//
// Whatever instant a run is killed at, DIR is what it was or what it becomes, and
// the next run to DIR finds in the stage all that is left to do. What was staged is
// not taken up again: a run killed between its last file and the swap loses complete
// results. That holds for a process that dies; nothing is forced to the disk, so after
// a loss of power the system's own order of writing decides.
type stage struct {
	path string
	dir  string // the results folder
	lock *os.File
}

const (
	stageInfix = ".part-"
	lockName   = ".lock"
	resultsIn  = "results"
	oldIn      = "old"
)

// ErrKept is wrapped by Finish's error when the results could not be put in their
// place and are whole in the folder that the error names next.
var ErrKept = errors.New("the results are whole in")

// errTaken says that another run swept a stage before its lock was held.
var errTaken = errors.New("was taken by another run")

// newStage makes a stage for the results folder dir.
func newStage(dir string) (*stage, error) {
	// A run that sweeps can take a folder in the instant before its lock is held.
	const tries = 10
	for try := 1; ; try++ {
		s := &stage{dir: dir}
		err := s.make()
		if err == nil {
			return s, nil
		}
		left := s.remove()
		if try == tries || !errors.Is(err, errTaken) && !errors.Is(err, fs.ErrNotExist) {
			return nil, andLeft(err, left)
		}
	}
}

func (s *stage) make() (err error) {
	if s.path, err = os.MkdirTemp(filepath.Dir(s.dir), filepath.Base(s.dir)+stageInfix+"*"); err != nil {
		return err
	}
	if s.lock, err = hold(s.path); err != nil {
		return err
	}
	return os.Mkdir(s.results(), 0o777)
}

func (s *stage) results() string { return filepath.Join(s.path, resultsIn) }
func (s *stage) old() string     { return filepath.Join(s.path, oldIn) }

// remove removes the stage, its lock last: what is left half removed is still
// known as a dead run's.
func (s *stage) remove() error {
	if s.path == "" {
		return nil
	}
	err := errors.Join(os.RemoveAll(s.results()), os.RemoveAll(s.old()))
	if err == nil {
		err = os.RemoveAll(s.path)
	}
	s.release()
	if err != nil {
		return fmt.Errorf("%s is left: %w", s.path, err)
	}
	return nil
}

func (s *stage) release() {
	if s.lock != nil {
		s.lock.Close()
		s.lock = nil
	}
}

// keep gives the stage's files to the user: without a lock no run removes them. The
// file goes while it is held: one let go before it is gone is a dead run's to any
// sweep in between.
func (s *stage) keep() {
	name := filepath.Join(s.path, lockName)
	if os.Remove(name) != nil { // some systems remove nothing that is open; there no run sweeps
		defer os.Remove(name)
	}
	s.release()
}

// settle puts the results where they belong. What the user added to an earlier
// folder of that name stays in it.
func (s *stage) settle(force bool) error {
	if err := s.put(force); err != nil {
		s.keep()
		return fmt.Errorf("%w; %w %s", err, ErrKept, s.results())
	}
	earlier := s.results()
	if _, err := os.Lstat(s.old()); err == nil {
		earlier = s.old()
	}
	// A name that both have is the run's: another run's is not kept.
	if err := s.carry(earlier); err != nil && !errors.Is(err, fs.ErrExist) {
		s.keep()
		return fmt.Errorf("the results are in %s, and what it held before is in %s: %w", s.dir, s.path, err)
	}
	return s.remove()
}

// put makes the stage's results the results folder, in one step where the system can
// swap two folders, else in two that sweep can complete.
func (s *stage) put(force bool) error {
	info, err := os.Lstat(s.dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return os.Rename(s.results(), s.dir)
	case err == nil && !info.IsDir():
		return fmt.Errorf("%s is not a folder any more", s.dir)
	}
	if err := checkPlace(s.dir, force); err != nil {
		return err
	}
	if s.mark() != nil { // a disk can be full to the last byte; renames need none
		return s.replace()
	}
	if err := s.trade(force); !errors.Is(err, errors.ErrUnsupported) {
		return err
	}
	return s.replace()
}

// trade swaps the results with the folder that stands in their place, and back
// if another run finished there since the last look.
func (s *stage) trade(force bool) error {
	if err := swap(s.results(), s.dir); err != nil {
		return err
	}
	if checkPlace(s.results(), force) == nil {
		return nil
	}
	if err := swap(s.results(), s.dir); err != nil {
		return err
	}
	return checkPlace(s.dir, force)
}

// replace moves away the folder that stands in the results' place, and then the
// results there.
func (s *stage) replace() error {
	if err := os.Rename(s.dir, s.old()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := os.Rename(s.results(), s.dir); err != nil {
		return andLeft(err, os.Rename(s.old(), s.dir))
	}
	return nil
}

// mark notes in the lock which results are the run's own, for a sweep after a
// swap to tell them from what they replaced.
func (s *stage) mark() error {
	data, err := os.ReadFile(filepath.Join(s.results(), "run.json"))
	if err != nil {
		return err
	}
	_, err = s.lock.Write(data)
	return err
}

// swapped says whether the stage's results are another run's.
func (s *stage) swapped() bool {
	mark, err := os.ReadFile(filepath.Join(s.path, lockName))
	if err != nil || len(mark) == 0 {
		return false
	}
	data, err := os.ReadFile(filepath.Join(s.results(), "run.json"))
	return err != nil || !bytes.Equal(data, mark) // no two runs take equally long to the last digit
}

// carry moves what a run did not write from an earlier folder, which is now in
// the stage, into the results folder. A name that is taken there is left, and
// the error says so in the end.
func (s *stage) carry(earlier string) error {
	list, err := os.ReadDir(earlier)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var taken error
	for _, e := range list {
		if ours(e.Name()) {
			continue
		}
		to := filepath.Join(s.dir, e.Name())
		if _, err := os.Lstat(to); err == nil {
			taken = fmt.Errorf("%s: %w", to, fs.ErrExist)
		} else if err := os.Rename(filepath.Join(earlier, e.Name()), to); err != nil {
			return err
		}
	}
	return taken
}

// unmovable says whether dir is a folder that no rename can move, as one that
// something is mounted on: better known before a run than after. Nothing moves
// here: results is not empty, and a folder is not renamed onto such a one.
func unmovable(dir, results string) bool {
	err := syscall.Rename(dir, results) // os.Rename does not ask the system about folders
	return errors.Is(err, syscall.EBUSY) || errors.Is(err, syscall.EXDEV)
}

// sweep completes and removes what killed runs left beside dir. A stage that
// holds something of the user's and cannot give it back stays.
func sweep(dir string) {
	dir, err := place(dir)
	if err != nil {
		return
	}
	left, _ := filepath.Glob(globQuote(dir) + stageInfix + "*") // the pattern is well formed
	for _, path := range left {
		if strings.Trim(path[len(dir+stageInfix):], "0123456789") != "" {
			continue // not named by a run
		}
		lock, err := take(path)
		if errors.Is(err, fs.ErrNotExist) {
			os.Remove(path) // killed before it had a lock: only an empty folder goes
		}
		if err != nil {
			continue
		}
		s := &stage{path: path, dir: dir, lock: lock}
		if _, err := os.Lstat(s.old()); err == nil { // killed between two renames: the results are whole
			if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) && os.Rename(s.results(), dir) != nil {
				os.Rename(s.old(), dir)
			}
		}
		err = s.carry(s.old())
		if err == nil && s.swapped() {
			err = s.carry(s.results())
		}
		if err != nil {
			s.release()
			continue
		}
		s.remove()
	}
}

func globQuote(s string) string {
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(s)
}
