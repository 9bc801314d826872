package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// columns of the folder's tables, as users and their spreadsheets know them.
var columns = map[string]string{
	"history.csv":    "time_d,power_kW,voltage_V,current_max_A,target_mean_C,target_min_C,share_at_target,energy_in_kWh,target_max_C",
	"balance.csv":    "time_d,energy_in_kWh,water_in_kWh,stored_target_kWh,stored_outside_kWh,steam_out_kWh,loss_surface_kWh,loss_below_kWh,loss_sides_kWh,carried_by_water_kWh,latent_kWh,residual_kWh",
	"electrodes.csv": "time_d,electrode,phase,voltage_V,current_A,power_kW,limited_by",
	"steam.csv": "time_d,steam_kg_per_h,condensate_gpm,steam_kg,captured_kg_per_h,surface_kg_per_h,held_kg_per_h,condensing_kg_per_h," +
		"captured_kg,surface_kg,held_kg,condensed_kg,steam_lb_per_h,pore_volumes_boiled,captured_kWh,surface_kWh,held_kWh,condensed_outside_kWh",
	"water.csv":   "time_d,recharge_kg,rain_kg,added_kg,steam_kg,to_groundwater_kg,stored_kg,residual_kg",
	"sensors.csv": "time_d,wall@8ft_C,",
}

// summaryKeys are the keys of summary.json, in order.
const summaryKeys = `days_to_share_50 days_to_share_90 days_to_share_100 days_to_target days_to_held target_volume_m3
	target_mean_C target_min_C target_max_C target_min_x_m target_min_z_m energy_in_kWh energy_density_kWh_per_m3 energy_density_kWh_per_yd3
	power_first_kW power_mean_kW power_max_kW current_first_A current_max_A phase_current_first_A phase_current_max_A surface_potential_max_V surface_potential_max_day
	surface_potential_max_x_m surface_step_max_V_per_m surface_step_max_day surface_step_max_x_m loss_share balance_error_share latent_kWh steam_kg
	steam_max_kg_per_h condensate_max_gpm steam_captured_kg steam_surface_kg steam_held_kg steam_captured_kWh steam_surface_kWh steam_held_kWh
	condensed_kg condensed_latent_kWh condensed_outside_kWh pore_volumes_boiled recharge_kg rain_kg added_kg to_groundwater_kg water_stored_kg
	water_residual_share zone_loss_top_kWh zone_loss_bottom_kWh zone_loss_sides_kWh targets cautions`

// fieldsAt lists the field files of the given days, with the two that belong to
// no day and the index.
func fieldsAt(days ...string) []string {
	out := []string{"fields/boiling_point.npy", "fields/days_to_target.npy", "fields/index.json"}
	for _, d := range days {
		for _, q := range []string{"temperature", "saturation", "potential_re", "potential_im", "power_density"} {
			out = append(out, "fields/"+q+"_"+d+".npy")
		}
	}
	return out
}

// plain is what a results folder holds beside its fields and figures.
var plain = []string{"case.toml", "summary.json", "summary.txt", "history.csv", "balance.csv", "electrodes.csv", "sensors.csv", "steam.csv", "water.csv", "surface.csv",
	"mesh/x_edges.npy", "mesh/z_edges.npy", "mesh/layer.npy", "mesh/zone.npy", "run.json", "state/state.json"}

// withoutArrays leaves out the arrays of the state, which are as many as the run has.
func withoutArrays(names []string) []string {
	return slices.DeleteFunc(names, func(n string) bool { return strings.HasPrefix(n, "state/") && strings.HasSuffix(n, ".npy") })
}

