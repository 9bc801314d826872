package cases

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// Bounds on a series file: a century by the hour fits.
const (
	mostSeriesBytes = 64 << 20
	mostSeriesLine  = 4096
)

// column is one that a series file may have, and the unit that its name tells.
type column struct{ name, unit string }

// seriesKind says which columns a series needs: one of times, one of values.
type seriesKind struct {
	times, values []column
	of            *dimension // of the values
	base          string     // the unit of the key's range
	// wrong says what is wrong with a row's value after the row before it; nil: nothing is.
	wrong func(before, row point) string
}

var (
	airSeries = seriesKind{times: []column{{"time_d", "d"}}, values: []column{{"air_C", "degC"}, {"air_F", "degF"}, {"air_K", "K"}},
		of: temperature, base: "degC"}
	powerSeries = seriesKind{times: []column{{"time_d", "d"}, {"time_h", "h"}, {"time_s", "s"}}, values: []column{{"power_kW", "kW"}, {"power_W", "W"}},
		of: power, base: "kW"}
	rainSeries = seriesKind{times: []column{{"time_d", "d"}}, values: []column{{"infiltration_in_per_d", "in/d"}, {"infiltration_mm_per_d", "mm/d"}, {"infiltration_m_per_s", "m/s"}},
		of: flux, base: "in/d"}
)

// needs says what the first row must name.
func (s seriesKind) needs() string {
	names := func(of []column) string {
		var words []string
		for _, c := range of {
			words = append(words, c.name)
		}
		return list(words, "or")
	}
	return "the first row must name the columns " + names(s.times) + " and " + names(s.values)
}

// doubled returns what is wrong with a header that names its times or its values
// twice, as which of them is meant would be a guess; "": nothing.
func (s seriesKind) doubled(header []string) string {
	for _, want := range []struct {
		columns []column
		of      string
	}{{slices.Concat(powerSeries.times, s.times), "times"}, {s.values, "values"}} { // any times, also those that the kind does not take
		first := ""
		for _, h := range header {
			if !slices.ContainsFunc(want.columns, func(c column) bool { return c.name == h }) {
				continue
			}
			if first != "" {
				return "names two columns of " + want.of + ", " + first + " and " + h + "; must name one"
			}
			first = h
		}
	}
	return ""
}

// pick returns where the first of the wanted columns stands in a header, and its
// unit; -1: nowhere.
func pick(header []string, wanted []column, of *dimension) (at int, name string, u unit) {
	for i, h := range header {
		for _, c := range wanted {
			if h == c.name {
				u, _ = of.find(c.unit)
				return i, h, u
			}
		}
	}
	return -1, "", unit{}
}

// point is one row of a series [s] and [SI].
type point struct{ time, value float64 }

// pathIn returns a file that a case names, as the case's folder sees it.
func pathIn(dir, file string) string {
	if filepath.IsAbs(file) {
		return file
	}
	return filepath.Join(dir, file)
}

// readSeries reads the series that a key names, and returns the file's bytes with
// it: what a run records must be what it read. Its faults name the file and the
// row's line. A series with faults is returned as its first and its last row, NaN
// where their times are not known: no more can be said of it.
func readSeries(in input, file string, kind seriesKind) ([]point, []byte) {
	s := &seriesReader{in: in, path: pathIn(in.l.dir, file), kind: kind, first: nan, last: nan, told: nan, latest: -inf}
	s.base, _ = kind.of.find(kind.base)
	text, ok := s.text()
	if !ok {
		return nil, nil
	}
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, mostSeriesLine)
	n := 0
	for lines.Scan() {
		n++
		row := strings.TrimSpace(strings.TrimPrefix(lines.Text(), "\ufeff"))
		if row == "" || strings.HasPrefix(row, "#") {
			continue
		}
		cells := strings.Split(row, ",")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if s.columns > 0 {
			s.row(n, cells)
		} else if !s.header(n, cells) {
			return nil, nil
		}
	}
	switch {
	case errors.Is(lines.Err(), bufio.ErrTooLong):
		s.last = nan // of a row further down
		s.fault(n+1, "", "", fmt.Sprintf("is longer than %d signs; a row has a few numbers", mostSeriesLine))
	case s.columns == 0:
		s.fault(0, "", "", "is empty; "+kind.needs())
	case len(s.series) == 0 && !s.refused:
		s.fault(0, "", "", "has no rows")
	}
	if s.refused && s.rows > 0 {
		s.series = []point{{time: s.first, value: nan}, {time: s.last, value: nan}}
	}
	return s.series, text
}

