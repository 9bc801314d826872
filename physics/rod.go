package physics

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"

	"soiljoule/mesh"
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
// to the cells by w. S is found rod by rod on the mesh as it is there (kernel.moments).
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
// same all round. Z is positive. But I goes to all sides alike, where ground of 1 : 2 takes
// it so: measured 1 % of the current too little with such ground on either side, 4 to 8 %
// at 1 : 5.
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
// Part Y ((V, 0, 0) − Partᵀ Φ).
type RodCouple struct {
	Body int
	Cell []int       // rising
	Part [][]float64 // by moment and cell: w [-], then of a step in x and in y [1/m]
	Y    []float64   // moments by moments, Z⁻¹: of the first [S]; of others [S·m], [S·m²]

	quarter [4][]float64 // [-] w_cq of Rod by cell
	whole   [4]float64   // [-] W_q
	missing []float64    // [1/m, or that over m or m²] (T − S)/b
	contact [3]float64   // [1/m², 1/m⁴] what a contact resistance adds to Z's diagonal
}

// moments of a rod: its current and its dipole.
const moments = 3

// kernelVariance is that of the raised cosine over four cells, in cells²: of the density
// ¼(1 + cos(πu/2)), |u| ≤ 2.
const kernelVariance = 4.0/3 - 8/(math.Pi*math.Pi)

// coupleRods finds the kernels of the bodies that are rods. It fails where two rods
// touch, where one reaches beyond the grid, or where a body that fills cells, or an insert,
// is within a rod's kernel.
func (e *Electric) coupleRods(inserts []Insert) error {
	g := e.Grid
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
		k := newKernel(axis{g.X, g.XC}, axis{g.Z, g.ZC}, r)
		if k == nil {
			return fmt.Errorf("electrode %q stands among cells far smaller than itself, or far longer than wide: use others", body.Name)
		}
		thickness := g.Outline[0]
		around, across := 2*math.Pi*r.Radius*thickness, math.Pi*math.Pow(r.Radius, 3)*thickness
		c := RodCouple{Body: b, Y: make([]float64, moments*moments), contact: [3]float64{1 / around, 1 / across, 1 / across}}
		c.missing = k.missing()
		for i := range c.missing {
			c.missing[i] /= thickness
		}
		if !positive3(c.missing) {
			return fmt.Errorf("electrode %q: the cells about it differ too much in size", body.Name)
		}
		c.Cell, c.Part, c.quarter = k.fold(g)
		for q, part := range c.quarter {
			for _, w := range part {
				c.whole[q] += w
			}
		}
		for _, cell := range c.Cell {
			if e.closed[cell] {
				return fmt.Errorf("electrode %q and %q are closer than the cells show: the current of %[1]q is spread over %.3[3]g m to either side; use smaller cells",
					body.Name, e.nameAt(cell, inserts), k.reach)
			}
		}
		e.Rods = append(e.Rods, c)
	}
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

// assembleRods sets the rods' admittances from the ground about them.
func (e *Electric) assembleRods() {
	for i := range e.Rods {
		r := &e.Rods[i]
		sigma := 0.0
		for q, part := range r.quarter {
			rho := 0.0
			for j, c := range r.Cell {
				rho += part[j] / e.sigma[c]
			}
			if r.whole[q] > 0 {
				sigma += r.whole[q] * r.whole[q] / rho
			}
		}
		for j, m := range r.missing {
			r.Y[j] = m / sigma
		}
		for j, c := range r.contact {
			r.Y[j*moments+j] += c * e.Bodies[r.Body].Contact
		}
		invert3(r.Y)
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
		for j, c := range r.Cell {
			q[c] += r.Part[0][j] * heat
		}
	}
}

// beyond makes currents of a slab those of its finite rods.
func (e *Electric) beyond(current []complex128) {
	if e.Fringe == 0 {
		return
	}
	for b := range current {
		current[b] *= complex(e.Fringe, 0)
	}
}

// BeyondSlab returns the heat [W] that finite rods put into the ground above and below
// their slab while they put heat [W] into the slab: (Fringe − 1) times as much. With it
//
//	Re Σ V·I* = Σ q + BeyondSlab(Σ q)
func (e *Electric) BeyondSlab(heat float64) float64 {
	if e.Fringe == 0 {
		return 0
	}
	return (e.Fringe - 1) * heat
}

// axis is the cells of a grid along one direction, continued beyond both ends by its
// own mirror images.
type axis struct {
	edges, nodes []float64 // [m]
}