// TestResultsFolder: a run writes the files that are promised and no others,
// with the columns and keys that are promised.
func TestResultsFolder(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	o := runInto(t, out, cell, "--set", `output.fields_at=["12 h"]`)
	want := slices.Sorted(slices.Values(slices.Concat(plain, fieldsAt("0000d", "0000.5d", "0003d"))))
	if got := withoutArrays(files(t, out)); !slices.Equal(got, want) {
		t.Errorf("the results folder holds\n%s\nwant\n%s", strings.Join(got, " "), strings.Join(want, " "))
	}
	noStage(t, dir)
	if text := read(t, out, "summary.txt"); o.out != text {
		t.Errorf("run printed on stdout\n%s\nwant summary.txt and nothing else:\n%s", o.out, text)
	}
	if first := strings.Split(o.out, "\n")[0]; !strings.HasPrefix(first, "90 % of silt cell at 95 °C (203 °F): not reached in 3 d, ") {
		t.Errorf("summary.txt begins with %q, want the answer to whether the target was reached", first)
	}

	rows := map[string]int{}
	for name, head := range columns {
		lines := strings.Split(strings.TrimSuffix(read(t, out, name), "\n"), "\n")
		if lines[0] != head && !(strings.HasSuffix(head, ",") && strings.HasPrefix(lines[0], head)) {
			t.Errorf("%s has the columns\n%s\nwant\n%s", name, lines[0], head)
		}
		rows[name] = len(lines) - 1
		for i, line := range lines {
			if n, m := strings.Count(line, ","), strings.Count(lines[0], ","); n != m {
				t.Errorf("%s line %d has %d commas, its head %d", name, i+1, n, m)
				break
			}
		}
	}
	r := runOf(t, out)
	for name, n := range rows { // one electrode: a row a time in every table
		if n != r.Steps+1 {
			t.Errorf("%s has %d rows, want the start and the %d steps", name, n, r.Steps)
		}
	}
	profile := strings.Split(strings.TrimSuffix(read(t, out, "surface.csv"), "\n"), "\n")
	if want := "time_d,r_m,potential_V,step_V_per_m,gradient_V_per_m"; profile[0] != want || (len(profile)-1)%3 != 0 || !strings.HasPrefix(profile[len(profile)-1], "3,") {
		t.Errorf("surface.csv has the columns %s, %d rows and ends with %s; want %s and as many rows at each of three times, the last day 3", profile[0], len(profile)-1, profile[len(profile)-1], want)
	}
	if !r.Finished || r.TimeD != 3 || r.WallSeconds <= 0 || len(r.CaseHash) != 64 || r.Version != version {
		t.Errorf("run.json is %+v, want a finished run of 3 d with its wall time, case hash and version", r)
	}

	if got, want := keysInOrder(t, read(t, out, "summary.json")), strings.Fields(summaryKeys); !slices.Equal(got, want) {
		t.Errorf("summary.json has the keys\n%s\nwant\n%s", got, want)
	}
	var index []struct {
		File, Quantity, Unit string
		TimeD                *float64 `json:"time_d"`
		Shape                [2]int
	}
	if err := json.Unmarshal([]byte(read(t, out, "fields", "index.json")), &index); err != nil {
		t.Fatalf("fields/index.json does not decode: %v", err)
	}
	for _, f := range index {
		// The header of version 2: twelve bytes, the last four the length of its text.
		data := []byte(read(t, out, "fields", f.File))
		if len(data) < 12 || string(data[:8]) != "\x93NUMPY\x02\x00" || len(data) != 12+int(binary.LittleEndian.Uint32(data[8:]))+8*f.Shape[0]*f.Shape[1] {
			t.Errorf("fields/%s has %d bytes, which are not a header and the %d × %d numbers that index.json says", f.File, len(data), f.Shape[0], f.Shape[1])
		}
		if f.Unit == "" || f.Quantity == "" {
			t.Errorf("fields/index.json gives %s the quantity %q and the unit %q, want both", f.File, f.Quantity, f.Unit)
		}
	}
	if got, want := len(index), len(fieldsAt("a", "b", "c"))-1; got != want {
		t.Errorf("fields/index.json lists %d files, want %d", got, want)
	}
}

