package figure

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"soiljoule/cases"
)

// TestLayoutCountsRods: rods of a section's rows stand from rod to rod out of the page,
// counted by hand; a long row is told by a few of its rods, and counted whole.
func TestLayoutCountsRods(t *testing.T) {
	c := sectionCase()
	// 90 ft: rods at 0, 24.2, 48.4, 72.6 of one row, at 12.1, 36.3, 60.5, 84.7 of the next.
	for i := range c.Electrodes {
		if i%2 == 1 {
			c.Electrodes[i].RodOffset = 12.1 * ft
		}
	}
	f := &folder{c: c}
	w, cut := f.siteBox()
	rods := f.siteRods(w)
	if cut != 0 || w.bottom != 90*ft {
		t.Errorf("90 ft of section are drawn up to %g m (cut: %g), want all", w.bottom, cut)
	}
	if got, want := f.phaseLegend(rods), []phaseCount{{"A", 12}, {"B", 12}, {"C", 12}}; len(rods) != 36 || !slices.Equal(got, want) {
		t.Errorf("%d rods, by phase %v; want 36, by phase %v", len(rods), got, want)
	}
	var y []float64
	for _, r := range rods {
		if r.e == &c.Electrodes[1] {
			y = append(y, r.y/ft)
		}
	}
	for i, want := range []float64{12.1, 36.3, 60.5, 84.7} {
		if len(y) != 4 || math.Abs(y[i]-want) > 1e-9 {
			t.Fatalf("rods of the second row stand at %v ft, want 12.1, 36.3, 60.5, 84.7", y)
		}
	}
	// A millimetre from rod to rod.
	for i := range c.Electrodes {
		c.Electrodes[i].RodSpacing = 1e-3
	}
	rods = f.siteRods(w)
	// 27432 mm: 27433 rods from 0 on, one fewer where the row starts within.
	if n := f.phaseLegend(rods)[0].rods; len(rods) > 9*62 || n != 3*27433-2 && n != 3*27433-1 && n != 3*27433 {
		t.Errorf("rows of rods a millimetre apart: %d marks, %d rods of phase A; want a few hundred and some 82 thousand", len(rods), n)
	}
	c.Extent.Length = 1e4
	if w, cut := f.siteBox(); cut != 1e4 || w.bottom > 1.31*(w.right-w.left) {
		t.Errorf("10 km of section are drawn up to %g m (cut: %g), want no more than the page holds", w.bottom, cut)
	}
	if _, err := layoutOf(f, newStyle("si"), "layout"); err != nil {
		t.Error(err)
	}
}

