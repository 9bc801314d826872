package physics

import "math"

// share gives each node of both sides its part of the fringe's heat: from one end of the
// node to the other Passing falls by so much.
func (c *Columns) share(passing func(depth float64) float64) {
	sum := 0.0
	for s := range c.sides {
		k := &c.sides[s]
		for j, dz := range k.size {
			out := dz / 2
			if s == upper {
				out = -out
			}
			k.profile[j] = max(0, passing(k.depth[j]-out)-passing(k.depth[j]+out))
			sum += k.profile[j]
		}
	}
	if !(sum > 0) { // ends too close to the slab for what falls with depth to differ
		for s := range c.sides {
			k := &c.sides[s]
			copy(k.profile, k.size)
			for _, dz := range k.size {
				sum += dz
			}
		}
	}
	if !(sum > 0) {
		panic("physics: heat of a fringe, and no ground above or below that takes it")
	}
	for s := range c.sides {
		for j := range c.sides[s].profile {
			c.sides[s].profile[j] /= sum
		}
	}
}

// Outside returns the conductivity of the ground above and below the slab over that as
// found [-], as current that spreads there meets it in nodes t, a State's Caps, and as it
// lies in plan by the fringe of r; 0 where r has none. It is the mean of its logarithm over
// the fringe's heat,
//
//	ln σ/σ₀ = Σ_j p_j ln(σ_j/σ₀)
//
// since a network's power changes with the conductivity of a part as with that part's heat:
// to first order exact.
func (c *Columns) Outside(t []float64, r *CapRates) float64 {
	if !c.fringes || c.conducts == nil {
		return 1
	}
	nx, n := c.grid.NX, c.perCell()
	clear(c.warmth[:n])
	heat := 0.0
	for k := range c.grid.NZ { // in one order, whoever else works
		area, fringe := rowOf(c.area, nx, k), rowOf(r.Fringe, nx, k)
		row := 0.0
		for i, q := range fringe {
			row += area[i] * q
		}
		if row == 0 {
			continue
		}
		heat += row
		for s := range c.sides {
			v := &c.sides[s]
			for j := range v.size {
				sum := 0.0
				for i, t := range c.node(t, k, v, j)[:nx] {
					sum += area[i] * fringe[i] * t
				}
				c.warmth[v.at+j] += sum
			}
		}
	}
	if !(heat > 0) {
		return 0
	}
	log := 0.0
	for s := range c.sides {
		v := &c.sides[s]
		for j, p := range v.profile {
			if p > 0 {
				log += p * math.Log(c.conducts(v.depth[j], c.warmth[v.at+j]/heat))
			}
		}
	}
	return math.Exp(log)
}

// FringeRows sets the fringe of r, the heat that the two columns of a cell get, ratio times
// the cell's own Joule heat (Electric.Beyond): so it lies in plan as the slab's does. It
// takes the heat put into the slab [W] by cell, of which set is no Joule heat (nil: all is).
func (c *Columns) FringeRows(r *CapRates, ratio float64, power, set []float64, k0, k1 int) {
	if r.Fringe == nil {
		return
	}
	for j := k0 * c.grid.NX; j < k1*c.grid.NX; j++ {
		q := power[j]
		if set != nil {
			q -= set[j]
		}
		r.Fringe[j] = ratio * q / c.area[j]
	}
}