// keysInOrder returns the keys of a JSON object as they stand in the text.
func keysInOrder(t *testing.T, text string) []string {
	t.Helper()
	var out []string
	d := json.NewDecoder(strings.NewReader(text))
	if _, err := d.Token(); err != nil {
		t.Fatal(err)
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, fmt.Sprint(key))
		var skip json.RawMessage
		if err := d.Decode(&skip); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// TestRunJSON: run --json prints summary.json.
func TestRunJSON(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	if o := runInto(t, out, cell, "--json"); o.out != read(t, out, "summary.json") {
		t.Errorf("run --json printed\n%s\nwant summary.json and nothing else", o.out)
	}
}

// TestFigures: run draws the seven figures; figures draws some of them again.
func TestFigures(t *testing.T) {
	if testing.Short() {
		t.Skip("twenty-one files drawn")
	}
	out := filepath.Join(t.TempDir(), "out")
	args := slices.DeleteFunc(coarse(cell), func(s string) bool { return s == "--no-figures" })
	o := must(t, done, slices.Concat([]string{"run"}, args, []string{"-o", out})...)
	if text := read(t, out, "summary.txt"); o.out != text {
		t.Errorf("run with figures printed more on stdout than summary.txt:\n%s", o.out)
	}
	for _, name := range []string{"sensors", "profiles", "section", "share", "ledger", "supply", "surface"} {
		for _, ext := range []string{".png", ".svg", ".csv"} {
			if read(t, out, "figures", name+ext) == "" {
				t.Errorf("figures/%s%s is empty", name, ext)
			}
		}
	}
	if err := os.RemoveAll(filepath.Join(out, "figures")); err != nil {
		t.Fatal(err)
	}
	o = must(t, done, "figures", out, "--only", "ledger,share", "--units", "us")
	got := files(t, filepath.Join(out, "figures"))
	if want := []string{"ledger.csv", "ledger.png", "ledger.svg", "share.csv", "share.png", "share.svg"}; !slices.Equal(got, want) {
		t.Errorf("figures --only ledger,share drew %s, want %s", got, want)
	}
	if n := strings.Count(o.out, "\n"); n != len(got) {
		t.Errorf("figures listed %d files on stdout, want the %d that it wrote:\n%s", n, len(got), o.out)
	}
}

// TestCaseRunsAgain: case.toml of a results folder runs by itself, wherever the
// folder is moved, to the same bytes.
func TestCaseRunsAgain(t *testing.T) {
	for _, file := range []string{cell, plates, yard} {
		if file == yard && testing.Short() {
			continue
		}
		dir := t.TempDir()
		a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
		runInto(t, a, file)
		must(t, done, "run", filepath.Join(a, "case.toml"), "--no-figures", "-o", b)
		sameFolders(t, a, b)
		if x, y := runOf(t, a), runOf(t, b); x.CaseHash != y.CaseHash || x.Steps != y.Steps {
			t.Errorf("%s run again from its case.toml has the hash %.8s and %d steps, want %.8s and %d", file, y.CaseHash, y.Steps, x.CaseHash, x.Steps)
		}
	}
}

// TestCaseWithAirFileRunsAgain: the file of air temperatures goes into the
// folder, so that case.toml still runs where the folder stands alone.
func TestCaseWithAirFileRunsAgain(t *testing.T) {
	dir := t.TempDir()
	at := filepath.Join(dir, "site")
	if err := os.Mkdir(at, 0o777); err != nil {
		t.Fatal(err)
	}
	write(t, at, "spring.csv", "# invented\ntime_d,air_C\n0,4\n1,9\n3,7\n")
	text := must(t, done, "new", "axisymmetric").out
	text = strings.Replace(text, `air  = "12 degC"`, `air = "spring.csv"`, 1)
	text = strings.Replace(text, `duration = "70 d"`, "duration = \"3 d\"\npower_on = 2031-04-01", 1)
	path := write(t, at, "site.toml", text)
	a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	must(t, done, "run", path, "--set", "mesh.finest=8 in", "--no-figures", "-o", a)
	if err := os.RemoveAll(at); err != nil {
		t.Fatal(err)
	}
	must(t, done, "run", filepath.Join(a, "case.toml"), "--no-figures", "-o", b)
	sameFolders(t, a, b)
	if !slices.Contains(files(t, a), "air.csv") {
		t.Errorf("the results folder does not hold air.csv, which its case.toml names")
	}
	if rows := strings.Split(read(t, a, "history.csv"), "\n"); !strings.HasPrefix(rows[0], "time_d,date,power_kW,") || !strings.HasPrefix(rows[1], "0,2031-04-01T00:00:00,") {
		t.Errorf("history.csv of a case with power_on begins\n%s\n%s\nwant a column of dates after the time", rows[0], rows[1])
	}
}

// TestFinishedFolderIsKept: a finished run's folder is replaced with --force
// only, and then what the user put there stays.
func TestFinishedFolderIsKept(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	runInto(t, out, cell)
	write(t, out, "notes.txt", "site visit")
	before := read(t, out, "run.json")

	args := slices.Concat([]string{"run"}, coarse(cell), []string{"-o", out})
	o := must(t, wrong, args...)
	if !strings.Contains(o.err, out+" holds a finished run; --force replaces it") || strings.Count(o.err, "\n") != 1 || o.out != "" {
		t.Errorf("a run into a finished folder said %q, want one line that names the folder and --force", o.err)
	}
	if read(t, out, "run.json") != before {
		t.Errorf("a run that was refused has changed run.json of the folder")
	}

	must(t, done, append(args, "--force", "--set", "time.duration=2 d")...)
	if r := runOf(t, out); r.TimeD != 2 || !r.Finished {
		t.Errorf("--force left a run to day %g, want the new one to day 2", r.TimeD)
	}
	want := slices.Sorted(slices.Values(slices.Concat(plain, fieldsAt("0000d", "0002d"), []string{"notes.txt"})))
	if got := withoutArrays(files(t, out)); !slices.Equal(got, want) {
		t.Errorf("after --force the folder holds\n%s\nwant the new run's files and the user's notes.txt:\n%s", strings.Join(got, " "), strings.Join(want, " "))
	}
	if read(t, out, "notes.txt") != "site visit" {
		t.Errorf("--force has changed the user's notes.txt")
	}
	noStage(t, dir)
}

// TestUnfinishedFolderIsReplaced: an interrupted run is run again without --force.
func TestUnfinishedFolderIsReplaced(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	interrupt(t, out, "")
	runInto(t, out, cell)
	if r := runOf(t, out); !r.Finished || r.TimeD != 3 {
		t.Errorf("the folder of an interrupted run that was run again says day %g, finished %v; want day 3, finished", r.TimeD, r.Finished)
	}
	want := slices.Sorted(slices.Values(slices.Concat(plain, fieldsAt("0000d", "0003d"))))
	if got := withoutArrays(files(t, out)); !slices.Equal(got, want) {
		t.Errorf("the folder run again holds\n%s\nwant only the new run's files\n%s", strings.Join(got, " "), strings.Join(want, " "))
	}
	noStage(t, dir)
}

// TestForeignFolderIsRefused: a folder of something else is never written to,
// not even with --force; an empty one is used.
func TestForeignFolderIsRefused(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "home")
	if err := os.Mkdir(out, 0o777); err != nil {
		t.Fatal(err)
	}
	write(t, out, "letter.txt", "not ours")
	args := slices.Concat([]string{"run"}, coarse(cell), []string{"-o", out})
	for _, more := range []string{"-q", "--force"} {
		o := must(t, wrong, append(slices.Clone(args), more)...)
		if !strings.Contains(o.err, "is not empty and not a results folder") || strings.Count(o.err, "\n") != 1 {
			t.Errorf("a run into a foreign folder (%s) said %q, want one line that says so", more, o.err)
		}
	}
	if got := files(t, dir); !slices.Equal(got, []string{"home/letter.txt"}) {
		t.Errorf("a refused run left %s, want the letter alone", got)
	}
	if err := os.Remove(filepath.Join(out, "letter.txt")); err != nil {
		t.Fatal(err)
	}
	must(t, done, args...)
	noStage(t, dir)
}

