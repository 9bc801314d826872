package physics

import (
	"math"

	"soiljoule/mesh"
)

// Rain is water that goes straight down through the columns of a slab and the slab, down
// to the water table, at a rate that is constant over a step.
type Rain struct {
	Capacity float64 // [W/(m²·K)] W = w ρ_w c_w, c_w that of water at ambient
	Table    float64 // [m] depth of the water table
}

// capRain is rain on the columns of a level grid at work. A flux q = W T − λ dT/dz goes
// down through ground in which nothing else happens where, between two places a resistance
// R [m²·K/W] apart,
//
//	q = a T_above − b T_below,  b = W/(e^{WR} − 1),  a = b + W
//
// Nodes exchange that instead of g (T_above − T_below). In a steady state it is exact, in
// layers too. No new extremum arises, as a and b are above 0. Where WR is small it is of
// second order: what it conducts too much is a share (WR)²/12.
//
// Rain enters at the temperature of the air, below film and cover, which it does not exchange
// heat with: the surface takes h (T_air − T_s) and W T_air, and hands on a T_s − b T_last.
// It crosses the nodes, and the slab, whose middle is not below the water table. There it
// leaves at the temperature of the last node, or of the slab's lower face.
//
// Within the slab λT″ − W T′ is constant instead of λT″. With P = W b/λ, of its thickness b,
// faces that conduct F upward and F′ downward are then at
//
//	T_c − T_top = (b/λ) (½ F − m (F + F′))        m = 1/P² − (1 + P/2)/(P (e^P − 1))
//	T_c − T_bottom = (b/λ) (−½ F + (n − m) (F + F′))  n = 1/P − 1/(e^P − 1)
//
// for P = 0 the J (2 F − F′) and J (2 F′ − F) of Columns. That holds once the slab has
// settled under the rain; while it has not, its mean temperature is up to some hundredths
// wrong for P of 2.5 (measured against fine cells).
//
// Fluxes out of the slab, CapRates.Face, are with the heat of water counted from 0 K; what
// comes in and leaves, from ambient.
//
// Source: the profile A + B e^{Wz/λ} + sz/W of λT″ − W T′ = −s, fitted; nodes as Scharfetter
// & Gummel, IEEE Trans. Electron Devices 16, 64 (1969) (from memory).
type capRain struct {
	Rain
	heat    float64 // [J/(kg·K)] c_w
	ambient float64 // [K]

	enters  bool // any ground
	crosses bool // the slab
	side    int  // of the node that it leaves at the temperature of;
	node    int  // -1: it leaves at the slab's lower face

	pass [2][]float64 // by cell: T_face at T_c = 0 [K] of a stage being solved; of one closed W T_face [W/m²]
	left []float64    // [W] by row, that leaves, of the stage last closed
	area float64      // [m²] in all
}

// columnRain is what rain makes of a column's exchanges: outward, from node j to the next or
// from the last to the outside, flows out T_j − back T_{j+1}.
type columnRain struct {
	back  []float64 // [W/(m²·K)]
	carry []float64 // [W/(m²·K)] out − back: ±W, or 0 where no water crosses
	leave []float64 // [W/(m²·K)] of water that leaves the node to the groundwater
	near  float64   // [m²·K/W] and
	ratio float64   // [-]: to the first node flows (T_face − ratio·T_0)/near
}

// out returns what flows outward from node j for 1 K there [W/(m²·K)].
func (k *column) out(j int) float64 { return k.back[j] + k.carry[j] }

// dry sets the exchanges to those without water.
func (k *column) dry() {
	copy(k.back, k.g)
	if n := len(k.size); n > 0 {
		k.back[n-1] = k.end
	}
	clear(k.carry)
	clear(k.leave)
	k.near, k.ratio = k.first, 1
}

// backward returns b [W/(m²·K)] for water of a capacity w through a resistance r, kept
// above 0.
func backward(w, r float64) float64 {
	return math.Max(least, w/math.Expm1(math.Min(w*r, 500)))
}

