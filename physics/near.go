package physics

import (
	"math"
	"slices"
)

// near is the ground about one rod twice: in the grid's own cells as far as the rod's
// kernel reaches and nearMargin cells on, and in those cells halved towards the rod until
// they are no larger than it. In both the ground is as the grid has it, σ being that of the
// cell which is halved, beyond the kernel that of its outermost cells; and both end at the
// same nodes, those just outside, at potentials B there.
//
// The fine cells stand for the truth. With L the matrix of cells, H the faces to the nodes
// outside, and G the weights by which the rod is joined to them, its moments p are
//
//	(V, 0, 0) = (Gᵀ L⁻¹ G + Z) p + Gᵀ L⁻¹ H B
//
// and G and Z in the grid's cells are to make of this what the fine cells make of it, for
// B = 1, x and y, that is for potentials which others than the rod cause. With Ψ the fields
// L⁻¹ H B of these in the grid's cells, w the kernel of even ground and ' for fine,
//
//	G = diag(wσ) Ψ Λ,   GᵀΨ = G'ᵀ L'⁻¹ H' B',   Z = Z' + G'ᵀ L'⁻¹ G' − Gᵀ L⁻¹ G
//
// so G has in each cell the current that goes there because the cell conducts, and as many
// factors as there are conditions. In even ground Ψ is B, and G and Z are what they are
// without this. Z is taken as its difference from that, the patch here being smaller than
// that of kernel.moments. G' and Z' are a kernel's that is laid about the rod's wall, and
// dealt as σ (dealing.followTo).
//
// Source: own derivation; the weights that it finds beside a straight boundary are w and k
// times w's mirror image on the rod's side, (1 − k) w beyond, as images have it. Held against
// those in validation/plan_uneven_test.go.
type near struct {
	coarse, fine nearMesh
	cell         []int                      // of the grid, by cell of the kernel's box
	slot         []int                      // place in RodCouple.Cell, by the same; −1: no weight
	weight       []float64                  // [-] w, by the same
	about        dealing                    // of the fine cells
	part         [][]float64                // [-, 1/m, 1/m] G', by moment and place
	even         [moments * moments]float64 // [1, 1/m, 1/m²] Z as above, 1 S/m, 1 m thick
	lambda       [moments * moments]float64 // Λ, by moment
}

const (
	nearMargin = 2       // cells of the grid beyond the kernel
	nearWide   = 20      // cells of the grid that a kernel may be wide, else the ground about is not looked at
	nearFinest = 1. / 16 // of the longer side of the rod's cell: that small are the fine cells at least
)

// nearMesh is cells about a rod, the axis of which is at 0, 0.
type nearMesh struct {
	x, z nearAxis
}

// nearAxis is an axis whose cells lie in a kernel's box, or beside it.
type nearAxis struct {
	axis
	before, after float64 // [m] the nodes just outside
	of            []int   // by cell: that of the box
}

// nearWork is what the rods of a grid use one after the other.
type nearWork struct {
	box, sigma  []float64          // [S/m] by cell of a kernel's box, of a mesh
	right, down []float64          // [S] by face, first those from outside: rows of nx + 1, columns of nz + 1
	factor      []float64          // Cholesky's of L, rows of nx + 1 that end on the diagonal
	phi, psi    [moments][]float64 // by cell of a mesh
}

