//dossier:chapter Faults while running

//go:build validate && unix

package validation

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"io/fs"
	"maps"
	"math/rand/v2"
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

	"soiljoule/cases"
)

// The bench of faults: the program, a case of a second, and an undisturbed run of
// it. Runs are byte-equal to one another but for run.json, so that whole means:
// the same bytes as the undisturbed run's.
type bench struct {
	t        *testing.T
	at       string // a folder of its own
	program  string
	caseFile string
	length   time.Duration // of an undisturbed run
	placed   time.Duration // when its folder stood in its place
	whole    map[string][]byte
}

// duration of the case [d]; the folder of an earlier run is of half of it.
const benchDays, earlierDays = "20", "10"

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{t: t, at: t.TempDir()}
	for dir := b.at; dir != filepath.Dir(os.TempDir()) && dir != os.TempDir(); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil { // another user runs the program too
			t.Fatal(err)
		}
	}
	b.program = filepath.Join(b.at, "soiljoule")
	if out, err := exec.Command("go", "build", "-o", b.program, "../cmd/soiljoule").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	template, err := cases.Template("axisymmetric")
	if err != nil {
		t.Fatal(err)
	}
	b.caseFile = filepath.Join(b.at, "case.toml")
	if err := os.WriteFile(b.caseFile, []byte(template), 0o666); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(b.at, "undisturbed", "out")
	started := time.Now()
	r := b.start(nil, b.args(dir, benchDays)...)
	for !exists(dir) && time.Since(started) < time.Minute {
		time.Sleep(time.Millisecond)
	}
	b.placed = time.Since(started)
	if code := r.wait(); code != 0 {
		t.Fatalf("the undisturbed run ended with %d and said\n%s", code, r.stderr.String())
	}
	b.length = time.Since(started)
	b.whole = content(t, dir)
	if len(b.whole) < 40 {
		t.Fatalf("the undisturbed run has %d files, want fields and figures", len(b.whole))
	}
	return b
}

// args is the command line of the bench's run into dir: at a tolerance that makes it
// long enough, and its files large enough, for faults to meet it.
func (b *bench) args(dir, days string, more ...string) []string {
	return append([]string{"run", b.caseFile, "-q", "-o", dir, "--set", "mesh.finest=4 in", "--set", "time.duration=" + days + " d", "--set", "time.tolerance=0.002 K",
		"--set", `output.fields_at=["2 d", "4 d", "6 d", "8 d"]`}, more...)
}

// process is a run of the program that goes on.
type process struct {
	cmd            *exec.Cmd
	stdout, stderr bytes.Buffer
	done           chan struct{}
}

// start starts the program; with changes what it is started with.
func (b *bench) start(with func(*exec.Cmd), args ...string) *process {
	b.t.Helper()
	p := &process{cmd: exec.Command(b.program, args...), done: make(chan struct{})}
	p.cmd.Stdout, p.cmd.Stderr = &p.stdout, &p.stderr
	if with != nil {
		with(p.cmd)
	}
	if err := p.cmd.Start(); err != nil {
		b.t.Fatal(err)
	}
	go func() { _ = p.cmd.Wait(); close(p.done) }()
	return p
}

// wait returns the exit code, or minus the signal that ended the process.
func (p *process) wait() int {
	select {
	case <-p.done:
	case <-time.After(2 * time.Minute):
		_ = p.cmd.Process.Kill()
		<-p.done
		return -1000 // it hung
	}
	if s, ok := p.cmd.ProcessState.Sys().(syscall.WaitStatus); ok && s.Signaled() {
		return -int(s.Signal())
	}
	return p.cmd.ProcessState.ExitCode()
}

// lines returns what stderr said, without progress.
func (p *process) lines() []string {
	progress := regexp.MustCompile(`^ *\d+ %  day `)
	var out []string
	for _, l := range strings.Split(p.stderr.String(), "\n") {
		if l != "" && !progress.MatchString(l) {
			out = append(out, l)
		}
	}
	return out
}

func exists(path string) bool { _, err := os.Lstat(path); return err == nil }