// least is a conductance that lets nothing through [W/(m²·K)], a choice.
const least = 1e-9

// carryRain lets rain come to the columns, of water whose heat a flow counts from its own.
func (c *Columns) carryRain(f *Flow) {
	n := c.grid.Cells()
	c.rain = &capRain{heat: f.heat, ambient: f.t0, node: -1, left: make([]float64, c.grid.NZ), pass: [2][]float64{make([]float64, n), make([]float64, n)}}
	for _, a := range c.area {
		c.rain.area += a
	}
}

// KeepRain lets rates that had rain be moved to none (Rerain), of ground at an ambient
// temperature [K].
func (c *Columns) KeepRain(ambient float64) { c.carryRain(&Flow{t0: ambient}) }

// JoinTo sets dst to the resistance between the slab's mean and its faces [m²·K/W] by cell,
// as it was last assembled.
func (c *Columns) JoinTo(dst []float64) { copy(dst, c.join) }

// Rains reports whether rain may come to the columns.
func (c *Columns) Rains() bool { return c.rain != nil }

// setRain lets rain come from now on.
func (c *Columns) setRain(to Rain) {
	r := c.rain
	if r == nil || r.Rain == to {
		return
	}
	r.Rain = to
	up, down, w := &c.sides[upper], &c.sides[lower], to.Capacity
	up.dry()
	down.dry()
	r.enters, r.crosses, r.node = false, false, -1
	if !(w > 0) {
		return
	}
	r.crosses = c.top+c.thickness/2 <= to.Table
	r.side = upper
	inner := len(up.size) // the innermost that it crosses
	for inner > 0 && up.depth[inner-1] <= to.Table {
		inner--
	}
	if n := len(up.size); inner < n {
		r.enters = true
		h, b := 1/up.beyond, backward(w, up.half)
		up.back[n-1], up.carry[n-1] = h*b/(h+b+w)+w, -w
		for j := inner; j < n-1; j++ {
			up.back[j], up.carry[j] = backward(w, 1/up.g[j])+w, -w
		}
		if !r.crosses {
			r.node, up.leave[inner] = inner, w
		} else {
			b := backward(w, up.first)
			up.near, up.ratio = 1/b, (b+w)/b
		}
	} else if n == 0 && r.crosses {
		r.enters = true
		up.ratio = 1 + w*up.beyond
	}
	if !r.crosses || len(down.size) == 0 || down.depth[0] > to.Table {
		return
	}
	b := backward(w, down.first)
	down.near, down.ratio = 1/(b+w), b/(b+w)
	last := 0
	for ; last < len(down.g) && down.depth[last+1] <= to.Table; last++ {
		down.back[last], down.carry[last] = backward(w, 1/down.g[last]), w
	}
	r.side, r.node, down.leave[last] = lower, last, w
}

// through returns the capacity of the water that crosses a side's face to or from its
// first node, outward [W/(m²·K)].
func (c *Columns) through(side int) float64 {
	r := c.rain
	switch {
	case r == nil || !r.crosses:
		return 0
	case side == upper:
		return -r.Capacity
	case r.node >= 0:
		return r.Capacity
	}
	return 0
}

// addCarried adds to d what water brings node j less what it takes, but for what depends on
// back, at temperatures at.
func (c *Columns) addCarried(d, at []float64, k int, v *column, j int) {
	if c.rain == nil {
		return
	}
	if take := v.carry[j] + v.leave[j]; take != 0 {
		for i, t := range c.node(at, k, v, j)[:len(d)] {
			d[i] -= take * t
		}
	}
	if j > 0 && v.carry[j-1] != 0 {
		bring := v.carry[j-1]
		for i, t := range c.node(at, k, v, j-1)[:len(d)] {
			d[i] += bring * t
		}
	}
}

