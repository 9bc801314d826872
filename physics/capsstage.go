package physics

// Factor sets the elimination for a stage of length h [s] whose rates go to r, under the
// air as it stands (Heat.SetAir).
func (c *Columns) Factor(r *CapRates, h float64) {
	r.Air = c.air
	if c.rain != nil {
		r.Rain = c.rain.Rain
	}
	for s := range c.sides {
		k := &c.sides[s]
		n := len(k.size)
		if n == 0 {
			k.rest = 1 / k.end
			continue
		}
		d := 0.0
		for j := n - 1; j >= 0; j-- {
			k.ch[j] = k.capacity[j] / h
			k.fed[j] = k.profile[j]
			own := k.ch[j] + k.leave[j]
			if j == n-1 {
				d = own + k.out(j)
			} else {
				k.inverse[j+1] = 1 / (d + k.back[j])
				k.pass[j] = k.back[j] * k.inverse[j+1]
				k.fed[j] += k.pass[j] * k.fed[j+1]
				d = own + k.out(j)*k.inverse[j+1]*d
			}
		}
		k.inverse[0] = 1 / d
		k.rest = k.near + k.ratio*k.inverse[0]
	}
}

// KnownRows eliminates what a stage knows, and sets dst to the r_j of rows k0 ≤ k < k1
// without the stage's own fringe, see Balance for such methods:
//
//	T* = T + h dT/dt, where blend is 0: from the rates r at a state of nodes at, or
//	T* = T + blend·(T_γ − T), where dst holds the nodes T_γ of the stage before.
func (c *Columns) KnownRows(dst, at []float64, r *CapRates, blend float64, k0, k1 int) {
	for k := k0; k < k1; k++ {
		for s := range c.sides {
			if blend == 0 {
				c.startRow(dst, at, r, k, s)
			} else {
				c.blendRow(dst, at, blend, k, s)
			}
		}
	}
}

// startRow is KnownRows from the rates at a state, of one row and side.
func (c *Columns) startRow(dst, at []float64, r *CapRates, k, s int) {
	nx, v := c.grid.NX, &c.sides[s]
	last := len(v.size) - 1
	for j := last; j >= 0; j-- {
		d, t := c.node(dst, k, v, j)[:nx], c.node(at, k, v, j)[:nx]
		ch := v.ch[j]
		if j == 0 {
			for i, f := range rowOf(r.Face[s], nx, k)[:nx] {
				d[i] = ch*t[i] + f
			}
			if s == lower && r.Drain != nil {
				for i, q := range rowOf(r.Drain, nx, k)[:nx] {
					d[i] -= q
				}
			}
		} else {
			g, in := v.back[j-1], c.node(at, k, v, j-1)[:nx]
			for i, t := range t {
				d[i] = ch*t + g*(in[i]-t)
			}
		}
		if j == last {
			then, now := c.outsideOf(s, r.Air), c.outsideOf(s, c.air)
			for i, t := range t {
				d[i] += v.back[j] * (now - t + then)
			}
		} else {
			g, pass, out, next := v.back[j], v.pass[j], c.node(at, k, v, j+1)[:nx], c.node(dst, k, v, j+1)[:nx]
			for i, t := range t {
				d[i] += pass*next[i] - g*(t-out[i])
			}
		}
		if r.Fringe != nil {
			p := v.profile[j]
			for i, q := range rowOf(r.Fringe, nx, k)[:nx] {
				d[i] += p * q
			}
		}
		c.addCarried(d, at, k, v, j)
		c.addSource(d, 2, k, v, j) // of the rates, and the stage's own
	}
}

// blendRow is KnownRows from the stage before, of one row and side.
func (c *Columns) blendRow(dst, at []float64, blend float64, k, s int) {
	nx, v := c.grid.NX, &c.sides[s]
	last := len(v.size) - 1
	for j := last; j >= 0; j-- {
		d, ch := c.node(dst, k, v, j)[:nx], v.ch[j]
		if j == last {
			out := v.back[j] * c.outsideOf(s, c.air)
			for i, t := range c.node(at, k, v, j)[:nx] {
				d[i] = ch*(t+blend*(d[i]-t)) + out
			}
			c.addSource(d, 1, k, v, j)
			continue
		}
		pass, next := v.pass[j], c.node(dst, k, v, j+1)[:nx]
		for i, t := range c.node(at, k, v, j)[:nx] {
			d[i] = ch*(t+blend*(d[i]-t)) + pass*next[i]
		}
		c.addSource(d, 1, k, v, j)
	}
}

// addSource adds w times what is expected to condense in a node to d.
func (c *Columns) addSource(d []float64, w float64, k int, v *column, j int) {
	if c.boils && c.acts[k*c.perCell()+v.at+j] {
		for i, s := range c.node(c.source, k, v, j)[:len(d)] {
			d[i] += w * s
		}
	}
}