// newNear returns the ground about the rod of a kernel; nil where no cell has to be
// halved, or where the kernel is too wide.
func newNear(k *kernel, cells []int) *near {
	if k.ni > nearWide || k.nk > nearWide {
		return nil
	}
	n := &near{coarse: nearMesh{nearAxisOf(k.x, k.i0, k.ni, k.rod.X), nearAxisOf(k.z, k.k0, k.nk, k.rod.Y)}, weight: k.w}
	size := math.Max(math.Min(k.rod.Radius, k.h)/2, nearFinest*k.h)
	n.fine = nearMesh{n.coarse.x.halved(size), n.coarse.z.halved(size)}
	if n.fine.cells() == n.coarse.cells() {
		return nil
	}
	about := newKernel(n.fine.x.axis, n.fine.z.axis, &Rod{Radius: k.rod.Radius}, narrow)
	if about == nil {
		return nil
	}
	n.about = newDealing(about)
	for _, even := range n.about.even {
		n.part = append(n.part, make([]float64, len(even)))
	}
	for c := range k.w {
		i, _, _ := k.x.fold(k.i0 + c%k.ni)
		j, _, _ := k.z.fold(k.k0 + c/k.ni)
		cell := j*len(k.x.nodes) + i
		slot, ok := slices.BinarySearch(cells, cell)
		if !ok || k.w[c] <= 0 {
			slot = -1
		}
		n.cell, n.slot = append(n.cell, cell), append(n.slot, slot)
	}
	work := newNearWork([]*near{n})
	for c := range work.box {
		work.box[c] = 1
	}
	n.even = n.find(work)
	return n
}

// nearAxisOf returns n cells of an axis from cell i on, and those beside them, counted from at.
func nearAxisOf(a axis, i, n int, at float64) nearAxis {
	first, past := i-nearMargin, i+n+nearMargin
	out := nearAxis{before: a.node(first-1) - at, after: a.node(past) - at}
	for c := first; c < past; c++ {
		out.edges = append(out.edges, a.edge(c)-at)
		out.nodes = append(out.nodes, a.node(c)-at)
		out.of = append(out.of, min(max(c-i, 0), n-1))
	}
	out.edges = append(out.edges, a.edge(past)-at)
	return out
}

// halved returns the axis with its cells halved until none is longer than size [m] within
// size of 0, nor than 2/3 of what it lies beyond that.
func (a nearAxis) halved(size float64) nearAxis {
	out := nearAxis{axis: axis{edges: a.edges[:1:1]}, before: a.before, after: a.after}
	var add func(from, to, node float64, of int)
	add = func(from, to, node float64, of int) {
		if away := math.Max(from, -to) - size; to-from > size && away < 1.5*(to-from) {
			middle := (from + to) / 2
			add(from, middle, (from+middle)/2, of)
			add(middle, to, (middle+to)/2, of)
			return
		}
		out.edges, out.nodes, out.of = append(out.edges, to), append(out.nodes, node), append(out.of, of)
	}
	for i, node := range a.nodes {
		add(a.edges[i], a.edges[i+1], node, a.of[i])
	}
	return out
}

func (m *nearMesh) cells() int { return len(m.x.nodes) * len(m.z.nodes) }

// newNearWork returns what the largest of them needs.
func newNearWork(all []*near) *nearWork {
	box, cells, right, down, factor := 0, 0, 0, 0, 0
	for _, n := range all {
		nx, nz := len(n.fine.x.nodes), len(n.fine.z.nodes)
		box, cells = max(box, len(n.cell)), max(cells, nx*nz)
		right, down, factor = max(right, (nx+1)*nz), max(down, nx*(nz+1)), max(factor, nx*nz*(nx+1))
	}
	w := &nearWork{}
	for _, v := range []struct {
		v *[]float64
		n int
	}{{&w.box, box}, {&w.sigma, cells}, {&w.right, right}, {&w.down, down}, {&w.factor, factor},
		{&w.phi[0], cells}, {&w.phi[1], cells}, {&w.phi[2], cells}, {&w.psi[0], cells}, {&w.psi[1], cells}, {&w.psi[2], cells}} {
		*v.v = make([]float64, v.n)
	}
	return w
}

// renew sets a rod's weights, and Y to its Z without contact, for the grid's σ [S/m] and
// ρ̄ of Rod, and says whether that Z is positive.
func (n *near) renew(r *RodCouple, sigma []float64, closed []bool, rho, thickness float64, work *nearWork) bool {
	for c, cell := range n.cell {
		if work.box[c] = sigma[cell]; closed[cell] { // at a corner, where no weight is
			work.box[c] = 1 / rho
		}
	}
	z := n.find(work)
	for m, part := range r.Part {
		clear(part)
		for c, slot := range n.slot {
			if slot >= 0 {
				part[slot] += n.dealt(work, m, c)
			}
		}
	}
	for i, v := range z {
		r.Y[i] = rho*r.about.missing[i] + (v-rho*n.even[i])/thickness
	}
	return positive3(r.Y)
}

