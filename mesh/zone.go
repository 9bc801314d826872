package mesh

// Zone is a named part of a grid: a box of cells, columns I0 to I1−1 and rows K0 to
// K1−1, or what an outline cuts out of it.
type Zone struct {
	Name           string
	I0, I1, K0, K1 int
	Share          []float64 // [-] of the box's cells, row by row: part of the cell inside, 0 to 1; nil: all of every cell

	edge *edge // that cuts it out; nil: edges of cells do
}

// Box returns the zone between the edges nearest to the given sides [m].
func (g *Grid) Box(name string, left, right, top, bottom float64) Zone {
	return Zone{Name: name, I0: EdgeAt(g.X, left), I1: EdgeAt(g.X, right), K0: EdgeAt(g.Z, top), K1: EdgeAt(g.Z, bottom)}
}

// Empty says whether the zone has no cell.
func (z Zone) Empty() bool { return z.I0 >= z.I1 || z.K0 >= z.K1 }

// Weight returns which part of the cell in column i and row k lies in the zone [-].
func (z Zone) Weight(i, k int) float64 {
	switch {
	case i < z.I0 || i >= z.I1 || k < z.K0 || k >= z.K1:
		return 0
	case z.Share == nil:
		return 1
	}
	return z.Share[(k-z.K0)*(z.I1-z.I0)+i-z.I0]
}

// Cells returns the cells of which a part lies in the zone, in row order.
func (z Zone) Cells(g *Grid) []int {
	if z.Empty() {
		return nil
	}
	c := make([]int, 0, (z.I1-z.I0)*(z.K1-z.K0))
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			if z.Weight(i, k) > 0 {
				c = append(c, g.Index(i, k))
			}
		}
	}
	return c
}

// Contains says whether at least half of the cell in column i and row k lies in the
// zone; an edge through the middle of cells counts as in both, whatever its rounding.
func (z Zone) Contains(i, k int) bool { return z.Weight(i, k) >= 0.5*(1-1e-9) }

// Union returns the smallest box that holds both zones.
func (z Zone) Union(o Zone) Zone {
	return Zone{Name: z.Name, I0: min(z.I0, o.I0), I1: max(z.I1, o.I1), K0: min(z.K0, o.K0), K1: max(z.K1, o.K1)}
}

// Volume returns the zone's volume [m³].
func (z Zone) Volume(g *Grid) float64 {
	v := 0.0
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			v += g.Volume[g.Index(i, k)] * z.Weight(i, k)
		}
	}
	return v
}

// Volumes returns by cell of the grid the volume that counts in the zone [m³]; it is
// asked for the zone's cells only, and is g.Volume itself where the zone takes all of
// them. It is not to be changed.
func (z Zone) Volumes(g *Grid) []float64 {
	if z.Share == nil {
		return g.Volume
	}
	v := make([]float64, g.Cells())
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			c := g.Index(i, k)
			v[c] = g.Volume[c] * z.Weight(i, k)
		}
	}
	return v
}