// OutsideRows sets the exchanges of rows k0 ≤ k < k1 to what KnownRows made of the
// nodes and the fringe of r.
func (c *Columns) OutsideRows(known []float64, r *CapRates, k0, k1 int) {
	nx := c.grid.NX
	for k := k0; k < k1; k++ {
		for s := range c.sides {
			v := &c.sides[s]
			theta := rowOf(v.outside, nx, k)
			if len(v.size) == 0 {
				fill(theta, v.ratio*c.outsideOf(s, c.air))
				continue
			}
			for i, known := range c.node(known, k, v, 0) {
				theta[i] = known * v.inverse[0]
			}
			if r.Fringe != nil {
				fed := v.fed[0] * v.inverse[0]
				for i, q := range rowOf(r.Fringe, nx, k) {
					theta[i] += fed * q
				}
			}
			if v.ratio != 1 {
				for i := range theta {
					theta[i] *= v.ratio
				}
			}
		}
		c.exchangeRow(k)
	}
}

// exchangeRow turns the θ that row k has outside each face into its exchanges.
func (c *Columns) exchangeRow(k int) {
	if c.rain != nil && c.rain.crosses {
		c.rainedRow(k)
		return
	}
	nx := c.grid.NX
	a, b := &c.sides[upper], &c.sides[lower]
	ga, ta := rowOf(a.conductance, nx, k), rowOf(a.outside, nx, k)
	gb, tb := rowOf(b.conductance, nx, k)[:nx], rowOf(b.outside, nx, k)[:nx]
	area := rowOf(c.area, nx, k)[:nx]
	for i, j := range rowOf(c.join, nx, k) {
		fa, fb := j/(2*j+a.rest), j/(2*j+b.rest)
		ga[i] = area[i] * (1 + fb) / (2*j + a.rest - j*fb)
		gb[i] = area[i] * (1 + fa) / (2*j + b.rest - j*fa)
		t, u := ta[i], tb[i]
		ta[i], tb[i] = (t+fb*u)/(1+fb), (u+fa*t)/(1+fa)
	}
}

// CloseRows turns the r_j in t of rows k0 ≤ k < k1 into the nodes' temperatures for
// cells of temperature cells [K], and sets r to the rates there.
func (c *Columns) CloseRows(t []float64, r *CapRates, cells []float64, ambient float64, k0, k1 int) {
	nx := c.grid.NX
	for k := k0; k < k1; k++ {
		area := rowOf(c.area, nx, k)
		if c.rain != nil {
			c.passRow(r, cells, k)
		}
		for s := range c.sides {
			v := &c.sides[s]
			if r.Fringe != nil {
				for j, fed := range v.fed {
					d := c.node(t, k, v, j)[:nx]
					for i, q := range rowOf(r.Fringe, nx, k)[:nx] {
						d[i] += fed * q
					}
				}
			}
			face, slab := rowOf(r.Face[s], nx, k), rowOf(cells, nx, k)
			g, theta := rowOf(v.conductance, nx, k), rowOf(v.outside, nx, k)
			for i := range face {
				face[i] = g[i] / area[i] * (slab[i] - theta[i])
			}
			before := face
			for j := range v.size {
				by := 1.0
				if j > 0 {
					by = v.out(j - 1)
				} else if s == lower && r.Drain != nil {
					for i, q := range rowOf(r.Drain, nx, k)[:nx] {
						c.node(t, k, v, 0)[i] -= q
					}
				}
				d, inverse := c.node(t, k, v, j)[:nx], v.inverse[j]
				for i, x := range before[:nx] {
					d[i] = (d[i] + by*x) * inverse
				}
				before = d
			}
		}
		c.storeRow(t, ambient, k)
		c.endRow(t, r, k)
	}
}

// endRow sums what leaves the columns of row k at their far ends.
func (c *Columns) endRow(t []float64, r *CapRates, k int) {
	nx := c.grid.NX
	area := rowOf(c.area, nx, k)
	for s, sum := range [2][]float64{upper: c.surface, lower: c.below} {
		v := &c.sides[s]
		n := len(v.size)
		sum[k] = 0
		if n == 0 {
			for i, f := range rowOf(r.Face[s], nx, k) {
				sum[k] += area[i] * f
			}
			if c.rain != nil {
				sum[k] += c.edgeRow(r, k, s)
			}
			continue
		}
		outside, end := c.outsideOf(s, r.Air), v.out(n-1)
		for i, t := range c.node(t, k, v, n-1) {
			sum[k] += area[i] * end * (t - outside)
		}
	}
	if c.rain != nil {
		c.leaveRow(t, r, k)
	}
}
