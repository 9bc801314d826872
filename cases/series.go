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
	// dates and until are columns of dates that stand for one of times and, where the values are
	// times too, for one of values; "": there is none.
	dates, until string
	of           *dimension // of the values
	base         string     // the unit of the key's range
	// wrong says what is wrong with a row's value after the row before it; nil: nothing is.
	wrong func(before, row point) string
}

var (
	airSeries = seriesKind{times: []column{{"time_d", "d"}}, dates: "date", values: []column{{"air_C", "degC"}, {"air_F", "degF"}, {"air_K", "K"}},
		of: temperature, base: "degC"}
	powerSeries = seriesKind{times: []column{{"time_d", "d"}, {"time_h", "h"}, {"time_s", "s"}}, dates: "date", values: []column{{"power_kW", "kW"}, {"power_W", "W"}},
		of: power, base: "kW"}
	rainSeries = seriesKind{times: []column{{"time_d", "d"}}, dates: "date", values: []column{{"infiltration_in_per_d", "in/d"}, {"infiltration_mm_per_d", "mm/d"}, {"infiltration_m_per_s", "m/s"}},
		of: flux, base: "in/d"}
)

// needs says what the first row must name.
func (s seriesKind) needs() string {
	names := func(of []column, dates string) string {
		var words []string
		for _, c := range of {
			words = append(words, c.name)
		}
		if dates != "" {
			words = append(words, dates)
		}
		return list(words, "or")
	}
	return "the first row must name the columns " + names(s.times, s.dates) + " and " + names(s.values, s.until)
}

// doubled returns what is wrong with a header that names its times or its values
// twice, as which of them is meant would be a guess; "": nothing.
func (s seriesKind) doubled(header []string) string {
	for _, want := range []struct {
		columns []column
		of      string
		dates   string
	}{{slices.Concat(powerSeries.times, s.times), "times", s.dates}, {s.values, "values", s.until}} { // any times, also those that the kind does not take
		numbered := func(h string) bool {
			return slices.ContainsFunc(want.columns, func(c column) bool { return c.name == h })
		}
		first := ""
		for _, h := range header {
			switch {
			case h == "" || !numbered(h) && h != want.dates:
			case h == "date" && slices.ContainsFunc(header, numbered): // a history has both: its times count
			case first != "":
				return "names two columns of " + want.of + ", " + first + " and " + h + "; must name one"
			default:
				first = h
			}
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

// clockTime reads a cell of times: a date as seconds since power-on, else a number in the
// column's unit; or says what is wrong with it. dates is what a column of dates is to be
// named, "" where there can be none.
func (l *loader) clockTime(cell string, dated bool, u unit, dates string) (t float64, no string) {
	if dated {
		when, ok := parseDate(cell)
		if !ok {
			return nan, "must be a date on the site's clock, such as 2026-05-01 or 2026-05-01T14:00:00, between the years 1900 and 2200"
		}
		return sinceSeconds(when, l.c.Time.PowerOn), ""
	}
	x, err := strconv.ParseFloat(cell, 64)
	t = u.toSI(x)
	// Written so that NaN, which Go reads, is refused too.
	if err == nil && t > -1e5*day && t < 1e5*day {
		return t, ""
	}
	no = "must be a number of " + map[string]string{"d": "days", "h": "hours", "s": "seconds"}[u.name] + " since power-on"
	if _, ok := parseDate(cell); ok && dates != "" {
		no += "; a column of dates is named " + dates
	}
	return nan, no
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
	base, _ := kind.of.find(kind.base)
	s := &seriesReader{in: in, kind: kind, path: pathIn(in.l.dir, file), base: base, first: nan, last: nan, told: nan, latest: -inf}
	text, ok := s.text()
	if !ok {
		return nil, nil
	}
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, mostSeriesLine)
	for lines.Scan() {
		s.line++
		line := strings.TrimSpace(strings.TrimPrefix(lines.Text(), "\ufeff"))
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, ",")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		switch {
		case s.columns > 0:
			s.row(cells)
		case !s.header(cells):
			return nil, nil
		}
	}
	switch {
	case errors.Is(lines.Err(), bufio.ErrTooLong):
		s.last = nan // of a row further down
		s.line++
		s.fault("", "", fmt.Sprintf("is longer than %d signs; a row has a few numbers", mostSeriesLine))
	case s.columns == 0:
		s.faultOfAll("is empty; " + kind.needs())
	case len(s.series) == 0 && !s.refused:
		s.faultOfAll("has no rows")
	}
	if s.refused && s.rows > 0 {
		s.series = []point{{time: s.first, value: nan}, {time: s.last, value: nan}}
	}
	return s.series, text
}

// seriesReader is a series being read.
type seriesReader struct {
	in   input
	kind seriesKind
	path string
	base unit // of the key's range

	// As the first row has it.
	columns             int // 0: it is still to come
	timeAt, valueAt     int
	timeName, valueName string
	clock, scale        unit
	dated, ends         bool // the times are dates; the values are

	line, rows int // read
	series     []point
	refused    bool
	// Times [s] of the first, the last and the row before, and the latest; NaN: not known.
	first, last, told, latest float64
}

// fault adds what is wrong with the line being read, or with one cell of it.
func (s *seriesReader) fault(key, given, allowed string) {
	s.refused = true
	s.in.l.add(Fault{File: s.path, Line: s.line, Key: key, Given: oneLineOr(given), Allowed: allowed})
}

// faultOfAll adds what is wrong with the file as a whole.
func (s *seriesReader) faultOfAll(allowed string) {
	s.line = 0
	s.fault("", "", allowed)
}

// text returns the file's bytes; false: it cannot be read, or is too large.
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
		s.faultOfAll("cannot be read: " + cause(err))
	case len(text) > left:
		s.faultOfAll("is larger than 64 MiB, or with the files before it")
	default:
		return text, true
	}
	return nil, false
}

