package record

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"soiljoule/solver"
	"soiljoule/solver/keep"
)

// A results folder holds under state/ what a run goes on from: an array a file, and in
// state.json all else with the sums of the files that count.
const (
	stateIn      = "state"
	stateFile    = "state/state.json"
	stateFormat  = "soiljoule state"
	stateVersion = 1
	mostState    = 256 << 20 // bytes of state.json that are read
)

// ErrState is wrapped by ReadState's error where a folder holds nothing that can be gone on
// from.
var ErrState = errors.New("cannot be gone on from")

// stateText is state.json.
type stateText struct {
	Format   string               `json:"format"`
	Version  int                  `json:"version"`
	TimeD    float64              `json:"time_d"`
	CaseHash string               `json:"case_hash"`
	Files    map[string]fileSum   `json:"files"`
	Run      map[string]string    `json:"run"`
	Folder   map[string]string    `json:"folder"`
	Arrays   map[string]arrayText `json:"arrays"`
	Sum      string               `json:"sum"` // of this file without it
}

// fileSum is what a file of the folder was like.
type fileSum struct {
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256,omitempty"` // "": only its length counts
}

type arrayText struct {
	Numbers int    `json:"numbers"`
	SHA256  string `json:"sha256"`
}

// Earlier is a folder that a run goes on from.
type Earlier struct {
	Dir      string
	Snapshot *solver.Snapshot
	Time     float64 // [s]
	Off      float64 // [s] when the supply went off for good; NaN: it has not

	text stateText
}

// follows names what a folder follows from step to step, beside its tables.
func (f *Folder) follows(do func(name string, at any, skip ...string) error) error {
	if err := do("last", &f.last); err != nil {
		return err
	}
	if err := do("told", &f.told); err != nil {
		return err
	}
	return do("summary", &f.summary, summaryLeft...)
}

// summaryLeft are the fields of a Summary that its end fills in from the last report.
var summaryLeft = []string{"Set", "Apparent", "Switching", "Need", "Dried", "Targets", "Cautions", "Last"}

// tables are the folder's tables by the name of their file.
func (f *Folder) tables() map[string]*table {
	return map[string]*table{"history.csv": &f.history, "balance.csv": &f.balance,
		"electrodes.csv": &f.electrodes, "sensors.csv": &f.sensors, "steam.csv": &f.steam, "water.csv": &f.water}
}

// countsWhole says whether a run that goes on depends on a file's every byte.
func countsWhole(name string) bool {
	return !strings.HasPrefix(name, "mesh/") && !strings.HasPrefix(name, "summary.") && !strings.HasSuffix(name, ".npy")
}

// writeState writes state/ for a snapshot: after all files that the state counts on.
func (f *Folder) writeState(s *solver.Snapshot) error {
	if err := os.Mkdir(filepath.Join(f.stage.results(), stateIn), 0o777); err != nil {
		return err
	}
	timeS, err := s.Time()
	if err != nil {
		return err
	}
	var own keep.Store
	_ = f.follows(func(name string, at any, skip ...string) error {
		own.Put(name, at, skip...)
		return nil
	})
	text := stateText{Format: stateFormat, Version: stateVersion, TimeD: timeS / day, CaseHash: f.plan.CaseHash,
		Files: map[string]fileSum{}, Run: s.Values, Folder: own.Values, Arrays: map[string]arrayText{}}
	for name, n := range f.written {
		sum := fileSum{Bytes: n}
		if countsWhole(name) {
			if sum.SHA256, err = sumOf(filepath.Join(f.stage.results(), name)); err != nil {
				return err
			}
		}
		text.Files[name] = sum
	}
	for _, name := range slices.Sorted(maps.Keys(s.Arrays)) {
		file := stateIn + "/" + name + ".npy"
		if err := f.npy(file, s.Arrays[name]); err != nil {
			return err
		}
		sum, err := sumOf(filepath.Join(f.stage.results(), file))
		if err != nil {
			return err
		}
		text.Arrays[name] = arrayText{len(s.Arrays[name]), sum}
	}
	if text.Sum, err = text.sum(); err != nil {
		return err
	}
	return f.writeJSON(stateFile, &text)
}

// sum returns the sum of all but itself.
func (t stateText) sum() (string, error) {
	t.Sum = ""
	data, err := json.Marshal(t)
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:]), err
}

