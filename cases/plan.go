package cases

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// planGrid returns the grid of a plan's slab. Cells are of mesh.finest from the first
// to the last of targets, bodies and electrodes, and grow from there. Sides of outlines
// along x and y and the ends of circles are cell edges, but for those near one of more
// weight: zones weigh the cells that their edge runs through. The first target's have the
// most, then other targets', then bodies'.
func (c *Case) planGrid() (*mesh.Grid, error) {
	left, right, _ := c.Bounds()
	front, back := c.ends()
	at := [2][][]float64{make([][]float64, 3), make([][]float64, 3)} // by axis, by weight
	note := func(rank int, f figure) {
		l, r, n, b := f.box()
		at[0][rank], at[1][rank] = append(at[0][rank], l, r), append(at[1][rank], n, b)
		for i, p := range f.outline {
			q := f.outline[(i+1)%len(f.outline)]
			for axis := range at {
				if p[axis] == q[axis] {
					at[axis][rank] = append(at[axis][rank], p[axis])
				}
			}
		}
	}
	for i := range c.Targets {
		note(min(i, 1), c.Targets[i].figure())
	}
	for i := range c.Heats {
		note(2, c.Heats[i].figure())
	}
	for i := range c.Conductors {
		note(2, c.Conductors[i].figure())
	}
	lo, hi := [2]float64{inf, inf}, [2]float64{-inf, -inf}
	for _, e := range c.Electrodes {
		// A rod's current is spread over some two cells to each side.
		beside := 2*c.Mesh.Finest + e.Radius
		for axis, x := range [2]float64{e.X, e.Y} {
			lo[axis], hi[axis] = math.Min(lo[axis], x-beside), math.Max(hi[axis], x+beside)
		}
	}
	x, err := c.planAxis(left, right, lo[0], hi[0], at[0])
	if err != nil {
		return nil, err
	}
	y, err := c.planAxis(front, back, lo[1], hi[1], at[1])
	if err != nil {
		return nil, err
	}
	if n := (len(x) - 1) * (len(y) - 1); n > c.Mesh.MaxCells {
		return nil, c.tooMany(fmt.Errorf("%d × %d = %d cells", len(x)-1, len(y)-1, n))
	}
	return mesh.NewPlan(x, y, c.Extent.Bottom-c.Extent.Top), nil
}

// planAxis returns the edges [m] of one axis from first to last: whole cells of about
// mesh.finest, none larger, from the least of the places given and lo to the most and
// hi, and graded ones beyond. A place is an edge unless one of more weight is within four
// cells: so no gap's cells are less than four fifths of mesh.finest, and neighbours
// differ by no more than mesh.MaxGrowth. at are the places by weight; of one weight the one
// farther from the middle counts more, and of two as far neither, so that a case and its
// mirror image have mirrored meshes, in whatever order the file has its figures.
func (c *Case) planAxis(first, last, lo, hi float64, at [][]float64) ([]float64, error) {
	fine := c.Mesh.Finest
	all := slices.Concat(at...)
	lo, hi = math.Max(first, math.Min(lo, slices.Min(all))), math.Min(last, math.Max(hi, slices.Max(all)))
	if (hi-lo)/fine > float64(c.Mesh.MaxCells) {
		return nil, c.tooMany(fmt.Errorf("%w: more than %d along one axis", mesh.ErrTooMany, c.Mesh.MaxCells))
	}
	even := func(from, to, size float64) []float64 { // without the last edge
		n := math.Ceil((to - from) / size * (1 - 1e-9))
		var out []float64
		for j := 0.0; j < n; j++ {
			out = append(out, from+(to-from)*j/n)
		}
		return out
	}
	sizeAt := func(edges []float64, i int) float64 {
		if len(edges) < 2 {
			return fine
		}
		return edges[i+1] - edges[i]
	}
	const apart = 4
	if last-first < 2*apart*fine {
		return append(even(first, last, fine), last), nil
	}
	var places []float64
	near := func(x, p float64) bool { return math.Abs(x-p) < apart*fine*(1-1e-9) }
	free := func(x float64) bool {
		return !slices.ContainsFunc(places, func(p float64) bool { return near(x, p) })
	}
	// Graded cells that fill less than eight are cut too unlike their neighbours.
	toFirst, toLast := lo-first < 2*apart*fine, last-hi < 2*apart*fine
	if toFirst {
		places = append(places, first)
	}
	if toLast {
		places = append(places, last)
	}
	middle, alike := (lo+hi)/2, 1e-9*(last-first)
	for _, rank := range at {
		rank = slices.Clone(rank)
		slices.SortFunc(rank, func(a, b float64) int { return cmp.Compare(math.Abs(b-middle), math.Abs(a-middle)) })
		for i := 0; i < len(rank); {
			a, b := rank[i], rank[i] // the places as far out as this: it, and that across the middle
			for ; i < len(rank) && math.Abs(math.Abs(rank[i]-middle)-math.Abs(a-middle)) <= alike; i++ {
				if math.Abs(rank[i]-a) > alike {
					b = rank[i]
				}
			}
			switch one, other := free(a), b != a && free(b); {
			case one && other && near(a, b):
			case one && other:
				places = append(places, a, b)
			case one:
				places = append(places, a)
			case other:
				places = append(places, b)
			}
		}
	}
	if len(places) == 0 { // of one figure of less than four cells
		places = append(places, middle)
	}
	slices.Sort(places)
	var edges []float64
	for i := range len(places) - 1 {
		edges = append(edges, even(places[i], places[i+1], fine)...)
	}
	edges = append(edges, places[len(places)-1])
	if !toFirst {
		if from := edges[0]; from > lo {
			from -= fine * math.Ceil((from-lo)/fine)
			edges = append(even(from, edges[0], fine), edges...)
		}
		out, err := c.graded(mesh.Mark{At: first, Size: inf}, mesh.Mark{At: edges[0], Size: sizeAt(edges, 0)})
		if err != nil {
			return nil, err
		}
		edges = append(out[:len(out)-1], edges...)
	}
	if !toLast {
		if end := edges[len(edges)-1]; end < hi {
			more := even(end, end+fine*math.Ceil((hi-end)/fine), fine)
			edges = append(append(edges, more[1:]...), end+fine*math.Ceil((hi-end)/fine))
		}
		out, err := c.graded(mesh.Mark{At: edges[len(edges)-1], Size: sizeAt(edges, len(edges)-2)}, mesh.Mark{At: last, Size: inf})
		if err != nil {
			return nil, err
		}
		edges = append(edges, out[1:]...)
	}
	return edges, nil
}