// TestLayoutNamesElementsOfABore: elements above each other are one mark from above, named
// together, with their phase once, and told as elements in so many bores.
func TestLayoutNamesElementsOfABore(t *testing.T) {
	c := sectionCase()
	rows := len(c.Electrodes)
	for _, e := range c.Electrodes[:rows] {
		e.Name += "low"
		e.Top, e.Bottom = e.Bottom+0.5, e.Bottom+1.5
		c.Electrodes = append(c.Electrodes, e)
	}
	c.Electrodes[rows+1].Phase = "A" // below one on B
	f := &folder{c: c}
	w, _ := f.siteBox()
	var bores []boreNames
	for i := range 2 {
		var b boreNames
		b.add(&c.Electrodes[i])
		b.add(&c.Electrodes[rows+i])
		bores = append(bores, b)
	}
	one, two := c.Electrodes[0].Name, c.Electrodes[1].Name
	got := boreTexts(bores)
	if want := []string{one + " " + one + "low A", two + " " + two + "low B A"}; !slices.Equal(got[0], want) {
		t.Errorf("two bores are called %q, want %q", got[0], want)
	}
	if want := []string{"A", "B A"}; !slices.Equal(got[2], want) {
		t.Errorf("their phases are told as %q, want %q", got[2], want)
	}
	if text, want := f.layoutCount(f.siteRods(w)), "18 rows of elements in 9 rows of bores: "; !strings.HasPrefix(text, want) {
		t.Errorf("the layout says %q, want %q …", text, want)
	}
	// With two bores there is room for the names: one label each.
	c.Electrodes = []cases.Electrode{c.Electrodes[0], c.Electrodes[1], c.Electrodes[rows], c.Electrodes[rows+1]}
	c.Electrodes[1].X, c.Electrodes[3].X = c.Electrodes[0].X+20, c.Electrodes[0].X+20
	d, err := layoutOf(f, newStyle("si"), "layout")
	if err != nil {
		t.Fatal(err)
	}
	svg, err := d.svg(newStyle("si"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{">" + one + " " + one + "low A<", ">" + two + " " + two + "low B A<"} {
		if n := strings.Count(string(svg), want); n != 1 {
			t.Errorf("the layout has %d labels %s, want one", n, want)
		}
	}
}

// TestLayoutTable: the table lists each electrode of the case where it stands.
func TestLayoutTable(t *testing.T) {
	c := planCase()
	rows, err := csv.NewReader(strings.NewReader(string(electrodeTable{c}.csv()))).ReadAll()
	if err != nil || len(rows) != 7 {
		t.Fatalf("%d rows, %v; want a head and six electrodes", len(rows), err)
	}
	// The second stands 60° on round (11, 7), 4 m out: 13, 7 + 2√3.
	if want := []string{"E2", "B", "13", "10.46410162", "2", "6", "0.15", "", ""}; !slices.Equal(rows[2], want) {
		t.Errorf("E2 is told as %v, want %v", rows[2], want)
	}
	c = sectionCase()
	c.Electrodes[1].RodOffset = 3.5
	c.Electrodes[2].Width, c.Electrodes[2].Radius, c.Electrodes[2].RodSpacing = 0.5, 0, 0
	rows, err = csv.NewReader(strings.NewReader(string(electrodeTable{c}.csv()))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if rows[2][3] != "3.5" || rows[2][7] != "7.37616" || rows[3][3] != "" || rows[3][6] != "" || rows[3][8] != "0.5" {
		t.Errorf("a row is told as %v and a plate as %v; want the first rod's y and the rods' spacing, and of a plate its width alone", rows[2], rows[3])
	}
}

// TestLayoutSparesOthersFiles: a table or drawing of somebody else's is not overwritten,
// one of its own is.
func TestLayoutSparesOthersFiles(t *testing.T) {
	for _, c := range []*cases.Case{planCase(), sectionCase(), roundCase()} {
		path := filepath.Join(t.TempDir(), "site.png")
		for range 2 {
			files, err := Layout(path, "0123456789abcdef", c, Options{})
			if err != nil || len(files) != 3 {
				t.Fatalf("%s: Layout wrote %v, %v; want three files, again and again", c.Title, files, err)
			}
			for _, name := range files {
				checkWhole(t, name, dpi)
			}
		}
		table := filepath.Join(filepath.Dir(path), "site.csv")
		writeFile(t, filepath.Dir(path), "site.csv", []byte("time_d,air_F\n0,50\n"))
		if files, err := Layout(path, "0123456789abcdef", c, Options{}); !errors.Is(err, ErrTaken) || !strings.Contains(err.Error(), table) || files != nil {
			t.Errorf("%s: over a table of air temperatures Layout wrote %v and said %v, want nothing and that %s is there", c.Title, files, err, table)
		}
		if data, err := os.ReadFile(table); err != nil || string(data) != "time_d,air_F\n0,50\n" {
			t.Errorf("the table of air temperatures is now %q, %v", data, err)
		}
	}
}

// TestPhasesDifferInShape: no two phases have a mark of one shape and one filling.
func TestPhasesDifferInShape(t *testing.T) {
	s := newStyle("si")
	seen := map[string]string{}
	for _, phase := range []string{"A", "B", "C", "D", "E", "F", "N"} {
		d := &drawing{width: 20, height: 20, paint: func(p *pen) { p.phaseShape(phase, p.Max.Scale(0.5), 5) }}
		raster, err := d.png(s, 72)
		if err != nil {
			t.Fatal(err)
		}
		if other, twice := seen[string(raster)]; twice {
			t.Errorf("phases %s and %s have the same mark", other, phase)
		}
		seen[string(raster)] = phase
	}
}
