package linear

import "sync/atomic"

// Multigrid is a W-cycle for the five-point matrix of a System: a symmetric
// positive definite approximation of its inverse, whose work a cell and whose
// quality depend neither on the number of cells nor on how long they are, and little
// on how unlike.
//
// Rows of a level are relaxed as whole lines, and every other row is left out on the
// next, which is turned so that its rows are this one's columns. Strong coupling
// along a row is solved for, and strong coupling across rows is what coarsening acts
// on; so no direction is the wrong one. With the rows that stay, C, and those left
// out, F, which touch rows of C only,
//
//	A = ⎡ A_F   A_FC ⎤    S = A_C − A_CF A_F⁻¹ A_FC
//	    ⎣ A_CF  A_C  ⎦
//
// the coarse matrix stands for S. A row f of F between rows a and c weighs them by
//
//	w⁻ = A_f⁻¹ b_a,  w⁺ = A_f⁻¹ b_c,  δ = A_f⁻¹ d_f = 1 − w⁻ − w⁺
//
// b being its conductances to them and d those to what is held at 0. Galerkin's
// product with the diagonals of these weights, its corner couplings dealt out so that
// fields linear in x and z keep their energy, is again a five-point matrix, and all
// its conductances are sums of positive terms:
//
//	along a:       t_a + Σ_f ½ t_f [w_i (1 − δ_{i+1}) + w_{i+1} (1 − δ_i)]
//	from a to c:   ½ (b_a w⁺ + b_c w⁻)
//	a to the held: d_a + Σ_f b_a δ
//
// so no contrast is lost to rounding. The cycle relaxes C, then F, which leaves a
// residual on C only; that goes to the next level; then F and C again. Restriction
// and prolongation are copies, since relaxing F overwrites what one would interpolate
// there.
//
// Sources: line relaxation and weights that depend on the coefficients: Dendy, J.
// Comput. Phys. 48, 366 (1982); coarsening in one direction with weights from solved
// lines: Schaffer, SIAM J. Sci. Comput. 20, 228 (1998) (both from memory). Dealing
// out the corners, and turning the levels, are this program's own; its tests hold
// them to iteration counts.
type Multigrid struct {
	levels []*level
	used   int // levels that the matrix last factored needs
}

// level is one grid of the hierarchy. Slices are by cell, row by row.
type level struct {
	nx, nz int
	down   []float64   // conductance to the cell below
	pivot  []float64   // 1/p of each line's factorisation L D Lᵀ; 0 in held cells
	right  []float64   // t_i/p_i, to the right neighbour
	left   []float64   // t_{i−1}/p_i, to the left one; during Factor: t_i
	x, r   []float64   // correction and residual; during Factor x is d
	old    []float64   // rows of F before a second visit relaxes them; nil: visited once
	next   *level      // nil: the last
	visits int         // of the next level in a cycle
	alone  atomic.Bool // relaxation alone will do

	team                                                          *Team
	doBegin, doRelaxC, doRelaxF, doRestrict, doCorrect, doCoarsen func(from, to int)
	doAgain, doFactor, doFinish                                   func(from, to int)
	weights                                                       chan []float64 // of coarsen, for who works
}

// NewMultigrid returns a hierarchy for nx by nz cells. It takes x and r of its finest
// level from the caller, len nx·nz each.
func NewMultigrid(nx, nz int, x, r []float64, team *Team) *Multigrid {
	m := &Multigrid{}
	weights := make(chan []float64, team.Size())
	for range team.Size() {
		weights <- make([]float64, (blockRows+1)*3*max(nx, nz))
	}
	for i := 0; ; i++ {
		n := nx * nz
		v := func() []float64 { return make([]float64, n) }
		l := &level{nx: nx, nz: nz, down: v(), pivot: v(), right: v(), left: v(), x: x, r: r, team: team, visits: 1}
		if i > 0 {
			l.x, l.r = v(), v()
			m.levels[i-1].next = l
		}
		m.levels = append(m.levels, l)
		if nz == 1 {
			break
		}
		l.weights = weights
		nx, nz = (nz+1)/2, nx
	}
	for i, l := range m.levels {
		// Two visits where cells have become four times fewer: three sweeps over all cells'
		// worth of work where one visit each takes two.
		if i >= 2 && i%2 == 0 && l.nx*l.nz >= few {
			m.levels[i-1].visits = 2
			l.old = make([]float64, l.nz/2*l.nx)
		}
		l.prepare()
	}
	return m
}

