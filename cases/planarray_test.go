package cases

import (
	"fmt"
	"math"
	"testing"

	"soiljoule/physics"
)

// rectangle and lShape are zones of a plan [m].
func rectangle(width, depth float64) figure {
	return figure{outline: [][2]float64{{0, 0}, {width, 0}, {width, depth}, {0, depth}}}
}

var lShape = figure{outline: [][2]float64{{0, 0}, {8, 0}, {8, 4}, {4, 4}, {4, 8}, {0, 8}}}

// TestGridFillsAZone: as many places as can be counted by hand on squared paper.
func TestGridFillsAZone(t *testing.T) {
	for _, c := range []struct {
		what string
		a    Array
		zone figure
		want int
	}{
		// 90 ft take eight rows 12.12 ft apart; 60 ft take five rods 14 ft apart and, in
		// the rows between, four.
		{"60 × 90 ft, triangular, 14 ft", Array{Pattern: "triangular", Spacing: 14}, rectangle(60, 90), 36},
		{"60 × 90 ft, rectangular, 14 ft", Array{Pattern: "rectangular", Spacing: 14}, rectangle(60, 90), 5 * 7},
		// Rows of two and one, or of one and two, the middle one on the axis.
		{"1 × 1.8 m, triangular, 1 m", Array{Pattern: "triangular", Spacing: 1}, rectangle(1, 1.8), 5},
		// Of the places at 0, 2 … 8 m the notch takes two by two; its edges count.
		{"an L of 8 m, rectangular, 2 m", Array{Pattern: "rectangular", Spacing: 2}, lShape, 25 - 4},
		// Places at −1, 1 … 9 m: 12 in the L, 4 + 4 a metre left of it and in front, 2 + 2
		// right and behind, and 3 in the notch a metre from its sides. Corners are √2 m off.
		{"the L grown by 1 m", Array{Pattern: "rectangular", Spacing: 2, Outboard: 1}, lShape, 12 + 4 + 4 + 2 + 2 + 3},
		{"a circle of 2 m, rectangular, 2 m", Array{Pattern: "rectangular", Spacing: 2}, figure{radius: 2}, 5},
		// The middle and its six neighbours.
		{"a circle of 1 m, triangular, 1 m", Array{Pattern: "triangular", Spacing: 1}, figure{radius: 1}, 7},
		{"a zone smaller than the spacing", Array{Pattern: "triangular", Spacing: 9}, rectangle(1, 1), 1},
	} {
		got := c.a.grid(c.zone)
		if len(got) != c.want {
			t.Errorf("%s: %d places, want %d", c.what, len(got), c.want)
		}
		for i, p := range got {
			if i > 0 && !(p.y > got[i-1].y || p.y == got[i-1].y && p.x > got[i-1].x) {
				t.Errorf("%s: place %d is before the one counted before it", c.what, i+1)
			}
			if !c.zone.holds(p.x, p.y, c.a.Outboard+1e-6) {
				t.Errorf("%s: place %g, %g is outside", c.what, p.x, p.y)
			}
		}
	}
}