// fold returns the cell that cell i is or mirrors, how many grids away it lies, and
// whether it is a mirror's.
func (a axis) fold(i int) (cell, grids int, mirrored bool) {
	n := len(a.nodes)
	cell = i % n
	if cell < 0 {
		cell += n
	}
	grids = (i - cell) / n
	if mirrored = grids%2 != 0; mirrored {
		cell = n - 1 - cell
	}
	return cell, grids, mirrored
}

// node returns where the node of cell i stands [m].
func (a axis) node(i int) float64 {
	cell, grids, mirrored := a.fold(i)
	first, last := a.edges[0], a.edges[len(a.nodes)]
	if mirrored {
		return first + last - a.nodes[cell] + float64(grids)*(last-first)
	}
	return a.nodes[cell] + float64(grids)*(last-first)
}

// size returns the width of cell i [m].
func (a axis) size(i int) float64 {
	cell, _, _ := a.fold(i)
	return a.edges[cell+1] - a.edges[cell]
}

// before returns the last cell whose node is not beyond x [m], looking from cell i on.
func (a axis) before(x float64, i int) int {
	for a.node(i+1) <= x {
		i++
	}
	for a.node(i) > x {
		i--
	}
	return i
}

// within returns how many cells it takes to go the distance [m] before cell i and after
// cell j, at most mostCells.
func (a axis) within(distance float64, i, j int) int {
	n := 1
	for n < mostCells && (a.node(i)-a.node(i-n) < distance || a.node(j+n)-a.node(j) < distance) {
		n++
	}
	return n
}

// kernel is how a rod's current is dealt to cells: a raised cosine over 4 × 4 cells,
// averaged over points on an ellipse about the axis. Cells are counted from node to
// node, so that the weights sum to 1 on any mesh. The ellipse is the circle of
// radius h/2, or a where that is more: a rod's own field is then that of the kernel
// from its wall on, and as a kernel is wider than the circle it is laid about, its mean
// potential is below that at the wall. So R > a, and the series resistance is positive
// for cells of any size. Where cells are oblong, h is their longer side, and the
// ellipse is longer across them by as much as makes the kernel as wide one way as the
// other: no quadrupole is left. Grading and the cosine's own unevenness leave a little
// of a dipole and a quadrupole, which factors linear and quadratic in place take away.
//
// Source: the cosine, C. S. Peskin, Acta Numerica 11, 479 (2002) (from memory); the
// points about a circle and the moments are this program's own.
type kernel struct {
	x, z           axis
	rod            *Rod
	i0, k0, ni, nk int       // the box of cells that it covers, beyond the grid too
	w              []float64 // [-] by row of the box
	h              float64   // [m] longer side of the rod's cell
	reach          float64   // [m] from the axis of the rod to the furthest side of the box
}

// mostAcross is how many of a rod's cells an ellipse may be across: a rod that far from
// the size of its cells, or cells that long and thin, would take minutes.
const mostAcross = 600

// newKernel returns the kernel of a rod on the grid of the two axes, nil where it would be
// more than mostAcross cells wide.
func newKernel(x, z axis, r *Rod) *kernel {
	k := &kernel{x: x, z: z, rod: r}
	i, j := x.before(r.X, mesh.EdgeAt(x.edges, r.X)), z.before(r.Y, mesh.EdgeAt(z.edges, r.Y))
	hx, hz := x.node(i+1)-x.node(i), z.node(j+1)-z.node(j)
	h := math.Max(hx, hz)
	radius := math.Max(r.Radius, h/2)
	rx, rz := math.Sqrt(radius*radius+2*kernelVariance*(h*h-hx*hx)), math.Sqrt(radius*radius+2*kernelVariance*(h*h-hz*hz))
	if math.Max(rx/hx, rz/hz) > mostAcross/2 {
		return nil
	}
	i1, j1 := x.before(r.X+rx, i)+2, z.before(r.Y+rz, j)+2
	k.i0, k.k0 = x.before(r.X-rx, i)-1, z.before(r.Y-rz, j)-1
	k.ni, k.nk = i1-k.i0+1, j1-k.k0+1
	k.w = make([]float64, k.ni*k.nk)
	k.h = h
	k.reach = math.Max(math.Max(r.X-x.node(k.i0), x.node(i1)-r.X), math.Max(r.Y-z.node(k.k0), z.node(j1)-r.Y))

	points := 8 * max(2, int(math.Ceil(2*math.Pi*math.Max(rx/hx, rz/hz)/2))) // a quarter of a cell apart
	for p := range points {
		sin, cos := math.Sincos(2 * math.Pi * (float64(p) + 0.5) / float64(points))
		i, wx := cosine(x, r.X+rx*cos, i)
		j, wz := cosine(z, r.Y+rz*sin, j)
		for dj, v := range wz {
			for di, u := range wx {
				k.w[(j-1+dj-k.k0)*k.ni+i-1+di-k.i0] += u * v / float64(points)
			}
		}
	}
	k.center()
	return k
}