// prepare makes the values of the level's loops once, so that a cycle allocates none.
func (l *level) prepare() {
	l.doBegin = l.beginRows
	l.doRelaxC = func(from, to int) { l.relaxRows(0, from, to) }
	l.doRelaxF = func(from, to int) { l.relaxRows(1, from, to) }
	l.doAgain = l.againRows
	l.doRestrict = l.restrictRows
	l.doCorrect = l.correctRows
	l.doCoarsen = l.coarsenBlocks
	l.doFactor = l.factorRows
	l.doFinish = l.finishRows
}

// shunted is how many times a row's conductance to the held must exceed that to
// other rows, everywhere, for relaxation alone to do: each sweep then divides the
// error by 16.
const shunted = 3

// Factor sets the hierarchy up for s, and for what s becomes while it stays near.
func (m *Multigrid) Factor(s *System) {
	m.levels[0].load(s)
	m.used = 0
	for _, l := range m.levels {
		m.used++
		l.alone.Store(l.next != nil)
		l.team.Rows(l.nz, l.nx*4, 1, l.doFactor) // each cell has divisions to wait for
		alone := l.alone.Load()
		if l.next != nil && !alone {
			l.team.Rows((l.next.nx+blockRows-1)/blockRows, blockRows*l.nx*2, 1, l.doCoarsen)
		}
		l.team.Rows(l.nz, l.nx, 1, l.doFinish)
		if alone {
			return
		}
	}
}

// load takes the conductances of s; those to held cells of a row's own become part
// of d.
func (l *level) load(s *System) {
	nx := s.NX
	copy(l.down, s.Down)
	if s.Diag == nil {
		clear(l.x)
	} else {
		copy(l.x, s.Diag)
	}
	for i := range s.Blocks {
		s.Blocks[i].addDiagonal(l.x)
	}
	for k := range s.NZ {
		t, held := l.row(l.left, k), s.Held[k*nx:k*nx+nx]
		copy(t, s.Across[k*(nx-1):(k+1)*(nx-1)])
		t[nx-1] = 0
		d, p := l.row(l.x, k), l.row(l.pivot, k)
		for i, h := range held {
			p[i] = 1
			if h {
				p[i] = 0
			}
			if i < nx-1 && h != held[i+1] {
				if h {
					d[i+1] += t[i]
				} else {
					d[i] += t[i]
				}
				t[i] = 0
			}
		}
	}
}

// factorRows sets pivot and right from the conductances, and alone to false where
// relaxation alone will not do here. A pivot is a sum of positive terms,
//
//	p_i = t_i + s_i,   s_i = e_i + t_{i−1} s_{i−1}/p_{i−1}
//
// s_i being what leads from i to other rows and to the held, by way of all cells
// before it, e_i what leads there at once. pivot comes in as 1, or 0 where a cell is
// held.
func (l *level) factorRows(from, to int) {
	alone := true
	for k := from; k < to; k++ {
		p, r, t, d := l.row(l.pivot, k), l.row(l.right, k), l.row(l.left, k), l.row(l.x, k)
		var up, dn []float64
		if k > 0 {
			up = l.row(l.down, k-1)
		}
		if k < l.nz-1 {
			dn = l.row(l.down, k)
		}
		before := 0.0
		for i := range p {
			rows := 0.0
			if up != nil {
				rows = up[i]
			}
			if dn != nil {
				rows += dn[i]
			}
			if p[i] == 0 {
				before, r[i] = 0, 0
				continue
			}
			if d[i] < shunted*rows {
				alone = false
			}
			s := d[i] + rows + before
			if !(t[i]+s > 0) { // nothing leads from here: as good as held
				p[i], r[i], before = 0, 0, 0
				continue
			}
			p[i] = 1 / (t[i] + s)
			r[i] = t[i] * p[i]
			before = r[i] * s
		}
	}
	if !alone {
		l.alone.Store(false)
	}
}

