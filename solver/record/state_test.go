package record

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"soiljoule/solver"
)

// TestFolderForgetsNothing: every field of a Folder is taken up by a run that goes on, or
// named here as what the run makes for itself.
func TestFolderForgetsNothing(t *testing.T) {
	takenUp := strings.Fields("history balance electrodes sensors steam water index summary last told")
	own := strings.Fields("plan problem stage started written kept surface buffer readings pores")
	for i := range reflect.TypeFor[Folder]().NumField() {
		name := reflect.TypeFor[Folder]().Field(i).Name
		if slices.Contains(takenUp, name) == slices.Contains(own, name) {
			t.Errorf("a Folder has a field %s: let Folder.follows, tables or takeUp take it up, or name it here as the run's own", name)
		}
	}
	for _, name := range summaryLeft {
		if _, ok := reflect.TypeFor[Summary]().FieldByName(name); !ok {
			t.Errorf("a state leaves out Summary.%s, which there is not", name)
		}
	}
}

// TestStateIsReadBack: a state read from its folder holds the snapshot's values and the
// bits of its arrays, and a run that failed in a step can be gone on from.
func TestStateIsReadBack(t *testing.T) {
	p := wired(t, fed(0, 40))
	dir := filepath.Join(t.TempDir(), "out")
	plan := plan(dir)
	plan.SetPower = nil
	f, err := Create(plan, p)
	if err != nil {
		t.Fatal(err)
	}
	r, err := solver.Run(context.Background(), p, f)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Finish(r, false, nil, func(*Summary) string { return "" }); err != nil {
		t.Fatal(err)
	}
	e, err := ReadState(dir)
	if err != nil {
		t.Fatal(err)
	}
	if e.Time != 2*day {
		t.Errorf("the state is of day %g, want 2", e.Time/day)
	}
	if !reflect.DeepEqual(e.Snapshot.Values, r.Snapshot.Values) {
		t.Error("the values differ")
	}
	for name, a := range r.Snapshot.Arrays {
		b := e.Snapshot.Arrays[name]
		if len(a) != len(b) {
			t.Errorf("%s has %d numbers, read back %d", name, len(a), len(b))
			continue
		}
		for i := range a {
			if a[i] != b[i] && (a[i] == a[i] || b[i] == b[i]) { // NaN: a cell that has not come to the target's temperature
				t.Errorf("%s[%d] is %v, read back %v", name, i, a[i], b[i])
			}
		}
	}
	if _, err := ReadState(filepath.Join(dir, "fields")); !errors.Is(err, ErrState) {
		t.Errorf("a folder of fields: %v", err)
	}
	if err := os.Remove(filepath.Join(dir, "mesh", "zone.npy")); err != nil {
		t.Fatal(err)
	}
	if _, err := ReadState(dir); !errors.Is(err, ErrState) || !strings.Contains(err.Error(), "mesh/zone.npy is missing") {
		t.Errorf("without a file of the mesh: %v", err)
	}
}

// TestOtherColumnsAreNotGoneOnFrom: tables without dates, as an older program wrote them, are not
// gone on with in rows that have them; the first by name is told.
func TestOtherColumnsAreNotGoneOnFrom(t *testing.T) {
	p := wired(t, fed(0, 40))
	plan := finished(t, p)
	dir := plan.Dir
	var err error
	if plan.Earlier, err = ReadState(dir); err != nil {
		t.Fatal(err)
	}
	plan.Dir, plan.PowerOn = dir+"-resumed", time.Date(2031, 2, 27, 12, 0, 0, 0, time.UTC)
	_, err = Create(plan, p)
	if want := "the columns of balance.csv are not time_d,date,energy_in_kWh,"; !errors.Is(err, ErrState) || !strings.Contains(err.Error(), want) {
		t.Errorf("going on with dates from a folder without gives %v, want %q", err, want)
	}
}
