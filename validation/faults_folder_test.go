//dossier:chapter Faults while running

//go:build validate && linux

package validation

import (
	"bytes"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// mount makes a file system in memory of so many bytes at a new folder, or skips
// the test where that may not be done.
func mount(t *testing.T, at string, bytes int64, flags uintptr) string {
	t.Helper()
	if err := os.MkdirAll(at, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", at, "tmpfs", flags, fmt.Sprintf("size=%d", bytes)); err != nil {
		t.Skipf("a small file system cannot be mounted here (%v): run as root", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(at, syscall.MNT_DETACH) })
	return at
}

// pages is what files take on such a file system.
func pages(files map[string][]byte, of func(name string) bool) int64 {
	const page = 4096
	n := int64(0)
	for name, data := range files {
		if of(name) {
			n += (int64(len(data)) + page - 1) / page * page
		}
	}
	return n
}

func isFigure(name string) bool { return strings.HasPrefix(name, "figures/") }
func isResult(name string) bool { return !isFigure(name) }

// sheet gathers what was seen of several faults, and what was wrong.
type sheet struct {
	b     *bench
	fault string
	rows  [][]string
	wrong []string
}

func (s *sheet) fail(format string, a ...any) {
	s.wrong = append(s.wrong, s.fault+": "+fmt.Sprintf(format, a...))
}

// row notes a fault's end, and wants its exit code, its only lines (one pattern a
// line), and the state of its folder.
func (s *sheet) row(dir string, code, want int, lines, patterns []string, state string) {
	said := strings.ReplaceAll(strings.Join(lines, " / "), s.b.at+"/", "")
	for _, d := range stages(dir) { // numbers that differ from run to run
		said = strings.ReplaceAll(said, filepath.Base(d), filepath.Base(dir)+".part-N")
	}
	said = regexp.MustCompile(`\.part-\d+`).ReplaceAllString(said, ".part-N")
	seen := "nothing"
	if info, err := os.Lstat(dir); err == nil && !info.IsDir() {
		seen = "the user's file"
	} else if err == nil {
		if list, _ := os.ReadDir(dir); len(list) == 0 {
			seen = "an empty folder"
		} else if !exists(filepath.Join(dir, "run.json")) {
			seen = "something else"
		} else {
			var bad []string
			seen, bad = judge(s.b.t, dir, s.b.whole, "notes.txt")
			for _, w := range bad {
				if state != "earlier" {
					s.fail("%s", w)
				}
			}
		}
	}
	if state == "earlier" {
		state = "the earlier run, untouched"
		if maps.EqualFunc(content(s.b.t, dir), s.b.earlierFiles(), bytes.Equal) {
			seen = state
		}
	}
	s.rows = append(s.rows, []string{s.fault, strconv.Itoa(code), seen, strconv.Itoa(len(stages(dir))), said})
	if code != want {
		s.fail("ends with %d, want %d: %s", code, want, said)
	}
	if seen != state {
		s.fail("leaves %s under the name, want %s", seen, state)
	}
	if len(lines) != len(patterns) {
		s.fail("says %d lines, want %d: %s", len(lines), len(patterns), said)
		return
	}
	for i, p := range patterns {
		if !regexp.MustCompile(p).MatchString(lines[i]) {
			s.fail("says %q, want %s", lines[i], p)
		}
	}
}

// clear wants no stage left beside dir.
func (s *sheet) clear(dir string) {
	if left := stages(dir); len(left) > 0 {
		s.fail("leaves %s", left)
	}
}

// kept wants one stage beside dir, with whole results in it.
func (s *sheet) kept(dir string) {
	left := stages(dir)
	if len(left) != 1 {
		s.fail("leaves %s, want one folder with the results", left)
		return
	}
	state, bad := judge(s.b.t, filepath.Join(left[0], "results"), s.b.whole)
	if s.wrong = append(s.wrong, bad...); state != "finished, no figures" {
		s.fail("its kept results are %s, want finished, no figures", state)
	}
}

func (s *sheet) close(t *testing.T, title, claim string) {
	t.Helper()
	table(t, title, []string{"fault", "exit", "on disk under the name", "folders left beside it", "said on stderr"}, s.rows)
	for _, r := range s.rows {
		t.Logf("SEEN | %s", strings.Join(r, " | "))
	}
	none(t, claim, s.wrong)
}

func (b *bench) earlierFiles() map[string][]byte {
	b.t.Helper()
	return content(b.t, filepath.Join(b.at, "earlier", "out"))
}

// TestDiskFull: a disk that fills at any stage of a run ends it with 1 and a line
// that says so and what to do; what is under the folder's name is whole.
// Source: exact; the sizes are those of an undisturbed run's files in pages of
// 4096 bytes, so that each disk fills where it should.
func TestDiskFull(t *testing.T) {
	b := newBench(t)
	all, drawn := pages(b.whole, isResult), pages(b.whole, isFigure)
	in := func(dir string) int64 {
		return pages(b.whole, func(name string) bool { return strings.HasPrefix(name, dir+"/") })
	}
	half := in("mesh") + in("fields")/2
	b.earlier(filepath.Join(b.at, "probe"))
	before := pages(b.earlierFiles(), func(string) bool { return true })
	const page = 4096
	remedy := `: no space left on device; free some space, or name another place with -o, and run again$`
	s := &sheet{b: b}
	for i, c := range []struct {
		fault    string
		bytes    int64
		earlier  bool
		code     int
		patterns []string
		state    string
	}{
		{"full before the first file", page, false, 1, []string{`^soiljoule run: write .*` + remedy}, "nothing"},
		{"full in the mesh", 5 * page, false, 1, []string{`^soiljoule run: .*/(mesh|fields)/.*` + remedy}, "nothing"},
		{"full in the fields", half, false, 1, []string{`^soiljoule run: stopped on day \d[.\d]*, nothing is kept: .*/fields/.*` + remedy}, "nothing"},
		{"full in the last file", all - page, false, 1, []string{`^soiljoule run: .*/run\.json` + remedy}, "nothing"},
		{"full after the last file", all, false, 1,
			[]string{`^soiljoule figures: .*/figures(/|:).*no space left on device.*; mend that and draw them with: soiljoule figures `, `^results in `}, "finished, no figures"},
		// The earlier run, figures and all, makes room when it is replaced.
		{"full after the last file, over an earlier run", before + all, true, 0, []string{`^results in `}, "finished, all figures"},
		{"full in the first figure", all + 2*page, false, 1,
			[]string{`^soiljoule figures: figure sensors: .*no space left on device, and so \d+ more; mend that and draw them with: soiljoule figures `, `^results in `}, "finished, no figures"},
		{"full half through the figures", all + drawn/2, false, 1,
			[]string{`^soiljoule figures: figure .*no space left on device.*; mend that and draw them with: soiljoule figures `, `^results in `}, "finished, some figures"},
		{"large enough", all + drawn + page, false, 0, []string{`^results in `}, "finished, all figures"},
		{"full in the fields, over an earlier run", before + half, true, 1, []string{`^soiljoule run: stopped on day .*/fields/.*` + remedy}, "earlier"},
		{"full in the last file, over an earlier run", before + all - page, true, 1, []string{`^soiljoule run: .*/run\.json` + remedy}, "earlier"},
	} {
		s.fault = c.fault
		dir := filepath.Join(mount(t, filepath.Join(b.at, fmt.Sprintf("disk%d", i)), c.bytes, 0), "out")
		args := b.args(dir, benchDays)
		if c.earlier {
			b.earlier(dir)
			args = append(args, "--force")
		}
		p := b.start(nil, args...)
		code := p.wait()
		s.row(dir, code, c.code, p.lines(), c.patterns, c.state)
		s.clear(dir)
		if exists(dir) && !c.earlier && code == 1 { // once there is space again
			if err := syscall.Mount("tmpfs", filepath.Dir(dir), "tmpfs", syscall.MS_REMOUNT, fmt.Sprintf("size=%d", 4*(all+drawn))); err != nil {
				t.Fatal(err)
			}
			if p := b.start(nil, "figures", dir); p.wait() != 0 {
				s.fail("its figures cannot be drawn when there is space: %s", p.stderr.String())
			}
			if state, bad := judge(t, dir, b.whole); state != "finished, all figures" || len(bad) > 0 {
				s.fail("its figures, drawn when there is space, leave the folder %s: %s", state, bad)
			}
		}
	}
	s.close(t, "A disk that fills", "a disk that fills: exit codes, lines or folders that are not as promised")
}

// TestPlacesThatCannotBeWritten: a run into a folder that it may not write, or
// cannot put its results into as a whole, ends before it starts.
// Source: exact.
func TestPlacesThatCannotBeWritten(t *testing.T) {
	b := newBench(t)
	t.Run("folders", func(t *testing.T) { b.with(t).closedFolders() })
	t.Run("mounts", func(t *testing.T) { b.with(t).closedMounts() })
}

// with returns the bench for a part of its test.
func (b *bench) with(t *testing.T) *bench {
	c := *b
	c.t = t
	return &c
}

// try runs into dir, which must fail with one line.
func (s *sheet) try(fault, dir string, with func(*exec.Cmd), pattern, state string) {
	s.fault = fault
	p := s.b.start(with, s.b.args(dir, benchDays, "--force")...)
	s.row(dir, p.wait(), 1, p.lines(), []string{pattern}, state)
	s.clear(dir)
}

// closedFolders are the places that any user can make.
func (b *bench) closedFolders() {
	t, s := b.t, &sheet{b: b}
	// Modes are not asked for the system's own user, so another one runs it.
	at := filepath.Join(b.at, "closed")
	if err := os.Mkdir(at, 0o555); err != nil {
		t.Fatal(err)
	}
	other := func(c *exec.Cmd) {
		if os.Geteuid() == 0 {
			c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		}
	}
	s.try("a folder without write permission", filepath.Join(at, "out"), other, `permission denied; name a place that can be written with -o$`, "nothing")

	s.fault = "the files' size is limited (ulimit -f)"
	dir := filepath.Join(b.at, "limited", "out")
	p := b.start(limited(b, "ulimit -f 16"), b.args(dir, benchDays)...) // 16 KiB or 8, as the shell counts
	s.row(dir, p.wait(), 1, p.lines(), []string{`^soiljoule run: .*file too large`}, "nothing")
	s.clear(dir)
	s.close(t, "Places that cannot be written", "places that cannot be written: exit codes, lines or folders that are not as promised")
}

// closedMounts are those that need the right to mount.
func (b *bench) closedMounts() {
	t, s := b.t, &sheet{b: b}
	ro := mount(t, filepath.Join(b.at, "readonly"), 1<<20, syscall.MS_RDONLY)
	s.try("a read-only file system", filepath.Join(ro, "out"), nil, `read-only file system; name a place that can be written with -o$`, "nothing")

	over := filepath.Join(b.at, "mounted", "out")
	mount(t, over, 1<<20, 0)
	s.try("a folder that something is mounted on", over, nil, `^soiljoule run: ".*/out" cannot be replaced as a whole; name a folder below it$`, "an empty folder")

	b.earlier(filepath.Join(b.at, "bound", "real"))
	bound := filepath.Join(b.at, "bound", "out")
	if err := os.Mkdir(bound, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount(filepath.Join(b.at, "bound", "real"), bound, "", syscall.MS_BIND, ""); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(bound, syscall.MNT_DETACH) })
	s.try("an earlier run's folder that is mounted there", bound, nil, `^soiljoule run: ".*/out" cannot be replaced as a whole; name a folder below it$`, "earlier")
	s.close(t, "File systems that cannot be written", "file systems that cannot be written: exit codes, lines or folders that are not as promised")
}