// blockRows is how many rows of the next level are made together: its cells lie
// apart in memory as these rows do.
const blockRows = 8

// coarsenBlocks sets the conductances of the next level, which is turned: cell (K, i)
// of rows K and columns i here is its cell (i, K). from and to count blocks of K.
func (l *level) coarsenBlocks(from, to int) {
	n, nx := l.next, l.nx
	weights := <-l.weights
	defer func() { l.weights <- weights }()
	for b := from; b < to; b++ {
		first, past := b*blockRows, min((b+1)*blockRows, n.nx)
		weight := func(f, which int) []float64 { // of the row of F at f = 2K+1, K from first−1 on
			j := ((f-1)/2-first+1)*3 + which
			return weights[j*nx : j*nx+nx]
		}
		for f := max(1, 2*first-1); f < min(2*past, l.nz); f += 2 {
			l.weigh(f, weight(f, 0), weight(f, 1), weight(f, 2))
		}
		for K := first; K < past; K++ {
			k := 2 * K
			t, d, p := l.row(l.left, k), l.row(l.x, k), l.row(l.pivot, k)
			var ta, wa, la, ba []float64 // of the row of F above: t, weight, δ, conductance
			if k > 0 {
				ta, wa, la, ba = l.row(l.left, k-1), weight(k-1, 1), weight(k-1, 2), l.row(l.down, k-1)
			}
			var tb, wb, lb, bb, vb, bc []float64 // and below, with its weight of and conductance to the next of C
			if k < l.nz-1 {
				tb, wb, lb, bb = l.row(l.left, k+1), weight(k+1, 0), weight(k+1, 2), l.row(l.down, k)
			}
			if k < l.nz-2 {
				vb, bc = weight(k+1, 1), l.row(l.down, k+1)
			}
			for i := range t {
				c := i*n.nx + K
				if p[i] == 0 {
					n.pivot[c], n.x[c], n.down[c], n.left[c] = 0, 0, 0, 0
					continue
				}
				along, held, across := t[i], d[i], 0.0
				j := min(i+1, nx-1) // t is 0 in the last
				if ta != nil {
					along += 0.5 * ta[i] * (wa[i]*(1-la[j]) + wa[j]*(1-la[i]))
					held += ba[i] * la[i]
				}
				if tb != nil {
					along += 0.5 * tb[i] * (wb[i]*(1-lb[j]) + wb[j]*(1-lb[i]))
					held += bb[i] * lb[i]
				}
				if vb != nil && l.row(l.pivot, k+2)[i] != 0 { // else it is part of held
					across = 0.5 * (bb[i]*vb[i] + bc[i]*wb[i])
				}
				n.pivot[c], n.x[c], n.down[c], n.left[c] = 1, held, along, across
			}
		}
	}
}

// weigh solves the line of F at row f for its weights of the rows above and below and
// of the held, which is 1 in held cells.
func (l *level) weigh(f int, up, dn, lost []float64) {
	p, r, t, d := l.row(l.pivot, f), l.row(l.right, f), l.row(l.left, f), l.row(l.x, f)
	ba, pa := l.row(l.down, f-1), l.row(l.pivot, f-1)
	var bc, pc []float64
	if f < l.nz-1 {
		bc, pc = l.row(l.down, f), l.row(l.pivot, f+1)
	}
	u, v, w := 0.0, 0.0, 0.0
	before := 0.0 // t of the cell before
	for i := range p {
		a, c, h := ba[i], 0.0, d[i]
		if pa[i] == 0 { // held
			h += a
			a = 0
		}
		if bc != nil {
			c = bc[i]
			if pc[i] == 0 {
				h += c
				c = 0
			}
		}
		u = (a + before*u) * p[i]
		v = (c + before*v) * p[i]
		w = (h + before*w) * p[i]
		up[i], dn[i], lost[i] = u, v, w
		before = t[i]
	}
	u, v, w = 0, 0, 0
	for i := len(p) - 1; i >= 0; i-- {
		u = up[i] + r[i]*u
		v = dn[i] + r[i]*v
		w = lost[i] + r[i]*w
		up[i], dn[i], lost[i] = u, v, w
		if p[i] == 0 {
			lost[i] = 1
		}
	}
}

