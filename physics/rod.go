package physics

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
)

// Rod is an upright rod in a level slab of thickness b, of any radius beside the
// cells. Its current I, and the dipole P that it bears in others' field, are dealt to the
// cells about it by smooth weights, G of three columns: w, and those of a step in x and
// in y. The same weights take the moments of the potential there,
//
//	Σ_c w_c = 1,   g_c = w_c (x_c − X)/Σ w (x − X)²,   GᵀΦ = mean and gradient
//
// A rod alone, of the moments p = (I, P), has the field
// (I·ln(1/r) + P·r/r²)·ρ/(2πb). At the wall its moments are T p·ρ/b, but those that the
// cells show of it, S p·ρ/b, are less, as the weights are wider than the rod. What is not
// its own field has the same moments in both, being harmonic. So with V the potential of
// the wall, which has no gradient,
//
//	(V, 0, 0) − GᵀΦ = Z p,   Z = (T − S)·ρ̄/b + contact,   T = diag(ln(1/a), 1/a², 1/a²)/(2π)
//
// and the rod is a symmetric block G Z⁻¹ Gᵀ of the cells' matrix, whose own heat p†Zp goes
// to the cells by w. Z is positive. S is found rod by rod on the mesh as it is there (kernel.moments).
// The first of Z is ln(R/a)·ρ̄/(2πb) + contact/(2πab), R the radius at which endless
// ground has the kernel's own mean potential.
//
// ρ̄ is that of the ground about the rod, of its four quarters in parallel and within
// each in series,
//
//	1/ρ̄ = Σ_quarters W_q²/Σ_c (w_cq/σ_c),   W_q = Σ_c w_cq,   w_c = Σ_q w_cq
//
// since what is missing is the drop of a current that leaves in all directions, each of
// them through the ground of that side, where drops add: Σ w_c/σ_c where the ground is the
// same all round.
//
// That much holds in even ground. In other ground current goes where it finds least
// resistance, so weights as well as Z are found from the ground near the rod, whenever that
// is assembled (near): w follows σ, g what is linear in even ground. Beside a boundary of
// 1 : 2 current is then within 0.3 %, 1 : 5 within 0.8 %, 1 : 20 within 1.3 %, where weights
// of even ground leave 9, 20 and 35 %. All it knows of the ground is σ by cell: a ring of
// other ground about the rod, thinner than a cell, is the mean of its cell.
//
// Without P, two rods at a distance D would have V = ρI/(2πb)·ln(D/a), where
// acosh(D/2a) = ln(D/a) − (a/D)² − 3/2 (a/D)⁴ − … is true: one's field ρI/(2πbD)
// gives the other P = 2πa²b·field/ρ, whose potential at the first is −ρI a²/(2πbD²). It
// is 0.4 % of the current at D = 10 a, and 1.3 % in a ring of six. What is left out
// are moments of higher order: (a/D)⁴.
type Rod struct {
	X, Y   float64 // [m] its axis, in the plane of the grid
	Radius float64 // [m] a
}

// RodCouple joins a rod to the cells about it: they take the current
// Part Y ((V, 0, 0) − Partᵀ Φ). Both are of the ground as it was last assembled, before
// that Part is of even ground.
type RodCouple struct {
	Body int
	Cell []int       // rising
	Part [][]float64 // by moment and cell: w [-], none negative, then of a step in x and in y [1/m]
	Y    []float64   // moments by moments, Z⁻¹: of the first [S]; of others [S·m], [S·m²]

	about   dealing    // of even ground, missing that of the slab [1/m, or that over m or m²]
	near    *near      // nil: it is not looked at
	contact [3]float64 // [1/m², 1/m⁴] what a contact resistance adds to Z's diagonal
	sigma   float64    // [S/m] 1/ρ̄
	heat    float64    // [W] its own, as last found
}

// dealing is a kernel as its mesh has it.
type dealing struct {
	cell    []int        // rising
	even    [][]float64  // [-, 1/m, 1/m] its weights, by moment and place in cell
	quarter [4][]float64 // [-] w_cq of Rod, by place
	whole   [4]float64   // [-] W_q
	missing []float64    // T − S, for 1 S/m and 1 m [1, 1/m, 1/m²]
}

func newDealing(k *kernel) dealing {
	d := dealing{missing: k.missing()}
	d.cell, d.even, d.quarter = k.fold()
	for q, part := range d.quarter {
		for _, w := range part {
			d.whole[q] += w
		}
	}
	return d
}

// followTo sets part to the weights where a current is dealt as w σ, and its dipole as in even
// ground, and returns ρ̄ of Rod [Ω·m], for σ by cell [S/m].
func (d *dealing) followTo(part [][]float64, sigma []float64) (rho float64) {
	mean := 0.0
	for q, part := range d.quarter {
		sum := 0.0
		for j, c := range d.cell {
			sum += part[j] / sigma[c]
		}
		if d.whole[q] > 0 {
			mean += d.whole[q] * d.whole[q] / sum
		}
	}
	sum := 0.0
	for j, c := range d.cell {
		part[0][j] = d.even[0][j] * sigma[c]
		sum += part[0][j]
	}
	for j := range d.cell {
		part[0][j] /= sum
		part[1][j], part[2][j] = d.even[1][j], d.even[2][j]
	}
	return 1 / mean
}

// moments of a rod: its current and its dipole.
const moments = 3