// slabShape returns m and n [-] of a slab of P = W b/λ [-].
func slabShape(p float64) (m, n float64) {
	if p < 0.05 {
		return 1./6 - p/24 + p*p/720 + p*p*p/1440, 0.5 - p/12 + p*p*p/720
	}
	e := math.Expm1(math.Min(p, 500))
	return 1/(p*p) - (1+p/2)/(p*e), 1/p - 1/e
}

// conductances returns what flows out of the slab's faces for 1 K there, water's heat
// included, and what is conducted, [W/(m²·K)].
func (c *Columns) conductances() (up, down, upward, downward float64) {
	w := c.rain.Capacity
	up = math.Max(least, 1/c.sides[upper].rest)
	upward = up + w
	down = 1 / math.Max(least, c.sides[lower].rest)
	if c.rain.node < 0 {
		return up, down + w, upward, down
	}
	return up, down, upward, math.Max(0, down-w)
}

// rainedRow is exchangeRow where rain crosses the slab: from F = K T_top − κ, F′ = K′
// T_bottom − κ′ and the profile in the slab, the faces as lines in T_c, and with them what
// flows out.
func (c *Columns) rainedRow(k int) {
	nx := c.grid.NX
	a, b, r := &c.sides[upper], &c.sides[lower], c.rain
	ga, ta := rowOf(a.conductance, nx, k), rowOf(a.outside, nx, k)
	gb, tb := rowOf(b.conductance, nx, k)[:nx], rowOf(b.outside, nx, k)[:nx]
	top, bottom := rowOf(r.pass[upper], nx, k)[:nx], rowOf(r.pass[lower], nx, k)[:nx]
	area := rowOf(c.area, nx, k)[:nx]
	up, down, upward, downward := c.conductances()
	from := down - c.drained() // of θ below
	for i, j := range rowOf(c.join, nx, k) {
		whole := 6 * j // b/λ
		m, n := slabShape(r.Capacity * whole)
		a11, a12 := whole*(0.5-m), -whole*m
		a21, a22 := whole*(n-m-0.5), whole*(n-m)
		kappa, kappa1 := up*ta[i], from*tb[i]
		e, e1 := a11*kappa+a12*kappa1, a21*kappa+a22*kappa1
		d, d1 := 1+a11*upward, 1+a22*downward
		det := d*d1 - a12*a21*upward*downward
		top[i], bottom[i] = (d1*e-a12*downward*e1)/det, (d*e1-a21*upward*e)/det
		rise, rise1 := (d1-a12*downward)/det, (d-a21*upward)/det // of the faces, for 1 K of T_c
		ga[i], gb[i] = area[i]*up*rise, area[i]*down*rise1
		ta[i] = (kappa - up*top[i]) / (up * rise)
		tb[i] = (kappa1 - down*bottom[i]) / (down * rise1)
	}
}

// drained returns W where the water leaves at the slab's lower face, else 0.
func (c *Columns) drained() float64 {
	if r := c.rain; r.crosses && r.node < 0 {
		return r.Capacity
	}
	return 0
}

// passRow sets what water carries through the faces of the slab in row k, for cells of a
// temperature [K], and of r what leaves at the lower and the slab's join.
func (c *Columns) passRow(r *CapRates, cells []float64, k int) {
	nx := c.grid.NX
	drain := rowOf(r.Drain, nx, k)
	clear(drain)
	copy(rowOf(r.Join, nx, k), rowOf(c.join, nx, k))
	if !c.rain.crosses {
		return
	}
	up, down, _, _ := c.conductances()
	w, slab, area := c.rain.Capacity, rowOf(cells, nx, k), rowOf(c.area, nx, k)
	for s, by := range [2]float64{upper: up, lower: down} {
		g, pass := rowOf(c.sides[s].conductance, nx, k), rowOf(c.rain.pass[s], nx, k)
		for i := range pass {
			pass[i] = w * (pass[i] + g[i]/(area[i]*by)*slab[i])
		}
	}
	if c.rain.node < 0 {
		copy(drain, rowOf(c.rain.pass[lower], nx, k))
	}
}

