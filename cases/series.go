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
// column's unit; or says what is wrong with it. A column of dates is called dates.
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
	path := pathIn(in.l.dir, file)
	r, err := openRegular(path)
	if err != nil {
		in.refuse(err.Error())
		return nil, nil
	}
	defer r.Close()
	refused := false
	fault := func(line int, key, given, allowed string) {
		refused = true
		in.l.add(Fault{File: path, Line: line, Key: key, Given: oneLineOr(given), Allowed: allowed})
	}
	var series []point
	var timeAt, valueAt, columns int
	var timeName, valueName string
	var clock, scale unit
	base, _ := kind.of.find(kind.base)
	header, dated, ends := false, false, false // ends: the values are dates
	left := in.l.forSeries                     // a case may name a file many times
	text, err := io.ReadAll(io.LimitReader(r, int64(left)+1))
	in.l.forSeries -= len(text)
	switch {
	case err != nil:
		fault(0, "", "", "cannot be read: "+cause(err))
		return nil, nil
	case len(text) > left:
		fault(0, "", "", "is larger than 64 MiB, or with the files before it")
		return nil, nil
	}
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, mostSeriesLine)
	n, rows := 0, 0
	// Times [s] of the first, the last and the row before; NaN: not known.
	first, last, told, latest := nan, nan, nan, -inf
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
		if !header {
			columns = len(cells)
			timeAt, timeName, clock = pick(cells, kind.times, duration)
			valueAt, valueName, scale = pick(cells, kind.values, kind.of)
			if timeAt < 0 && kind.dates != "" {
				timeAt, timeName = slices.Index(cells, kind.dates), kind.dates
				dated = timeAt >= 0
			}
			if valueAt < 0 && kind.until != "" {
				valueAt, valueName, scale = slices.Index(cells, kind.until), kind.until, base
				ends = valueAt >= 0
			}
			if timeAt < 0 || valueAt < 0 {
				fault(n, "", "", kind.needs())
				return nil, nil
			}
			if no := kind.doubled(cells); no != "" {
				fault(n, "", "", no)
				return nil, nil
			}
			if (dated || ends) && in.l.c.Time.PowerOn.IsZero() {
				if !in.l.has("time", 0, "power_on") { // else it has a fault of its own
					fault(n, "", "", "a column of dates needs time.power_on in the case; or give times since power-on")
				}
				return nil, nil
			}
			header = true
			continue
		}
		rows++
		before := told
		told, last = nan, nan
		if len(cells) != columns {
			fault(n, "", "", fmt.Sprintf("has %d columns; must have %d, as the first row", len(cells), columns))
			continue
		}
		var p point
		var wrongTime, no string
		if p.time, wrongTime = in.l.clockTime(cells[timeAt], dated, clock, kind.dates); wrongTime != "" {
			fault(n, timeName, cells[timeAt], wrongTime)
			continue
		}
		told = p.time
		if rows == 1 {
			first = p.time
		}
		// False where the time of the row before is not known.
		late := p.time <= before
		if p.time > latest {
			latest, last = p.time, p.time
		}
		if ends {
			p.value, no = in.l.clockTime(cells[valueAt], true, scale, kind.until)
		} else if x, err := strconv.ParseFloat(cells[valueAt], 64); err != nil || math.IsNaN(x) {
			no = "must be a number"
		} else {
			p.value = scale.toSI(x)
		}
		if no == "" {
			no = in.key.span.in(base, scale).refuse(p.value, scale)
		}
		if no != "" {
			fault(n, valueName, cells[valueAt], no)
			continue
		}
		if late {
			fault(n, timeName, cells[timeAt], "must be later than the row before")
			continue
		}
		if kind.wrong != nil {
			previous := point{-inf, -inf}
			if n := len(series); n > 0 {
				previous = series[n-1]
			}
			if no := kind.wrong(previous, p); no != "" {
				fault(n, valueName, cells[valueAt], no)
				continue
			}
		}
		series = append(series, p)
	}
	switch {
	case errors.Is(lines.Err(), bufio.ErrTooLong):
		last = nan // of a row further down
		fault(n+1, "", "", fmt.Sprintf("is longer than %d signs; a row has a few numbers", mostSeriesLine))
	case !header:
		fault(0, "", "", "is empty; "+kind.needs())
	case len(series) == 0 && !refused:
		fault(0, "", "", "has no rows")
	}
	if refused && rows > 0 {
		series = []point{{time: first, value: nan}, {time: last, value: nan}}
	}
	return series, text
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