// header takes the names of the columns; false: rows under them cannot be read.
func (s *seriesReader) header(cells []string) bool {
	k := &s.kind
	s.timeAt, s.timeName, s.clock = pick(cells, k.times, duration)
	s.valueAt, s.valueName, s.scale = pick(cells, k.values, k.of)
	if s.timeAt < 0 && k.dates != "" {
		s.timeAt, s.timeName = slices.Index(cells, k.dates), k.dates
		s.dated = s.timeAt >= 0
	}
	if s.valueAt < 0 && k.until != "" {
		s.valueAt, s.valueName, s.scale = slices.Index(cells, k.until), k.until, s.base
		s.ends = s.valueAt >= 0
	}
	if s.timeAt < 0 || s.valueAt < 0 {
		s.fault("", "", k.needs())
		return false
	}
	if no := k.doubled(cells); no != "" {
		s.fault("", "", no)
		return false
	}
	if (s.dated || s.ends) && s.in.l.c.Time.PowerOn.IsZero() {
		if !s.in.l.has("time", 0, "power_on") { // else it has a fault of its own
			s.fault("", "", "a column of dates needs time.power_on in the case; or give times since power-on")
		}
		return false
	}
	s.columns = len(cells)
	return true
}

// row takes the cells of one row.
func (s *seriesReader) row(cells []string) {
	s.rows++
	before := s.told
	s.told, s.last = nan, nan
	if len(cells) != s.columns {
		s.fault("", "", fmt.Sprintf("has %d columns; must have %d, as the first row", len(cells), s.columns))
		return
	}
	t, no := s.in.l.clockTime(cells[s.timeAt], s.dated, s.clock, s.kind.dates)
	if no != "" {
		s.fault(s.timeName, cells[s.timeAt], no)
		return
	}
	s.told = t
	if s.rows == 1 {
		s.first = t
	}
	if t > s.latest {
		s.latest, s.last = t, t
	}
	p := point{time: t}
	if p.value, no = s.value(cells[s.valueAt]); no != "" {
		s.fault(s.valueName, cells[s.valueAt], no)
		return
	}
	if t <= before { // false where the time of the row before is not known
		s.fault(s.timeName, cells[s.timeAt], "must be later than the row before")
		return
	}
	if s.kind.wrong != nil {
		previous := point{-inf, -inf}
		if n := len(s.series); n > 0 {
			previous = s.series[n-1]
		}
		if no := s.kind.wrong(previous, p); no != "" {
			s.fault(s.valueName, cells[s.valueAt], no)
			return
		}
	}
	s.series = append(s.series, p)
}

// value reads a cell of values [SI], or says what is wrong with it.
func (s *seriesReader) value(cell string) (v float64, no string) {
	if s.ends {
		v, no = s.in.l.clockTime(cell, true, s.scale, s.kind.until)
	} else if x, err := strconv.ParseFloat(cell, 64); err != nil || math.IsNaN(x) {
		no = "must be a number"
	} else {
		v = s.scale.toSI(x)
	}
	if no == "" {
		no = s.in.key.span.in(s.base, s.scale).refuse(v, s.scale)
	}
	return v, no
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