// finishRows turns t into the lines' left coefficients.
func (l *level) finishRows(from, to int) {
	for k := from; k < to; k++ {
		t, p := l.row(l.left, k), l.row(l.pivot, k)
		before := 0.0
		for i, v := range t {
			t[i] = before * p[i]
			before = v
		}
	}
}

// Cycle sets x of the finest level to the approximation of A⁻¹ r.
func (m *Multigrid) Cycle() { m.cycle(0) }

// cycle sets x of level i to what the levels from there down make of its r.
func (m *Multigrid) cycle(i int) {
	l := m.levels[i]
	l.share(l.doBegin)
	if l.next == nil {
		return
	}
	l.share(l.doRelaxF)
	if i+1 < m.used {
		l.share(l.doRestrict)
		m.below(i)
	}
	l.share(l.doRelaxC)
}

// below visits the next level with the residual that it has been given, and relaxes F.
func (m *Multigrid) below(i int) {
	l := m.levels[i]
	m.cycle(i + 1)
	for range l.visits - 1 {
		m.again(i + 1)
	}
	l.share(l.doCorrect)
	l.share(l.doRelaxF)
}

// again improves x of a level that cycle or again has left: residual free on C, and
// on F what the last relaxation of C has put there.
func (m *Multigrid) again(i int) {
	l := m.levels[i]
	if l.next == nil {
		return // solved
	}
	for k := 1; k < l.nz; k += 2 {
		copy(l.old[k/2*l.nx:], l.row(l.x, k))
	}
	l.share(l.doRelaxF)
	if i+1 < m.used {
		l.share(l.doAgain)
		m.below(i)
	}
	l.share(l.doRelaxC)
}

// share runs a loop over the rows of the next level, of which each stands for a row
// of C here and the row of F after it.
func (l *level) share(do func(from, to int)) {
	l.team.Rows((l.nz+1)/2, 2*l.nx, 4, do)
}

// beginRows relaxes rows of C from zero.
func (l *level) beginRows(from, to int) {
	for K := from; K < to; K++ {
		x, r, p := l.row(l.x, 2*K), l.row(l.r, 2*K), l.row(l.pivot, 2*K)
		for i := range x {
			x[i] = r[i] * p[i]
		}
	}
	l.lines(0, from, to)
}

// relaxRows solves the rows of one parity for the others as they are.
func (l *level) relaxRows(parity, from, to int) {
	for K := from; K < to; K++ {
		k := 2*K + parity
		if k >= l.nz {
			break
		}
		x, r, p := l.row(l.x, k), l.row(l.r, k), l.row(l.pivot, k)
		switch {
		case k == 0:
			d, xd := l.row(l.down, k), l.row(l.x, k+1)
			for i := range x {
				x[i] = (r[i] + d[i]*xd[i]) * p[i]
			}
		case k == l.nz-1:
			u, xu := l.row(l.down, k-1), l.row(l.x, k-1)
			for i := range x {
				x[i] = (r[i] + u[i]*xu[i]) * p[i]
			}
		default:
			d, xd := l.row(l.down, k), l.row(l.x, k+1)
			u, xu := l.row(l.down, k-1), l.row(l.x, k-1)
			for i := range x {
				x[i] = (r[i] + u[i]*xu[i] + d[i]*xd[i]) * p[i]
			}
		}
	}
	l.lines(parity, from, to)
}

// restrictRows sets the next level's r to the residual of C after lines of C from
// zero and lines of F: what flows to C from F.
func (l *level) restrictRows(from, to int) {
	n := l.next
	for b := from; b < to; b += blockRows {
		for K := b; K < min(b+blockRows, to); K++ {
			k := 2 * K
			switch {
			case k == 0:
				d, xd := l.row(l.down, k), l.row(l.x, k+1)
				for i, g := range d {
					n.r[i*n.nx+K] = g * xd[i]
				}
			case k == l.nz-1:
				u, xu := l.row(l.down, k-1), l.row(l.x, k-1)
				for i, g := range u {
					n.r[i*n.nx+K] = g * xu[i]
				}
			default:
				d, xd := l.row(l.down, k), l.row(l.x, k+1)
				u, xu := l.row(l.down, k-1), l.row(l.x, k-1)
				for i, g := range d {
					n.r[i*n.nx+K] = u[i]*xu[i] + g*xd[i]
				}
			}
		}
	}
}

