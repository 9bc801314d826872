package mesh

import (
	"fmt"
	"math"
	"sort"
)

// Grid is a tensor grid, immutable once built. Interior faces come in two
// families, each in row order: between column neighbours (NZ·(NX−1) of them)
// and between row neighbours ((NZ−1)·NX). What is known of a face by its column
// or its row alone is kept so: a million cells have a few thousand numbers.
type Grid struct {
	NX, NZ      int
	X, Z        []float64 // [m] edges, NX+1 across and NZ+1 down
	XC, ZC      []float64 // [m] nodes: midway between edges
	Cylindrical bool      // X is a radius
	Level       bool      // a level slab: Z, ZC, NZ and Height are along y, and no row is above another
	Volume      []float64 // [m³] by cell

	Outline []float64 // [m] by edge across: its length seen from above, all cells together
	Height  []float64 // [m] by row
	Plan    []float64 // [m²] by column: a cell seen from above

	Across Distances // by edge between columns; face k·(NX−1)+i, between (k, i) and (k, i+1), is Outline[i+1]·Height[k] large
	Down   Distances // by edge between rows; face k·NX+i, between (k, i) and (k+1, i), is Plan[i] large

	Left, Right, Top, Bottom BoundaryFaces
}

// Distances is how far the interior faces of one direction stand from the nodes on
// either side. The conductance of a face of area A between cells of conductivity s₁
// and s₂ is
//
//	G = A / (Before/s₁ + After/s₂)
type Distances struct {
	Before []float64 // [m] effective distance from the first cell's node to the face
	After  []float64 // [m] from the face to the second cell's node
}

// BoundaryFaces is the faces of one side of the domain.
type BoundaryFaces struct {
	Cell     []int
	Area     []float64 // [m²]
	Distance []float64 // [m] effective distance from node to face
}

// NewSection returns the grid of a vertical section with the given edges [m],
// both increasing, standing for length [m] out of the page. It panics if edges
// do not increase: a broken invariant of the caller.
func NewSection(x, z []float64, length float64) *Grid {
	return newGrid(x, z, length, false)
}

// NewAxisymmetric returns the grid of count equal cells round an axis, with
// radial edges r [m] from 0 or more.
//
// Radial distances are logarithmic, d = r_face·|ln(r_face/r_node)|, which makes
// the conductance between two nodes that of a cylinder, 2π·dz·s/ln(r₂/r₁): a
// current that spreads from an axis is carried exactly.
// Source: Carslaw & Jaeger (1959), Conduction of Heat in Solids, 2nd ed., §7.2 (from memory).
func NewAxisymmetric(r, z []float64, count float64) *Grid {
	return newGrid(r, z, count, true)
}

// NewPlan returns the grid of a level slab of a thickness [m] with the given edges
// [m] along x and y, both increasing: a section that lies on its side, so that what
// is said of rows and depths z goes for y. It panics if edges do not increase.
func NewPlan(x, y []float64, thickness float64) *Grid {
	g := newGrid(x, y, thickness, false)
	g.Level = true
	return g
}

// newGrid returns the grid with the given edges [m]. factor is the length [m] across the grid's
// plane, or the number of cells round the axis of a cylindrical one.
func newGrid(x, z []float64, factor float64, cylindrical bool) *Grid {
	checkEdges("x", x)
	checkEdges("z", z)
	if cylindrical && x[0] < 0 {
		panic("mesh: a radius below zero")
	}
	nx, nz := len(x)-1, len(z)-1
	g := &Grid{NX: nx, NZ: nz, X: x, Z: z, XC: middles(x), ZC: middles(z), Cylindrical: cylindrical,
		Volume:  make([]float64, nx*nz),
		Outline: make([]float64, nx+1), Height: make([]float64, nz), Plan: make([]float64, nx),
		Across: newDistances(nx - 1), Down: newDistances(nz - 1),
		Left: newBoundaryFaces(nz), Right: newBoundaryFaces(nz), Top: newBoundaryFaces(nx), Bottom: newBoundaryFaces(nx)}

	for i, edge := range x {
		if cylindrical {
			g.Outline[i] = factor * 2 * math.Pi * edge
		} else {
			g.Outline[i] = factor
		}
	}
	for i := range nx {
		if cylindrical {
			g.Plan[i] = factor * math.Pi * (x[i+1] - x[i]) * (x[i+1] + x[i])
		} else {
			g.Plan[i] = factor * (x[i+1] - x[i])
		}
	}
	across := func(edge, node float64) float64 {
		if cylindrical {
			if edge == 0 {
				return node // no area there: any distance will do
			}
			return edge * math.Abs(math.Log(edge/node))
		}
		return math.Abs(edge - node)
	}
	for i := range nx - 1 {
		g.Across.Before[i], g.Across.After[i] = across(x[i+1], g.XC[i]), across(x[i+1], g.XC[i+1])
	}
	for k := range nz - 1 {
		g.Down.Before[k], g.Down.After[k] = z[k+1]-g.ZC[k], g.ZC[k+1]-z[k+1]
	}
	left, right := across(x[0], g.XC[0]), across(x[nx], g.XC[nx-1])
	for k := range nz {
		dz := z[k+1] - z[k]
		g.Height[k] = dz
		volume := g.Volume[k*nx : (k+1)*nx]
		for i, plan := range g.Plan {
			volume[i] = plan * dz
		}
		g.Left.set(k, g.Index(0, k), g.Outline[0]*dz, left)
		g.Right.set(k, g.Index(nx-1, k), g.Outline[nx]*dz, right)
	}
	for i, plan := range g.Plan {
		g.Top.set(i, g.Index(i, 0), plan, g.ZC[0]-z[0])
		g.Bottom.set(i, g.Index(i, nz-1), plan, z[nz]-g.ZC[nz-1])
	}
	return g
}

