package figure

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"soiljoule/cases"
)

// folder is a results folder, read as far as every figure needs it.
type folder struct {
	dir      string
	c        *cases.Case
	hash     string // the first eight characters of the case's hash
	finished bool
}

// openFolder reads run.json, which every figure names its case by.
func openFolder(dir string, c *cases.Case) (*folder, error) {
	var run struct {
		Hash     string `json:"case_hash"`
		Finished bool   `json:"finished"`
	}
	f := &folder{dir: dir, c: c}
	if err := f.readJSON("run.json", &run); err != nil {
		return nil, err
	}
	hash := run.Hash[strings.LastIndexByte(run.Hash, ':')+1:] // without the name of its algorithm
	if hash == "" {
		return nil, errors.New("run.json: no case_hash")
	}
	f.hash, f.finished = hash[:min(8, len(hash))], run.Finished
	return f, nil
}

// readJSON decodes a file of the folder into dst.
func (f *folder) readJSON(name string, dst any) error {
	data, err := os.ReadFile(filepath.Join(f.dir, name))
	if err != nil {
		return fileError(name, err)
	}
	if err := json.Unmarshal(data, dst); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// fileError names the file as the folder does, and says what to do about a
// missing one.
func fileError(name string, err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: %w; a results folder holds it once a run has written it", name, os.ErrNotExist)
	}
	return fmt.Errorf("%s: %w", name, err)
}

// summary holds the keys of summary.json that figures quote. A day that was not
// reached is null, here nil.
type summary struct {
	Days50       *float64 `json:"days_to_share_50"`
	Days90       *float64 `json:"days_to_share_90"`
	Days100      *float64 `json:"days_to_share_100"`
	DaysToTarget *float64 `json:"days_to_target"`
	EnergyPerM3  *float64 `json:"energy_density_kWh_per_m3"`
	EnergyPerYd3 *float64 `json:"energy_density_kWh_per_yd3"`
	ZoneTop      *float64 `json:"zone_loss_top_kWh"`
	ZoneBottom   *float64 `json:"zone_loss_bottom_kWh"`
	ZoneSides    *float64 `json:"zone_loss_sides_kWh"`

	CondensedOutside *float64 `json:"condensed_outside_kWh"`
}

// table is a CSV file of numbers: columns by name, equally long. NaN stands for
// an empty cell.
type table struct {
	file  string
	names []string
	cols  [][]float64
}

// add appends a column.
func (t *table) add(name string, values []float64) {
	t.names = append(t.names, name)
	t.cols = append(t.cols, values)
}

// rows returns the number of rows.
func (t *table) rows() int {
	if len(t.cols) == 0 {
		return 0
	}
	return len(t.cols[0])
}

// column returns a column by name, or an error that names file and column.
func (t *table) column(name string) ([]float64, error) {
	i := slices.Index(t.names, name)
	if i < 0 {
		return nil, fmt.Errorf("%s: no column %s", t.file, name)
	}
	return t.cols[i], nil
}

// columns returns several columns, or the first error.
func (t *table) columns(names ...string) ([][]float64, error) {
	var cols [][]float64
	for _, name := range names {
		col, err := t.column(name)
		if err != nil {
			return nil, err
		}
		cols = append(cols, col)
	}
	return cols, nil
}

// csv writes the table. Ten digits are far below a dot of the figure and spare
// the reader the tails of binary fractions.
func (t *table) csv() []byte {
	var b bytes.Buffer
	b.WriteString(strings.Join(t.names, ","))
	b.WriteByte('\n')
	for r := range t.rows() {
		for i, col := range t.cols {
			if i > 0 {
				b.WriteByte(',')
			}
			if v := col[r]; !math.IsNaN(v) {
				b.WriteString(strconv.FormatFloat(v, 'g', 10, 64))
			}
		}
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// readTable reads a CSV file of the folder: one header row, # comments, numbers.
// A column named date is text and is left out; days carry the same time. At
// least one row is required; time_d is finite and, as first column, never falls.
func (f *folder) readTable(name string) (*table, error) {
	data, err := os.ReadFile(filepath.Join(f.dir, name))
	if err != nil {
		return nil, fileError(name, err)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment = '#'
	r.TrimLeadingSpace = true
	header, err := r.Read()
	if err == io.EOF {
		return nil, fmt.Errorf("%s: empty file", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	t := &table{file: name}
	var from []int // the field that each column is read from
	for i, h := range header {
		if h != "date" {
			t.add(h, nil)
			from = append(from, i)
		}
	}
	for {
		record, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		for c, i := range from {
			v := math.NaN()
			if cell := strings.TrimSpace(record[i]); cell != "" {
				v, err = strconv.ParseFloat(cell, 64)
				if err != nil {
					line, _ := r.FieldPos(i)
					return nil, fmt.Errorf("%s:%d: %s = %s: must be a number", name, line, t.names[c], cell)
				}
			}
			if n := t.rows(); t.names[c] == "time_d" && (bad(v) || c == 0 && n > 0 && v < t.cols[0][n-1]) {
				line, _ := r.FieldPos(i)
				return nil, fmt.Errorf("%s:%d: %s = %s: must be finite and not less than in the row before", name, line, t.names[c], record[i])
			}
			t.cols[c] = append(t.cols[c], v)
		}
	}
	if t.rows() == 0 {
		return nil, fmt.Errorf("%s: no rows", name)
	}
	return t, nil
}

// bounds returns the least and the largest finite value of the series given;
// ok is false if there is none.
func bounds(series ...[]float64) (lo, hi float64, ok bool) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, s := range series {
		for _, v := range s {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	return lo, hi, lo <= hi
}

// subtitle is the second line of every figure: the case, the days, the date of
// power-on, and whether the run came to its end.
func (f *folder) subtitle(days string) (title, rest string) {
	rest = " · " + days
	if t := f.c.Time.PowerOn; !t.IsZero() {
		rest += ", from " + t.Format("2006-01-02")
	}
	if !f.finished {
		rest += " · unfinished run"
	}
	return printable(f.c.Title), rest
}

// footer is the small line in the corner of every figure.
func (f *folder) footer(name string) string {
	return "case " + f.hash + " · " + footerData(name)
}

// footerData names a figure's table.
func footerData(name string) string { return "data " + name + ".csv" }

// printable drops what neither a font nor an XML file can hold.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0xfffe || r == 0xffff {
			return -1
		}
		return r
	}, s)
}

// dayName writes a time [d] as the fields' file names do: "30", "0.5".
func dayName(t float64) string {
	return strconv.FormatFloat(math.Round(t*1e6)/1e6, 'f', -1, 64)
}