// graded is mesh.Grade with the case's growth, and its own error.
func (c *Case) graded(marks ...mesh.Mark) ([]float64, error) {
	out, err := mesh.Grade(marks, c.Mesh.Growth, c.Mesh.MaxCells)
	if err != nil {
		return nil, c.tooMany(err)
	}
	return out, nil
}

// Zone returns the target's part of the slab of a plan's grid.
func (t *Target) Zone(g *mesh.Grid) mesh.Zone { return planZone(g, t.Name, t.figure()) }

// planZone returns the part of a plan's slab within a figure.
func planZone(g *mesh.Grid, name string, f figure) mesh.Zone {
	if f.outline == nil {
		return g.Circle(name, f.center[0], f.center[1], f.radius)
	}
	return g.Polygon(name, f.outline)
}

// planGround puts the averaged slab into a plan's grid.
func (c *Case) planGround(grid *mesh.Grid) (*physics.Ground, error) {
	slab, site := c.slab(), c.planSite()
	if err := c.checkRange(site.Depth); err != nil {
		return nil, err
	}
	if site.TableAt != nil {
		site.SupplyAt = c.slabSupply()
	}
	return physics.NewGround(grid, site, materials.NewWater(), []*materials.Soil{slab.Soil()}, []float64{inf}, func(int, float64) physics.WaterSupply {
		return physics.WaterSupply{Removable: slab.RemovableWater, Inflow: slab.inflow(false), Refill: slab.RefillRate}
	})
}

// planSite is what sets the boiling points of a plan's ground.
func (c *Case) planSite() physics.Site {
	s := c.pressureSite()
	s.Depth = (c.Extent.Top + c.Extent.Bottom) / 2
	return s
}

// mostFringed is the largest number of rods of which the fringe is worked out: it takes the
// third power of their number.
const mostFringed = 250

// fringe returns the ground above and below the slab as the plan's rods feel it, in the
// layers as found, and the current and power that they carry over those of endless rods in the
// slab, all of them on and at the supply's voltage. Of more than mostFringed rods both are
// those of the rods nearest to their middle. The rods are taken as all alike, as long and as
// deep as they are on average: where they are longer than the slab is thick, what they carry
// beyond it counts; where they are shorter, what they lack does not.
func (c *Case) fringe() (ends *physics.Ends, all physics.Fringe, err error) {
	electrodes := c.central(mostFringed)
	n := float64(len(electrodes))
	var rods []physics.Rod
	var phase []complex128
	top, length := 0.0, 0.0
	for i := range electrodes {
		e := &electrodes[i]
		b := c.rod(e)
		rods, phase = append(rods, *b.Rod), append(phase, b.Phase)
		top, length = top+e.Top/n, length+(e.Bottom-e.Top)/n
	}
	ends, err = physics.NewEnds(rods, phase, c.strata(), top, length, c.Extent.Top, c.Extent.Bottom-c.Extent.Top)
	return ends, ends.Fringe(phase), err
}