// TestUnwritableParent: a place that cannot be written ends the run before it
// starts, with 1 and one line.
func TestUnwritableParent(t *testing.T) {
	parent := t.TempDir()
	if err := os.Chmod(parent, 0o555); err != nil {
		t.Fatal(err)
	}
	if os.Mkdir(filepath.Join(parent, "try"), 0o777) == nil {
		parent = "/proc" // whoever may write anywhere still may not here
		if _, err := os.Stat(parent); err != nil {
			t.Skip("this user may write everywhere")
		}
	}
	out := filepath.Join(parent, "out")
	o := must(t, failed, slices.Concat([]string{"run"}, coarse(cell), []string{"-o", out})...)
	if strings.Count(o.err, "\n") != 1 || !strings.Contains(o.err, out) || o.out != "" {
		t.Errorf("a run into a place that cannot be written said %q, want one line that names it", o.err)
	}
}

// TestFolderBelowAFile: a file in the way of the folder is named.
func TestFolderBelowAFile(t *testing.T) {
	file := write(t, t.TempDir(), "letter.txt", "not ours")
	for _, out := range []string{file, filepath.Join(file, "out")} {
		o := must(t, wrong, slices.Concat([]string{"run"}, coarse(cell), []string{"-o", out})...)
		if strings.Count(o.err, "\n") != 1 || !strings.Contains(o.err, out) {
			t.Errorf("run -o %s said %q, want one line that names it", out, o.err)
		}
	}
}

