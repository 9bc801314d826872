package cases

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// Bounds on an air-temperature file: a century by the hour fits.
const (
	mostAirBytes = 64 << 20
	mostAirLine  = 4096
)

// airUnits are the columns that an air-temperature file may have.
var airUnits = map[string]string{"air_C": "degC", "air_F": "degF", "air_K": "K"}

// readAir reads the series that surface.air names. Its faults name the file
// and the row's line.
func readAir(in input, file string) []AirPoint {
	path := file
	if !filepath.IsAbs(path) {
		path = filepath.Join(in.l.dir, file)
	}
	r, err := openRegular(path)
	if err != nil {
		in.refuse(err.Error())
		return nil
	}
	defer r.Close()
	fault := func(line int, key, given, allowed string) {
		in.l.add(Fault{File: path, Line: line, Key: key, Given: oneLineOr(given), Allowed: allowed})
	}
	var series []AirPoint
	var timeAt, airAt, columns int
	var airName string
	var degree unit
	celsius, days := unit{"degC", 1, zeroC}, unit{factor: day}
	header := false
	lines := bufio.NewScanner(io.LimitReader(r, mostAirBytes+1))
	lines.Buffer(nil, mostAirLine)
	n, size := 0, 0
	for lines.Scan() {
		n++
		size += len(lines.Bytes()) + 1
		row := strings.TrimSpace(strings.TrimPrefix(lines.Text(), "\ufeff"))
		if row == "" || strings.HasPrefix(row, "#") {
			continue
		}
		cells := strings.Split(row, ",")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if !header {
			timeAt, airAt, columns = -1, -1, len(cells)
			for i, c := range cells {
				if name, ok := airUnits[c]; ok && airAt < 0 {
					airAt, airName = i, c
					degree, _ = temperature.find(name)
				}
				if c == "time_d" {
					timeAt = i
				}
			}
			if timeAt < 0 || airAt < 0 {
				fault(n, "", "", "the first row must name the columns time_d and air_C, air_F or air_K")
				return nil
			}
			header = true
			continue
		}
		if len(cells) != columns {
			fault(n, "", "", fmt.Sprintf("has %d columns; must have %d, as the first row", len(cells), columns))
			continue
		}
		t, errT := strconv.ParseFloat(cells[timeAt], 64)
		x, errX := strconv.ParseFloat(cells[airAt], 64)
		// Written so that NaN, which Go reads, is refused too.
		if errT != nil || !(t > -1e5 && t < 1e5) {
			fault(n, "time_d", cells[timeAt], "must be a number of days since power-on")
			continue
		}
		p := AirPoint{Time: days.toSI(t), Temperature: degree.toSI(x)}
		if no := in.key.span.in(celsius, degree).refuse(p.Temperature, degree); errX != nil || no != "" {
			if errX != nil {
				no = "must be a number"
			}
			fault(n, airName, cells[airAt], no)
			continue
		}
		if len(series) > 0 && p.Time <= series[len(series)-1].Time {
			fault(n, "time_d", cells[timeAt], "must be later than the row before")
			continue
		}
		series = append(series, p)
	}
	switch {
	case lines.Err() != nil:
		fault(n+1, "", "", "cannot be read: "+lines.Err().Error())
	case size > mostAirBytes:
		fault(0, "", "", "is larger than 64 MiB")
	case !header:
		fault(0, "", "", "is empty; the first row must name the columns time_d and air_C, air_F or air_K")
	case len(series) == 0:
		fault(0, "", "", "has no rows")
	}
	return series
}

// openRegular opens a file that is one: a pipe could keep a run waiting, a
// device never ends.
func openRegular(path string) (*os.File, error) {
	info, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil, fmt.Errorf("there is no file %s", oneLine(path))
	case err != nil:
		return nil, fmt.Errorf("cannot read %s", oneLine(path))
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is not a file", oneLine(path))
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s", oneLine(path))
	}
	return f, nil
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
