package physics

// cutFace is a face between ground and a body whose outline runs elsewhere: its
// conductance is that of the way along the grid's line from the ground's node to the
// outline, where the potential is the body's, through the whole face,
//
//	G = σA/d
//
// and not half a cell's. Only the body's own cells know its potential, which is given,
// so the matrix stays symmetric and of positive conductances, the currents of faces sum
// to 0, and the heat G·|ΔΦ|², all of it the ground's, to Re Σ V·I*. A field that is even
// beside a slanting outline is carried exactly. Potentials and currents are second order
// in the cells, for a body stands where it is: its stairs, G = σA/(half a cell), would move
// it by up to half a cell. The heat of a cell beside is that of the ground all the way to the
// outline, from a half to one and a half of what the cell would have, on cells of any size;
// over a length of the outline it is right. Nothing else of a body is cut: heat is
// conducted by its cells as by any.
//
// A contact resistance is added by face: of a slanting outline it counts the length of
// its stairs.
//
// Source: the symmetric form of Shortley & Weller, J. Appl. Phys. 9, 334 (1938), by
// Gibou, Fedkiw, Cheng & Kang, J. Comput. Phys. 176, 205 (2002) (both from memory).
type cutFace struct {
	face, ground   int
	area, distance float64 // [m²], [m] A and d
	contact        float64 // [Ω·m²]
}

// cutFaces is those of one direction, in the grid's order.
type cutFaces struct {
	start []int // by row of the grid, and their end: index of its first in list
	list  []cutFace
}

// nearestCut is the least way to an outline, as a share of that between the nodes: a node
// nearer than that is taken to stand so far off, which is no error to speak of, and its
// difference of potential to the body's keeps all but three digits of its neighbours'.
const nearestCut = 1e-3

// findCuts lists the faces between ground and bodies that are cut out by an outline. Ways
// are straight: a figure is of a grid whose cells go by area (mesh.Grid.Polygon), not round
// an axis.
func (e *Electric) findCuts() {
	g := e.Grid
	for j := range e.surface {
		per := g.NX - 1 + j // faces a row
		var list []cutFace
		start := make([]int, g.NZ+1)
		for _, f := range e.surface[j] {
			b := &e.Bodies[f.body]
			if !b.Zone.Cut() {
				continue
			}
			k, i := f.face/per, f.face%per
			area, apart := g.Plan[i], 0.0
			if j == 0 {
				area, apart = g.Outline[i+1]*g.Height[k], g.XC[i+1]-g.XC[i]
			} else {
				apart = g.ZC[k+1] - g.ZC[k]
			}
			ground, body := f.first, f.second
			if f.out > 0 {
				ground, body = body, ground
			}
			start[k+1]++
			list = append(list, cutFace{f.face, ground, area, max(b.Zone.ToOutline(g, ground, body), nearestCut*apart), b.Contact})
		}
		if list == nil {
			continue
		}
		for k := range g.NZ {
			start[k+1] += start[k]
		}
		e.cuts[j] = cutFaces{start, list}
	}
}

// applyCuts sets the conductances of the cut faces in rows k0 to k1−1 and below each.
func (e *Electric) applyCuts(sigma []float64, k0, k1 int) {
	for j, g := range [2][]float64{e.Across, e.Down} {
		c := &e.cuts[j]
		if c.list == nil {
			continue
		}
		for _, f := range c.list[c.start[k0]:c.start[k1]] {
			g[f.face] = f.area / (f.distance/sigma[f.ground] + f.contact)
		}
	}
}