// limited lets a shell set limits and then become the program.
func limited(b *bench, limits string) func(*exec.Cmd) {
	return func(c *exec.Cmd) {
		c.Args = append([]string{"sh", "-c", limits + ` && exec "$0" "$@"`, b.program}, c.Args[1:]...)
		c.Path = "/bin/sh"
	}
}

// loud leaves out -q.
func loud(args []string) []string {
	return slices.DeleteFunc(args, func(a string) bool { return a == "-q" })
}

// during runs the program, does something while it waits between its first line
// of progress and its second, and returns its exit code and what it said. It
// waits because its stderr is a pipe with room for one line.
func (b *bench) during(do func(), args ...string) (int, []string) {
	b.t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		b.t.Fatal(err)
	}
	defer r.Close()
	room, err := unix.FcntlInt(w.Fd(), unix.F_SETPIPE_SZ, os.Getpagesize())
	if err != nil {
		b.t.Fatal(err)
	}
	const oneLine = 100 // they have 55 to 75 bytes
	filler := strings.Repeat("\n", room-oneLine)
	if _, err := w.WriteString(filler); err != nil {
		b.t.Fatal(err)
	}
	p := b.start(func(c *exec.Cmd) { c.Stderr = w }, loud(args)...)
	w.Close()
	for started := time.Now(); ; time.Sleep(time.Millisecond) {
		n, err := unix.IoctlGetInt(int(r.Fd()), unix.TIOCINQ)
		if err != nil || time.Since(started) > time.Minute {
			b.t.Fatalf("no line of progress came in a minute (%v)", err)
		}
		if n > len(filler) {
			break
		}
	}
	select {
	case <-p.done:
		b.t.Fatal("the run was over at its first line of progress")
	default:
		do()
	}
	if _, err := p.stderr.ReadFrom(r); err != nil {
		b.t.Fatal(err)
	}
	return p.wait(), p.lines()
}