// dealt returns G of moment m in cell c of the kernel's box, after find.
func (n *near) dealt(work *nearWork, m, c int) float64 {
	at, g := n.inner(c), 0.0
	for k := range moments {
		g += n.lambda[m*moments+k] * work.psi[k][at]
	}
	return g * n.weight[c] * work.box[c]
}

// inner returns the cell of coarse that cell c of the kernel's box is.
func (n *near) inner(c int) int {
	nx := len(n.coarse.x.nodes)
	ni := nx - 2*nearMargin
	return (c/ni+nearMargin)*nx + c%ni + nearMargin
}

// find sets lambda, and psi to Ψ, and returns Z for a slab of 1 m [Ω·m, Ω, Ω/m], in ground
// of the conductivities box of work.
func (n *near) find(work *nearWork) (z [moments * moments]float64) {
	work.assemble(&n.fine, n)
	rho := n.about.followTo(n.part, work.sigma)
	var seen [moments * moments]float64 // G'ᵀ L'⁻¹ H' B'
	for m, part := range n.part {
		phi := work.phi[m][:n.fine.cells()]
		clear(phi)
		for j, c := range n.about.cell {
			phi[c] = part[j]
		}
		work.solve(&n.fine, phi)
		n.fine.rim(work, func(c int, g, x, z float64) {
			flow := g * phi[c]
			seen[m*moments] += flow
			seen[m*moments+1] += flow * x
			seen[m*moments+2] += flow * z
		})
		for o, other := range n.part {
			for j, c := range n.about.cell {
				z[o*moments+m] += other[j] * phi[c]
			}
		}
	}
	for i, v := range n.about.missing {
		z[i] += rho * v
	}

	work.assemble(&n.coarse, n)
	psi := &work.psi
	for k := range psi {
		clear(psi[k][:n.coarse.cells()])
	}
	n.coarse.rim(work, func(c int, g, x, z float64) {
		psi[0][c] += g
		psi[1][c] += g * x
		psi[2][c] += g * z
	})
	for k := range psi {
		work.solve(&n.coarse, psi[k][:n.coarse.cells()])
	}
	n.match(work, seen)
	for m := range moments {
		phi := work.phi[m][:n.coarse.cells()]
		clear(phi)
		for c := range n.weight {
			phi[n.inner(c)] = n.dealt(work, m, c)
		}
		work.solve(&n.coarse, phi)
		for o := range moments {
			for c := range n.weight {
				z[o*moments+m] -= n.dealt(work, o, c) * phi[n.inner(c)]
			}
		}
	}
	return z
}

// match sets lambda so that GᵀΨ is what is wanted. The weights of the current stay above a
// tenth of those that follow σ alone, as in kernel.center: none may be negative.
func (n *near) match(work *nearWork, want [moments * moments]float64) {
	var m [moments * moments]float64
	for c, w := range n.weight {
		at := n.inner(c)
		for i := range moments {
			for j := range moments {
				m[i*moments+j] += w * work.box[c] * work.psi[i][at] * work.psi[j][at]
			}
		}
	}
	alone := 1 / m[0] // that of the first where there were no other
	invert3(m[:])
	clear(n.lambda[:])
	for i := range moments {
		for j := range moments {
			for k := range moments {
				n.lambda[i*moments+j] += want[i*moments+k] * m[k*moments+j]
			}
		}
	}
	least := 1.0
	for c, w := range n.weight {
		if w > 0 {
			least = math.Min(least, n.dealt(work, 0, c)/(w*work.box[c]*alone))
		}
	}
	if least < 0.1 {
		part := 0.9 / (1 - least)
		for k := range moments {
			n.lambda[k] *= part
		}
		n.lambda[0] += (1 - part) * alone
	}
}

