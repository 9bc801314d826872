package physics

import (
	"sort"

	"soiljoule/mesh"
)

// Balance is one conservation law, discretised: a conductance per face and
// exchanges with the outside. It serves charge (S) and heat (W/K) alike.
//
// A method whose name ends in Rows does what the one without does for the rows
// k0 ≤ k < k1 of its result alone, whatever it reads beside them: calls for
// different rows may run at once, and what they write does not depend on how the
// rows were shared out.
type Balance struct {
	Grid         *mesh.Grid
	Across, Down []float64 // conductance by interior face, in the grid's order
	Exchanges    []Exchange

	none []float64 // a row of conductances of 0: beyond the first and the last row
}

// Exchange is a boundary through which a field exchanges with a known outside
// value: flux in = G·(Outside − value). A side with no Exchange is insulated.
type Exchange struct {
	Name      string
	Cell      []int     // rising
	G         []float64 // conductance by boundary face
	Outside   float64
	OutsideAt []float64 // by boundary face, in place of Outside; nil: Outside

	Faces  *mesh.BoundaryFaces // through which G is half a cell of conduction; nil: G is set otherwise
	beyond float64             // [m²·K/W] resistance between the face and the outside
}

// outside returns the outside value at face j.
func (e *Exchange) outside(j int) float64 {
	if e.OutsideAt != nil {
		return e.OutsideAt[j]
	}
	return e.Outside
}

func newBalance(g *mesh.Grid) Balance {
	return Balance{Grid: g, Across: make([]float64, g.NZ*(g.NX-1)), Down: make([]float64, (g.NZ-1)*g.NX), none: make([]float64, g.NX)}
}

// acrossRow and downRow are the conductances of row k to the right of its cells and
// below them.
func (b *Balance) acrossRow(k int) []float64 {
	n := b.Grid.NX - 1
	return b.Across[k*n : (k+1)*n : (k+1)*n]
}

func (b *Balance) downRow(k int) []float64 { return rowOf(b.Down, b.Grid.NX, k) }

// rowOf returns row k of a field whose rows are nx long.
func rowOf[T any](field []T, nx, k int) []T { return field[k*nx : (k+1)*nx : (k+1)*nx] }

// within returns the range of the exchange's faces that lie in rows k0 ≤ k < k1.
func (e *Exchange) within(nx, k0, k1 int) (from, to int) {
	return sort.SearchInts(e.Cell, k0*nx), sort.SearchInts(e.Cell, k1*nx)
}

// acrossHarmonic sets g, of the faces between the cells of a row of height dz [m],
// from the row's conductivity s,
//
//	G = A / (d₁/s₁ + d₂/s₂)
//
// the two half-resistances in series. Source: Patankar (1980), Numerical Heat
// Transfer and Fluid Flow, §4.2-3 (from memory).
func acrossHarmonic(g, s []float64, m *mesh.Grid, dz float64) {
	n := len(g)
	outline, before, after, first, second := m.Outline[1:][:n], m.Across.Before[:n], m.Across.After[:n], s[:n], s[1:][:n]
	for i := range g {
		g[i] = outline[i] * dz / (before[i]/first[i] + after[i]/second[i])
	}
}

// downHarmonic is acrossHarmonic for the faces below row k, between rows of
// conductivities upper and lower.
func downHarmonic(g, upper, lower []float64, m *mesh.Grid, k int) {
	n := len(g)
	plan, before, after := m.Plan[:n], m.Down.Before[k], m.Down.After[k]
	upper, lower = upper[:n], lower[:n]
	for i := range g {
		g[i] = plan[i] / (before/upper[i] + after/lower[i])
	}
}

// NetTo sets dst to the net flux into each cell for the field u:
//
//	dst_c = Σ_faces G (u_n − u_c) + Σ_exchanges G (outside − u_c)
func (b *Balance) NetTo(dst, u []float64) { b.NetRows(dst, u, 0, b.Grid.NZ) }

// NetRows is NetTo for some rows.
func (b *Balance) NetRows(dst, u []float64, k0, k1 int) {
	nx, nz := b.Grid.NX, b.Grid.NZ
	for k := k0; k < k1; k++ {
		d, here := rowOf(dst, nx, k), rowOf(u, nx, k)
		above, up := here, b.none
		if k > 0 {
			above, up = rowOf(u, nx, k-1), b.downRow(k-1)
		}
		below, down := here, b.none
		if k < nz-1 {
			below, down = rowOf(u, nx, k+1), b.downRow(k)
		}
		netRow(d, here, above, below, b.acrossRow(k), up, down)
	}
	for x := range b.Exchanges {
		e := &b.Exchanges[x]
		for j, to := e.within(nx, k0, k1); j < to; j++ {
			c := e.Cell[j]
			dst[c] += e.G[j] * (e.outside(j) - u[c])
		}
	}
}

// netRow sums what flows into the cells of one row, from the left, the right, above
// and below.
func netRow(dst, u, above, below, across, up, down []float64) {
	n := len(across)
	west := 0.0
	d, here, next, a, b, gu, gd := dst[:n], u[:n], u[1:][:n], above[:n], below[:n], up[:n], down[:n]
	for i, g := range across {
		c := here[i]
		east := g * (next[i] - c)
		d[i] = east - west - gu[i]*(c-a[i]) + gd[i]*(b[i]-c)
		west = east
	}
	c := u[n]
	dst[n] = -west - up[n]*(c-above[n]) + down[n]*(below[n]-c)
}

