//dossier:chapter The demo cases

package validation

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"path/filepath"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// The tank circle once more, in three dimensions and by a program of another kind: cells of
// a quarter of the ground, explicit steps of heat, a boiling cell cut at its boiling point,
// and the potential by conjugate gradients every day or two. Only the case's numbers are the
// program's, as written below; no code is shared.
//
//	charge   ∇·(σ∇Φ) = 0, Φ = Φ_re + iΦ_im
//	heat     E ← E + Δt (∇·(λ∇T) + q);  what is beyond E(T_b) leaves as steam
//
// Six phases of 60° on a ring mirror themselves: in x Φ becomes −Φ*, in y Φ*. So the quarter
// x, y ≥ 0 is enough, with Φ_re = 0 on x = 0 and Φ_im = 0 on y = 0; it holds half of rod A
// and all of rod B.
//
// A rod is two by two cells across, at its phase's potential; between it and the cells
// beside it lie wall cells instead of half of one, so many that a rod in a plane has the
// potential of a cylinder of its radius (wallOf); its ends conduct by a cylinder's area.
//
// Laws of ground as README has them, water's numbers from steam tables from memory: ρ = 998
// kg/m³, c = 4187 J/(kg·K), h″ = 2676 + 1.55 (T − 100) kJ/kg, and a boiling point whose
// inverse is straight in ln p from 101.42 kPa at 100 °C to 198.67 kPa at 120 °C. Those are
// within 0.3 % and 0.1 K of the formulation of 1997.
type ringInDepth struct {
	limit   float64 // [W]
	nx, ny  int
	nz      int
	edges   [3][]float64 // [m] of x, y, z
	layer   []int        // by cell
	body    []complex128 // phasor of the rod that holds the cell; 0: ground
	volume  []float64    // [m³]
	boils   []float64    // [°C]
	ring    []float64    // [-] by column, share of it within the ring
	t, w    []float64    // [°C], [kg/m³]
	sigma   []float64    // [S/m]
	charge  [3][]float64 // [S] to the next cell along x, y, z
	conduct [3][]float64 // [W/K] likewise
	phi     [2][]float64 // [-] real and imaginary
	q       []float64    // [W/V²]
	wall    float64      // [-] cells from a rod to the node beside it
	power   float64      // [W/V²] of the whole ring
	current complex128   // [A/V] of rod B

	time, voltage      float64 // [s], [V]
	in, steam, surface float64 // [J] of the whole ring
	matrix             [3][]float64
	diag, inverse      []float64
	residual, p, ap, z []float64
}

const (
	tankRadius, tankRod     = 4.572, 0.1524 // [m]
	tankTop, tankBottom     = 2.4384, 7.3152
	tankTable, tankAmbient  = 1.8288, 12.0
	tankWater, tankHeat     = 998.0, 4187.0
	tankVolts, tankFilm     = 200.0, 12.0
	tankRemovable, tankDry  = 0.3, 0.05
	tankResidual, tankKappa = 0.05, 1.9
)

// tankLayers are fill, silt and clay of the case.
var tankLayers = []struct{ bottom, resistivity, lambda, capacity, porosity, saturation float64 }{
	{1.524, 120, 1.5, 2.0e6, 0.38, 0.5},
	{7.62, 30, 1.6, 2.9e6, 0.42, 1},
	{math.Inf(1), 12, 1.35, 3.0e6, 0.46, 1},
}

// dryLambda is Johansen's conductivity of dry soil of a porosity [W/(m·K)].
func dryLambda(porosity float64) float64 {
	d := 2700 * (1 - porosity)
	return (0.135*d + 64.7) / (2700 - 0.947*d)
}

