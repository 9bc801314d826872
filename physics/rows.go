package physics

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"

	"soiljoule/mesh"
)

// Row is a row of equal parallel rods that a section carries as a sheet. The
// sheet alone draws too much current; what is missing is the potential that each
// rod needs to push its current through the ground close to it, where the
// current converges on the rod. It acts as a resistance in series with the sheet,
//
//	r(z) = Z(z)/σ   [Ω·m² of sheet],   Z from rowSelf: (s/2π)·ln(s/(2πa)) far from
//	the ends of long rods, less towards the ends
//
// that couples the row to each cell of its column, depth by depth; the column stays
// ordinary ground. That is for an even current along the rods in even ground. Near
// their ends the current is uneven, and near a boundary of layers both sides count:
// rowLayers then gives what takes the place of 1/σ.
type Row struct {
	X       float64 // [m] across the section
	Spacing float64 // [m] s, from rod to rod
	Offset  float64 // [m] where along the row the first rod stands
	Radius  float64 // [m] a
	Top     float64 // [m] of the active interval
	Bottom  float64 // [m]
}

// share is a column's part of a row's own heat, or of its current.
type share struct {
	column int
	part   float64 // [-]; before spread has a side's, of the integral of J²
}

// rods returns, for the i-th body, the whole rod that its row is part of:
// elements of one bore that touch and share a phase have no ends between them.
func rods(bodies []Body, i int) interval {
	r := bodies[i].Row
	out := interval{r.Top, r.Bottom}
	for grown := true; grown; {
		grown = false
		for j := range bodies {
			o := bodies[j].Row
			if o == nil || bodies[j].Phase != bodies[i].Phase || o.X != r.X || o.Spacing != r.Spacing || o.Offset != r.Offset || o.Radius != r.Radius {
				continue
			}
			const touch = 1e-9 // [m] the same depth, written in two units
			if o.Top < out.top && o.Bottom >= out.top-touch {
				out.top, grown = o.Top, true
			}
			if o.Bottom > out.bottom && o.Top <= out.bottom+touch {
				out.bottom, grown = o.Bottom, true
			}
		}
	}
	return out
}

// spread returns how a row's own dissipation lies across the section, left of the row
// and right of it, each side's parts summing to 1. Averaged along the row, J² less that
// of the sheet falls as 1/(exp(4π|x|/s) − 1) from |x| = a/2, whose integral is
// s/(4π)·ln(1 − exp(−4π|x|/s)).
func (r *Row) spread(g *mesh.Grid, k int, closed []bool) [2][]share {
	inner := r.Radius / 2
	integral := func(d float64) float64 { // from the wall out to d
		if d <= inner {
			return 0
		}
		return math.Log(-math.Expm1(-4*math.Pi*d/r.Spacing)) - math.Log(-math.Expm1(-4*math.Pi*inner/r.Spacing))
	}
	least := 1e-7 * integral(math.Inf(1))
	var sides [2][]share
	var sum [2]float64
	for i := range g.NX {
		if closed[g.Index(i, k)] {
			continue
		}
		a, b := g.X[i]-r.X, g.X[i+1]-r.X
		for side, p := range [2]float64{integral(-a) - integral(-b), integral(b) - integral(a)} {
			if p > least {
				sides[side] = append(sides[side], share{i, p})
				sum[side] += p
			}
		}
	}
	for side, shares := range sides {
		for j := range shares {
			shares[j].part /= sum[side]
		}
	}
	return sides
}