// edgeRow returns what the rain of r takes off the flux out of a slab in row k that has no
// ground on a side, so that what is lost there remains [W].
func (c *Columns) edgeRow(r *CapRates, k, s int) float64 {
	sum, nx := 0.0, c.grid.NX
	switch {
	case !c.rain.crosses:
	case s == upper:
		for _, a := range rowOf(c.area, nx, k) {
			sum += a * r.Rain.Capacity * r.Air
		}
	default:
		for i, a := range rowOf(c.area, nx, k) {
			sum -= a * r.Drain[k*nx+i]
		}
	}
	return sum
}

// leaveRow sums what rain takes out of the ground of row k.
func (c *Columns) leaveRow(t []float64, r *CapRates, k int) {
	nx, rain := c.grid.NX, c.rain
	sum, area := 0.0, rowOf(c.area, nx, k)
	switch {
	case rain.node >= 0:
		for i, t := range c.node(t, k, &c.sides[rain.side], rain.node) {
			sum += area[i] * rain.Capacity * (t - rain.ambient)
		}
	case rain.crosses:
		for i, q := range rowOf(r.Drain, nx, k) {
			sum += area[i] * (q - rain.Capacity*rain.ambient)
		}
	}
	rain.left[k] = sum
}

// Rained returns the heat that rain brings into the ground by rates r, and what it takes out
// of the columns at the stage last closed or the step last ended, to the groundwater [W].
func (c *Columns) Rained(r *CapRates) (in, out float64) {
	if c.rain == nil {
		return 0, 0
	}
	if c.rain.enters {
		in = r.Rain.Capacity * (r.Air - c.rain.ambient) * c.rain.area
	}
	for _, q := range c.rain.left {
		out += q
	}
	return in, out
}

// RainedThrough returns the heat, counted from 0 K, that rain carries down into a zone of the slab and
// out of it at the stage last closed [W].
func (c *Columns) RainedThrough(z mesh.Zone) (in, out float64) {
	if c.rain == nil || !c.rain.crosses {
		return 0, 0
	}
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			j := k*c.grid.NX + i
			w := z.Weight(i, k) * c.area[j]
			in += w * c.rain.pass[upper][j]
			out += w * c.rain.pass[lower][j]
		}
	}
	return in, out
}

// Rerain moves rates r at nodes t and cells of a temperature [K] to the rain that comes from
// now on, and sets dst to what the cells get more for that [W/m³]; false, and nothing is set:
// the rates have it already. Totals and Rained are then those of r.
func (c *Columns) Rerain(dst, t, cells []float64, r *CapRates) bool {
	if c.rain == nil || r.Rain == c.rain.Rain {
		return false
	}
	r.Rain = c.rain.Rain
	copy(c.join, r.Join) // a try that did not stand may have left another
	nx := c.grid.NX
	for s := range c.sides {
		k := &c.sides[s]
		k.rest = k.near
		if len(k.size) == 0 {
			k.rest = 1 / k.end
		}
	}
	for k := range c.grid.NZ {
		for s := range c.sides {
			v := &c.sides[s]
			theta := rowOf(v.outside, nx, k)
			if len(v.size) == 0 {
				fill(theta, v.ratio*c.outsideOf(s, r.Air))
				continue
			}
			for i, t := range c.node(t, k, v, 0) {
				theta[i] = v.ratio * t
			}
		}
		c.exchangeRow(k)
		c.passRow(r, cells, k)
		change, slab, area := rowOf(dst, nx, k), rowOf(cells, nx, k), rowOf(c.area, nx, k)
		clear(change)
		for s := range c.sides {
			v, face := &c.sides[s], rowOf(r.Face[s], nx, k)
			g, theta := rowOf(v.conductance, nx, k), rowOf(v.outside, nx, k)
			for i, before := range face {
				face[i] = g[i] / area[i] * (slab[i] - theta[i])
				change[i] += (before - face[i]) / c.thickness
			}
		}
		c.endRow(t, r, k)
	}
	return true
}