// wallOf returns how many cells of h [m] must lie between two by two cells held at one
// potential and the nodes beside them, for the potential ln(r/a) of a cylinder in a plane:
// each of the eight faces carries π/4 at 1 S/m, which settles the field outside, and with it
// what is missing to ln 1. It relaxes a quarter of that plane, its far nodes at ln r.
func wallOf(h, a float64) float64 {
	const n = 40
	var phi [n][n]float64
	r := func(i, j int) float64 { return h * math.Hypot(float64(i)+0.5, float64(j)+0.5) }
	for i := range n {
		for j := range n {
			phi[i][j] = math.Log(r(i, j) / a)
		}
	}
	for range 4000 {
		for i := range n {
			for j := range n {
				if i == 0 && j == 0 || r(i, j) > h*(n-2) {
					continue
				}
				sum, faces := 0.0, 0.0
				for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
					k, l := i+d[0], j+d[1]
					switch {
					case k < 0 || l < 0: // a mirror
					case k == 0 && l == 0:
						sum -= math.Pi / 4
					default:
						sum, faces = sum+phi[k][l], faces+1
					}
				}
				phi[i][j] += 1.9 * (sum/faces - phi[i][j])
			}
		}
	}
	return phi[1][0] / (math.Pi / 4)
}

// outward returns edges at multiples of h up to reach, then growing to far and beyond.
func outward(edges []float64, h, far float64) []float64 {
	for h *= 1.18; edges[len(edges)-1] < far; h = min(1.18*h, 4) {
		edges = append(edges, edges[len(edges)-1]+h)
	}
	return edges
}

// newRingInDepth lays out cells of a radius of the ring over 2n and √3/2 of it over m.
func newRingInDepth(limit float64, n, m int) *ringInDepth {
	f := &ringInDepth{limit: limit}
	across := func(length float64, n int) []float64 {
		h := length / float64(n)
		var e []float64
		for i := range n + 1 {
			e = append(e, float64(i)*h)
		}
		return e
	}
	hx, hy := tankRadius/2/float64(n), tankRadius*math.Sqrt(3)/2/float64(m)
	f.edges[0] = outward(across(tankRadius+6*hx, 2*n+6), hx, 46)
	f.edges[1] = outward(across(hy*float64(m+6), m+6), hy, 46)
	foot := func(z float64) int { return int(math.Round(z / 0.1524)) }
	var z []float64
	for k := 0; k <= foot(8.2296); { // 6 in at the rods' ends, 12 in between
		z = append(z, float64(k)*0.1524)
		if near := func(at float64) bool { return k >= foot(at)-4 && k < foot(at)+4 }; near(tankTop) || k >= foot(tankBottom)-4 {
			k++
		} else {
			k += 2
		}
	}
	f.edges[2] = outward(z, 0.1524, 21)
	f.nx, f.ny, f.nz = len(f.edges[0])-1, len(f.edges[1])-1, len(f.edges[2])-1
	f.wall = wallOf(math.Sqrt(hx*hy), tankRod)

	cells := f.nx * f.ny * f.nz
	vector := func() []float64 { return make([]float64, cells) }
	f.layer, f.body = make([]int, cells), make([]complex128, cells)
	f.volume, f.boils, f.t, f.w, f.sigma, f.q = vector(), vector(), vector(), vector(), vector(), vector()
	f.diag, f.inverse, f.residual, f.p, f.ap, f.z = vector(), vector(), vector(), vector(), vector(), vector()
	for d := range 3 {
		f.charge[d], f.conduct[d], f.matrix[d] = vector(), vector(), vector()
	}
	f.phi = [2][]float64{vector(), vector()}
	f.ring = make([]float64, f.nx*f.ny)
	for c := range cells {
		i, j, k := f.place(c)
		x, y, z := f.middle(0, i), f.middle(1, j), f.middle(2, k)
		f.volume[c] = f.size(0, i) * f.size(1, j) * f.size(2, k)
		for z > tankLayers[f.layer[c]].bottom {
			f.layer[c]++
		}
		l := &tankLayers[f.layer[c]]
		f.t[c], f.w[c] = tankAmbient, l.porosity*l.saturation*tankWater
		p := 101.325 + 9.80665e-3*tankWater*math.Max(0, z-tankTable)
		f.boils[c] = 1/(1/373.15+math.Log(p/101.42)/math.Log(198.67/101.42)*(1/393.15-1/373.15)) - 273.15
		if z > tankTop && z < tankBottom {
			if math.Abs(x-tankRadius) < hx && y < hy {
				f.body[c] = 1
			}
			if math.Abs(x-tankRadius/2) < hx && math.Abs(y-tankRadius*math.Sqrt(3)/2) < hy {
				f.body[c] = cmplx.Rect(1, math.Pi/3)
			}
		}
		f.phi[0][c], f.phi[1][c] = real(f.body[c]), imag(f.body[c])
		if k == 0 {
			const parts = 8
			for u := range parts * parts {
				x := f.edges[0][i] + (float64(u%parts)+0.5)/parts*f.size(0, i)
				y := f.edges[1][j] + (float64(u/parts)+0.5)/parts*f.size(1, j)
				if math.Hypot(x, y) < tankRadius {
					f.ring[c] += 1. / (parts * parts)
				}
			}
		}
	}
	return f
}