// cosine returns the cell before x [m], looking from cell i on, and the raised cosine's
// weights of the cell before that, of it and of the two after.
func cosine(a axis, x float64, i int) (int, [4]float64) {
	i = a.before(x, i)
	u := (x - a.node(i)) / (a.node(i+1) - a.node(i))
	var w [4]float64
	for j := range w {
		w[j] = (1 + math.Cos(math.Pi/2*(float64(j-1)-u))) / 4
	}
	return i, w
}

// center changes the weights, each by a factor 1 + linear + quadratic in place, so that
// their middle is the rod's axis and their second moments are those of a round thing. Factors
// are kept above a tenth, which few meshes need.
func (k *kernel) center() {
	const n = 5
	basis := func(c int) [n]float64 {
		dx, dz := (k.x.node(k.i0+c%k.ni)-k.rod.X)/k.h, (k.z.node(k.k0+c/k.ni)-k.rod.Y)/k.h
		return [n]float64{1, dx, dz, dx*dx - dz*dz, dx * dz}
	}
	m := mat.NewSymDense(n, nil)
	for c, w := range k.w {
		p := basis(c)
		for i := range n {
			for j := i; j < n; j++ {
				m.SetSym(i, j, m.At(i, j)+w*p[i]*p[j])
			}
		}
	}
	var chol mat.Cholesky
	var by mat.VecDense
	if !chol.Factorize(m) || chol.SolveVecTo(&by, mat.NewVecDense(n, []float64{1, 0, 0, 0, 0})) != nil {
		return // they sum to 1 as they are
	}
	change := make([]float64, len(k.w))
	least := 0.0
	for c, w := range k.w {
		p := basis(c)
		change[c] = mat.Dot(&by, mat.NewVecDense(n, p[:])) - 1
		if w > 0 {
			least = math.Min(least, change[c])
		}
	}
	part := 1.0
	if least < -0.9 {
		part = -0.9 / least
	}
	for c := range k.w {
		k.w[c] *= 1 + part*change[c]
	}
}

// parts returns the weights of the kernel's moments by cell of its box: w and those of
// the gradient.
func (k *kernel) parts() [moments][]float64 {
	p := [moments][]float64{k.w, make([]float64, len(k.w)), make([]float64, len(k.w))}
	xx, zz := 0.0, 0.0
	for c, w := range k.w {
		x, z := k.x.node(k.i0+c%k.ni)-k.rod.X, k.z.node(k.k0+c/k.ni)-k.rod.Y
		p[1][c], p[2][c] = w*x, w*z
		xx += w * x * x
		zz += w * z * z
	}
	for c := range k.w {
		p[1][c] /= xx
		p[2][c] /= zz
	}
	return p
}

// quarters returns how much of cell c of the box is right of the rod's axis and below it,
// left and below, right and above, left and above [-].
func (k *kernel) quarters(c int) [4]float64 {
	i, j := k.i0+c%k.ni, k.k0+c/k.ni
	u := math.Min(1, math.Max(0, 0.5+(k.x.node(i)-k.rod.X)/k.x.size(i)))
	v := math.Min(1, math.Max(0, 0.5+(k.z.node(j)-k.rod.Y)/k.z.size(j)))
	return [4]float64{u * v, (1 - u) * v, u * (1 - v), (1 - u) * (1 - v)}
}

// fold returns the grid's cells that the kernel covers, those beyond its edges as what
// they mirror, with the weights of its moments and w by quarter: an edge is insulated, and
// the field of a rod beside it is that of the rod and its image.
func (k *kernel) fold(g *mesh.Grid) (cells []int, part [][]float64, quarter [4][]float64) {
	all := map[int][moments + 4]float64{}
	least, most := g.Cells(), -1
	parts := k.parts()
	for c, w := range k.w {
		if w <= 0 {
			continue
		}
		i, _, _ := k.x.fold(k.i0 + c%k.ni)
		j, _, _ := k.z.fold(k.k0 + c/k.ni)
		cell := g.Index(i, j)
		sum := all[cell]
		for m := range parts {
			sum[m] += parts[m][c]
		}
		for q, share := range k.quarters(c) {
			sum[moments+q] += w * share
		}
		all[cell] = sum
		least, most = min(least, cell), max(most, cell)
	}
	part = make([][]float64, moments)
	for c := least; c <= most; c++ {
		if sum, ok := all[c]; ok {
			cells = append(cells, c)
			for m := range part {
				part[m] = append(part[m], sum[m])
			}
			for q := range quarter {
				quarter[q] = append(quarter[q], sum[moments+q])
			}
		}
	}
	return cells, part, quarter
}