// stopAt cancels a context when a line that holds word goes by.
type stopAt struct {
	bytes.Buffer
	word   string
	cancel context.CancelFunc
}

func (s *stopAt) Write(p []byte) (int, error) {
	if strings.Contains(string(p), s.word) {
		s.cancel()
	}
	return s.Buffer.Write(p)
}

// interrupt runs the cell into out and cancels it at the first progress line
// that holds word, or before it starts if word is empty.
func interrupt(t *testing.T, out, word string, more ...string) outcome {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	if word == "" {
		cancel()
	}
	var stdout bytes.Buffer
	stderr := &stopAt{word: word, cancel: cancel}
	if word == "" {
		stderr.word = "no such line"
	}
	code := run(ctx, slices.Concat([]string{"run"}, coarse(cell), []string{"-o", out}, more), &stdout, stderr)
	if code != interrupted {
		t.Fatalf("an interrupted run ended with %d, want %d; it said:\n%s", code, interrupted, stderr.String())
	}
	return outcome{code, stdout.String(), stderr.String()}
}

// TestInterrupted: a cancelled run ends with 130 and leaves its last accepted
// step on disk in a folder that says it is not finished.
func TestInterrupted(t *testing.T) {
	for _, word := range []string{"", " %  day"} {
		dir := t.TempDir()
		out := filepath.Join(dir, "out")
		o := interrupt(t, out, word)
		noStage(t, dir)
		r := runOf(t, out)
		if r.Finished || r.TimeD >= 3 || (word != "") != (r.TimeD > 0) {
			t.Errorf("run.json of a run interrupted at %q says day %g, finished %v", word, r.TimeD, r.Finished)
		}
		lines := strings.Split(strings.TrimSpace(read(t, out, "history.csv")), "\n")
		if len(lines) != r.Steps+2 {
			t.Errorf("history.csv of an interrupted run has %d lines, want the head, the start and the %d steps", len(lines), r.Steps)
		}
		last, _, _ := strings.Cut(lines[len(lines)-1], ",")
		// history.csv has twelve digits.
		if day, err := strconv.ParseFloat(last, 64); err != nil || math.Abs(day-r.TimeD) > 1e-11*r.TimeD {
			t.Errorf("history.csv of an interrupted run ends on day %s, and run.json on day %g", last, r.TimeD)
		}
		var index []struct {
			File, Quantity string
			TimeD          *float64 `json:"time_d"`
		}
		if err := json.Unmarshal([]byte(read(t, out, "fields", "index.json")), &index); err != nil {
			t.Fatal(err)
		}
		found := false
		for _, f := range index {
			if f.Quantity == "temperature" && f.TimeD != nil && *f.TimeD == r.TimeD {
				found = read(t, out, "fields", f.File) != ""
			}
		}
		if !found {
			t.Errorf("the last accepted step, day %g, has no temperature field in the folder of an interrupted run", r.TimeD)
		}
		if !strings.Contains(o.out, "INTERRUPTED on day ") {
			t.Errorf("summary.txt of an interrupted run does not say so:\n%s", o.out)
		}
		if !strings.Contains(o.err, "interrupted at day") || !strings.Contains(o.err, out) {
			t.Errorf("an interrupted run said on stderr %q, want the day and the folder", o.err)
		}
	}
}

