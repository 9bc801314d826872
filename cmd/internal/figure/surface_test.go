package figure

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestSurfaceShowsTheWorstDay: of the days of the fields the figure shows that of the
// largest step voltage, here the first after power-on, all of its places that are not
// flat, and marks the electrodes with their phases. The invented potential falls with
// time.
func TestSurfaceShowsTheWorstDay(t *testing.T) {
	n := paved()
	n.days = n.days[2:] // from day 10
	n.c.Electrodes[4].Phase = "N"
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"surface"}}); err != nil {
		t.Fatal(err)
	}
	f := &folder{dir: dir, c: n.c}
	drawn, err := f.readTable("figures/surface.csv")
	if err != nil {
		t.Fatal(err)
	}
	cols, err := drawn.columns("time_d", "x_m", "potential_V", "step_V_per_m")
	if err != nil {
		t.Fatal(err)
	}
	for i, d := range cols[0] {
		v := inventedVolts(n, cols[1][i], 10)
		// surface.csv is written with all digits, the figure's data with ten.
		if want := math.Hypot(real(v), imag(v)); d != 10 || math.Abs(cols[2][i]-want) > 1e-9*want {
			t.Errorf("row %d is of day %g and %g V, want day 10 and %g V", i+1, d, cols[2][i], want)
		}
	}
	for _, e := range n.c.Electrodes {
		if lo, hi := cols[1][0], cols[1][len(cols[1])-1]; e.X < lo || e.X > hi {
			t.Errorf("electrode %s at %g m is outside of what is drawn, %g to %g m", e.Name, e.X, lo, hi)
		}
	}
	svg, err := os.ReadFile(filepath.Join(dir, "figures", "surface.svg"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"· day 10", ">N<", ">step, V/ft<", ">V/m<", "Screening only.", "qualified person"} {
		if !bytes.Contains(svg, []byte(want)) {
			t.Errorf("surface.svg does not say %q", want)
		}
	}
}

// TestSurfaceOfManyRows: where electrodes stand too close for letters, all are marked
// and none is named; elements of one bore are one mark.
func TestSurfaceOfManyRows(t *testing.T) {
	n := paved()
	for i := range 40 {
		e := n.c.Electrodes[0]
		e.Name, e.X, e.Phase = fmt.Sprintf("F%d", i+1), 3+0.5*float64(i), "B"
		n.c.Electrodes = append(n.c.Electrodes, e, e)
	}
	dir := writeFolder(t, n)
	if _, err := drawAt(t.Context(), coarse, dir, n.c, Options{Only: []string{"surface"}}); err != nil {
		t.Fatal(err)
	}
	svg, err := os.ReadFile(filepath.Join(dir, "figures", "surface.svg"))
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(svg), ">B<") || strings.Contains(string(svg), "its phase") {
		t.Error("surface.svg names phases that have no room")
	}
}

// TestSurfaceKeepsWhatIsNotFlat: ends at which both voltages are below 2 % of their
// largest are left out, up to a metre from an electrode, and one row of them is kept, so
// that lines run to the frame.
func TestSurfaceKeepsWhatIsNotFlat(t *testing.T) {
	f := &folder{c: sectionCase()}
	f.c.Electrodes = f.c.Electrodes[:1] // at 17 ft, 5.2 m
	g := aboveGround{day: 3}
	for x := -50.0; x <= 50; x++ {
		g.x, g.volts, g.step = append(g.x, x), append(g.volts, 100/(1+x*x)), append(g.step, 1/(1+x*x))
	}
	got := g.shown(f)
	// 1/(1 + x²) = 0.02 at x = ±7.
	var want []float64
	for x := -8.0; x <= 8; x++ {
		want = append(want, x)
	}
	if !slices.Equal(got.x, want) || got.x[got.most] != 0 || got.x[got.from] != 0 {
		t.Errorf("of a bump at 0 the places %v are shown, the largest at %d and %d, want %v", got.x, got.most, got.from, want)
	}
	f.c.Electrodes[0].X = 20
	if got := g.shown(f); got.x[len(got.x)-1] != 22 {
		t.Errorf("an electrode at 20 m of 0.15 m is shown up to %v m, want a row beyond a metre from it, 22 m", got.x[len(got.x)-1])
	}
}