func (f *ringInDepth) place(c int) (i, j, k int) { return c % f.nx, c / f.nx % f.ny, c / (f.nx * f.ny) }
func (f *ringInDepth) size(d, i int) float64     { return f.edges[d][i+1] - f.edges[d][i] }
func (f *ringInDepth) middle(d, i int) float64   { return (f.edges[d][i+1] + f.edges[d][i]) / 2 }
func (f *ringInDepth) strides() [3]int           { return [3]int{1, f.nx, f.nx * f.ny} }

// slab says whether a cell lies between the planes of the rods' ends.
func (f *ringInDepth) slab(c int) bool {
	_, _, k := f.place(c)
	z := f.middle(2, k)
	return z > tankTop && z < tankBottom
}

// properties finds σ, and the conductances of heat and charge.
func (f *ringInDepth) properties() {
	lambda := f.ap
	for c := range f.t {
		l := &tankLayers[f.layer[c]]
		s := min(f.w[c]/(l.porosity*tankWater), 1)
		rel, dry := max(s, tankDry)/l.saturation, tankDry/l.saturation
		wet := 1 - (1-tankResidual)/(1-dry*dry)*(1-rel*rel)
		f.sigma[c] = wet / l.resistivity * (1 + 0.0187*(min(f.t[c], f.boils[c])-25))
		kersten := func(s float64) float64 { return tankKappa * s / (1 + (tankKappa-1)*s) }
		bone := dryLambda(l.porosity)
		lambda[c] = bone + (l.lambda-bone)*kersten(s)/kersten(l.saturation)
	}
	for c := range f.t {
		at := [3]int{}
		at[0], at[1], at[2] = f.place(c)
		for d, stride := range f.strides() {
			if at[d]+1 == [3]int{f.nx, f.ny, f.nz}[d] {
				continue
			}
			n := c + stride
			h, next := f.size(d, at[d]), f.size(d, at[d]+1)
			area := f.volume[c] / h
			f.conduct[d][c] = 2 * area / (h/lambda[c] + next/lambda[n])
			part := f.wall
			if d == 2 { // half a cell, to the end of a rod that is smaller than its cells
				part = 0.5 * 4 * f.size(0, 0) * f.size(1, 0) / (math.Pi * tankRod * tankRod)
			}
			switch one, other := f.body[c] != 0, f.body[n] != 0; {
			case one && other:
				f.charge[d][c] = 0
			case one:
				f.charge[d][c] = f.sigma[n] * area / (part * next)
			case other:
				f.charge[d][c] = f.sigma[c] * area / (part * h)
			default:
				f.charge[d][c] = 2 * area / (h/f.sigma[c] + next/f.sigma[n])
			}
		}
	}
}

// mirror is the conductance [S] from a cell to the plane where a part of Φ is 0: the real
// one at x = 0, the imaginary at y = 0.
func (f *ringInDepth) mirror(part, c int) float64 {
	i, j, _ := f.place(c)
	if at := [2]int{i, j}[part]; at != 0 || f.body[c] != 0 {
		return 0
	}
	h := f.size(part, 0)
	return f.sigma[c] * f.volume[c] / h / (h / 2)
}

