package record

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"soiljoule/solver"
)

// tree makes files, by their slashed paths below dir; a path that ends in a
// slash is a folder.
func tree(t *testing.T, dir string, files map[string]string) {
	t.Helper()
	for name, data := range files {
		path := filepath.Join(dir, name)
		if name[len(name)-1] == '/' {
			if err := os.MkdirAll(path, 0o777); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

// lies fails unless what lies below dir, folders left out, is want.
func lies(t *testing.T, when, dir string, want map[string]string) {
	t.Helper()
	got := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		got[filepath.ToSlash(name)] = text(t, path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range want {
		if d, ok := got[name]; !ok || d != data {
			t.Errorf("%s: %s holds %q (there: %v), want %q", when, name, d, ok, data)
		}
		delete(got, name)
	}
	for name := range got {
		t.Errorf("%s: %s is there, want it gone", when, name)
	}
}

const over, other = `{"finished": true, "version": "new"}`, `{"finished": true, "version": "old"}`

// TestSweep: whatever instant a run was killed at, the next one finds the folder
// whole, completes what the killed one began, and gives the user's files back.
func TestSweep(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("a system without such locks leaves what was killed to the user")
	}
	for _, c := range []struct {
		when         string
		before, want map[string]string
	}{
		{"killed before the lock", map[string]string{"out.part-1/": ""}, nil},
		{"killed with the lock", map[string]string{"out.part-1/.lock": ""}, nil},
		{"killed in the fields",
			map[string]string{"out.part-1/.lock": "", "out.part-1/results/case.toml": "", "out.part-1/results/power.csv": "", "out.part-1/results/fields/a.npy": "half"}, nil},
		{"killed in the fields, replacing",
			map[string]string{"out.part-1/.lock": "", "out.part-1/results/case.toml": "", "out/run.json": other, "out/notes.txt": "mine"},
			map[string]string{"out/run.json": other, "out/notes.txt": "mine"}},
		{"killed after the swap",
			map[string]string{"out.part-1/.lock": over, "out/run.json": over, "out.part-1/results/run.json": other, "out.part-1/results/notes.txt": "mine"},
			map[string]string{"out/run.json": over, "out/notes.txt": "mine"}},
		{"killed after the swap with an empty folder", map[string]string{"out.part-1/.lock": over, "out/run.json": over, "out.part-1/results/": ""},
			map[string]string{"out/run.json": over}},
		{"killed before the swap",
			map[string]string{"out.part-1/.lock": over, "out/run.json": other, "out/power.csv": "old", "out.part-1/results/run.json": over, "out.part-1/results/power.csv": "new"},
			map[string]string{"out/run.json": other, "out/power.csv": "old"}},
		{"killed between two renames",
			map[string]string{"out.part-1/.lock": "", "out.part-1/results/run.json": over, "out.part-1/old/run.json": other, "out.part-1/old/notes.txt": "mine"},
			map[string]string{"out/run.json": over, "out/notes.txt": "mine"}},
		{"killed after two renames",
			map[string]string{"out.part-1/.lock": "", "out/run.json": over, "out.part-1/old/run.json": other, "out.part-1/old/notes/a": "mine"},
			map[string]string{"out/run.json": over, "out/notes/a": "mine"}},
		{"killed while it swept", map[string]string{"out.part-1/.lock": "", "out/run.json": over}, map[string]string{"out/run.json": over}},
		{"the user wrote another file of that name",
			map[string]string{"out.part-1/.lock": over, "out/run.json": over, "out/notes.txt": "newer", "out.part-1/results/notes.txt": "mine"},
			map[string]string{"out.part-1/.lock": over, "out/run.json": over, "out/notes.txt": "newer", "out.part-1/results/notes.txt": "mine"}},
		{"given to the user", map[string]string{"out.part-1/results/run.json": over}, map[string]string{"out.part-1/results/run.json": over}},
		{"the user's own", map[string]string{"out.part-2b/.lock": ""}, map[string]string{"out.part-2b/.lock": ""}},
		{"another folder's", map[string]string{"out.part-1.part-2/.lock": ""}, map[string]string{"out.part-1.part-2/.lock": ""}},
	} {
		at := t.TempDir()
		tree(t, at, c.before)
		sweep(filepath.Join(at, "out"))
		lies(t, c.when, at, c.want)
		if list, _ := os.ReadDir(at); c.want == nil && len(list) > 0 {
			t.Errorf("%s: %s is left, want nothing", c.when, list[0].Name())
		}
	}
}

// TestSweepSparesTheLiving: a stage whose run lives is left alone, whatever its
// folder is called.
func TestSweepSparesTheLiving(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out [1]")
	live, err := newStage(dir)
	if err != nil {
		t.Fatal(err)
	}
	dead, err := newStage(dir)
	if err != nil {
		t.Fatal(err)
	}
	dead.release() // the system closes the files of a run that died
	sweep(dir)
	if _, err := os.Stat(live.results()); err != nil {
		t.Errorf("the stage of a living run was swept: %v", err)
	}
	if _, err := os.Stat(dead.path); err == nil && runtime.GOOS != "windows" {
		t.Errorf("the stage of a dead run is left at %s", dead.path)
	}
	if err := live.remove(); err != nil {
		t.Error(err)
	}
}

// TestOurs: the names that a run gives are its own; any other is the user's and
// outlives it.
func TestOurs(t *testing.T) {
	for name, want := range map[string]bool{"heat-1.csv": true, "heat-2000.csv": true, "run.json": true, HeatFile(0): true,
		"heat-0.csv": false, "heat--5.csv": false, "heat-01.csv": false, "heat-+1.csv": false, "heat-1": false, "heat-.csv": false,
		"heat-notes.csv": false, "heat-1.csv.csv": false, "run.json.csv": false} {
		if got := ours(name); got != want {
			t.Errorf("%s counts as a run's own: %v, want %v", name, got, want)
		}
	}
}

// staged returns a stage with a finished run in it.
func staged(t *testing.T, dir string) *stage {
	t.Helper()
	s, err := newStage(dir)
	if err != nil {
		t.Fatal(err)
	}
	tree(t, s.results(), map[string]string{"run.json": over})
	return s
}

// TestReplaceInTwoSteps: where two folders cannot be swapped they are renamed one
// after the other, to the same end.
func TestReplaceInTwoSteps(t *testing.T) {
	at := t.TempDir()
	dir := filepath.Join(at, "out")
	tree(t, dir, map[string]string{"run.json": other, "notes.txt": "mine"})
	s := staged(t, dir)
	if err := s.replace(); err != nil {
		t.Fatal(err)
	}
	if err := s.carry(s.old()); err != nil {
		t.Fatal(err)
	}
	if err := s.remove(); err != nil {
		t.Fatal(err)
	}
	lies(t, "replaced", at, map[string]string{"out/run.json": over, "out/notes.txt": "mine"})

	// A rename that fails half way is taken back.
	s = staged(t, dir)
	if err := os.RemoveAll(s.results()); err != nil {
		t.Fatal(err)
	}
	if err := s.replace(); err == nil {
		t.Error("a stage without results replaced a folder")
	}
	if err := s.remove(); err != nil {
		t.Fatal(err)
	}
	lies(t, "not replaced", at, map[string]string{"out/run.json": over, "out/notes.txt": "mine"})
}

// TestTradeIsTakenBack: a run that finished after the last look keeps its folder.
func TestTradeIsTakenBack(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	tree(t, dir, map[string]string{"run.json": other})
	s := staged(t, dir)
	err := s.trade(false)
	if errors.Is(err, errors.ErrUnsupported) {
		t.Skip("folders cannot be swapped here: ", err)
	}
	if !errors.Is(err, ErrFinished) {
		t.Errorf("a trade with a finished run gives %v, want ErrFinished", err)
	}
	lies(t, "taken back", dir, map[string]string{"run.json": other})
	lies(t, "taken back", s.results(), map[string]string{"run.json": over})
	if err := s.trade(true); err != nil {
		t.Errorf("a forced trade gives %v", err)
	}
	lies(t, "forced", dir, map[string]string{"run.json": over})
}

// TestFolderBecameALink: a link that took the folder's place during the run is
// not followed, and the results are kept.
func TestFolderBecameALink(t *testing.T) {
	at := t.TempDir()
	dir, elsewhere := filepath.Join(at, "out"), filepath.Join(at, "elsewhere")
	tree(t, elsewhere, map[string]string{"run.json": `{"finished": false}`, "notes.txt": "mine"})
	problem := bench(t)
	f, err := Create(plan(dir), problem)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(elsewhere, dir); err != nil {
		t.Skip("no links here: ", err)
	}
	r, err := solver.Run(t.Context(), problem, f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Finish(r, true, nil, func(*Summary) string { return "" }); err == nil {
		t.Error("results were put in the place of a link without an error")
	}
	lies(t, "a link", elsewhere, map[string]string{"run.json": `{"finished": false}`, "notes.txt": "mine"})
	sweep(dir) // the next run's
	if list, err := os.ReadDir(f.stage.results()); err != nil || !slices.ContainsFunc(list, func(e fs.DirEntry) bool { return e.Name() == "run.json" }) {
		t.Errorf("the results that were kept are gone (%v)", err)
	}
}

// TestNothingMoves: looking whether a folder can be moved moves nothing.
func TestNothingMoves(t *testing.T) {
	at := t.TempDir()
	dir := filepath.Join(at, "out")
	tree(t, at, map[string]string{"out/a": "1", "full/b": "2", "empty/": ""})
	for _, d := range []string{dir, filepath.Join(at, "empty"), filepath.Join(at, "none")} {
		if unmovable(d, filepath.Join(at, "full")) {
			t.Errorf("%s counts as one that cannot be moved", d)
		}
	}
	lies(t, "looked at", at, map[string]string{"out/a": "1", "full/b": "2"})
	if _, err := os.Stat(filepath.Join(at, "empty")); err != nil {
		t.Errorf("an empty folder that was looked at: %v", err)
	}
}