// patchMargin is how far beyond a kernel the patch reaches on which its moments are
// found, in the longer sides of the rod's cell, and mostCells in cells at most. Measured
// against five times as much: ln R to 2e-4, and 1e-3 where the patch ends for mostCells.
const (
	patchMargin = 8
	mostCells   = 64
)

// missing returns T − S of Rod, for even ground of 1 S/m, 1 m thick [1, 1/m, 1/m²]:
// moments by moments.
func (k *kernel) missing() []float64 {
	m := k.moments(patchMargin)
	a := k.rod.Radius
	for i := range m {
		m[i] = -m[i]
	}
	for i, t := range [moments]float64{-math.Log(a), 1 / (a * a), 1 / (a * a)} {
		m[i*moments+i] += t / (2 * math.Pi)
	}
	return m
}

// moments returns S of Rod for even ground of 1 S/m, 1 m thick: the moments that a rod's
// own field has by the kernel. The field is that of unit moments on the patch of the mesh
// that reaches margin·h beyond the kernel,
//
//	−Σ_n g_cn (φ_n − φ_c) = G_c,   φ = (−ln r, x/r², y/r²)/(2π) at the nodes just outside
//
// g being the conductances. A field that is the rod's own from the kernel on then has the
// right moments there, whatever the mesh adds within. Beyond an edge of the grid the mesh
// goes on as its mirror image, so that S is that of the rod without its image.
func (k *kernel) moments(margin float64) []float64 {
	p := newPatch(k, margin)
	parts := k.parts()
	s := make([]float64, moments*moments)
	for m := range moments {
		p.load(parts[m], func(x, z float64) float64 {
			switch r2 := x*x + z*z; m {
			case 0:
				return -math.Log(r2) / (4 * math.Pi)
			case 1:
				return x / (2 * math.Pi * r2)
			default:
				return z / (2 * math.Pi * r2)
			}
		})
		p.solve()
		for n := range moments {
			for c, g := range parts[n] {
				s[n*moments+m] += g * p.phi[p.cell(c)]
			}
		}
	}
	for n := range moments { // to rounding it is
		for m := range n {
			mean := (s[n*moments+m] + s[m*moments+n]) / 2
			s[n*moments+m], s[m*moments+n] = mean, mean
		}
	}
	return s
}

// patch is the equations of kernel.moments. Nodes just outside have given potentials:
// they are part of the right side.
type patch struct {
	kernel        *kernel
	mi, mk        int // cells beyond the kernel
	ni, nk        int
	x, z, dx, dz  []float64 // [m] nodes, from the rod, and widths of cells; from one outside to one outside
	right, down   []float64 // [-] conductance from each node to the next of its row, of its column; 0 to those outside
	diag, pivot   []float64
	phi, residual []float64
	y, s, q       []float64 // of solve
}

func newPatch(k *kernel, margin float64) *patch {
	p := &patch{kernel: k, mi: k.x.within(margin*k.h, k.i0, k.i0+k.ni-1), mk: k.z.within(margin*k.h, k.k0, k.k0+k.nk-1)}
	p.ni, p.nk = k.ni+2*p.mi, k.nk+2*p.mk
	n := p.ni * p.nk
	for _, v := range []*[]float64{&p.right, &p.down, &p.diag, &p.pivot, &p.phi, &p.residual, &p.y, &p.s, &p.q} {
		*v = make([]float64, n)
	}
	line := func(a axis, first, n int, from float64) (at, size []float64) {
		for i := range n + 2 {
			at, size = append(at, a.node(first-1+i)-from), append(size, a.size(first-1+i))
		}
		return at, size
	}
	p.x, p.dx = line(k.x, k.i0-p.mi, p.ni, k.rod.X)
	p.z, p.dz = line(k.z, k.k0-p.mk, p.nk, k.rod.Y)
	for c := range p.diag {
		left, right, up, down := p.conductances(c)
		p.diag[c] = left + right + up + down
		if c%p.ni < p.ni-1 {
			p.right[c] = right
		}
		if c/p.ni < p.nk-1 {
			p.down[c] = down
		}
	}
	p.factor()
	return p
}