// Couple joins the rows that stand at one depth to their columns' cells: the
// current of row i is Σ_j Y_ij (V_j − Φ_j), Φ_j its column's potential, with Y the
// inverse of
//
//	Z_ii = r_i,   Z_ij = rowMutual at the rows' distance and offset, over σ
//
// the latter for rows of the same spacing: rows closer than about s/2 feel each
// other's rods, not only their sheets. Where the mesh cuts a row's column in
// several cells, its middle, at which the sheet stands, lies between two nodes, a
// from one and b from the other: Φ is what a line between them gives, the current
// goes to them in the same shares, and ab/(a + b) joins Z_ii. That is a node at the
// middle, eliminated.
type Couple struct {
	Level int       // row of the grid
	Body  []int     // by row of rods
	Cell  []int     // of all the rows' columns
	Y     []float64 // [S] between cells, len(Cell)², symmetric

	row        []int     // by cell: whose it is, an index into Body
	part       []float64 // [-] by cell: its share of its row's current and potential
	admittance []float64 // [S] between rows, len(Body)²

	area     float64   // [m²] of sheet at this depth
	geometry []float64 // [m] Z_ij·σ
	gap      []float64 // [m] ab/(a + b) by row
	layers   []*rowLayers
	z        blas64.Symmetric // upper triangle of Z over the ground met, then of its inverse
	ground   []float64        // [Ω·m] resistivity that each row's heat meets
	met      []float64        // [Ω·m] that its drop meets
	drop     []complex128     // [-] from each row to its column, per volt
}

// mutual returns Z_ij·σ between two rows over the depths at [m], the mean of what
// each does to the other.
func mutual(a, b *Row, aRods, bRods, at interval) float64 {
	if math.Abs(a.Spacing-b.Spacing) > 1e-6*a.Spacing {
		return 0
	}
	d, y := math.Abs(a.X-b.X), a.Offset-b.Offset
	one := rowMutual(a.Spacing, aRods, at, d, y)
	if aRods == bRods {
		return one
	}
	return (one + rowMutual(a.Spacing, bRods, at, d, y)) / 2
}

// couple groups the rows by depth and checks that their correction is a
// resistance: positive, and positive definite among neighbours.
func (e *Electric) couple() error {
	whole := make([]interval, len(e.Bodies))
	e.layers = make([]*rowLayers, len(e.Bodies))
	for b := range e.Bodies {
		if r := e.Bodies[b].Row; r != nil {
			whole[b] = rods(e.Bodies, b)
			l, err := newRowLayers(e, r, e.Bodies[b].Zone.I0, whole[b], e.layers)
			if err != nil {
				return fmt.Errorf("row %q: %w", e.Bodies[b].Name, err)
			}
			e.layers[b] = l
		}
	}
	for k := range e.Grid.NZ {
		c, err := e.rowsAt(k)
		if err != nil {
			return err
		}
		if len(c.Body) == 0 {
			continue
		}
		c.measure(e, whole)
		if err := c.invert(e.Bodies); err != nil {
			return err
		}
		e.Couples = append(e.Couples, c)
	}
	return nil
}

// rowsAt returns the rows that stand at level k of the grid and the cells of their
// columns.
func (e *Electric) rowsAt(k int) (Couple, error) {
	g := e.Grid
	c := Couple{Level: k}
	for b := range e.Bodies {
		body := &e.Bodies[b]
		if body.Row == nil || k < body.Zone.K0 || k >= body.Zone.K1 {
			continue
		}
		for i := body.Zone.I0; i < body.Zone.I1; i++ {
			if o := e.BodyOf[g.Index(i, k)]; o >= 0 {
				return c, fmt.Errorf("electrodes %q and %q overlap", e.Bodies[o].Name, body.Name)
			}
		}
		for _, o := range c.Body {
			if z := e.Bodies[o].Zone; z.I0 < body.Zone.I1 && body.Zone.I0 < z.I1 {
				return c, fmt.Errorf("rows %q and %q stand in one column of the mesh: they need a distance of at least mesh.finest", e.Bodies[o].Name, body.Name)
			}
		}
		shares, gap := middle(g, body.Zone)
		for _, s := range shares {
			c.Cell = append(c.Cell, g.Index(s.column, k))
			c.row = append(c.row, len(c.Body))
			c.part = append(c.part, s.part)
		}
		c.gap = append(c.gap, gap)
		c.Body = append(c.Body, b)
		c.layers = append(c.layers, e.layers[b])
	}
	return c, nil
}