// DiagonalTo sets dst to the exchanges' conductance by cell: the part of the
// matrix that is not flux between cells.
func (b *Balance) DiagonalTo(dst []float64) { b.DiagonalRows(dst, 0, b.Grid.NZ) }

// DiagonalRows is DiagonalTo for some rows.
func (b *Balance) DiagonalRows(dst []float64, k0, k1 int) {
	nx := b.Grid.NX
	clear(dst[k0*nx : k1*nx])
	for _, e := range b.Exchanges {
		for j, to := e.within(nx, k0, k1); j < to; j++ {
			dst[e.Cell[j]] += e.G[j]
		}
	}
}

// Outflow returns the flux out of the ground through the named exchange for the
// field u, 0 if there is none of that name.
func (b *Balance) Outflow(name string, u []float64) float64 {
	sum := 0.0
	for x := range b.Exchanges {
		e := &b.Exchanges[x]
		if e.Name != name {
			continue
		}
		for j, c := range e.Cell {
			sum += e.G[j] * (u[c] - e.outside(j))
		}
	}
	return sum
}

// ZoneFlux is the flux out of a zone through its faces.
type ZoneFlux struct{ Top, Bottom, Sides float64 }

// ZoneOutflow returns the flux out of the zone for the field u, through its top,
// its bottom and its sides together; where the zone reaches the edge of the
// grid, what the exchange there takes counts to that side. In a level grid what lies
// between rows is sides, and top and bottom are what the columns above and below take.
//
// Of cells that lie in the zone with parts w, a face's flux counts by the difference
//
//	Σ_faces F_{a→b} (w_a − w_b),
//
// which is Σ w_c times what leaves cell c: so the zone's ledger closes by algebra.
func (b *Balance) ZoneOutflow(z mesh.Zone, u []float64) ZoneFlux {
	g := b.Grid
	var out ZoneFlux
	if z.Share != nil {
		b.partOutflow(&out, z, u)
	} else {
		b.boxOutflow(&out, z, u)
	}
	if g.Level {
		out.Sides += out.Top + out.Bottom
		out.Top, out.Bottom = 0, 0
	}
	for x := range b.Exchanges {
		e := &b.Exchanges[x]
		for j, c := range e.Cell {
			w := z.Weight(c%g.NX, c/g.NX)
			if w == 0 {
				continue
			}
			q := w * e.G[j] * (u[c] - e.outside(j))
			switch e.Name {
			case Surface, Above:
				out.Top += q
			case Below, Beneath:
				out.Bottom += q
			default:
				out.Sides += q
			}
		}
	}
	return out
}

// boxOutflow adds to out what leaves a box through the faces round it.
func (b *Balance) boxOutflow(out *ZoneFlux, z mesh.Zone, u []float64) {
	g := b.Grid
	for k := z.K0; k < z.K1; k++ {
		if z.I0 > 0 {
			c := g.Index(z.I0, k)
			out.Sides += b.Across[k*(g.NX-1)+z.I0-1] * (u[c] - u[c-1])
		}
		if z.I1 < g.NX {
			c := g.Index(z.I1-1, k)
			out.Sides += b.Across[k*(g.NX-1)+z.I1-1] * (u[c] - u[c+1])
		}
	}
	for i := z.I0; i < z.I1; i++ {
		if z.K0 > 0 {
			c := g.Index(i, z.K0)
			out.Top += b.Down[c-g.NX] * (u[c] - u[c-g.NX])
		}
		if z.K1 < g.NZ {
			c := g.Index(i, z.K1-1)
			out.Bottom += b.Down[c] * (u[c] - u[c+g.NX])
		}
	}
}

// partOutflow adds to out what leaves a zone of parts of cells, by the faces of its
// cells; of those between rows what flows up counts to the top.
func (b *Balance) partOutflow(out *ZoneFlux, z mesh.Zone, u []float64) {
	g := b.Grid
	for k := z.K0; k < z.K1; k++ {
		for i := max(0, z.I0-1); i < min(z.I1, g.NX-1); i++ {
			if w := z.Weight(i, k) - z.Weight(i+1, k); w != 0 {
				c := g.Index(i, k)
				out.Sides += w * b.Across[k*(g.NX-1)+i] * (u[c] - u[c+1])
			}
		}
	}
	for k := max(0, z.K0-1); k < min(z.K1, g.NZ-1); k++ {
		for i := z.I0; i < z.I1; i++ {
			w := z.Weight(i, k) - z.Weight(i, k+1)
			c := g.Index(i, k)
			q := w * b.Down[c] * (u[c] - u[c+g.NX])
			if w > 0 {
				out.Bottom += q
			} else {
				out.Top += q
			}
		}
	}
}

// Names of the sides of the ground. Above and Beneath are the faces of a level slab
// to the columns over and under it.
const (
	Surface = "surface"
	Below   = "below"
	Sides   = "sides"
	Rim     = "rim"
	Above   = "above"
	Beneath = "beneath"
)
