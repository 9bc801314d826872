package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// Refused is Create's error where the results may not be put: nothing was made.
type Refused struct{ Err error }

func (r Refused) Error() string { return r.Err.Error() }

func (r Refused) Unwrap() error { return r.Err }

// ErrFinished is wrapped by Create's error when the folder holds a finished run.
var ErrFinished = errors.New("holds a finished run")

// ErrForeign is wrapped by Create's error when the folder is not a results
// folder and not empty.
var ErrForeign = errors.New("is not empty and not a results folder")

// ErrPlace is wrapped by Create's error when the folder cannot be begun where it is
// to be; what the system says of the place follows.
var ErrPlace = errors.New("cannot be made")

// entries is what a results folder holds; anything else in one is the user's.
var entries = []string{"case.toml", "summary.json", "summary.txt", "history.csv", "balance.csv", "electrodes.csv",
	"sensors.csv", "steam.csv", "water.csv", surfaceFile, "air.csv", "infiltration.csv", "water-table.csv", "vacuum.csv", OutagesFile, MeteredFile, "fields", "mesh", stateIn, "run.json", "figures"}

// HeatFile is what a folder calls the power series of the case's i-th body of set
// power, from 0.
func HeatFile(i int) string { return "heat-" + strconv.Itoa(i+1) + ".csv" }

// ours reports whether a name in a results folder is one that a run gives.
func ours(name string) bool {
	number, ok := strings.CutPrefix(strings.TrimSuffix(name, ".csv"), "heat-")
	if i, err := strconv.Atoi(number); ok && err == nil && i >= 1 && name == HeatFile(i-1) {
		return true
	}
	return slices.Contains(entries, name)
}

// checkPlace says whether a run may write to dir: nil, or an error that wraps
// ErrFinished or ErrForeign or names what stands in the way.
func checkPlace(dir string, force bool) error {
	if _, err := place(dir); err != nil {
		return err
	}
	if err := inTheWay(dir); err != nil {
		return err
	}
	list, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case len(list) == 0:
		return nil
	}
	data, err := os.ReadFile(filepath.Join(dir, "run.json"))
	if err != nil {
		return fmt.Errorf("%s %w", dir, ErrForeign)
	}
	var run struct{ Finished bool }
	if json.Unmarshal(data, &run) == nil && run.Finished && !force {
		return fmt.Errorf("%s %w; --force replaces it", dir, ErrFinished)
	}
	return nil
}

// inTheWay says what stands where dir, or a folder that it lies in, is to be; nil:
// folders, or nothing.
func inTheWay(dir string) error {
	for at := filepath.Clean(dir); ; at = filepath.Dir(at) {
		info, err := os.Stat(at)
		link, isLink := os.Lstat(at)
		of := at
		if at != filepath.Clean(dir) {
			of = dir + " cannot be: " + at
		}
		switch {
		case err == nil && !info.IsDir():
			return fmt.Errorf("%s is no folder but a file; name a folder, or one that is not there yet", of)
		case errors.Is(err, fs.ErrNotExist) && isLink == nil && link.Mode()&fs.ModeSymlink != 0:
			return fmt.Errorf("%s is a link to nothing; name a folder, or one that is not there yet", of)
		case err == nil || filepath.Dir(at) == at:
			return nil
		}
	}
}

// noPlace is the error of a folder that cannot be begun, without the temporary name
// that the system refused.
func noPlace(dir string, err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err
	}
	return fmt.Errorf("%s %w: %w", dir, ErrPlace, err)
}

// place returns dir as the absolute path that results are renamed to, links
// resolved, or an error where nothing can be renamed to it.
func place(dir string) (string, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		abs = real
	}
	here, err := os.Getwd()
	if err == nil {
		if real, err := filepath.EvalSymlinks(here); err == nil {
			here = real
		}
	}
	if dir == "" || abs == here || filepath.Dir(abs) == abs {
		return "", fmt.Errorf(whole, dir)
	}
	return abs, nil
}

const whole = "%q cannot be replaced as a whole; name a folder below it"
