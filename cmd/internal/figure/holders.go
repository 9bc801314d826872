package figure

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// holders says, in a line each, which electrode first met the supply's current limit and
// which were held by a limit of their own, from electrodes.csv; nothing where neither held
// or the folder has no such table.
func (f *folder) holders() ([]string, error) {
	const name = "electrodes.csv"
	data, err := os.ReadFile(filepath.Join(f.dir, name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fileError(name, err)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment = '#'
	header, err := r.Read()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var at [4]int
	for i, column := range []string{"time_d", "electrode", "current_A", "limited_by"} {
		if at[i] = slices.Index(header, column); at[i] < 0 {
			return nil, fmt.Errorf("%s: no column %s", name, column)
		}
	}
	var day, most float64
	var met string
	var own []string
	held := map[string]bool{}
	for {
		record, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		electrode, by := record[at[1]], record[at[3]]
		switch {
		case by == "own current" && !held[electrode]:
			held[electrode] = true
			own = append(own, printable(electrode))
		case by == "current":
			t, errTime := strconv.ParseFloat(record[at[0]], 64)
			amps, errAmps := strconv.ParseFloat(record[at[2]], 64)
			if err := errors.Join(errTime, errAmps); err != nil {
				line, _ := r.FieldPos(0)
				return nil, fmt.Errorf("%s:%d: time_d and current_A must be numbers", name, line)
			}
			// Of the first time at which the limit holds, the largest.
			if met == "" || t == day && amps > most {
				met, day, most = printable(electrode), t, amps
			}
		}
	}
	var out []string
	if met != "" {
		out = append(out, fmt.Sprintf("Current limit first met at %s, on day %.1f.", met, day))
	}
	if n := len(own); n > 0 {
		if n > 5 {
			own = append(own[:4], fmt.Sprintf("%d more", n-4))
		}
		out = append(out, "Held by a limit of their own: "+strings.Join(own, ", ")+".")
	}
	return out, nil
}
