package figure

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"soiljoule/cases"
)

// moving is the paved yard with a water table that falls from 1 to 3 m between days 10
// and 30.
func moving() invented {
	n := paved()
	n.c.Steam.Boiling = true
	n.c.Site.WaterTable = 1
	n.c.Site.Table.Series = []cases.CoursePoint{{Time: 10 * 86400, Value: 1}, {Time: 30 * 86400, Value: 3}}
	return n
}

// TestPanelsHaveTheWaterTableOfTheirDay: that of a day stands at its own depth.
func TestPanelsHaveTheWaterTableOfTheirDay(t *testing.T) {
	f := &folder{c: moving().c}
	q := panel{Rectangle: vg.Rectangle{Max: vg.Point{X: 100, Y: 100}}, x: axis{hi: 10}, y: axis{hi: 10, down: true}}
	for day, want := range map[float64]float64{0: 1, 20: 2, 70: 3} {
		rec := &recorder.Canvas{}
		p := &pen{Canvas: draw.NewCanvas(rec, 100, 100)}
		p.inGround(f, q, nil, box{right: 10, bottom: 10}, day)
		at := q.atY(want)
		if !slices.ContainsFunc(rec.Actions, func(a recorder.Action) bool {
			s, is := a.(*recorder.Stroke)
			return is && len(s.Path) == 2 && s.Path[0].Pos == (vg.Point{Y: at}) && s.Path[1].Pos == (vg.Point{X: 100, Y: at})
		}) {
			t.Errorf("day %g: no line across the panel at %g m", day, want)
		}
	}
}

// TestProfilesFollowTheWaterTable: the profiles' table has the boiling point of each day
// that has another, and the water table of each stands once among the marks.
// Source: the case's own boiling points, held against tables in validation.
func TestProfilesFollowTheWaterTable(t *testing.T) {
	n := moving()
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"profiles", "section"}}); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(dir, "figures", "profiles.csv"))
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var days []float64
	for j, head := range rows[0] {
		day, is := strings.CutPrefix(strings.TrimSuffix(head, "_C"), "boiling_day_")
		if !is {
			continue
		}
		d, err := strconv.ParseFloat(day, 64)
		if err != nil {
			t.Fatal(head)
		}
		days = append(days, d)
		for _, row := range rows[1:] {
			z, err1 := strconv.ParseFloat(row[0], 64)
			got, err2 := strconv.ParseFloat(row[j], 64)
			if want := n.c.BoilingPoint(z, d*86400) - kelvin; err1 != nil || err2 != nil || math.Abs(got-want) > 2e-3 { // the digits of the table
				t.Errorf("day %g, %s m: boiling at %s °C, want %.4f", d, row[0], row[j], want)
			}
		}
	}
	if len(days) < 2 || days[0] != 0 || slices.Max(days) < 30 || slices.Contains(days, 70) {
		t.Errorf("boiling points of days %v, want those of day 0 and of the days until it stands still on day 30, and none after", days)
	}
	f := &folder{c: n.c}
	fields := []field{{time: 0}, {time: 5}, {time: 20}, {time: 40}, {time: 70}}
	if got := f.tableLines(fields, box{top: 0, bottom: 10}); len(got) != 3 || got[0].depth != 1 || got[1].depth != 2 || got[2].depth != 3 {
		t.Errorf("water tables at %v, want at 1, 2 and 3 m", got)
	}
	for window, want := range map[box]bool{{top: 2.5, bottom: 10}: true, {top: 3.5, bottom: 10}: false, {top: 0, bottom: 0.5}: false} {
		if f.tableShows(window) != want {
			t.Errorf("the water table shows from %g to %g m: %v, want %v", window.top, window.bottom, !want, want)
		}
	}
}