// coupleRods finds the kernels of the bodies that are rods. It fails where two rods
// touch, where one reaches beyond the grid, or where a body that fills cells, or an insert,
// is within a rod's kernel.
func (e *Electric) coupleRods(inserts []Insert) error {
	g := e.Grid
	var all []*near
	for b := range e.Bodies {
		body := &e.Bodies[b]
		r := body.Rod
		if r == nil {
			continue
		}
		if r.X-r.Radius < g.X[0] || r.X+r.Radius > g.X[g.NX] || r.Y-r.Radius < g.Z[0] || r.Y+r.Radius > g.Z[g.NZ] {
			return fmt.Errorf("electrode %q reaches beyond the ground", body.Name)
		}
		for o := range b {
			if p := e.Bodies[o].Rod; p != nil && math.Hypot(p.X-r.X, p.Y-r.Y) <= p.Radius+r.Radius {
				return fmt.Errorf("electrodes %q and %q touch: %.3g m from axis to axis, radii %.3g and %.3g m",
					e.Bodies[o].Name, body.Name, math.Hypot(p.X-r.X, p.Y-r.Y), p.Radius, r.Radius)
			}
		}
		k := newKernel(axis{g.X, g.XC}, axis{g.Z, g.ZC}, r, smooth)
		if k == nil {
			return fmt.Errorf("electrode %q stands among cells far smaller than itself, or far longer than wide: use others", body.Name)
		}
		thickness := g.Outline[0]
		around, across := 2*math.Pi*r.Radius*thickness, math.Pi*math.Pow(r.Radius, 3)*thickness
		c := RodCouple{Body: b, Y: make([]float64, moments*moments), about: newDealing(k), contact: [3]float64{1 / around, 1 / across, 1 / across}}
		for i := range c.about.missing {
			c.about.missing[i] /= thickness
		}
		if !positive3(c.about.missing) {
			return fmt.Errorf("electrode %q: the cells about it differ too much in size", body.Name)
		}
		c.Cell = c.about.cell
		for _, even := range c.about.even {
			c.Part = append(c.Part, slices.Clone(even))
		}
		for _, cell := range c.Cell {
			if e.closed[cell] {
				return fmt.Errorf("electrode %q and %q are closer than the cells show: the current of %[1]q is spread over %.3[3]g m to either side; use smaller cells",
					body.Name, e.nameAt(cell, inserts), k.reach)
			}
		}
		if c.near = newNear(k, c.Cell); c.near != nil {
			all = append(all, c.near)
		}
		e.Rods = append(e.Rods, c)
	}
	e.near = newNearWork(all)
	return nil
}

// nameAt returns the name of the body or the insert that fills a cell.
func (e *Electric) nameAt(cell int, inserts []Insert) string {
	if b := e.BodyOf[cell]; b >= 0 {
		return e.Bodies[b].Name
	}
	for i := range inserts {
		if inserts[i].Zone.Contains(cell%e.Grid.NX, cell/e.Grid.NX) {
			return inserts[i].Name
		}
	}
	return ""
}

// assembleRods sets the rods' weights and admittances from the ground about them. Where
// what is near a rod leaves no positive Z, and where its cells are no larger than the rod,
// the weights follow σ alone.
func (e *Electric) assembleRods() {
	for i := range e.Rods {
		r := &e.Rods[i]
		rho := r.about.followTo(r.Part, e.sigma)
		r.sigma = 1 / rho
		if r.near == nil || !r.near.renew(r, e.sigma, e.closed, rho, e.Grid.Outline[0], e.near) {
			r.about.followTo(r.Part, e.sigma)
			for j, m := range r.about.missing {
				r.Y[j] = rho * m
			}
		}
		for j, c := range r.contact {
			r.Y[j*moments+j] += c * e.Bodies[r.Body].Contact
		}
		invert3(r.Y)
	}
	if e.Ends != nil {
		e.Ends.weigh(e)
	}
}

// invert3 inverts a positive definite matrix of 3 × 3 in place, by pivots in its order.
func invert3(m []float64) {
	for p := range moments {
		d := 1 / m[p*moments+p]
		m[p*moments+p] = 1
		for j := range moments {
			m[p*moments+j] *= d
		}
		for i := range moments {
			if i == p {
				continue
			}
			f := m[i*moments+p]
			m[i*moments+p] = 0
			for j := range moments {
				m[i*moments+j] -= f * m[p*moments+j]
			}
		}
	}
}

// positive3 says whether a symmetric matrix of 3 × 3 is positive definite.
func positive3(m []float64) bool {
	d := m[0]*m[4] - m[1]*m[1]
	return m[0] > 0 && d > 0 && m[0]*(m[4]*m[8]-m[5]*m[5])-m[1]*(m[1]*m[8]-m[5]*m[2])+m[2]*(m[1]*m[5]-m[4]*m[2]) > 0
}

// drops returns what lies between a rod's potential and the ground's, by moment.
func (r *RodCouple) drops(applied complex128, re, im []float64) [moments]complex128 {
	drop := [moments]complex128{applied}
	for m, part := range r.Part {
		for j, c := range r.Cell {
			drop[m] -= complex(part[j]*re[c], part[j]*imagAt(im, c))
		}
	}
	return drop
}

// driven returns what the drops drive into moment m: the current of the first.
func (r *RodCouple) driven(m int, drop [moments]complex128) complex128 {
	var p complex128
	for n, d := range drop {
		p += complex(r.Y[m*moments+n], 0) * d
	}
	return p
}

// rodHeat adds the rods' currents, and their own heat, Re p†Z p.
func (e *Electric) rodHeat(q []float64, current []complex128, re, im []float64) {
	for i := range e.Rods {
		r := &e.Rods[i]
		drop := r.drops(e.applied(r.Body), re, im)
		heat := 0.0
		for m, d := range drop {
			p := r.driven(m, drop)
			if m == 0 {
				current[r.Body] += p
			}
			heat += real(p * cmplx.Conj(d))
		}
		r.heat = heat
		for j, c := range r.Cell {
			q[c] += r.Part[0][j] * heat
		}
	}
}