func sumOf(path string) (string, error) {
	file, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// ReadState reads what a results folder keeps for a run to go on. Its error names the
// folder and says in one line what is wrong.
func ReadState(dir string) (*Earlier, error) {
	e := &Earlier{Dir: dir}
	if err := e.read(); err != nil {
		return nil, fmt.Errorf("%s %w: %w", dir, ErrState, err)
	}
	return e, nil
}

func (e *Earlier) read() error {
	if err := e.readText(); err != nil {
		return err
	}
	t := &e.text
	for _, name := range slices.Sorted(maps.Keys(t.Files)) {
		if err := e.check(name, t.Files[name]); err != nil {
			return err
		}
	}
	s := &solver.Snapshot{Store: keep.Store{Values: t.Run, Arrays: map[string][]float64{}}}
	for _, name := range slices.Sorted(maps.Keys(t.Arrays)) {
		if !filepath.IsLocal(name) || strings.ContainsAny(name, `/\`) {
			return fmt.Errorf("%s names the array %q", stateFile, name)
		}
		a, err := readArray(filepath.Join(e.Dir, stateIn, name+".npy"), t.Arrays[name])
		if err != nil {
			return fmt.Errorf("%s/%s.npy %w", stateIn, name, err)
		}
		s.Arrays[name] = a
	}
	var err error
	if e.Time, err = s.Time(); err != nil || !(e.Time >= 0) || math.IsInf(e.Time, 1) {
		return fmt.Errorf("%s does not say of what time it is", stateFile)
	}
	if e.Off, err = s.Float("cooling.At"); err != nil {
		return fmt.Errorf("%s does not say whether the supply is off for good", stateFile)
	}
	e.Snapshot = s
	return nil
}

// readText reads state.json.
func (e *Earlier) readText() error {
	if info, err := os.Stat(e.Dir); err != nil || !info.IsDir() {
		return errors.New("it is no folder")
	}
	file, err := os.Open(filepath.Join(e.Dir, stateFile))
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Stat(filepath.Join(e.Dir, "run.json")); err != nil {
			return errors.New("it is no results folder")
		}
		return errors.New("it holds no state/, as those of earlier versions and of runs that failed beyond repair: run its case.toml again")
	}
	if err != nil {
		return cause(err)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, mostState+1))
	if err != nil {
		return cause(err)
	}
	var head struct {
		Format  string
		Version int
	}
	if len(data) > mostState || json.Unmarshal(data, &head) != nil {
		return fmt.Errorf("%s is not as a run left it", stateFile)
	}
	if head.Format != stateFormat {
		return fmt.Errorf("%s is not a state of this program", stateFile)
	}
	if head.Version != stateVersion {
		return fmt.Errorf("%s is of version %d, this program reads %d: use the program that ran it, or run its case.toml again", stateFile, head.Version, stateVersion)
	}
	if json.Unmarshal(data, &e.text) != nil {
		return fmt.Errorf("%s is not as a run left it", stateFile)
	}
	if sum, err := e.text.sum(); err != nil || sum != e.text.Sum {
		return fmt.Errorf("%s is not as a run left it", stateFile)
	}
	return nil
}

// check returns an error if a file that the state counts on is not as it was.
func (e *Earlier) check(name string, want fileSum) error {
	if !filepath.IsLocal(name) {
		return fmt.Errorf("%s names the file %q", stateFile, name)
	}
	path := filepath.Join(e.Dir, name)
	other := fmt.Errorf("%s is not as the run left it", name)
	if name == "case.toml" {
		other = fmt.Errorf("%w; change a case that goes on by --set, or name another by --case", other)
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s is missing", name)
	case err != nil:
		return fmt.Errorf("%s: %w", name, cause(err))
	case !info.Mode().IsRegular() || info.Size() != want.Bytes:
		return other
	case want.SHA256 == "":
		return nil
	}
	sum, err := sumOf(path)
	if err != nil {
		return fmt.Errorf("%s: %w", name, cause(err))
	}
	if sum != want.SHA256 {
		return other
	}
	return nil
}

// cause is an error of the system's without the path, which is named already.
func cause(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}

// readArray reads a one-dimensional .npy of float64 as npy writes it.
// Source: the NPY format 2.0, its header of magic, version and length (NumPy
// enhancement proposal 1, from memory).
func readArray(path string, want arrayText) ([]float64, error) {
	notSo := errors.New("is not as the run left it")
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, errors.New("is missing")
	}
	if err != nil {
		return nil, cause(err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, cause(err)
	}
	// The length says how much to read before anything is made for it.
	n := int64(want.Numbers)
	if !info.Mode().IsRegular() || n < 0 || n > info.Size()/8 {
		return nil, notSo
	}
	sum := sha256.New()
	in := bufio.NewReaderSize(io.TeeReader(file, sum), 1<<16)
	var head [12]byte
	if _, err := io.ReadFull(in, head[:]); err != nil || !bytes.Equal(head[:8], []byte("\x93NUMPY\x02\x00")) {
		return nil, notSo
	}
	length := int64(binary.LittleEndian.Uint32(head[8:]))
	if length > 1<<16 {
		return nil, notSo
	}
	header := make([]byte, length)
	if _, err := io.ReadFull(in, header); err != nil || info.Size() != int64(len(head))+length+8*n {
		return nil, notSo
	}
	for _, part := range []string{"'descr': '<f8'", "'fortran_order': False", "'shape': (" + strconv.FormatInt(n, 10) + ",)"} {
		if !strings.Contains(string(header), part) {
			return nil, notSo
		}
	}
	a := make([]float64, n)
	if err := readFloats(in, a); err != nil || !ends(in, sum, want.SHA256) {
		return nil, notSo
	}
	return a, nil
}

func readFloats(in io.Reader, a []float64) error {
	var block [1 << 13]byte
	for len(a) > 0 {
		n := min(len(a), len(block)/8)
		if _, err := io.ReadFull(in, block[:8*n]); err != nil {
			return err
		}
		for i := range n {
			a[i] = math.Float64frombits(binary.LittleEndian.Uint64(block[8*i:]))
		}
		a = a[n:]
	}
	return nil
}

// ends says whether a reader is at its end, with the sum wanted.
func ends(in io.Reader, sum hash.Hash, want string) bool {
	n, err := io.Copy(io.Discard, in)
	return n == 0 && err == nil && hex.EncodeToString(sum.Sum(nil)) == want
}

// takeUp lets a folder that was just opened hold what an earlier one does.
func (f *Folder) takeUp(e *Earlier) error {
	own := keep.Store{Values: e.text.Folder}
	if err := f.follows(own.Get); err != nil {
		return fmt.Errorf("%s %w: %s %w", e.Dir, ErrState, stateFile, err)
	}
	tables := f.tables()
	for _, name := range slices.Sorted(maps.Keys(tables)) {
		t := tables[name]
		data, err := os.ReadFile(filepath.Join(e.Dir, name))
		if err != nil {
			return err
		}
		head := t.String()
		if !strings.HasPrefix(string(data), head) {
			return fmt.Errorf("%s %w: the columns of %s are not %s, as this run would have them", e.Dir, ErrState, name, strings.TrimSpace(head))
		}
		t.Reset()
		t.Write(data)
	}
	for name := range f.written {
		if !strings.HasPrefix(name, "mesh/") {
			continue
		}
		was, err := sumOf(filepath.Join(e.Dir, name))
		is, errHere := sumOf(filepath.Join(f.stage.results(), name))
		if err := errors.Join(err, errHere); err != nil {
			return err
		}
		if was != is {
			return fmt.Errorf("%s %w: %s is not what this program makes of its case.toml: use the program that ran it", e.Dir, ErrState, name)
		}
	}
	data, err := os.ReadFile(filepath.Join(e.Dir, "fields/index.json"))
	if err != nil {
		return err
	}
	f.index = nil
	if err := json.Unmarshal(data, &f.index); err != nil {
		return fmt.Errorf("%s %w: fields/index.json: %w", e.Dir, ErrState, err)
	}
	f.index = slices.DeleteFunc(f.index, func(e fieldEntry) bool { return isCrossing(e.Quantity) })
	for _, entry := range f.index {
		name := "fields/" + entry.File
		if _, ok := e.text.Files[name]; !ok {
			return fmt.Errorf("%s %w: fields/index.json names %q", e.Dir, ErrState, entry.File)
		}
		if err := f.bring(e.Dir, name); err != nil {
			return err
		}
	}
	if _, ok := e.text.Files[surfaceFile]; ok {
		return f.bring(e.Dir, surfaceFile)
	}
	return nil
}

// isCrossing says whether a quantity is the days to a target, which each end writes anew.
func isCrossing(quantity string) bool {
	return quantity == crossingName || strings.HasPrefix(quantity, crossingName+"_")
}

// bring copies a file of an earlier folder.
func (f *Folder) bring(dir, name string) error {
	from, err := os.Open(filepath.Join(dir, name))
	if err != nil {
		return err
	}
	defer from.Close()
	to, err := os.Create(filepath.Join(f.stage.results(), name))
	if err != nil {
		return err
	}
	n, err := io.Copy(to, from)
	f.written[name] = n
	return errors.Join(err, to.Close())
}