// strata returns the layers' electrical conductivities as found.
func (c *Case) strata() []physics.Stratum {
	water := materials.NewWater()
	var out []physics.Stratum
	for i := range c.Layers {
		l := &c.Layers[i]
		bottom := l.Bottom
		if i == len(c.Layers)-1 { // ground goes on beneath the last layer
			bottom = inf
		}
		out = append(out, physics.Stratum{Bottom: bottom, Conductivity: l.Soil().Conductivity(water).FactorT(c.Site.Ambient, inf) / l.Resistivity})
	}
	return out
}

// central returns as many electrodes as asked for, or all: those nearest to the middle
// of all, in their own order.
func (c *Case) central(most int) []Electrode {
	n := len(c.Electrodes)
	if n <= most {
		return c.Electrodes
	}
	x, y := 0.0, 0.0
	for _, e := range c.Electrodes {
		x, y = x+e.X/float64(n), y+e.Y/float64(n)
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &c.Electrodes[i], &c.Electrodes[j]
		return cmp.Compare(math.Hypot(a.X-x, a.Y-y), math.Hypot(b.X-x, b.Y-y))
	})
	order = order[:most]
	slices.Sort(order)
	var out []Electrode
	for _, i := range order {
		out = append(out, c.Electrodes[i])
	}
	return out
}

// caps returns the ground above and below a plan's slab, from it to the surface and to
// the bottom of the modelled ground. passing is how the heat of the current that spreads
// there falls with depth; nil: none does. A layer without water does not boil.
func (c *Case) caps(passing func(depth float64) float64, water *materials.Water) *physics.Caps {
	_, _, bottom := c.Bounds()
	var above, below []physics.Slice
	upper := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		slice := func(top, bottom float64) (physics.Slice, bool) {
			thick := math.Min(l.Bottom, bottom) - math.Max(upper, top)
			return physics.Slice{Thickness: thick, Conductivity: l.ThermalConductivity, Capacity: l.HeatCapacity}, thick > 1e-9
		}
		if s, some := slice(0, c.Extent.Top); some {
			above = append([]physics.Slice{s}, above...)
		}
		if i == len(c.Layers)-1 { // ground goes on beneath the last layer
			l = &Layer{Bottom: inf, ThermalConductivity: l.ThermalConductivity, HeatCapacity: l.HeatCapacity}
		}
		if s, some := slice(c.Extent.Bottom, bottom); some {
			below = append(below, s)
		}
		upper = l.Bottom
	}
	caps := physics.NewCaps(c.Extent.Bottom-c.Extent.Top, c.span(), above, below)
	caps.Passing, caps.Top = passing, c.Extent.Top
	site := c.planSite()
	boil := func(z, t float64) physics.Boil {
		if l := c.layerAt(z); l.Porosity*l.Saturation == 0 {
			return physics.Boil{Point: inf}
		}
		return site.At(t).BoilAt(water, z)
	}
	caps.Boil = func(z float64) physics.Boil { return boil(z, 0) }
	if c.PressureVaries() {
		caps.BoilAt = boil
	}
	laws := make([]*materials.Conductivity, len(c.Layers))
	for i := range c.Layers {
		laws[i] = c.Layers[i].Soil().Conductivity(water)
	}
	caps.Conducts = func(z, t float64) float64 {
		law := laws[c.layerIndex(z)]
		return law.FactorT(t, caps.Boil(z).Point) / law.FactorT(c.Site.Ambient, inf)
	}
	return caps
}

// layerAt returns the layer at a depth [m]; the last one goes on beneath itself.
func (c *Case) layerAt(z float64) *Layer { return &c.Layers[c.layerIndex(z)] }

func (c *Case) layerIndex(z float64) int {
	for i := range c.Layers {
		if z < c.Layers[i].Bottom {
			return i
		}
	}
	return len(c.Layers) - 1
}

// rod returns an electrode of a plan.
func (c *Case) rod(e *Electrode) physics.Body {
	return physics.Body{Name: e.Name, Label: e.Phase, Phase: physics.Phasor(c.Supply.Phases, e.Phase), Rods: 1, Contact: e.ContactResistance,
		Rod: &physics.Rod{X: e.X, Y: e.Y, Radius: e.Radius}}
}