// solve finds one part of Φ to a residual over that of the rods in ground at 0 V.
// Source: conjugate gradients with modified incomplete Cholesky factors, Gustafsson (1978)
// (from memory).
func (f *ringInDepth) solve(part int, tolerance float64) {
	x, n := f.phi[part], len(f.t)
	strides := f.strides()
	rhs := f.z
	for c := range n {
		f.diag[c], rhs[c] = f.mirror(part, c), 0
	}
	held := func(c int) float64 { return [2]float64{real(f.body[c]), imag(f.body[c])}[part] }
	for d, stride := range strides {
		for c := range n - stride {
			g, o := f.charge[d][c], c+stride
			f.matrix[d][c] = 0
			switch one, other := f.body[c] != 0, f.body[o] != 0; {
			case one:
				f.diag[o], rhs[o] = f.diag[o]+g, rhs[o]+g*held(c)
			case other:
				f.diag[c], rhs[c] = f.diag[c]+g, rhs[c]+g*held(o)
			default:
				f.matrix[d][c], f.diag[c], f.diag[o] = g, f.diag[c]+g, f.diag[o]+g
			}
		}
	}
	for c := range n {
		if f.body[c] != 0 {
			f.diag[c], rhs[c] = 1, held(c)
		}
	}
	scale := 0.0
	for c := range n {
		if f.body[c] == 0 {
			scale += rhs[c] * rhs[c]
		}
	}
	for c := range n { // factors
		s := f.diag[c]
		for d, stride := range strides {
			o := c - stride
			if o < 0 || f.matrix[d][o] == 0 {
				continue
			}
			row := f.matrix[0][o] + f.matrix[1][o] + f.matrix[2][o]
			s -= f.matrix[d][o] * (f.matrix[d][o] + 0.97*(row-f.matrix[d][o])) * f.inverse[o]
		}
		f.inverse[c] = 1 / max(s, 0.05*f.diag[c])
	}
	apply := func(dst, v []float64) {
		for c := range n {
			dst[c] = f.diag[c] * v[c]
		}
		for d, stride := range strides {
			m, on, far := f.matrix[d][:n-stride], v[stride:], dst[stride:]
			for c, g := range m {
				dst[c] -= g * on[c]
				far[c] -= g * v[c]
			}
		}
	}
	precondition := func(dst, v []float64) {
		for c := range n {
			s := v[c]
			for d, stride := range strides {
				if o := c - stride; o >= 0 {
					s += f.matrix[d][o] * dst[o]
				}
			}
			dst[c] = s * f.inverse[c]
		}
		for c := n - 1; c >= 0; c-- {
			s := 0.0
			for d, stride := range strides {
				if o := c + stride; o < n {
					s += f.matrix[d][c] * dst[o]
				}
			}
			dst[c] += s * f.inverse[c]
		}
	}
	dot := func(a, b []float64) (s float64) {
		for c, v := range a {
			s += v * b[c]
		}
		return s
	}
	apply(f.ap, x)
	for c := range n {
		f.residual[c] = rhs[c] - f.ap[c]
	}
	precondition(f.z, f.residual)
	copy(f.p, f.z)
	rz := dot(f.residual, f.z)
	for range 1000 {
		if dot(f.residual, f.residual) < tolerance*tolerance*scale {
			return
		}
		apply(f.ap, f.p)
		step := rz / dot(f.p, f.ap)
		for c := range n {
			x[c] += step * f.p[c]
			f.residual[c] -= step * f.ap[c]
		}
		precondition(f.z, f.residual)
		next := dot(f.residual, f.z)
		for c := range n {
			f.p[c] = f.z[c] + next/rz*f.p[c]
		}
		rz = next
	}
	panic("validation: the potential of the ring does not converge")
}

