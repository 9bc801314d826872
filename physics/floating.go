package physics

// together says whether two bodies are one conductor where they touch: they share a
// phase, and no phase leaves either out.
func (e *Electric) together(a, b int) bool {
	x, y := &e.Bodies[a], &e.Bodies[b]
	return a == b || !x.Floating && !y.Floating && x.Phase == y.Phase
}

// applied returns the potential [-] of a body per volt of supply.
func (e *Electric) applied(b int) complex128 {
	if e.Applied == nil {
		return e.Bodies[b].Phase
	}
	return e.Applied[b]
}

// surfaceCurrents sets current to that through the faces of the bodies that fill
// cells [A], for the phasor re + i·im.
func (e *Electric) surfaceCurrents(current []complex128, re, im []float64) {
	clear(current)
	for j, g := range [2][]float64{e.Across, e.Down} {
		for _, f := range e.surface[j] {
			gf := f.out * g[f.face]
			current[f.body] += complex(gf*(re[f.first]-re[f.second]), gf*(imagAt(im, f.first)-imagAt(im, f.second)))
		}
	}
}

// CurrentsTo sets current to the bodies' currents [A], as HeatTo does but for those of
// Ends, for the phasor re + i·im with bodies as applied.
func (e *Electric) CurrentsTo(current []complex128, re, im []float64) {
	e.surfaceCurrents(current, re, im)
	for ci := range e.Couples {
		c := &e.Couples[ci]
		c.setDrops(e, re, im)
		for i, b := range c.Body {
			current[b] += c.into(i)
		}
	}
	for i := range e.Rods {
		r := &e.Rods[i]
		current[r.Body] += r.driven(0, r.drops(e.applied(r.Body), re, im))
	}
	e.beyond(current)
}

// ApplyUnit sets Applied, whose length is the number of bodies, to 1 for one body and 0 for all
// others. The field that follows is the body's unit response u, ∇·(σ∇u) = 0, and its currents
// [A/V] are a column of the admittance matrix Y of
//
//	I_i = Σ_j Y_ij V_j
//
// which is symmetric, with Y_ij ≤ 0 off its diagonal, and its rows sum to what leaves
// through a held rim, or to 0.
func (e *Electric) ApplyUnit(body int) {
	clear(e.Applied)
	e.Applied[body] = 1
}

// Pieces numbers the pieces of conductors and ground that current can pass between:
// of gives that of each body, rim that of a held rim, −1 where there is none or where
// it touches no ground. Inserts pass no current.
func (e *Electric) Pieces() (of []int, rim int) {
	g, n := e.Grid, e.Grid.Cells()
	// Nodes of a forest: the cells, the bodies, the rim.
	parent := make([]int32, n+len(e.Bodies)+1)
	for i := range parent {
		parent[i] = int32(i)
	}
	root := func(i int) int32 {
		x := int32(i)
		for parent[x] != x {
			parent[x] = parent[parent[x]]
			x = parent[x]
		}
		return x
	}
	join := func(a, b int) {
		// The lower number becomes the root: the outcome has one form.
		x, y := root(a), root(b)
		parent[max(x, y)] = min(x, y)
	}
	open := func(c int) bool { return e.BodyOf[c] >= 0 || !e.closed[c] }
	for k := range g.NZ {
		for i := range g.NX {
			c := g.Index(i, k)
			if !open(c) {
				continue
			}
			if i+1 < g.NX && open(c+1) {
				join(c, c+1)
			}
			if k+1 < g.NZ && open(c+g.NX) {
				join(c, c+g.NX)
			}
		}
	}
	for b := range e.Bodies {
		for _, c := range e.Bodies[b].Zone.Cells(g) {
			if open(c) {
				join(n+b, c)
			}
		}
	}
	for i := range e.Rods {
		for _, c := range e.Rods[i].Cell {
			if open(c) {
				join(n+e.Rods[i].Body, c)
			}
		}
	}
	rim = -1
	if e.Outer {
		for _, c := range e.Exchanges[0].Cell {
			if e.BodyOf[c] < 0 && open(c) {
				join(n+len(e.Bodies), c)
				rim = 0
			}
		}
	}
	number := map[int32]int{}
	name := func(i int) int {
		r := root(i)
		if _, ok := number[r]; !ok {
			number[r] = len(number)
		}
		return number[r]
	}
	for b := range e.Bodies {
		of = append(of, name(n+b))
	}
	if rim == 0 {
		rim = name(n + len(e.Bodies))
	}
	return of, rim
}