// content reads a folder's files, by slashed path.
func content(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		out[filepath.ToSlash(name)], err = os.ReadFile(path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// sound returns what is wrong with a file by itself: a format that is not decoded
// to its end.
func sound(name string, data []byte) error {
	switch filepath.Ext(name) {
	case ".json":
		if !json.Valid(data) {
			return errors.New("is no JSON")
		}
	case ".csv":
		rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll() // all as many cells as the first
		if err != nil {
			return err
		}
		if len(rows) == 0 || data[len(data)-1] != '\n' {
			return errors.New("has no rows or half a last one")
		}
	case ".npy":
		return soundNpy(data)
	case ".png":
		_, err := png.Decode(bytes.NewReader(data))
		return err
	case ".svg":
		d := xml.NewDecoder(bytes.NewReader(data))
		for {
			if _, err := d.Token(); err == io.EOF { // which it is only where every element has ended
				return nil
			} else if err != nil {
				return err
			}
		}
	case ".toml", ".txt":
		if len(data) == 0 || data[len(data)-1] != '\n' {
			return errors.New("is empty or has half a last line")
		}
	default:
		return errors.New("is not a file that a run writes")
	}
	return nil
}

// soundNpy wants the numbers that the header of a .npy file promises.
// Source: NumPy's format page, version 2.0.
func soundNpy(data []byte) error {
	if len(data) < 12 || string(data[:8]) != "\x93NUMPY\x02\x00" {
		return errors.New("has no .npy header")
	}
	head := 12 + int(data[8]) + int(data[9])<<8 + int(data[10])<<16 + int(data[11])<<24
	if len(data) < head {
		return errors.New("has half a .npy header")
	}
	m := regexp.MustCompile(`'descr': '<f8', 'fortran_order': False, 'shape': \((\d+),(?: (\d+))?,?\)`).FindSubmatch(data[12:head])
	if m == nil {
		return fmt.Errorf("has the .npy header %q", data[12:head])
	}
	n := 8
	for _, digits := range m[1:] {
		if len(digits) > 0 {
			k, _ := strconv.Atoi(string(digits))
			n *= k
		}
	}
	if len(data) != head+n {
		return fmt.Errorf("has %d bytes of numbers, its header promises %d", len(data)-head, n)
	}
	return nil
}

type ran struct {
	Finished bool    `json:"finished"`
	TimeD    float64 `json:"time_d"`
}

// judge says what a results folder is: "finished", with all figures or some, or
// "unfinished"; and what is wrong with it, against an undisturbed run's files.
// Files of the user's are left out by name.
func judge(t *testing.T, dir string, want map[string][]byte, users ...string) (state string, wrong []string) {
	t.Helper()
	got := content(t, dir)
	complain := func(format string, a ...any) { wrong = append(wrong, fmt.Sprintf(format, a...)) }
	for _, u := range users {
		delete(got, u)
	}
	for _, name := range slices.Sorted(maps.Keys(got)) {
		if strings.HasPrefix(name, "figures/") && strings.HasSuffix(name, ".part") {
			delete(got, name) // a kill's; it has the name of no figure
		} else if err := sound(name, got[name]); err != nil {
			complain("%s %v", name, err)
		}
	}
	var r ran
	if json.Unmarshal(got["run.json"], &r) != nil {
		complain("run.json does not say whether the run finished")
		return "broken", wrong
	}
	figures := 0
	for name := range got {
		if strings.HasPrefix(name, "figures/") {
			figures++
		}
	}
	if r.Finished {
		all := 0
		for name, data := range want {
			isFigure := strings.HasPrefix(name, "figures/")
			if isFigure {
				all++
			}
			have, there := got[name]
			switch {
			case !there && !isFigure:
				complain("%s is missing", name)
			case there && name != "run.json" && !bytes.Equal(have, data):
				complain("%s is not as in an undisturbed run", name)
			}
		}
		for name := range got {
			if want[name] == nil {
				complain("%s is too much", name)
			}
		}
		return fmt.Sprintf("finished, %s", of(figures, all)), wrong
	}
	// The rows of an interrupted run are those of the undisturbed one, as far as it came.
	for _, name := range []string{"history.csv", "balance.csv", "electrodes.csv", "sensors.csv", "steam.csv", "water.csv"} {
		if !bytes.HasPrefix(want[name], got[name]) || len(got[name]) == 0 {
			complain("%s is not the beginning of an undisturbed run's", name)
		}
	}
	rows := strings.Split(strings.TrimSpace(string(got["history.csv"])), "\n")
	cell, _, _ := strings.Cut(rows[len(rows)-1], ",")
	// history.csv has twelve digits
	if day, err := strconv.ParseFloat(cell, 64); err != nil || day-r.TimeD > 1e-11*r.TimeD || r.TimeD-day > 1e-11*r.TimeD {
		complain("history.csv ends on day %s and run.json on day %v", cell, r.TimeD)
	}
	var index []struct {
		File, Quantity string
		TimeD          *float64 `json:"time_d"`
	}
	if err := json.Unmarshal(got["fields/index.json"], &index); err != nil {
		complain("fields/index.json: %v", err)
	}
	last := false
	for _, e := range index {
		last = last || e.Quantity == "temperature" && e.TimeD != nil && *e.TimeD == r.TimeD
		if got["fields/"+e.File] == nil {
			complain("fields/%s is in the index and missing", e.File)
		}
	}
	if !last {
		complain("the last accepted step, day %v, has no temperatures", r.TimeD)
	}
	for _, name := range []string{"case.toml", "summary.json", "summary.txt", "mesh/x_edges.npy", "mesh/z_edges.npy", "mesh/layer.npy", "mesh/zone.npy"} {
		if got[name] == nil {
			complain("%s is missing", name)
		}
	}
	return "unfinished", wrong
}

// of says how many of all figures' files are there.
func of(n, all int) string {
	switch n {
	case 0:
		return "no figures"
	case all:
		return "all figures"
	}
	return "some figures"
}

// stages lists what runs left beside dir.
func stages(dir string) []string {
	left, _ := filepath.Glob(dir + ".part-*")
	return left
}

// sightings counts what was seen, in words.
type sightings map[string]int

func (y sightings) rows(head ...string) [][]string {
	var rows [][]string
	for _, k := range slices.Sorted(maps.Keys(y)) {
		rows = append(rows, append(append(slices.Clone(head), strings.Split(k, "|")...), strconv.Itoa(y[k])))
	}
	return rows
}

// none holds that nothing went wrong: the count is 0, and a count has no error.
func none(t *testing.T, claim string, wrong []string) {
	t.Helper()
	for _, w := range wrong {
		t.Errorf("%s: %s", claim, w)
	}
	hold(t, check{claim, "every file decoded, and compared with an undisturbed run's bytes", float64(len(wrong)), 0, "violations", 0})
}

const (
	killSeed = 20270114 // any
	killed   = 50
	atPlace  = 10 // of them in the instants round the folder's appearance
)

// blow lets a run into dir begin and sends it a signal: half of all at an instant
// drawn from the time until its folder stands, then some from its whole length,
// the last atPlace within 2 ms after the folder changes. It says when, as part of
// the undisturbed run's time until its folder stood.
func (b *bench) blow(r *rand.Rand, i int, dir string, s syscall.Signal, args []string) (*process, string) {
	before, _ := os.Lstat(dir)
	started := time.Now()
	p := b.start(nil, args...)
	if i < killed-atPlace {
		within := 1.1 * float64(b.placed)
		if i >= killed/2 {
			within = float64(b.length)
		}
		time.Sleep(time.Until(started.Add(time.Duration(r.Float64() * within))))
	} else {
		for time.Since(started) < 2*b.length+time.Second {
			now, _ := os.Lstat(dir)
			if now != nil && (before == nil || !os.SameFile(before, now)) {
				break
			}
			time.Sleep(50 * time.Microsecond) // the program shares the processors
		}
		time.Sleep(time.Duration(r.IntN(2000)) * time.Microsecond)
	}
	_ = p.cmd.Process.Signal(s)
	switch share := float64(time.Since(started)) / float64(b.placed); {
	case i >= killed-atPlace:
		return p, "the folder appears"
	case share < 1:
		return p, fmt.Sprintf("%.2g to %.2g", float64(int(share*4))/4, float64(int(share*4)+1)/4)
	}
	return p, "past 1"
}

// earlier makes dir the folder of an earlier run, finished, with a file of the
// user's in it, and returns its files.
func (b *bench) earlier(dir string) map[string][]byte {
	b.t.Helper()
	kept := filepath.Join(b.at, "earlier", "out")
	if !exists(kept) {
		if r := b.start(nil, b.args(kept, earlierDays)...); r.wait() != 0 {
			b.t.Fatalf("the earlier run failed: %s", r.stderr.String())
		}
		if err := os.WriteFile(filepath.Join(kept, "notes.txt"), []byte("the user's\n"), 0o666); err != nil {
			b.t.Fatal(err)
		}
	}
	if err := os.CopyFS(dir, os.DirFS(kept)); err != nil {
		b.t.Fatal(err)
	}
	return content(b.t, kept)
}

// TestKilled: a run killed at any instant leaves its folder as it was or whole,
// an earlier finished run untouched until it is replaced, and nothing that the
// next run does not remove.
// Source: exact. A file is whole where its bytes are those of an undisturbed run;
// a count of violations has no tolerance.
func TestKilled(t *testing.T) {
	b := newBench(t)
	r := rand.New(rand.NewPCG(killSeed, 9))
	t.Logf("seed %d; an undisturbed run takes %v, its folder stands after %v", killSeed, b.length, b.placed)
	var wrong []string
	seen := sightings{}
	swept := 0
	for i := range killed {
		at := filepath.Join(b.at, "kill", strconv.Itoa(i))
		dir := filepath.Join(at, "out")
		var before map[string][]byte
		args := b.args(dir, benchDays)
		if i%2 == 1 {
			before = b.earlier(dir)
			args = append(args, "--force")
		}
		p, when := b.blow(r, i, dir, syscall.SIGKILL, args)
		code := p.wait()
		fault := func(format string, a ...any) {
			wrong = append(wrong, fmt.Sprintf("kill %d at %s: ", i, when)+fmt.Sprintf(format, a...))
		}
		state := "nothing"
		if exists(dir) {
			if before != nil && maps.EqualFunc(content(t, dir), before, bytes.Equal) {
				state = "the earlier run, untouched"
			} else {
				var bad []string
				state, bad = judge(t, dir, b.whole, "notes.txt")
				for _, w := range bad {
					fault("%s", w)
				}
			}
		} else if before != nil {
			fault("the earlier run's folder is gone")
		}
		if state == "unfinished" || state == "broken" {
			fault("the folder is %s", state)
		}
		left := len(stages(dir))
		swept += left
		seen[fmt.Sprintf("%s|%d|%s|%d", when, code, state, left)]++

		next := b.start(nil, "run", b.caseFile, "-q", "-o", dir, "--set", "mesh.finest=6 in", "--set", "time.duration=1 d", "--force", "--no-figures")
		if code := next.wait(); code != 0 {
			fault("the next run ends with %d: %s", code, next.stderr.String())
		}
		if left := stages(dir); len(left) > 0 {
			fault("after the next run %s is left", left)
		}
		if data, err := os.ReadFile(filepath.Join(dir, "notes.txt")); before != nil && string(data) != "the user's\n" {
			fault("after the next run the user's file holds %q (%v)", data, err)
		}
		if err := os.RemoveAll(at); err != nil {
			t.Fatal(err)
		}
	}
	table(t, fmt.Sprintf("kill -9 at %d instants (seed %d)", killed, killSeed),
		[]string{"instant, of the time until the folder stands", "exit", "on disk under the name", "stages left for the next run to sweep", "times"}, seen.rows())
	none(t, fmt.Sprintf("kill -9 at %d instants, folders neither whole nor as they were, or not recovered", killed), wrong)
	if swept == 0 || swept == killed {
		t.Errorf("of %d kills %d left a stage: the instants do not spread over the run", killed, swept)
	}
}

// TestEnded: SIGTERM, SIGINT and SIGHUP at any instant end a run with 130, its
// last accepted step on disk in a folder that says it is not finished; in the
// figures, with the results whole.
// Source: exit code 130, common practice, no source; the rest exact.
func TestEnded(t *testing.T) {
	b := newBench(t)
	r := rand.New(rand.NewPCG(killSeed, 15))
	t.Logf("seed %d; an undisturbed run takes %v, its folder stands after %v", killSeed, b.length, b.placed)
	var wrong []string
	seen := sightings{}
	var said []string
	for i := range killed + 16 {
		sig, n := syscall.SIGTERM, i
		if i >= killed { // a few of the others, spread as the first
			sig, n = []syscall.Signal{syscall.SIGINT, syscall.SIGHUP}[i%2], i-killed
		}
		at := filepath.Join(b.at, "end", strconv.Itoa(i))
		dir := filepath.Join(at, "out")
		var before map[string][]byte
		args := b.args(dir, benchDays)
		if i%5 == 4 {
			before = b.earlier(dir)
			args = append(args, "--force")
		}
		p, when := b.blow(r, n, dir, sig, args)
		code := p.wait()
		fault := func(format string, a ...any) {
			wrong = append(wrong, fmt.Sprintf("%v %d at %s: ", sig, i, when)+fmt.Sprintf(format, a...))
		}
		lines := p.lines()
		first, last := "", "" // of what it said; "" where it said nothing
		if len(lines) > 0 {
			first, last = lines[0], lines[len(lines)-1]
		}
		place, state := dir, "nothing"
		kept := len(stages(dir))
		if before != nil && maps.EqualFunc(content(t, dir), before, bytes.Equal) {
			state = "the earlier run, untouched"
			if kept == 1 {
				place = filepath.Join(stages(dir)[0], "results")
			}
		}
		if exists(place) && (before == nil || state == "nothing" || kept == 1) {
			s, bad := judge(t, place, b.whole, "notes.txt")
			for _, w := range bad {
				fault("%s", w)
			}
			if state != "nothing" {
				s = state + ", and " + s + " beside it"
			}
			state = s
		}
		unfinished := strings.HasSuffix(state, "unfinished") || strings.HasSuffix(state, "unfinished beside it")
		switch {
		case code == -int(sig): // before the program's first line: the system's own
			if kept > 0 || state != "nothing" && state != "the earlier run, untouched" {
				fault("it died of the signal and left %s, %d stages", state, kept)
			}
		case code == 0:
			if state != "finished, all figures" {
				fault("it ended with 0 and left %s", state)
			}
		case code != 130:
			fault("it ended with %d: %s", code, lines)
		case !unfinished && !strings.HasPrefix(state, "finished, "):
			fault("it was interrupted and left %s", state)
		case unfinished && !strings.HasSuffix(last, "; the last accepted step is in "+place+"; soiljoule resume "+place+" goes on"):
			fault("it does not say where its last step is: %s", lines)
		case !unfinished && !strings.Contains(first, "draw the rest with: soiljoule figures "):
			fault("it does not say how to draw its figures: %s", lines)
		}
		if want := before != nil && unfinished; (kept == 1) != want || kept > 1 {
			fault("%d stages are left", kept)
		}
		seen[fmt.Sprintf("%v|%s|%d|%s", sig, when, code, state)]++
		if code == 130 && len(said) < 3 {
			said = append(said, last)
		}
		if err := os.RemoveAll(at); err != nil {
			t.Fatal(err)
		}
	}
	table(t, fmt.Sprintf("SIGTERM at %d instants, SIGINT and SIGHUP at 8 each (seed %d)", killed, killSeed),
		[]string{"signal", "instant, of the time until the folder stands", "exit", "on disk under the name", "times"}, seen.rows())
	none(t, fmt.Sprintf("SIGTERM at %d instants, SIGINT and SIGHUP at 8 each: folders or exit codes that are not as promised", killed), wrong)
	count := 0
	for k, n := range seen {
		if strings.Contains(k, "|130|") {
			count += n
		}
	}
	if count < killed/2 {
		t.Errorf("of %d signals only %d interrupted a run: the instants do not spread over it", killed+16, count)
	}
	if len(said) > 0 {
		t.Logf("for example: %s", said[0])
	}
}