// TestProgress: away from a terminal a line every few percent, none with -q,
// and the result alone on stdout either way.
func TestProgress(t *testing.T) {
	dir := t.TempDir()
	o := runInto(t, filepath.Join(dir, "a"), cell)
	line := regexp.MustCompile(`^ *(\d+) %  day (\d+\.\d) of 3, target mean (\d+\.\d) °C \((\d+) °F\), \S+ left$`)
	lines := strings.Split(strings.TrimSuffix(o.err, "\n"), "\n")
	if got, want := lines[len(lines)-1], "results in "+filepath.Join(dir, "a"); got != want {
		t.Errorf("a run's last line on stderr is %q, want %q", got, want)
	}
	before := 0
	for _, l := range lines[:len(lines)-1] {
		m := line.FindStringSubmatch(l)
		if m == nil {
			t.Errorf("progress line %q, want share, day, target mean and time left", l)
			continue
		}
		share, _ := strconv.Atoi(m[1])
		// A line each 5 %, found at the end of a step, and a step is at most 10 %; the
		// figures are whole percents, and the last line may come sooner.
		if d := share - before; d < 4 && share < 100 || d > 16 {
			t.Errorf("progress goes from %d %% to %d %%, want lines 5 to 15 %% apart", before, share)
		}
		before = share
	}
	if before != 100 {
		t.Errorf("the last progress line of a finished run says %d %%, want 100 %%", before)
	}

	q := runInto(t, filepath.Join(dir, "b"), cell, "-q")
	if q.err != "results in "+filepath.Join(dir, "b")+"\n" {
		t.Errorf("run -q wrote %q on stderr, want only where the results are", q.err)
	}
	if q.out != o.out {
		t.Errorf("run -q printed another result than run:\n%s\n%s", q.out, o.out)
	}
}

// onLine runs once when the first line goes by.
type onLine struct {
	bytes.Buffer
	do func()
}

func (o *onLine) Write(p []byte) (int, error) {
	if o.do != nil {
		o.do()
		o.do = nil
	}
	return o.Buffer.Write(p)
}

// TestFolderThatFails: a results folder that cannot be written any more ends
// the run with 1 and a line that names the file, and leaves nothing behind.
func TestFolderThatFails(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	var stdout bytes.Buffer
	stderr := &onLine{do: func() {
		stage, _ := filepath.Glob(out + ".part-*")
		if len(stage) != 1 {
			t.Errorf("while the run goes on its files stand in %q, want one folder beside %s", stage, out)
			return
		}
		if err := os.RemoveAll(filepath.Join(stage[0], "results", "fields")); err != nil {
			t.Error(err)
		}
	}}
	code := run(t.Context(), slices.Concat([]string{"run"}, coarse(cell), []string{"-o", out}), &stdout, stderr)
	if code != failed || stdout.Len() > 0 || !strings.Contains(stderr.String(), "fields/temperature_0003d.npy") {
		t.Errorf("a run whose folder fails ended with %d and wrote %q and\n%s\nwant 1, nothing, and the file's name", code, stdout.String(), stderr.String())
	}
	if got := files(t, dir); len(got) > 0 {
		t.Errorf("a run whose folder failed left %s, want nothing", got)
	}
}