func newDistances(n int) Distances { return Distances{make([]float64, n), make([]float64, n)} }

func newBoundaryFaces(n int) BoundaryFaces {
	return BoundaryFaces{make([]int, n), make([]float64, n), make([]float64, n)}
}

func (b *BoundaryFaces) set(j, cell int, area, distance float64) {
	b.Cell[j], b.Area[j], b.Distance[j] = cell, area, distance
}

// checkEdges panics unless there are two edges or more and they increase.
func checkEdges(name string, e []float64) {
	if len(e) < 2 {
		panic("mesh: fewer than two edges along " + name)
	}
	for i := 1; i < len(e); i++ {
		if !(e[i] > e[i-1]) {
			panic(fmt.Sprintf("mesh: %s edges do not increase at %d: %g, %g", name, i, e[i-1], e[i]))
		}
	}
}

// middles returns the middle between each edge and the next.
func middles(e []float64) []float64 {
	m := make([]float64, len(e)-1)
	for i := range m {
		m[i] = (e[i] + e[i+1]) / 2
	}
	return m
}

// Cells returns how many cells the grid has.
func (g *Grid) Cells() int { return g.NX * g.NZ }

// Index returns the cell in column i and row k.
func (g *Grid) Index(i, k int) int { return k*g.NX + i }

// Column returns the column that holds x [m]; a point on an edge belongs to the
// column after it, the last edge to the last column. Points outside return the
// nearest column.
func (g *Grid) Column(x float64) int { return locate(g.X, x) }

// Row returns the row that holds depth z [m], as Column does.
func (g *Grid) Row(z float64) int { return locate(g.Z, z) }

func locate(edges []float64, x float64) int {
	i := sort.Search(len(edges), func(j int) bool { return edges[j] > x }) - 1
	return min(max(i, 0), len(edges)-2)
}

// EdgeAt returns the index of the edge nearest to x in edges [m].
func EdgeAt(edges []float64, x float64) int {
	i := locate(edges, x)
	if math.Abs(edges[i+1]-x) < math.Abs(edges[i]-x) {
		return i + 1
	}
	return i
}

// At returns the field's value at (x, z) [m], by bilinear interpolation between
// nodes; beyond the outermost nodes it continues level. field has one value a
// cell.
func (g *Grid) At(field []float64, x, z float64) float64 {
	i, u := between(g.XC, x)
	k, v := between(g.ZC, z)
	i1, k1 := min(i+1, g.NX-1), min(k+1, g.NZ-1)
	top := (1-u)*field[g.Index(i, k)] + u*field[g.Index(i1, k)]
	bottom := (1-u)*field[g.Index(i, k1)] + u*field[g.Index(i1, k1)]
	return (1-v)*top + v*bottom
}

// between returns the node at or before x, and which part [-] of the way to the next it is from
// there; beyond the outermost nodes the nearest one, and 0.
func between(nodes []float64, x float64) (int, float64) {
	i := sort.SearchFloat64s(nodes, x) - 1
	switch {
	case i < 0:
		return 0, 0
	case i >= len(nodes)-1:
		return len(nodes) - 1, 0
	}
	return i, (x - nodes[i]) / (nodes[i+1] - nodes[i])
}
