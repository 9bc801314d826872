// Package linear solves the symmetric systems of a conservation law on a tensor
// grid: flux through faces plus a diagonal, and a few small dense couplings.
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
	Diag   []float64 // D by cell
	Held   []bool    // by cell: its unknown is known, x = 0 in every vector here
	Blocks []Block
}

// Block is a dense symmetric coupling of a few cells, which share no cell with
// another block.
type Block struct {
	Cells []int
	Y     []float64 // len(Cells)², by row
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
	nx := s.NX
	for c, d := range s.Diag {
		dst[c] = d * x[c]
	}
	for k := range s.NZ {
		row := k * nx
		g := s.Across[k*(nx-1) : (k+1)*(nx-1)]
		xr, yr := x[row:row+nx], dst[row:row+nx]
		for i, gf := range g {
			q := gf * (xr[i] - xr[i+1])
			yr[i] += q
			yr[i+1] -= q
		}
	}
	for f, gf := range s.Down {
		q := gf * (x[f] - x[f+nx])
		dst[f] += q
		dst[f+nx] -= q
	}
	for _, b := range s.Blocks {
		for i, c := range b.Cells {
			y := b.Y[i*len(b.Cells):]
			for j, n := range b.Cells {
				dst[c] += y[j] * x[n]
			}
		}
	}
}

// ResidualTo sets dst = b − A x on free cells and 0 on held ones.
func (s *System) ResidualTo(dst, b, x []float64) {
	s.ApplyTo(dst, x)
	for c, held := range s.Held {
		if held {
			dst[c] = 0
		} else {
			dst[c] = b[c] - dst[c]
		}
	}
}