// againRows is restrictRows after a second relaxation of F: what flows to C for F's
// change.
func (l *level) againRows(from, to int) {
	n := l.next
	for K := from; K < to; K++ {
		k := 2 * K
		var u, xu, ou, d, xd, od []float64
		if k > 0 {
			u, xu, ou = l.row(l.down, k-1), l.row(l.x, k-1), l.row(l.old, K-1)
		}
		if k < l.nz-1 {
			d, xd, od = l.row(l.down, k), l.row(l.x, k+1), l.row(l.old, K)
		}
		for i := range l.nx {
			v := 0.0
			if u != nil {
				v = u[i] * (xu[i] - ou[i])
			}
			if d != nil {
				v += d[i] * (xd[i] - od[i])
			}
			n.r[i*n.nx+K] = v
		}
	}
}

// correctRows adds the next level's x to rows of C.
func (l *level) correctRows(from, to int) {
	n := l.next
	for K := from; K < to; K++ {
		x := l.row(l.x, 2*K)
		for i := range x {
			x[i] += n.x[i*n.nx+K]
		}
	}
}

// row returns row k of a field.
func (l *level) row(v []float64, k int) []float64 { return v[k*l.nx : k*l.nx+l.nx] }

// lines substitutes forward and back in rows of one parity, four at a time: within a
// row each cell waits for the one before.
func (l *level) lines(parity, from, to int) {
	k, past := 2*from+parity, min(2*to, l.nz)
	for ; k+6 < past; k += 8 {
		forward4(l.row(l.x, k), l.row(l.x, k+2), l.row(l.x, k+4), l.row(l.x, k+6),
			l.row(l.left, k), l.row(l.left, k+2), l.row(l.left, k+4), l.row(l.left, k+6))
		backward4(l.row(l.x, k), l.row(l.x, k+2), l.row(l.x, k+4), l.row(l.x, k+6),
			l.row(l.right, k), l.row(l.right, k+2), l.row(l.right, k+4), l.row(l.right, k+6))
	}
	for ; k < past; k += 2 {
		x, f, b := l.row(l.x, k), l.row(l.left, k), l.row(l.right, k)
		y := 0.0
		for i := range x {
			y = x[i] + f[i]*y
			x[i] = y
		}
		y = 0
		for i := len(x) - 1; i >= 0; i-- {
			y = x[i] + b[i]*y
			x[i] = y
		}
	}
}

// forward4 substitutes forward in four rows at once, y_i = a_i + l_i y_{i−1}, and backward4 back.
func forward4(a, b, c, d, la, lb, lc, ld []float64) {
	n := len(a)
	b, c, d = b[:n], c[:n], d[:n]
	la, lb, lc, ld = la[:n], lb[:n], lc[:n], ld[:n]
	var y0, y1, y2, y3 float64
	for i := range a {
		y0 = a[i] + la[i]*y0
		y1 = b[i] + lb[i]*y1
		y2 = c[i] + lc[i]*y2
		y3 = d[i] + ld[i]*y3
		a[i], b[i], c[i], d[i] = y0, y1, y2, y3
	}
}

func backward4(a, b, c, d, la, lb, lc, ld []float64) {
	n := len(a)
	b, c, d = b[:n], c[:n], d[:n]
	la, lb, lc, ld = la[:n], lb[:n], lc[:n], ld[:n]
	var y0, y1, y2, y3 float64
	for i := n - 1; i >= 0; i-- {
		y0 = a[i] + la[i]*y0
		y1 = b[i] + lb[i]*y1
		y2 = c[i] + lc[i]*y2
		y3 = d[i] + ld[i]*y3
		a[i], b[i], c[i], d[i] = y0, y1, y2, y3
	}
}

// few is how many cells a level must have to be visited twice: below, a visit costs more
// than its cells.
const few = 500
