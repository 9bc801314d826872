package physics

import "soiljoule/mesh"

// Balance is one conservation law, discretised: a conductance per face and
// exchanges with the outside. It serves charge (S) and heat (W/K) alike.
type Balance struct {
	Grid         *mesh.Grid
	Across, Down []float64 // conductance by interior face, in the grid's order
	Exchanges    []Exchange
}

// Exchange is a boundary through which a field exchanges with a fixed outside
// value: flux in = G·(Outside − value). A side with no Exchange is insulated.
type Exchange struct {
	Name    string
	Cell    []int
	G       []float64 // conductance by boundary face
	Outside float64
}

func newBalance(g *mesh.Grid) Balance {
	return Balance{Grid: g, Across: make([]float64, len(g.Across.Area)), Down: make([]float64, len(g.Down.Area))}
}

// setHarmonic sets every face's conductance from a conductivity by cell,
//
//	G = A / (d₁/s₁ + d₂/s₂)
//
// the two half-resistances in series. Source: Patankar (1980), Numerical Heat
// Transfer and Fluid Flow, §4.2-3 (from memory).
func (b *Balance) setHarmonic(s []float64) {
	set := func(g []float64, f *mesh.FaceFamily) {
		for i := range g {
			g[i] = f.Area[i] / (f.Before[i]/s[f.First[i]] + f.After[i]/s[f.Second[i]])
		}
	}
	set(b.Across, &b.Grid.Across)
	set(b.Down, &b.Grid.Down)
}

// NetTo sets dst to the net flux into each cell for the field u:
//
//	dst_c = Σ_faces G (u_n − u_c) + Σ_exchanges G (outside − u_c)
func (b *Balance) NetTo(dst, u []float64) {
	clear(dst)
	nx, nz := b.Grid.NX, b.Grid.NZ
	for k := range nz {
		g := b.Across[k*(nx-1) : (k+1)*(nx-1)]
		ur, dr := u[k*nx:(k+1)*nx], dst[k*nx:(k+1)*nx]
		for i, gf := range g {
			q := gf * (ur[i+1] - ur[i])
			dr[i] += q
			dr[i+1] -= q
		}
	}
	for f, gf := range b.Down {
		q := gf * (u[f+nx] - u[f])
		dst[f] += q
		dst[f+nx] -= q
	}
	for _, e := range b.Exchanges {
		for j, c := range e.Cell {
			dst[c] += e.G[j] * (e.Outside - u[c])
		}
	}
}

// DiagonalTo sets dst to the exchanges' conductance by cell: the part of the
// matrix that is not flux between cells.
func (b *Balance) DiagonalTo(dst []float64) {
	clear(dst)
	for _, e := range b.Exchanges {
		for j, c := range e.Cell {
			dst[c] += e.G[j]
		}
	}
}

// Outflow returns the flux out of the ground through the named exchange for the
// field u, 0 if there is none of that name.
func (b *Balance) Outflow(name string, u []float64) float64 {
	sum := 0.0
	for _, e := range b.Exchanges {
		if e.Name != name {
			continue
		}
		for j, c := range e.Cell {
			sum += e.G[j] * (u[c] - e.Outside)
		}
	}
	return sum
}

// ZoneFlux is the flux out of a zone through its faces.
type ZoneFlux struct{ Top, Bottom, Sides float64 }

// ZoneOutflow returns the flux out of the zone for the field u, through its top,
// its bottom and its sides together; where the zone reaches the edge of the
// grid, what the exchange there takes counts to that side.
func (b *Balance) ZoneOutflow(z mesh.Zone, u []float64) ZoneFlux {
	g := b.Grid
	var out ZoneFlux
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
	for _, e := range b.Exchanges {
		for j, c := range e.Cell {
			if !z.Contains(c%g.NX, c/g.NX) {
				continue
			}
			q := e.G[j] * (u[c] - e.Outside)
			switch e.Name {
			case Surface:
				out.Top += q
			case Below:
				out.Bottom += q
			default:
				out.Sides += q
			}
		}
	}
	return out
}

// Names of the sides of the ground.
const (
	Surface = "surface"
	Below   = "below"
	Sides   = "sides"
	Rim     = "rim"
)