// rim calls f for each face between a cell and a node outside, with its conductance [S]
// and where that node is [m].
func (m *nearMesh) rim(work *nearWork, f func(c int, g, x, z float64)) {
	nx, nz := len(m.x.nodes), len(m.z.nodes)
	for k, z := range m.z.nodes {
		f(k*nx, work.right[k*(nx+1)], m.x.before, z)
		f(k*nx+nx-1, work.right[k*(nx+1)+nx], m.x.after, z)
	}
	for i, x := range m.x.nodes {
		f(i, work.down[i], x, m.z.before)
		f((nz-1)*nx+i, work.down[nz*nx+i], x, m.z.after)
	}
}

// conductance returns that of the face before cell i, of unit area [S/m²], between cells of
// σ [S/m]: half-resistances in series; beyond both ends σ is as before them.
func (a *nearAxis) conductance(i int, before, after float64) float64 {
	switch n := len(a.nodes); i {
	case 0:
		return after / (a.nodes[0] - a.before)
	case n:
		return before / (a.after - a.nodes[n-1])
	default:
		return 1 / ((a.edges[i]-a.nodes[i-1])/before + (a.nodes[i]-a.edges[i])/after)
	}
}

// assemble sets sigma, the conductances and the factor of L for a mesh of n.
func (w *nearWork) assemble(m *nearMesh, n *near) {
	nx, nz := len(m.x.nodes), len(m.z.nodes)
	ni := len(n.coarse.x.nodes) - 2*nearMargin
	for k, row := range m.z.of {
		for i, of := range m.x.of {
			w.sigma[k*nx+i] = w.box[row*ni+of]
		}
	}
	for k := range nz {
		for i := range nx + 1 {
			w.right[k*(nx+1)+i] = m.x.conductance(i, w.sigma[k*nx+max(i-1, 0)], w.sigma[k*nx+min(i, nx-1)]) * (m.z.edges[k+1] - m.z.edges[k])
		}
	}
	for k := range nz + 1 {
		for i := range nx {
			w.down[k*nx+i] = m.z.conductance(k, w.sigma[max(k-1, 0)*nx+i], w.sigma[min(k, nz-1)*nx+i]) * (m.x.edges[i+1] - m.x.edges[i])
		}
	}
	for c := range nx * nz {
		i, k := c%nx, c/nx
		row := w.row(nx, c)
		clear(row)
		left, above := w.right[k*(nx+1)+i], w.down[c]
		if i > 0 {
			row[nx-1] = -left
		}
		if k > 0 {
			row[0] -= above // the same place as left where a row is one cell
		}
		row[nx] = left + w.right[k*(nx+1)+i+1] + above + w.down[c+nx]
		for j := max(0, c-nx); j < c; j++ {
			other, first := w.row(nx, j), max(0, c-nx)
			row[j-c+nx] = (row[j-c+nx] - dot(row[first-c+nx:j-c+nx], other[first-j+nx:nx])) / other[nx]
		}
		row[nx] = math.Sqrt(row[nx] - dot(row[:nx], row[:nx]))
	}
}

// row returns row c of the factor, of columns c − nx to c.
func (w *nearWork) row(nx, c int) []float64 { return w.factor[c*(nx+1) : (c+1)*(nx+1)] }

// solve sets v to L⁻¹v.
func (w *nearWork) solve(m *nearMesh, v []float64) {
	nx := len(m.x.nodes)
	for c := range v {
		row, first := w.row(nx, c), max(0, c-nx)
		v[c] = (v[c] - dot(row[first-c+nx:nx], v[first:c])) / row[nx]
	}
	for c := len(v) - 1; c >= 0; c-- {
		row, first := w.row(nx, c), max(0, c-nx)
		v[c] /= row[nx]
		for j, l := range row[first-c+nx : nx] {
			v[first+j] -= l * v[c]
		}
	}
}