// potential finds Φ, the heat by cell, the current of rod B and the voltage within the limit.
func (f *ringInDepth) potential(tolerance float64) {
	f.properties()
	clear(f.q)
	f.current = 0
	for part, turn := range []complex128{1, 1i} {
		f.solve(part, tolerance)
		x := f.phi[part]
		for c := range x {
			f.q[c] += f.mirror(part, c) * x[c] * x[c]
		}
		for d, stride := range f.strides() {
			for c := range len(x) - stride {
				g, o := f.charge[d][c], c+stride
				if g == 0 {
					continue
				}
				v := x[c] - x[o]
				heat := g * v * v
				switch {
				case f.body[c] != 0:
					f.q[o] += heat
				case f.body[o] != 0:
					f.q[c] += heat
				default:
					at := [3]int{}
					at[0], at[1], at[2] = f.place(c)
					own, next := f.size(d, at[d])/f.sigma[c], f.size(d, at[d]+1)/f.sigma[o]
					f.q[c] += heat * own / (own + next)
					f.q[o] += heat * next / (own + next)
				}
				if imag(f.body[c]) > 0 {
					f.current += turn * complex(g*v, 0)
				}
				if imag(f.body[o]) > 0 {
					f.current -= turn * complex(g*v, 0)
				}
			}
		}
	}
	f.power = 0
	for _, q := range f.q {
		f.power += 4 * q
	}
	f.voltage = min(tankVolts, math.Sqrt(f.limit/f.power))
}

// run goes on to a day, with a new potential every so many.
func (f *ringInDepth) run(days, every float64) {
	n, strides := len(f.t), f.strides()
	for end := days * day; f.time < end-1; {
		f.potential(1e-6)
		stop := min(f.time+every*day, end)
		volts2 := f.voltage * f.voltage

		// The longest step at which no cell takes more than it is cooler by.
		sum, longest := f.p, math.Inf(1)
		clear(sum)
		top := f.size(2, 0)
		for d, stride := range strides {
			for c := range n - stride {
				sum[c] += f.conduct[d][c]
				sum[c+stride] += f.conduct[d][c]
			}
		}
		for c := range n {
			if c < strides[2] {
				sum[c] += tankFilm * f.volume[c] / top
			}
			l := &tankLayers[f.layer[c]]
			dry := l.capacity - l.porosity*l.saturation*tankWater*tankHeat
			longest = min(longest, 0.9*(dry+f.w[c]*tankHeat)*f.volume[c]/sum[c])
		}
		steps := math.Ceil((stop - f.time) / longest)
		dt := (stop - f.time) / steps
		for range int(steps) {
			gain := f.ap
			for c := range n {
				gain[c] = f.q[c] * volts2
			}
			for d, stride := range strides {
				g, far, on := f.conduct[d][:n-stride], gain[stride:], f.t[stride:]
				for c, g := range g {
					flux := g * (f.t[c] - on[c])
					gain[c] -= flux
					far[c] += flux
				}
			}
			for c := range strides[2] {
				l := &tankLayers[f.layer[c]]
				flux := f.volume[c] / top / (1/tankFilm + top/2/l.lambda) * (f.t[c] - tankAmbient)
				gain[c] -= flux
				f.surface += 4 * flux * dt
			}
			for c := range n {
				f.warm(c, gain[c]*dt/f.volume[c])
			}
			f.in += f.power * volts2 * dt
		}
		f.time = stop
	}
	f.potential(1e-6)
}

// warm gives a cell heat [J/m³]. What a boiling cell below the water table cannot hold takes
// water down to the floor, and then what flows in at ambient; above the table, down to dry.
func (f *ringInDepth) warm(c int, heat float64) {
	l := &tankLayers[f.layer[c]]
	found, pores := l.porosity*l.saturation*tankWater, l.porosity*tankWater
	capacity := l.capacity + (f.w[c]-found)*tankHeat
	f.t[c] += heat / capacity
	over := f.t[c] - f.boils[c]
	if over <= 0 || f.w[c] <= tankDry*pores*1.001 {
		return
	}
	excess := over * capacity
	f.t[c] = f.boils[c]
	liquid := tankHeat * (f.boils[c] - tankAmbient)
	vapour := 2676e3 + 1.55e3*(f.boils[c]-100) - tankHeat*tankAmbient
	_, _, k := f.place(c)
	floods := f.middle(2, k) > tankTable
	floor := tankDry * pores
	if floods {
		floor = (1 - tankRemovable) * found
	}
	boiled := max(0, min(excess/(vapour-liquid), f.w[c]-floor))
	f.w[c] -= boiled
	excess -= boiled * (vapour - liquid)
	out := boiled * vapour
	if floods {
		out += excess
	} else if excess > 0 {
		f.t[c] += excess / (capacity - boiled*tankHeat)
	}
	f.steam += 4 * out * f.volume[c]
}

