// Package linear solves the symmetric systems of a conservation law on a tensor
// grid: flux through faces plus a diagonal, and a few small dense couplings. PCG is
// conjugate gradients, Multigrid the cycle that they are preconditioned with, and Team
// the workers that share loops over rows; results do not depend on their number.
package linear

// System is the matrix A of
//
//	(A x)_c = Σ_faces G_f (x_c − x_n) + D_c x_c + Σ_blocks (Y x)_c
//
// over the cells that are not held: the five-point matrix of flux through
// faces, with cells numbered row by row, column fastest. A is positive definite
// when D ≥ 0 and each connected piece of free cells touches a held cell, a
// positive D or a block that is positive definite.
type System struct {
	NX, NZ int
	Across []float64 // G by face between column neighbours: NZ·(NX−1)
	Down   []float64 // G by face between row neighbours: (NZ−1)·NX
	Diag   []float64 // D by cell; nil: 0
	Held   []bool    // by cell: its unknown is known, x = 0 in every vector here
	Blocks []Block
}

// Block is a dense symmetric coupling of some cells, which other blocks may share: the
// matrix Y between them, or with Part, of the rank that this has, Partᵀ Y Part.
type Block struct {
	Cells []int
	Part  [][]float64 // by rank, at most maxRank, and cell; those of the first 0 or more; nil: Y is by cell
	Y     []float64   // len(Cells)², or len(Part)², by row
}

const maxRank = 4

// addDiagonal adds to d what a preconditioner may put in place of a block: its diagonal.
// Of the first part of one that has a rank, whose cells are many, it is the sums of rows,
// which are as much as the block where a field is even over its cells.
func (b *Block) addDiagonal(d []float64) {
	if b.Part == nil {
		for j, c := range b.Cells {
			d[c] += b.Y[j*len(b.Cells)+j]
		}
		return
	}
	sum := 0.0
	for _, p := range b.Part[0] {
		sum += p
	}
	for m, part := range b.Part {
		y := b.Y[m*len(b.Part)+m]
		for j, c := range b.Cells {
			if m == 0 {
				d[c] += y * part[j] * sum
			} else {
				d[c] += y * part[j] * part[j]
			}
		}
	}
}

// NewSystem returns a system of zeros for nx by nz cells.
func NewSystem(nx, nz int) *System {
	return &System{NX: nx, NZ: nz,
		Across: make([]float64, nz*(nx-1)), Down: make([]float64, (nz-1)*nx),
		Diag: make([]float64, nx*nz), Held: make([]bool, nx*nz)}
}

// Size returns the number of cells, held ones included.
func (s *System) Size() int { return s.NX * s.NZ }

// ApplyTo sets dst = A x with every cell taken as free: fluxes from held cells
// are counted in their neighbours and in themselves. A solve masks the held.
func (s *System) ApplyTo(dst, x []float64) {
	s.applyRows(dst, x, nil, 0, s.NZ)
	s.addBlocks(dst, x, 1)
}

// applyRows sets rows of dst to those of A x, blocks apart, and where sum is not nil
// its rows to those of x·A x.
func (s *System) applyRows(dst, x, sum []float64, from, to int) {
	nx := s.NX
	for k := from; k < to; k++ {
		xr, y := x[k*nx:k*nx+nx], dst[k*nx:k*nx+nx]
		if s.Diag == nil {
			clear(y)
		} else {
			for i, d := range s.Diag[k*nx : k*nx+nx] {
				y[i] = d * xr[i]
			}
		}
		switch {
		case s.NZ == 1:
		case k == 0:
			d, xd := s.Down[:nx], x[nx:2*nx]
			for i, v := range xr {
				y[i] += d[i] * (v - xd[i])
			}
		case k == s.NZ-1:
			u, xu := s.Down[(k-1)*nx:k*nx], x[(k-1)*nx:k*nx]
			for i, v := range xr {
				y[i] += u[i] * (v - xu[i])
			}
		default:
			u, xu := s.Down[(k-1)*nx:k*nx], x[(k-1)*nx:k*nx]
			d, xd := s.Down[k*nx:k*nx+nx], x[(k+1)*nx:(k+1)*nx+nx]
			for i, v := range xr {
				y[i] += u[i]*(v-xu[i]) + d[i]*(v-xd[i])
			}
		}
		left, here, t := 0.0, xr[0], 0.0
		for i, g := range s.Across[k*(nx-1) : (k+1)*(nx-1)] {
			next := xr[i+1]
			q := g * (here - next)
			v := y[i] + q - left
			y[i] = v
			t += v * here
			left, here = q, next
		}
		y[nx-1] -= left
		if sum != nil {
			sum[k] = t + y[nx-1]*here
		}
	}
}

// addBlocks adds to dst the blocks' part of A x times factor, and returns that part
// of x·A x.
func (s *System) addBlocks(dst, x []float64, factor float64) float64 {
	sum := 0.0
	for _, b := range s.Blocks {
		if b.Part != nil {
			sum += b.addByParts(dst, x, factor)
			continue
		}
		for i, c := range b.Cells {
			y := b.Y[i*len(b.Cells):]
			v := 0.0
			for j, n := range b.Cells {
				v += y[j] * x[n]
			}
			dst[c] += factor * v
			sum += v * x[c]
		}
	}
	return sum
}

// addByParts is addBlocks of one block that has a rank.
func (b *Block) addByParts(dst, x []float64, factor float64) float64 {
	var moment [maxRank]float64
	for m, part := range b.Part {
		for i, c := range b.Cells {
			moment[m] += part[i] * x[c]
		}
	}
	sum := 0.0
	for m, part := range b.Part {
		flow := 0.0
		for n := range b.Part {
			flow += b.Y[m*len(b.Part)+n] * moment[n]
		}
		sum += flow * moment[m]
		flow *= factor
		for i, c := range b.Cells {
			dst[c] += flow * part[i]
		}
	}
	return sum
}

// mask sets v to 0 in held cells.
func (s *System) mask(v []float64) {
	for c, held := range s.Held {
		if held {
			v[c] = 0
		}
	}
}

// Inflow returns what flows into cell c, whose own value is 0, from its neighbours'
// values: Σ_faces G_f x_n.
func (s *System) Inflow(c int, x []float64) float64 {
	nx := s.NX
	i, k := c%nx, c/nx
	q := 0.0
	if i > 0 {
		q += s.Across[k*(nx-1)+i-1] * x[c-1]
	}
	if i < nx-1 {
		q += s.Across[k*(nx-1)+i] * x[c+1]
	}
	if k > 0 {
		q += s.Down[c-nx] * x[c-nx]
	}
	if k < s.NZ-1 {
		q += s.Down[c] * x[c+nx]
	}
	return q
}

// ResidualTo sets dst = b − A x on free cells and 0 on held ones.
func (s *System) ResidualTo(dst, b, x []float64) {
	s.ApplyTo(dst, x)
	for c := range dst {
		dst[c] = b[c] - dst[c]
	}
	s.mask(dst)
}