// conductances returns those of cell c to its neighbours [-].
func (p *patch) conductances(c int) (left, right, up, down float64) {
	i, j := c%p.ni+1, c/p.ni+1
	return p.dz[j] / (p.x[i] - p.x[i-1]), p.dz[j] / (p.x[i+1] - p.x[i]),
		p.dx[i] / (p.z[j] - p.z[j-1]), p.dx[i] / (p.z[j+1] - p.z[j])
}

// cell returns the patch's cell that cell c of the kernel's box is.
func (p *patch) cell(c int) int {
	return (c/p.kernel.ni+p.mk)*p.ni + c%p.kernel.ni + p.mi
}

// load sets phi to 0 and the residual to the right side, for the kernel's weights and the
// potential outside.
func (p *patch) load(weights []float64, outside func(x, z float64) float64) {
	clear(p.phi)
	clear(p.residual)
	for c, w := range weights {
		p.residual[p.cell(c)] = w
	}
	for j := range p.nk {
		for i := range p.ni {
			if i > 0 && i < p.ni-1 && j > 0 && j < p.nk-1 {
				continue
			}
			c := j*p.ni + i
			left, right, up, down := p.conductances(c)
			for _, n := range [4]struct {
				beyond bool
				g      float64
				i, j   int
			}{{i == 0, left, i, j + 1}, {i == p.ni-1, right, i + 2, j + 1}, {j == 0, up, i + 1, j}, {j == p.nk-1, down, i + 1, j + 2}} {
				if n.beyond {
					p.residual[c] += n.g * outside(p.x[n.i], p.z[n.j])
				}
			}
		}
	}
}

// applyTo sets q to the matrix times v.
func (p *patch) applyTo(q, v []float64) {
	n, ni := len(v), p.ni
	for c, d := range p.diag {
		t := d * v[c]
		if c > 0 {
			t -= p.right[c-1] * v[c-1] // 0 from the end of a row to the start of the next
		}
		if c < n-1 {
			t -= p.right[c] * v[c+1]
		}
		if c >= ni {
			t -= p.down[c-ni] * v[c-ni]
		}
		if c < n-ni {
			t -= p.down[c] * v[c+ni]
		}
		q[c] = t
	}
}

// factor sets the pivots of a modified incomplete factorisation.
// Source: Gustafsson, BIT 18, 142 (1978) (from memory).
func (p *patch) factor() {
	const modified = 0.97 // of what fills in goes to the diagonal: 1 can break down by rounding
	for c, d := range p.diag {
		if c > 0 {
			g := p.right[c-1]
			d -= g * (g + modified*p.down[c-1]) * p.pivot[c-1]
		}
		if c >= p.ni {
			g := p.down[c-p.ni]
			d -= g * (g + modified*p.right[c-p.ni]) * p.pivot[c-p.ni]
		}
		p.pivot[c] = 1 / d
	}
}

// precondition sets y to what the factors make of the residual.
func (p *patch) precondition() {
	y, n, ni := p.y, len(p.y), p.ni
	for c, v := range p.residual {
		if c > 0 {
			v += p.right[c-1] * y[c-1]
		}
		if c >= ni {
			v += p.down[c-ni] * y[c-ni]
		}
		y[c] = v * p.pivot[c]
	}
	for c := n - 1; c >= 0; c-- {
		v := 0.0
		if c < n-1 {
			v = p.right[c] * y[c+1]
		}
		if c < n-ni {
			v += p.down[c] * y[c+ni]
		}
		y[c] += v * p.pivot[c]
	}
}

// solve finds phi by conjugate gradients, to a residual of 1e-9 of the right side.
func (p *patch) solve() {
	least := 1e-18 * dot(p.residual, p.residual)
	clear(p.s)
	old := math.Inf(1)
	for range 10 * len(p.phi) {
		p.precondition()
		ry := dot(p.residual, p.y)
		beta := ry / old
		old = ry
		for c, y := range p.y {
			p.s[c] = y + beta*p.s[c]
		}
		p.applyTo(p.q, p.s)
		alpha := ry / dot(p.s, p.q)
		for c, s := range p.s {
			p.phi[c] += alpha * s
			p.residual[c] -= alpha * p.q[c]
		}
		if dot(p.residual, p.residual) <= least {
			return
		}
	}
}

func dot(a, b []float64) float64 {
	t := 0.0
	for i, v := range a {
		t += v * b[i]
	}
	return t
}