// TestNeighboursDiffer: in every pattern the neighbours have other phases, as far as
// the number of phases allows, and the phases have equal numbers of electrodes but for
// what the rows leave over: of 14 triangular rows or 13 rectangular ones in 12 m, each
// of phases in turn, one or none, and with two poles one row of 13.
// Source: counted on the lattices, drawn.
func TestNeighboursDiffer(t *testing.T) {
	for _, c := range []struct {
		pattern   string
		phases    int
		differ    int       // of the neighbours at one spacing
		diagonals int       // of those √2 spacings away
		degrees   []float64 // of the neighbours that differ, sorted
		spread    int       // of the numbers of electrodes by phase
	}{
		{"triangular", 1, 4, 0, []float64{180}, 13},
		{"triangular", 3, 6, 0, []float64{120}, 14},
		{"triangular", 6, 6, 0, []float64{60, 120}, 14},
		{"rectangular", 1, 4, 0, []float64{180}, 13},
		{"rectangular", 3, 4, 2, []float64{120}, 13},
		{"rectangular", 6, 4, 4, []float64{60, 180}, 13},
	} {
		name := fmt.Sprintf("%s, %d phases", c.pattern, c.phases)
		a := Array{Name: "E", Pattern: c.pattern, Spacing: 1}
		rods := a.rodsOf(rectangle(12, 12), c.phases)
		if rods[0].Phase != "A" || rods[0].Name != "E1" {
			t.Errorf("%s: the first electrode is %s on phase %s, want E1 on A", name, rods[0].Name, rods[0].Phase)
		}
		seen := map[string]bool{}
		for _, e := range rods {
			near, differ, across := 0, 0, 0
			for _, o := range rods {
				d := math.Hypot(e.X-o.X, e.Y-o.Y)
				turn := math.Abs(degreesBetween(c.phases, e.Phase, o.Phase))
				switch {
				case math.Abs(d-1) < 1e-9:
					near++
					if turn > 1 {
						differ++
						seen[fmt.Sprintf("%.0f", turn)] = true
					}
				case math.Abs(d-math.Sqrt2) < 1e-9 && turn > 1:
					across++
				}
			}
			whole := map[string]int{"triangular": 6, "rectangular": 4}[c.pattern]
			if near == whole && (differ != c.differ || c.pattern == "rectangular" && across != c.diagonals) {
				t.Errorf("%s: of %s %d neighbours differ and %d diagonal ones, want %d and %d", name, e.Name, differ, across, c.differ, c.diagonals)
				break
			}
		}
		if len(seen) != len(c.degrees) {
			t.Errorf("%s: neighbours differ by %v degrees, want %v", name, seen, c.degrees)
		}
		for _, d := range c.degrees {
			if !seen[fmt.Sprintf("%.0f", d)] {
				t.Errorf("%s: no neighbours differ by %g degrees", name, d)
			}
		}
		counts := (&Case{Electrodes: rods}).PhaseCounts()
		if n := poles(c.phases); len(counts) != n {
			t.Errorf("%s: %d phases have electrodes, want %d", name, len(counts), n)
		}
		low, high := len(rods), 0
		for _, n := range counts {
			low, high = min(low, n.Count), max(high, n.Count)
		}
		if high-low > c.spread {
			t.Errorf("%s: phases have %d to %d electrodes of %d, want a difference of at most %d", name, low, high, len(rods), c.spread)
		}
	}
}

// degreesBetween returns the angle between two phases of a supply, 0 to 180.
func degreesBetween(phases int, a, b string) float64 {
	p, q := physics.Phasor(phases, a), physics.Phasor(phases, b)
	return math.Acos(max(-1, min(1, real(p)*real(q)+imag(p)*imag(q)))) * 180 / math.Pi
}

// TestPlanAndSectionShareAnOrder: a triangular array of a plan has, seen along its
// second direction, the rows that a section makes of it, on the same phases.
func TestPlanAndSectionShareAnOrder(t *testing.T) {
	a := Array{Name: "E", Pattern: "triangular", Spacing: 2}
	rods := a.rodsOf(rectangle(12, 12), 3)
	distance, _, _ := a.Rows(3)
	left := rods[0]
	for _, e := range rods {
		if e.X < left.X {
			left = e
		}
	}
	for _, e := range rods {
		row := int(math.Round((e.X - left.X) / distance))
		if want := string(rune('A' + (int(left.Phase[0]-'A')+row)%3)); e.Phase != want {
			t.Errorf("%s in row %d from the left is on %s, in a section on %s", e.Name, row+1, e.Phase, want)
		}
	}
}

// TestRing: electrodes at equal angles on their circle, phases in turn, the neutral in
// its middle.
func TestRing(t *testing.T) {
	ring := Array{Name: "R", Pattern: "ring", Center: [2]float64{10, -3}, Diameter: 8, Count: 6, CenterNeutral: true}
	for phases, want := range map[int]string{1: "ABABAB", 3: "ABCABC", 6: "ABCDEF"} {
		rods := ring.rodsOf(figure{}, phases)
		got := ""
		for k, e := range rods[:6] {
			got += e.Phase
			x, y := 10+4*math.Cos(float64(k)*math.Pi/3), -3+4*math.Sin(float64(k)*math.Pi/3)
			if math.Hypot(e.X-x, e.Y-y) > 1e-10 { // as places are told
				t.Errorf("%s stands at %.12g, %.12g, want %.12g, %.12g", e.Name, e.X, e.Y, x, y)
			}
		}
		if got != want {
			t.Errorf("%d phases round a ring of six are %s, want %s", phases, got, want)
		}
		if n := rods[6]; len(rods) != 7 || n.Name != "R7" || n.Phase != "N" || n.X != 10 || n.Y != -3 {
			t.Errorf("the middle of the ring holds %+v, want R7 on the neutral at 10, -3", n)
		}
	}
}