// measure sets the area of sheet and Z·σ of the rows, whole by body the rods that
// they are part of, and leaves them in ground of 1 Ω·m.
func (c *Couple) measure(e *Electric, whole []interval) {
	g, n := e.Grid, len(c.Body)
	column := c.Cell[0] % g.NX
	at := interval{g.Z[c.Level], g.Z[c.Level+1]}
	c.area = at.length() * g.Top.Area[column] / (g.X[column+1] - g.X[column])
	c.Y = make([]float64, len(c.Cell)*len(c.Cell))
	c.admittance, c.geometry = make([]float64, n*n), make([]float64, n*n)
	c.ground, c.met, c.drop = make([]float64, n), make([]float64, n), make([]complex128, n)
	c.z = blas64.Symmetric{N: n, Stride: n, Data: make([]float64, n*n), Uplo: blas.Upper}
	for i, body := range c.Body {
		c.ground[i], c.met[i] = 1, 1
		a := e.Bodies[body].Row
		for j, other := range c.Body {
			b := e.Bodies[other].Row
			switch {
			case i == j:
				c.geometry[i*n+i] = rowSelf(a.Spacing, whole[body], at, a.Radius)
			case j < i && a.Spacing == b.Spacing: // to the bit what the other way round gave
				c.geometry[i*n+j] = c.geometry[j*n+i]
			default:
				c.geometry[i*n+j] = mutual(a, b, whole[body], whole[other], at)
			}
		}
	}
}

// middle returns the cells between whose nodes a column's middle lies, with their
// shares, and ab/(a + b) of Couple [m]; for a column of one cell that cell and 0.
func middle(g *mesh.Grid, z mesh.Zone) ([]share, float64) {
	x := (g.X[z.I0] + g.X[z.I1]) / 2
	i := z.I0
	for i+1 < z.I1 && g.XC[i+1] <= x {
		i++
	}
	a, near := x-g.XC[i], 1e-9*(g.X[z.I1]-g.X[z.I0])
	if z.I1-z.I0 == 1 || a <= near {
		return []share{{i, 1}}, 0
	}
	b := g.XC[i+1] - x
	if b <= near {
		return []share{{i + 1, 1}}, 0
	}
	return []share{{i, b / (a + b)}, {i + 1, a / (a + b)}}, a * b / (a + b)
}

// invert sets the admittances and Y from the resistivities in ground and met. What
// two rows do to each other meets the geometric mean of theirs: Z then stays positive
// definite whatever they are.
func (c *Couple) invert(bodies []Body) error {
	n := len(c.Body)
	for i, b := range c.Body {
		row := bodies[b].Row
		r := c.geometry[i*n+i]
		if r <= 0 {
			return fmt.Errorf("row %q: rods of radius %.3g m, %.3g m long and %.3g m apart stand too close for the row correction, which would be negative (%.3g Ω·m² at 1 Ω·m)",
				bodies[b].Name, row.Radius, row.Bottom-row.Top, row.Spacing, r)
		}
		c.z.Data[i*n+i] = r*c.met[i] + c.gap[i]*c.ground[i] + bodies[b].Contact*row.Spacing/(2*math.Pi*row.Radius)
		for j := range i {
			c.z.Data[j*n+i] = c.geometry[i*n+j] * math.Sqrt(c.met[i]*c.met[j])
		}
	}
	// In place: mat's Cholesky would allocate for each depth and potential.
	chol, ok := lapack64.Potrf(c.z)
	if !ok {
		return fmt.Errorf("rows %q to %q stand too close to each other for the row correction", bodies[c.Body[0]].Name, bodies[c.Body[n-1]].Name)
	}
	if _, ok := lapack64.Potri(chol); !ok {
		return fmt.Errorf("rows %q to %q: the row correction at one depth has no inverse", bodies[c.Body[0]].Name, bodies[c.Body[n-1]].Name)
	}
	for i := range n {
		for j := range n {
			c.admittance[i*n+j] = c.area * c.z.Data[min(i, j)*n+max(i, j)]
		}
	}
	for a, i := range c.row {
		for b, j := range c.row {
			c.Y[a*len(c.row)+b] = c.part[a] * c.part[b] * c.admittance[i*n+j]
		}
	}
	return nil
}

