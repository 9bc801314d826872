package physics

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"soiljoule/mesh"
)

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

// edge returns where cell i begins [m].
func (a axis) edge(i int) float64 {
	cell, grids, mirrored := a.fold(i)
	first, last := a.edges[0], a.edges[len(a.nodes)]
	if mirrored {
		return first + last - a.edges[cell+1] + float64(grids)*(last-first)
	}
	return a.edges[cell] + float64(grids)*(last-first)
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
// cell j, at most mostCells. Whole cells that are the distance but for rounding are it, on
// either side of the mesh alike.
func (a axis) within(distance float64, i, j int) int {
	n := 1
	distance *= 1 - 1e-9
	for n < mostCells && (a.node(i)-a.node(i-n) < distance || a.node(j+n)-a.node(j) < distance) {
		n++
	}
	return n
}

// shape is how a point's current is dealt to the cells of an axis.
type shape struct {
	variance float64                    // [-] in cells²
	weights  func(u float64) [4]float64 // of the cell before that before the point, of it and of the two after, for a point u cells beyond the one before it
}

// smooth is a raised cosine over four cells, of the density ¼(1 + cos(πu/2)), |u| ≤ 2: a
// point's field is then the same at any place in its cell.
var smooth = shape{4.0/3 - 8/(math.Pi*math.Pi), func(u float64) (w [4]float64) {
	for j := range w {
		w[j] = (1 + math.Cos(math.Pi/2*(float64(j-1)-u))) / 4
	}
	return w
}}

// narrow is the nearest two cells, by the distance to the other: of the density 1 − |u|,
// |u| ≤ 1. It keeps to the side of a boundary where the point is.
var narrow = shape{1.0 / 6, func(u float64) [4]float64 { return [4]float64{0, 1 - u, u, 0} }}

// kernel is how a rod's current is dealt to cells: a shape, as smooth, each way,
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
	shape          shape
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
func newKernel(x, z axis, r *Rod, s shape) *kernel {
	k := &kernel{x: x, z: z, rod: r, shape: s}
	i, j := x.before(r.X, mesh.EdgeAt(x.edges, r.X)), z.before(r.Y, mesh.EdgeAt(z.edges, r.Y))
	hx, hz := x.node(i+1)-x.node(i), z.node(j+1)-z.node(j)
	h := math.Max(hx, hz)
	radius := math.Max(r.Radius, h/2)
	rx, rz := math.Sqrt(radius*radius+2*s.variance*(h*h-hx*hx)), math.Sqrt(radius*radius+2*s.variance*(h*h-hz*hz))
	if math.Max(rx/hx, rz/hz) > mostAcross/2 {
		return nil
	}
	// No point is as far out as the ellipse's ends: a node there is no matter of rounding.
	const within = 1 - 1e-9
	i1, j1 := x.before(r.X+rx*within, i)+2, z.before(r.Y+rz*within, j)+2
	k.i0, k.k0 = x.before(r.X-rx*within, i)-1, z.before(r.Y-rz*within, j)-1
	k.ni, k.nk = i1-k.i0+1, j1-k.k0+1
	k.w = make([]float64, k.ni*k.nk)
	k.h = h
	k.reach = math.Max(math.Max(r.X-x.node(k.i0), x.node(i1)-r.X), math.Max(r.Y-z.node(k.k0), z.node(j1)-r.Y))

	points := 8 * max(2, int(math.Ceil(2*math.Pi*math.Max(rx/hx, rz/hz)/2))) // a quarter of a cell apart
	for p := range points {
		sin, cos := math.Sincos(2 * math.Pi * (float64(p) + 0.5) / float64(points))
		i, wx := k.dealt(x, r.X+rx*cos, i)
		j, wz := k.dealt(z, r.Y+rz*sin, j)
		for dj, v := range wz {
			for di, u := range wx {
				k.w[(j-1+dj-k.k0)*k.ni+i-1+di-k.i0] += u * v / float64(points)
			}
		}
	}
	k.center()
	return k
}

// dealt returns the cell before x [m], looking from cell i on, and the shape's weights.
func (k *kernel) dealt(a axis, x float64, i int) (int, [4]float64) {
	i = a.before(x, i)
	return i, k.shape.weights((x - a.node(i)) / (a.node(i+1) - a.node(i)))
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
func (k *kernel) fold() (cells []int, part [][]float64, quarter [4][]float64) {
	all := map[int][moments + 4]float64{}
	least, most := math.MaxInt, -1
	parts := k.parts()
	for c, w := range k.w {
		if w <= 0 {
			continue
		}
		i, _, _ := k.x.fold(k.i0 + c%k.ni)
		j, _, _ := k.z.fold(k.k0 + c/k.ni)
		cell := j*len(k.x.nodes) + i
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