// ringNow is the zone between the ends and within the ring, at a moment.
type ringNow struct {
	mean           float64 // [°C]
	share, columns float64 // [-] at 100 °C by volume, and by the mean of each column
	slab           float64 // [-] of the power, between the planes of the ends
	middle         float64 // [°C] on average over the slab, on the axis
}

func (f *ringInDepth) now() (s ringNow) {
	total, area, power := 0.0, 0.0, 0.0
	for column, part := range f.ring {
		sum, length := 0.0, 0.0
		for k := range f.nz {
			c := k*f.nx*f.ny + column
			power += f.q[c]
			if !f.slab(c) {
				continue
			}
			s.slab += f.q[c]
			sum, length = sum+f.t[c]*f.size(2, k), length+f.size(2, k)
			total += part * f.volume[c]
			s.mean += part * f.volume[c] * f.t[c]
			if f.t[c] >= 100 {
				s.share += part * f.volume[c]
			}
		}
		i, j := column%f.nx, column/f.nx
		a := part * f.size(0, i) * f.size(1, j)
		area += a
		if sum/length >= 100 {
			s.columns += a
		}
		if column == 0 {
			s.middle = sum / length
		}
	}
	s.mean /= total
	s.share /= total
	s.columns /= area
	s.slab /= power
	return s
}

// density is the power density [W/m³ at 1 V] over a box in plan, a mean over the slab.
func (f *ringInDepth) density(x0, x1, y0, y1 float64) float64 {
	sum, volume := 0.0, 0.0
	for c, q := range f.q {
		i, j, _ := f.place(c)
		overlap := func(d, i int, lo, hi float64) float64 {
			return max(0, min(hi, f.edges[d][i+1])-max(lo, f.edges[d][i])) / f.size(d, i)
		}
		if part := overlap(0, i, x0, x1) * overlap(1, j, y0, y1); part > 0 && f.slab(c) {
			sum, volume = sum+part*q, volume+part*f.volume[c]
		}
	}
	return sum / volume
}