// assembleCouples sets each depth's Y from the ground that takes the rows' heat and
// meets their drop.
func (e *Electric) assembleCouples() error {
	for _, l := range e.layers {
		if l != nil {
			l.assemble(e)
		}
	}
	for j := range e.Couples {
		c := &e.Couples[j]
		for i, l := range c.layers {
			c.ground[i], c.met[i] = l.ground[c.Level-l.first], l.met[c.Level-l.first]
		}
		if err := c.invert(e.Bodies); err != nil {
			return err
		}
	}
	return nil
}

// setDrops sets what lies between each row's potential and its column's.
func (c *Couple) setDrops(e *Electric, re, im []float64) {
	clear(c.drop)
	for a, i := range c.row {
		cell := c.Cell[a]
		c.drop[i] += complex(c.part[a], 0) * (e.applied(c.Body[i]) - complex(re[cell], imagAt(im, cell)))
	}
}

// into returns the current that the drops drive out of row i into the ground.
func (c *Couple) into(i int) complex128 {
	var sum complex128
	for j, drop := range c.drop {
		sum += complex(c.admittance[i*len(c.Body)+j], 0) * drop
	}
	return sum
}

// coupleHeat adds the rows' currents, and their own heat: Re (V − Φ)·I*, dealt to
// the ground beside them; the part in a contact resistance stays in the column.
func (e *Electric) coupleHeat(q []float64, current []complex128, re, im []float64) {
	for ci := range e.Couples {
		c := &e.Couples[ci]
		c.setDrops(e, re, im)
		for i := range c.Body {
			into := c.into(i)
			body := &e.Bodies[c.Body[i]]
			current[c.Body[i]] += into
			heat := real(c.drop[i] * cmplx.Conj(into))
			if body.Contact > 0 {
				r := body.Contact * body.Row.Spacing / (2 * math.Pi * body.Row.Radius)
				contact := r / c.area * (real(into)*real(into) + imag(into)*imag(into))
				for a, of := range c.row {
					if of == i {
						q[c.Cell[a]] += c.part[a] * contact
					}
				}
				heat -= contact
			}
			c.layers[i].deal(q, e, c.Level, heat)
		}
	}
}

// RowsImpedance returns V/(ρI′) [-] of one rod among endless rows of endless
// rods, phase after phase at equal distance: volts (phase to neutral) over
// resistivity times current per metre of rod,
//
//	d/(n s) + ln(s/(2πa))/(2π) + Σ_j Z_0j cos(θ_j)/s
//
// the sheets' own field, n = 4, 3, 1 for two poles, three and six phases; the
// row's harmonics; and those of the other rows, shifted by half a spacing in
// every other row where shifted. For a triangular grid of three phases this is
// ln(0.566 p/a)/(2π), p the spacing.
func RowsImpedance(distance, spacing, radius float64, shifted bool, phases int) float64 {
	n, step := map[int]float64{1: 4, 3: 3, 6: 1}[phases], 2*math.Pi/float64(max(phases, 2))
	z := distance/(n*spacing) + math.Log(spacing/(2*math.Pi*radius))/(2*math.Pi)
	for j := 1; j <= 60; j++ {
		y := 0.0
		if shifted && j%2 == 1 {
			y = spacing / 2
		}
		z += 2 * rowMutual(spacing, interval{0, math.Inf(1)}, interval{}, float64(j)*distance, y) / spacing * math.Cos(step*float64(j))
	}
	return z
}