// seriesReader is a series file being read, from the header on row by row.
type seriesReader struct {
	in      input
	path    string
	kind    seriesKind
	refused bool // a fault was found

	columns             int // how many the header names; 0: it has not come yet
	timeAt, valueAt     int // where the two that are wanted stand
	timeName, valueName string
	clock, scale        unit // of those two
	base                unit // of the key's range

	rows   int
	series []point // the rows without a fault
	// Times [s] of the first row, of the last if it is the latest, of the last, and the latest
	// of all rows; NaN: not known.
	first, last, told, latest float64
}

// fault adds what is wrong in a line of the file; 0: in all of it.
func (s *seriesReader) fault(line int, key, given, allowed string) {
	s.refused = true
	s.in.l.add(Fault{File: s.path, Line: line, Key: key, Given: oneLineOr(given), Allowed: allowed})
}

// text returns the bytes of the file; false: it cannot be read, or not be held.
func (s *seriesReader) text() ([]byte, bool) {
	r, err := openRegular(s.path)
	if err != nil {
		s.in.refuse(err.Error())
		return nil, false
	}
	defer r.Close()
	left := s.in.l.forSeries // a case may name a file many times
	text, err := io.ReadAll(io.LimitReader(r, int64(left)+1))
	s.in.l.forSeries -= len(text)
	switch {
	case err != nil:
		s.fault(0, "", "", "cannot be read: "+cause(err))
		return nil, false
	case len(text) > left:
		s.fault(0, "", "", "is larger than 64 MiB, or with the files before it")
		return nil, false
	}
	return text, true
}

// header takes the names of the columns; false: those that are wanted are not among them.
func (s *seriesReader) header(n int, cells []string) bool {
	s.timeAt, s.timeName, s.clock = pick(cells, s.kind.times, duration)
	s.valueAt, s.valueName, s.scale = pick(cells, s.kind.values, s.kind.of)
	if s.timeAt < 0 || s.valueAt < 0 {
		s.fault(n, "", "", s.kind.needs())
		return false
	}
	if no := s.kind.doubled(cells); no != "" {
		s.fault(n, "", "", no)
		return false
	}
	s.columns = len(cells)
	return true
}

// row takes the row of line n, with at most one fault of it.
func (s *seriesReader) row(n int, cells []string) {
	s.rows++
	before := s.told
	s.told, s.last = nan, nan
	if len(cells) != s.columns {
		s.fault(n, "", "", fmt.Sprintf("has %d columns; must have %d, as the first row", len(cells), s.columns))
		return
	}
	t, errT := strconv.ParseFloat(cells[s.timeAt], 64)
	x, errX := strconv.ParseFloat(cells[s.valueAt], 64)
	p := point{time: s.clock.toSI(t), value: s.scale.toSI(x)}
	// Written so that NaN, which Go reads, is refused too.
	if errT != nil || !(p.time > -1e5*day && p.time < 1e5*day) {
		of := map[string]string{"d": "days", "h": "hours", "s": "seconds"}[s.clock.name]
		s.fault(n, s.timeName, cells[s.timeAt], "must be a number of "+of+" since power-on")
		return
	}
	s.told = p.time
	if s.rows == 1 {
		s.first = p.time
	}
	// False where the time of the row before is not known.
	late := p.time <= before
	if p.time > s.latest {
		s.latest, s.last = p.time, p.time
	}
	no := s.in.key.span.in(s.base, s.scale).refuse(p.value, s.scale)
	if errX != nil || math.IsNaN(x) {
		no = "must be a number"
	}
	if no != "" {
		s.fault(n, s.valueName, cells[s.valueAt], no)
		return
	}
	if late {
		s.fault(n, s.timeName, cells[s.timeAt], "must be later than the row before")
		return
	}
	if s.kind.wrong != nil {
		previous := point{-inf, -inf}
		if n := len(s.series); n > 0 {
			previous = s.series[n-1]
		}
		if no := s.kind.wrong(previous, p); no != "" {
			s.fault(n, s.valueName, cells[s.valueAt], no)
			return
		}
	}
	s.series = append(s.series, p)
}

// openRegular opens a file that is one: a pipe could keep a run waiting, a
// device never ends.
func openRegular(path string) (*os.File, error) {
	info, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil, fmt.Errorf("there is no file %s", oneLine(path))
	case err != nil:
		return nil, fmt.Errorf("cannot read %s: %s", oneLine(path), cause(err))
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder, not a file", oneLine(path))
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is a pipe or a device, not a file", oneLine(path))
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %s", oneLine(path), cause(err))
	}
	return f, nil
}

// cause is what the system says of a file, without the path that it repeats.
func cause(err error) string {
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err
	}
	return oneLine(err.Error())
}

// baseName returns the last part of a path.
func baseName(path string) string { return filepath.Base(path) }

// oneLineOr is oneLine, but keeps nothing as nothing.
func oneLineOr(s string) string {
	if s == "" {
		return ""
	}
	return oneLine(s)
}
