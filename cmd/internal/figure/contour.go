package figure

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// nodes is a field at points of a rectangular, uneven grid.
type nodes struct {
	x, z []float64 // [m] ascending
	v    []float64 // [k*len(x) + i]
}

// nodes turns cell values into node values: the cells' centres, and the outer
// edges with the values of the cells beside them, so that the picture reaches
// the surface.
func (g *grid) nodes(v []float64) nodes {
	pad := func(edges, centres []float64) []float64 {
		return append(append([]float64{edges[0]}, centres...), edges[len(edges)-1])
	}
	n := nodes{x: pad(g.x, g.xc), z: pad(g.z, g.zc)}
	nx, nz := len(g.xc), len(g.zc)
	for k := range n.z {
		from := max(0, min(nz-1, k-1)) * nx
		for i := range n.x {
			n.v = append(n.v, v[from+max(0, min(nx-1, i-1))])
		}
	}
	return n
}

// minus is the difference of two fields on one grid.
func (n nodes) minus(o nodes) nodes {
	d := nodes{x: n.x, z: n.z, v: make([]float64, len(n.v))}
	for i := range d.v {
		d.v[i] = n.v[i] - o.v[i]
	}
	return d
}

// at is the bilinear value at (x, z).
func (n nodes) at(x, z float64) float64 {
	i, wx := bracket(n.x, x)
	k, wz := bracket(n.z, z)
	nx := len(n.x)
	row := func(k int) float64 {
		a := n.v[k*nx+i]
		if wx == 0 {
			return a
		}
		return (1-wx)*a + wx*n.v[k*nx+i+1]
	}
	if wz == 0 {
		return row(k)
	}
	return (1-wz)*row(k) + wz*row(k+1)
}

// isolines returns the lines on which the field is level, as chains of points
// (x, z), in an order that depends on nothing but the field.
func (n nodes) isolines(level float64) [][][2]float64 {
	nx, nz := len(n.x), len(n.z)
	// A crossing is named by its grid edge: 2·node to the right, 2·node+1 down.
	points := map[int][2]float64{}
	links := map[int][]int{}
	var order []int // crossings as they are first met
	cross := func(i, k int, down bool) int {
		a, j, l, id := k*nx+i, i+1, k, 2*(k*nx+i)
		if down {
			j, l, id = i, k+1, id+1
		}
		if _, ok := points[id]; !ok {
			va, vb := n.v[a], n.v[l*nx+j]
			w := (level - va) / (vb - va)
			points[id] = [2]float64{n.x[i] + w*(n.x[j]-n.x[i]), n.z[k] + w*(n.z[l]-n.z[k])}
			order = append(order, id)
		}
		return id
	}
	link := func(a, b int) {
		links[a] = append(links[a], b)
		links[b] = append(links[b], a)
	}
	for k := range nz - 1 {
		for i := range nx - 1 {
			a, b := n.v[k*nx+i], n.v[k*nx+i+1]
			d, c := n.v[(k+1)*nx+i], n.v[(k+1)*nx+i+1]
			if bad(a) || bad(b) || bad(c) || bad(d) {
				continue
			}
			// Corners above the level, clockwise from the upper left.
			A, B, C, D := a > level, b > level, c > level, d > level
			var cut []int // the crossed edges, clockwise from the top
			if A != B {
				cut = append(cut, cross(i, k, false))
			}
			if B != C {
				cut = append(cut, cross(i+1, k, true))
			}
			if C != D {
				cut = append(cut, cross(i, k+1, false))
			}
			if D != A {
				cut = append(cut, cross(i, k, true))
			}
			switch len(cut) {
			case 2:
				link(cut[0], cut[1])
			case 4:
				// A saddle: the mean decides which corners belong together.
				if ((a+b+c+d)/4 > level) == A {
					link(cut[0], cut[1])
					link(cut[2], cut[3])
				} else {
					link(cut[0], cut[3])
					link(cut[1], cut[2])
				}
			}
		}
	}
	used := map[int]bool{}
	walk := func(start int) [][2]float64 {
		chain := [][2]float64{points[start]}
		used[start] = true
		at := start
		for {
			next := -1
			for _, o := range links[at] {
				if !used[o] {
					next = o
					break
				}
			}
			if next < 0 {
				break
			}
			used[next] = true
			chain = append(chain, points[next])
			at = next
		}
		// A ring ends where it began.
		for _, o := range links[at] {
			if o == start && len(chain) > 2 {
				chain = append(chain, points[start])
			}
		}
		return chain
	}
	var lines [][][2]float64
	for _, open := range []bool{true, false} {
		for _, id := range order {
			if !used[id] && (!open || len(links[id]) == 1) {
				lines = append(lines, walk(id))
			}
		}
	}
	return lines
}

// clipTo returns the parts of l inside r.
func clipTo(r vg.Rectangle, l []vg.Point) [][]vg.Point {
	if len(l) < 2 {
		return nil
	}
	c := draw.Canvas{Rectangle: r}
	return c.ClipLinesXY(l)
}
