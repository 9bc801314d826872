package physics

import "math"

// Resolution of a column. Lengths are in √(αt), how far heat gets in a time t, with t the
// briefest time or the run's duration.
const (
	briefest    = 86400.0 // [s] changes that take longer are resolved
	firstNode   = 0.04    // [√(αt)] of the briefest time: the node next to the slab
	surfaceNode = 0.2     // [√(αt)] of the briefest time: the node at the surface
	columnRatio = 1.2     // [-] of neighbouring nodes
	columnDepth = 4.0     // [√(αt)] of the duration, where the ground is endless: beyond, 0.5 % of a face's rise is left, erfc(2)
)

// newColumn cuts slices into nodes; beyond [m²·K/W] lies between the last one's end and
// the outside, which is the air where the column ends at the surface.
//
// Nodes grow from the slab outward in ζ = ∫dz/√α [s^½], in which heat spreads alike in
// all ground: a node at ζ is (ratio − 1)ζ longer than the first; and so from the surface
// inward. Slices begin and end between nodes.
func newColumn(slices []Slice, duration, beyond float64, surface bool) column {
	first, last := firstNode*math.Sqrt(min(duration, briefest)), math.Inf(1)
	whole := 0.0 // [s^½] the column's length
	for _, s := range slices {
		whole += s.Thickness / math.Sqrt(s.Conductivity/s.Capacity)
	}
	half := math.Inf(1) // where nodes begin to shrink again
	if surface && !math.IsInf(whole, 1) {
		last = surfaceNode * math.Sqrt(briefest)
		half = (whole + (last-first)/(columnRatio-1)) / 2
	}
	size := func(zeta float64) float64 {
		return min(first+(columnRatio-1)*zeta, last+(columnRatio-1)*(whole-zeta))
	}
	var k column
	var resistance []float64 // [m²·K/W] of half a node
	cut := func(s Slice, from, to float64) {
		root, growth := math.Sqrt(s.Conductivity/s.Capacity), size(to)/size(from)
		n := max(1, math.Ceil(math.Abs(math.Log(growth))/math.Log(columnRatio)-1e-9))
		place := func(j float64) float64 {
			if j == 0 || j == n {
				return (to - from) * j / n
			}
			return (to - from) * (math.Pow(growth, j/n) - 1) / (growth - 1)
		}
		for j := range int(n) {
			dz := root * (place(float64(j+1)) - place(float64(j)))
			k.size = append(k.size, dz)
			k.capacity = append(k.capacity, s.Capacity*dz)
			resistance = append(resistance, dz/(2*s.Conductivity))
		}
	}
	from := 0.0
	for _, s := range slices {
		to := from + s.Thickness/math.Sqrt(s.Conductivity/s.Capacity)
		if math.IsInf(to, 1) {
			to = max(columnDepth*math.Sqrt(duration), from+first)
		}
		if from < half && half < to {
			cut(s, from, half)
			from = half
		}
		cut(s, from, to)
		from = to
	}
	n := len(k.size)
	k.end, k.beyond = 1/beyond, beyond
	if n > 0 {
		k.first, k.half = resistance[0], resistance[n-1]
		k.end = 1 / (resistance[n-1] + beyond)
	}
	for j := range max(0, n-1) {
		k.g = append(k.g, 1/(resistance[j]+resistance[j+1]))
	}
	v := func() []float64 { return make([]float64, n) }
	k.ch, k.pass, k.inverse, k.fed, k.profile, k.depth, k.boil = v(), v(), v(), v(), v(), v(), make([]Boil, n)
	k.back, k.carry, k.leave = v(), v(), v()
	k.dry()
	return k
}

// place sets the nodes' depths and when they boil.
func (c *Columns) place(caps *Caps) {
	for s := range c.sides {
		k, z := &c.sides[s], 0.0
		for j, dz := range k.size {
			k.depth[j] = c.top - z - dz/2
			if s == lower {
				k.depth[j] = c.top + c.thickness + z + dz/2
			}
			k.boil[j] = Boil{Point: math.Inf(1)}
			if caps.Boil != nil {
				k.boil[j] = caps.Boil(k.depth[j])
			}
			c.boils = c.boils || !math.IsInf(k.boil[j].Point, 1)
			z += dz
		}
	}
}