// tankRun runs a view of the case, and hands on its report at each output.
func tankRun(t *testing.T, name string, sets []string, at func(*solver.Problem, *solver.Report)) *solver.Report {
	t.Helper()
	c, err := cases.Load(filepath.Join("..", "cases", name+".toml"), sets)
	if err != nil {
		t.Fatal(err)
	}
	c, _ = c.Expand()
	for i, l := range c.Layers {
		want := tankLayers[i]
		for _, v := range [][2]float64{{l.Resistivity, want.resistivity}, {l.HeatCapacity, want.capacity}, {l.ThermalConductivity, want.lambda}, {l.Porosity, want.porosity}, {l.Saturation, want.saturation}} {
			if math.Abs(v[0]-v[1]) > 1e-9*v[1] {
				t.Fatalf("%s: layer %q has %g where %g is computed here", name, l.Name, v[0], v[1])
			}
		}
	}
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	last, err := solver.Run(context.Background(), p, recorder(func(r *solver.Report) {
		if r.Output {
			at(p, r)
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	return last
}

// slabOfPlan is the share of the power that heats the plan's slab.
func slabOfPlan(s *solver.State) float64 {
	sum := 0.0
	for _, q := range s.Joule {
		sum += q
	}
	return sum / s.Power
}

const ringSource = "own finite volumes in three dimensions, explicit in time"

// TestTankCircleAtFirst: the plan of six short rods in layers has, cold, the power, the share
// of it that heats the slab, and the power density at the middle, half way out and midway
// between neighbours that the ground has in three dimensions. After two days, when ground at
// the ends of rods is hot, less of the power heats the slab than the plan says.
//
// Source: own finite volumes in three dimensions, above. Cold, their own error is 0.4 % of
// the power: 61.60 kW, where cells of two thirds and rods' ends of their square have 61.68,
// of the same 61.75. The plan's is 0.6 % (Limits in README), and ends within a foot of better
// ground, 0.7 of which it knows (TestPowerPastRodsEnds): 1.6 % of the power, and of what heats the slab.
// Boundary elements with flat ends have 62.5 kW: what is lacking here is past the ends, where
// cells of a foot are coarse. Densities: 3 % as in TestWhereShortRodsHeat, 1 % for the power, 1 % for cells here.
//
// Warm, all the ground beyond the slab counts as one, its heat lies in plan as the slab's:
// what crowds at a rod's ends does not warm its own way. The program's own axisymmetric view
// of one such rod has the share fall from 0.82 to 0.75 in the same two days. Cells of 0.14 m,
// solved every six hours, have 0.714 here, those that are run 0.729, so what is found is 0.046
// to 0.060 off; the bar of 0.08 is that and the cold's own 0.01. What the array conducts is low
// by 6 to 8 %: 12 %.
func TestTankCircleAtFirst(t *testing.T) {
	if !long {
		t.Skip("ninety thousand cells for two days: make validate runs it")
	}
	cold := newRingInDepth(45e3, 16, 28)
	cold.potential(1e-8)
	warm := newRingInDepth(45e3, 8, 14)
	warm.run(2, 1)
	// The mirrors, the matrix and the heat on faces are right if heat is volts times amperes,
	// 6 |I| at 1 V. Rod B's I stands for all; cells along x are 1 % longer than along y, which
	// parts it from A's by (h/R)² of that, 1e-5 of what six share.
	hold(t, check{"three dimensions: heat over volts times amperes", "conservation", cold.power / (6 * cmplx.Abs(cold.current)), 1, "-", 1e-4})
	tankRun(t, "tank-circle", []string{"time.duration=2 d", "domain.duration=240 d"}, func(p *solver.Problem, r *solver.Report) {
		s, g := r.State, p.Ground.Grid
		if s.Time == 0 {
			hold(t, check{"tank circle, cold: power at 200 V", ringSource, s.Power * 40, cold.power * 40, "kW", 0.016 * cold.power * 40})
			in := cold.now().slab * cold.power * 40
			hold(t, check{"tank circle, cold: power in the slab at 200 V", ringSource, slabOfPlan(s) * s.Power * 40, in, "kW", 0.016 * in})
			for _, at := range []struct {
				name string
				x, y float64
			}{{"at the middle", 0.1, 0.1}, {"half way to a rod", tankRadius/2 + 0.1, 0.1}, {"midway between rods", 0.75*tankRadius + 0.45, math.Sqrt(3) / 4 * 0.999 * tankRadius}} {
				i, k := 0, 0
				for g.X[i+1] < at.x {
					i++
				}
				for g.Z[k+1] < at.y {
					k++
				}
				c := k*g.NX + i
				want := cold.density(g.X[i], g.X[i+1], g.Z[k], g.Z[k+1])
				hold(t, check{"tank circle, cold: power density " + at.name, ringSource, s.Joule[c] / g.Volume[c] * 4e4, want * 4e4, "W/m³", 0.05 * want * 4e4})
			}
			return
		}
		now := warm.now()
		misses(t, "tank circle, day 2: share of the power in the slab", "within 0.01 of three dimensions", fmt.Sprintf("%+.3f", slabOfPlan(s)-now.slab))
		hold(t, check{"tank circle, day 2: share of the power in the slab", ringSource, slabOfPlan(s), now.slab, "-", 0.08})
		hold(t, check{"tank circle, day 2: what the array conducts", ringSource, s.Power, warm.power, "S", 0.12 * warm.power})
		hold(t, check{"tank circle, day 2: rise of the ring's mean", ringSource, r.Targets[0].Mean - 273.15 - tankAmbient, now.mean - tankAmbient, "K", 0.08 * (now.mean - tankAmbient)})
	})
}