// TestFolderTakenAway: whatever happens to the folders while a run goes on, it
// ends whole, or with 1 and a line, and touches nothing that is not its own.
// Source: exact.
func TestFolderTakenAway(t *testing.T) {
	b := newBench(t)
	s := &sheet{b: b}
	mend := func(err error) {
		if err != nil {
			t.Error(err)
		}
	}
	// A file written meanwhile makes a folder that was empty one that is not.
	remove := func(dir string) {
		err := os.RemoveAll(dir)
		for range 100 {
			if err == nil {
				break
			}
			err = os.RemoveAll(dir)
		}
		mend(err)
	}
	results := func(dir string) string {
		if left := stages(dir); len(left) == 1 {
			return filepath.Join(left[0], "results")
		}
		t.Errorf("%s: while the run goes on %s stand beside its folder, want one", s.fault, stages(dir))
		return filepath.Join(b.at, "none")
	}
	lost := `: no such file or directory; something removed it while the run went on: run again$`
	// Found at the next output, or, where that was the last one, when the folder is closed.
	gone := `^soiljoule run: (stopped on day .*, nothing is kept: .*/(fields/.*|surface\.csv)|stat .*/case\.toml)` + lost
	done := []string{`^results in `}
	for i, c := range []struct {
		fault    string
		before   func(dir string) // nil: nothing there
		during   func(dir string)
		code     int
		patterns []string
		state    string
		kept     bool
	}{
		{"the empty folder removed", func(dir string) { mend(os.MkdirAll(dir, 0o777)) }, func(dir string) { mend(os.Remove(dir)) },
			0, done, "finished, all figures", false},
		{"the earlier run's folder removed", func(dir string) { b.earlier(dir) }, func(dir string) { remove(dir) },
			0, done, "finished, all figures", false},
		{"the stage removed", nil, func(dir string) { remove(filepath.Dir(results(dir))) },
			1, []string{gone}, "nothing", false},
		{"the stage removed, over an earlier run", func(dir string) { b.earlier(dir) }, func(dir string) { remove(filepath.Dir(results(dir))) },
			1, []string{gone}, "earlier", false},
		{"a file of the stage removed", nil, func(dir string) { mend(os.Remove(filepath.Join(results(dir), "case.toml"))) },
			1, []string{`^soiljoule run: .*/case\.toml` + lost}, "nothing", false},
		{"a file of the stage cut short", nil, func(dir string) { mend(os.Truncate(filepath.Join(results(dir), "mesh", "zone.npy"), 100)) },
			1, []string{`^soiljoule run: .*/zone\.npy has 100 bytes, of \d+ that were written$`}, "nothing", false},
		{"the folder above removed", nil, func(dir string) { remove(filepath.Dir(dir)) },
			1, []string{gone}, "nothing", false},
		{"the folder above moved away", nil, func(dir string) { mend(os.Rename(filepath.Dir(dir), filepath.Dir(dir)+"-moved")) },
			1, []string{gone}, "nothing", false},
		{"a file in the folder's place", nil, func(dir string) { mend(os.WriteFile(dir, []byte("the user's\n"), 0o666)) },
			1, []string{`^soiljoule run: .*/out is not a folder any more; the results are whole in .*/results$`}, "the user's file", true},
		{"something else in the folder's place", nil, func(dir string) {
			mend(os.Mkdir(dir, 0o777))
			mend(os.WriteFile(filepath.Join(dir, "letter.txt"), []byte("the user's\n"), 0o666))
		}, 1, []string{`^soiljoule run: .*/out is not empty and not a results folder; the results are whole in .*/results$`}, "something else", true},
		{"another run finished there", nil, func(dir string) { b.earlier(dir) },
			1, []string{`^soiljoule run: .*/out holds a finished run; --force replaces it; the results are whole in .*/results$`}, "earlier", true},
		{"the case file overwritten", nil, func(string) { mend(os.WriteFile(b.caseFile, []byte("title = 3"), 0o666)) },
			0, done, "finished, all figures", false},
		{"the case file removed", nil, func(string) { mend(os.Remove(b.caseFile)) },
			0, done, "finished, all figures", false},
	} {
		s.fault = c.fault
		text, err := os.ReadFile(b.caseFile)
		if err != nil {
			t.Fatal(err)
		}
		dir := filepath.Join(b.at, "taken", strconv.Itoa(i), "out")
		args := b.args(dir, benchDays)
		if c.before != nil {
			c.before(dir)
			args = append(args, "--force")
		} else {
			b.earlier(filepath.Join(b.at, "probe", strconv.Itoa(i))) // made before the run, not during it
		}
		code, lines := b.during(func() { c.during(dir) }, args...)
		s.row(dir, code, c.code, lines, c.patterns, c.state)
		if c.kept {
			s.kept(dir)
			if err := os.RemoveAll(dir); err != nil {
				t.Fatal(err)
			}
			if p := b.start(nil, b.args(dir, benchDays, "--no-figures")...); p.wait() != 0 {
				s.fail("the next run ends badly: %s", p.stderr.String())
			}
			s.kept(dir) // what was kept for the user, the next run does not sweep
		} else {
			s.clear(dir)
		}
		if err := os.WriteFile(b.caseFile, text, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	// What moved away with its parent is a dead run's there.
	s.fault = "a run where it was moved to"
	moved := filepath.Join(b.at, "taken", "7-moved", "out")
	if len(stages(moved)) != 1 {
		s.fail("%s stand there, want the dead run's stage", stages(moved))
	}
	p := b.start(nil, b.args(moved, benchDays)...)
	s.row(moved, p.wait(), 0, p.lines(), done, "finished, all figures")
	s.clear(moved)
	s.close(t, "Folders and files taken away while a run goes on", "folders taken away: exit codes, lines or folders that are not as promised")
}

// TestStreamsGone: a reader of stdout or stderr that goes away ends no run, and a
// result that was not printed is told.
// Source: exact.
func TestStreamsGone(t *testing.T) {
	b := newBench(t)
	s := &sheet{b: b}
	for i, c := range []struct {
		fault, redirect string
		code            int
		patterns        []string
	}{
		{"stderr read by one that goes after a line", `{ "$0" "$@" 2>&1 >&3 | head -n 1 >&2; test ${PIPESTATUS[0]} = 0; } 3>/dev/null`, 0, []string{}},
		{"stdout read by one that goes after a line", `"$0" "$@" | head -n 1 >/dev/null; exit ${PIPESTATUS[0]}`, 0, done()},
		{"stdout read by none", `"$0" "$@" > >(exec true; sleep 0); exit $?`, 1, []string{`^results in `, `^soiljoule run: stdout: .*broken pipe$`}},
		{"stdout on a full disk", `"$0" "$@" >/dev/full`, 1, []string{`^results in `, `^soiljoule run: stdout: .*no space left on device$`}},
		{"stderr on a full disk", `"$0" "$@" 2>/dev/full`, 0, []string{}},
		{"stdin, stdout and stderr closed", `"$0" "$@" <&- >&- 2>&-`, 0, []string{}},
	} {
		s.fault = c.fault
		dir := filepath.Join(b.at, "streams", strconv.Itoa(i), "out")
		p := b.start(func(cmd *exec.Cmd) {
			cmd.Args = append([]string{"bash", "-c", c.redirect, b.program}, cmd.Args[1:]...)
			cmd.Path = "/bin/bash"
		}, loud(b.args(dir, benchDays))...)
		s.row(dir, p.wait(), c.code, p.lines(), c.patterns, "finished, all figures")
		s.clear(dir)
	}
	s.close(t, "Streams that go away", "streams that go away: exit codes, lines or folders that are not as promised")
}

// outOfMemory are the runtime's words: its own, and those of its threads.
var outOfMemory = regexp.MustCompile(`out of memory|reserve .*memory|cannot allocate memory|pthread_create failed: Resource temporarily unavailable`)

func done() []string { return []string{`^results in `} }

// TestShortOfMemory: a run that gets no memory dies with the runtime's own words
// and leaves nothing half; the next one sweeps after it.
// Source: exact. The exit code is the Go runtime's for a fatal error, 2, and says
// nothing of the case.
func TestShortOfMemory(t *testing.T) {
	b := newBench(t)
	s := &sheet{b: b}
	var rows [][]string
	died := 0
	limits := []string{"GOMEMLIMIT=8MiB"} // a wish, not a limit
	for _, kib := range []int{60, 100, 150, 250, 400, 600, 800, 1000, 1200, 1300, 1400, 1600, 2000} {
		limits = append(limits, fmt.Sprintf("ulimit -v %d000", kib))
	}
	for i, limit := range limits {
		s.fault = limit
		dir := filepath.Join(b.at, "memory", strconv.Itoa(i), "out")
		if err := os.MkdirAll(filepath.Dir(dir), 0o777); err != nil {
			t.Fatal(err)
		}
		p := b.start(limited(b, strings.Replace(limit, "GOMEM", "export GOMEM", 1)), b.args(dir, benchDays)...)
		code := p.wait()
		state := "nothing"
		if exists(dir) {
			var bad []string
			state, bad = judge(t, dir, b.whole)
			for _, w := range bad {
				s.fail("%s", w)
			}
		}
		word := ""
		if code != 0 {
			died++
			lines := p.lines()
			if i := slices.IndexFunc(lines, func(l string) bool { return outOfMemory.MatchString(l) }); i >= 0 {
				word = lines[i]
			} else {
				s.fail("dies with %d and says nothing of memory: %q", code, lines)
			}
		}
		if code == 0 && state != "finished, all figures" || strings.HasPrefix(state, "unfinished") {
			s.fail("ends with %d and leaves %s", code, state)
		}
		rows = append(rows, []string{limit, strconv.Itoa(code), state, regexp.MustCompile(`\d{4,}`).ReplaceAllString(word, "N")})
		if p := b.start(nil, b.args(dir, benchDays, "--force", "--no-figures")...); p.wait() != 0 {
			s.fail("the next run fails: %s", p.stderr.String())
		}
		s.clear(dir)
	}
	table(t, "Memory limited (ulimit -v in KiB)", []string{"limit", "exit", "on disk under the name", "said, among more"}, rows)
	none(t, "memory limits: folders that are neither whole nor absent, or not swept", s.wrong)
	if died == 0 {
		t.Error("no limit was low enough to matter")
	}
}

// TestKilledInSystemCalls: a run killed at the system calls that make, rename and
// remove its files leaves its folder as it was or whole, and the next run
// completes what was begun.
// Source: exact; strace delivers the kill as the call is entered.
func TestKilledInSystemCalls(t *testing.T) {
	if _, err := exec.LookPath("strace"); err != nil {
		t.Skip("strace is not installed: apt-get install strace")
	}
	b := newBench(t)
	if out, err := exec.Command("strace", "-f", "-o", "/dev/null", "true").CombinedOutput(); err != nil {
		t.Skipf("strace may not trace here: %s", out)
	}
	var wrong []string
	seen := sightings{}
	hit := map[string]int{}
	results := 0
	for name := range b.whole {
		if isResult(name) {
			results++
		}
	}
	for _, c := range []struct {
		call string
		when []int
	}{
		{"mkdirat", []int{1, 2, 4}},
		{"flock", []int{1}},
		{"openat", []int{20, 60}},
		{"renameat", []int{1, 2}},
		{"renameat2", []int{1}},
		{"unlinkat", []int{1, 2, 30, 60, 64}},
		{"write", []int{results / 4, results / 2, results * 3 / 4, results - 10}}, // figures may be another thread's
	} {
		for _, n := range c.when {
			for _, over := range []bool{false, true} {
				dir := filepath.Join(b.at, "calls", fmt.Sprint(c.call, n, over), "out")
				if err := os.MkdirAll(filepath.Dir(dir), 0o777); err != nil {
					t.Fatal(err)
				}
				var before map[string][]byte
				args := b.args(dir, benchDays)
				if c.call != "write" {
					args = append(args, "--no-figures")
				}
				if over {
					before = b.earlier(dir)
					args = append(args, "--force")
				}
				// The calls are counted by thread: one thread makes all of them.
				p := b.start(func(cmd *exec.Cmd) {
					cmd.Args = append([]string{"strace", "-f", "-qq", "-o", "/dev/null", "-e", "trace=" + c.call,
						"-e", fmt.Sprintf("inject=%s:signal=KILL:when=%d", c.call, n), b.program}, cmd.Args[1:]...)
					cmd.Path, _ = exec.LookPath("strace")
					cmd.Env = append(os.Environ(), "GOMAXPROCS=1")
				}, args...)
				code := p.wait()
				if code != 0 {
					hit[c.call]++
				}
				fault := func(format string, a ...any) {
					wrong = append(wrong, fmt.Sprintf("kill at %s %d, over an earlier run %v: ", c.call, n, over)+fmt.Sprintf(format, a...))
				}
				look := func() string {
					if !exists(dir) {
						if over {
							return "GONE"
						}
						return "nothing"
					}
					if before != nil && maps.EqualFunc(content(t, dir), before, bytes.Equal) {
						return "the earlier run, untouched"
					}
					state, bad := judge(t, dir, b.whole, "notes.txt")
					for _, w := range bad {
						fault("%s", w)
					}
					return state
				}
				state := look()
				if state == "GONE" || state == "unfinished" || state == "broken" {
					fault("the folder is %s", state)
				}
				seen[fmt.Sprintf("%s %d|%s|%d|%s|%d", c.call, n, map[bool]string{true: "earlier run", false: "nothing"}[over], code, state, len(stages(dir)))]++
				next := b.start(nil, b.args(dir, benchDays, "--no-figures", "--force")...)
				if code := next.wait(); code != 0 {
					fault("the next run ends with %d: %s", code, next.stderr.String())
				}
				if left := stages(dir); len(left) > 0 {
					fault("after the next run %s is left", left)
				}
				if state := look(); state != "finished, no figures" {
					fault("after the next run the folder is %s", state)
				}
				if data, err := os.ReadFile(filepath.Join(dir, "notes.txt")); over && string(data) != "the user's\n" {
					fault("after the next run the user's file holds %q (%v)", data, err)
				}
			}
		}
	}
	table(t, "Kills at system calls", []string{"call, and which of a thread's", "there before", "exit", "on disk under the name", "stages left for the next run to sweep", "times"}, seen.rows())
	none(t, "kills at system calls: folders neither whole nor as they were, or not recovered", wrong)
	for _, call := range []string{"mkdirat", "renameat", "renameat2", "unlinkat", "write"} {
		if hit[call] == 0 {
			t.Errorf("no run was killed at %s: the calls are not those that the program makes", call)
		}
	}
}
