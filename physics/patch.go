package physics

import (
	"math"
)

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

// newPatch returns the equations of a kernel's cells and of those about them, as far as margin
// cells [-] beyond.
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
