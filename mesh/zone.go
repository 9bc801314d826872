package mesh

// Zone is a named box of cells: columns I0 to I1−1 and rows K0 to K1−1.
type Zone struct {
	Name           string
	I0, I1, K0, K1 int
}

// Box returns the zone between the edges nearest to the given sides [m].
func (g *Grid) Box(name string, left, right, top, bottom float64) Zone {
	return Zone{name, EdgeAt(g.X, left), EdgeAt(g.X, right), EdgeAt(g.Z, top), EdgeAt(g.Z, bottom)}
}

// Empty says whether the zone has no cell.
func (z Zone) Empty() bool { return z.I0 >= z.I1 || z.K0 >= z.K1 }

// Cells returns the zone's cells in row order.
func (z Zone) Cells(g *Grid) []int {
	if z.Empty() {
		return nil
	}
	c := make([]int, 0, (z.I1-z.I0)*(z.K1-z.K0))
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			c = append(c, g.Index(i, k))
		}
	}
	return c
}

// Contains says whether column i and row k lie in the zone.
func (z Zone) Contains(i, k int) bool { return i >= z.I0 && i < z.I1 && k >= z.K0 && k < z.K1 }

// Union returns the smallest box that holds both zones.
func (z Zone) Union(o Zone) Zone {
	return Zone{z.Name, min(z.I0, o.I0), max(z.I1, o.I1), min(z.K0, o.K0), max(z.K1, o.K1)}
}

// Volume returns the zone's volume [m³].
func (z Zone) Volume(g *Grid) float64 {
	v := 0.0
	for k := z.K0; k < z.K1; k++ {
		for i := z.I0; i < z.I1; i++ {
			v += g.Volume[g.Index(i, k)]
		}
	}
	return v
}
