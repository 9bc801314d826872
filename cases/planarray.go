package cases

import (
	"fmt"
	"math"
	"slices"
)

// mostRods is how many electrodes a plan may have: the fringe factor and the
// electrodes' own resistances are worked out for each pair or each one.
const mostRods = 2000

// mostPlaces is how many places of a grid are tried within the box round a zone.
const mostPlaces = 100000

// rodsOf returns the electrodes of an array in a plan whose zone is the first
// target's figure, named row by row from the front, each row from the left; nil where
// it has none or more than it may have.
func (a *Array) rodsOf(zone figure, phases int) []Electrode {
	var out []Electrode
	stand := func(x, y float64, phase string) {
		out = append(out, Electrode{Name: fmt.Sprintf("%s%d", a.Name, len(out)+1), Phase: phase,
			Top: a.Top, Bottom: a.Bottom, Radius: a.Radius, X: x, Y: y})
	}
	letter := func(n int) string { return string(rune('A' + n)) }
	if a.Pattern == "ring" {
		for k := range a.Count {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(a.Count))
			// Half a turn has a sine of 1e-16: a place is told to a tenth of a nanometre.
			stand(math.Round((a.Center[0]+a.Diameter/2*cos)*1e10)/1e10, math.Round((a.Center[1]+a.Diameter/2*sin)*1e10)/1e10, letter(k%poles(phases)))
		}
		if a.CenterNeutral {
			stand(a.Center[0], a.Center[1], "N")
		}
		return out
	}
	places := a.grid(zone)
	for n, phase := range a.phasesOf(places, phases) {
		stand(places[n].x, places[n].y, letter(phase))
	}
	return out
}

// phasesOf returns the phase of each place, 0 for A, by that colouring of the grid that
// gives the phases the most equal numbers of places, of equals the first; the first place
// is on A.
func (a *Array) phasesOf(places []gridPlace, phases int) []int {
	n := poles(phases)
	var best []int
	least := math.MaxInt
	for _, step := range a.colourings(phases) {
		of, counts := make([]int, len(places)), make([]int, n)
		for k, p := range places {
			turn := step[0]*(p.i-places[0].i) + step[1]*(p.j-places[0].j)
			of[k] = (turn%n + n) % n
			counts[of[k]]++
		}
		if spread := slices.Max(counts) - slices.Min(counts); spread < least {
			best, least = of, spread
		}
	}
	return best
}

// poles is how many different potentials a supply has beside its neutral.
func poles(phases int) int {
	if phases == 1 {
		return 2
	}
	return phases
}

// gridPlace is a place of a grid: i along its row, j the row. In a triangular grid
// the rows' places i, j stand at i·(s, 0) + j·(s/2, √3 s/2).
type gridPlace struct {
	i, j int
	x, y float64 // [m]
}

// colourings returns how many phases each step i along a row and each step j to the next
// row goes on. Where there are several they are one pattern, turned.
//
// Triangular: 2i + j, so that of three phases all six neighbours differ by 120°, and of
// six four differ by 60° and two by 120°; it is the order in which the rows of a section
// carry them. With two poles no colouring serves all six neighbours: the rows alternate,
// four of them differ.
//
// Rectangular: i + j of two poles and of three phases, whose four neighbours differ,
// with three phases by 120°; one pair of diagonal neighbours is then alike. i + 3j of
// six, whose neighbours differ by 60° along a row and 180° across, and by 120°
// diagonally.
func (a *Array) colourings(phases int) [][2]int {
	switch {
	case a.Pattern == "triangular" && phases == 1:
		return [][2]int{{0, 1}}
	case a.Pattern == "triangular" && phases == 3:
		return [][2]int{{2, 1}}
	case a.Pattern == "triangular":
		return [][2]int{{2, 1}, {1, 2}, {1, -1}}
	case phases == 6:
		return [][2]int{{1, 3}, {3, 1}}
	}
	return [][2]int{{1, 1}}
}

// rowDistance returns the distance between the rows along nearest neighbours [m].
func (a *Array) rowDistance() float64 {
	if a.Pattern == "triangular" {
		return a.Spacing * math.Sqrt(3) / 2
	}
	return a.Spacing
}

// grid returns the places of a triangular or rectangular grid that lie in the zone
// grown by outboard, row by row from the front. Rows run along x. The grid is put on
// the middle of the box round the zone with a place, or the middle between two, or in
// a triangular one a quarter between two, on it; that which holds most electrodes is
// taken, of equals the first.
func (a *Array) grid(zone figure) []gridPlace {
	s, d := a.Spacing, a.rowDistance()
	along := []float64{0, s / 2}
	if a.Pattern == "triangular" {
		along = append(along, s/4, -s/4)
	}
	var best []gridPlace
	for _, q := range []float64{0, d / 2} {
		for _, p := range along {
			if places := a.gridAt(zone, p, q); len(places) > len(best) {
				best = places
			}
		}
	}
	return best
}

// gridAt returns the places of the grid with one at p, q [m] from the middle of the
// box round the zone.
func (a *Array) gridAt(zone figure, p, q float64) []gridPlace {
	left, right, front, back := zone.box()
	x0, y0 := (left+right)/2+p, (front+back)/2+q
	s, d := a.Spacing, a.rowDistance()
	edge := a.Outboard + 1e-9*s // a place on the edge counts, whatever its rounding
	var out []gridPlace
	for j := int(math.Ceil((front - edge - y0) / d)); j <= int(math.Floor((back+edge-y0)/d)); j++ {
		y := y0 + float64(j)*d
		shift, skew := 0.0, 0
		if a.Pattern == "triangular" {
			shift, skew = float64(j&1)*s/2, j>>1
		}
		for i := int(math.Ceil((left - edge - x0 - shift) / s)); i <= int(math.Floor((right+edge-x0-shift)/s)); i++ {
			if x := x0 + shift + float64(i)*s; zone.holds(x, y, edge) {
				out = append(out, gridPlace{i - skew, j, x, y})
			}
		}
	}
	return out
}

// places bounds how many places of the grid lie in the box round the zone.
func (a *Array) places(zone figure) float64 {
	left, right, front, back := zone.box()
	return ((right-left+2*a.Outboard)/a.Spacing + 1) * ((back-front+2*a.Outboard)/a.rowDistance() + 1)
}

// PhaseCount is how many electrodes stand on a phase.
type PhaseCount struct {
	Phase string
	Count int
}

// PhaseCounts returns how many electrodes of the case stand on each phase that has
// any, in order, the neutral last.
func (c *Case) PhaseCounts() []PhaseCount {
	var out []PhaseCount
	for _, phase := range []string{"A", "B", "C", "D", "E", "F", "N"} {
		n := 0
		for _, e := range c.Electrodes {
			if e.Phase == phase {
				n++
			}
		}
		if n > 0 {
			out = append(out, PhaseCount{phase, n})
		}
	}
	return out
}

// Nearest returns the distance [m] of each electrode of a plan from the one nearest to
// it, +Inf for a single one.
func (c *Case) Nearest() []float64 {
	out := make([]float64, len(c.Electrodes))
	for i := range out {
		out[i] = inf
	}
	for j := range c.Electrodes {
		for i := range c.Electrodes[:j] {
			a, b := &c.Electrodes[i], &c.Electrodes[j]
			d := math.Hypot(a.X-b.X, a.Y-b.Y)
			out[i], out[j] = math.Min(out[i], d), math.Min(out[j], d)
		}
	}
	return out
}
