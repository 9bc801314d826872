package linear

import (
	"fmt"
	"math"
	"runtime"
	"sync"
	"testing"
	"time"
)

// sides are the numbers of cells each way: 10⁴, 10⁵ and 10⁶ cells.
func sides() []int {
	if testing.Short() {
		return []int{100, 316}
	}
	return []int{100, 316, 1000}
}

const triadLength = 8 << 20 // 64 MB an array, beyond the caches

// triad sets a = b + s c, and is what memory does at its best.
func triad(a, b, c []float64, s float64) {
	for i := range a {
		a[i] = b[i] + s*c[i]
	}
}

func triadArrays() (a, b, c []float64) {
	a, b, c = make([]float64, triadLength), make([]float64, triadLength), make([]float64, triadLength)
	for i := range a {
		a[i], b[i], c[i] = 0, 1, float64(i)
	}
	return a, b, c
}

// triadBytes counts two numbers read and one written, as STREAM does, and not that a
// cache line is read before it is written.
const triadBytes = 24

// triadTime is what one thread takes for a byte of the triad [ns], the best of ten.
var triadTime = sync.OnceValue(func() float64 {
	a, b, c := triadArrays()
	best := math.Inf(1)
	for range 10 {
		from := time.Now()
		triad(a, b, c, 0.5)
		best = math.Min(best, float64(time.Since(from).Nanoseconds()))
	}
	return best / triadLength / triadBytes
})

// BenchmarkTriad is one thread over three arrays of 64 MB, the yardstick of what follows.
func BenchmarkTriad(b *testing.B) {
	x, y, z := triadArrays()
	b.SetBytes(triadBytes * triadLength)
	for b.Loop() {
		triad(x, y, z, 0.5)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/triadLength, "ns/cell")
	b.ReportMetric(triadBytes, "bytes/cell")
}

// perCell runs f, and reports its time by cell, what it must move by cell, and its time
// as a multiple of the triad's for as many bytes, in one run.
//
// Bytes are counted as the triad's are: each sweep of a loop reads once every number that
// it needs and writes once what it sets, 8 bytes each. Numbers that lie in cache from the
// sweep before count all the same, and so on grids that fit there the multiple may be
// below 1.
func perCell(b *testing.B, cells int, bytes float64, f func()) {
	b.Helper()
	unit := triadTime()
	b.ReportAllocs()
	for b.Loop() {
		f()
	}
	ns := float64(b.Elapsed().Nanoseconds()) / float64(b.N) / float64(cells)
	b.ReportMetric(ns, "ns/cell")
	b.ReportMetric(bytes, "bytes/cell")
	b.ReportMetric(bytes*unit, "triad-ns/cell")
	b.ReportMetric(ns/(bytes*unit), "of-triad")
}

// ready returns a solver set up for n by n cells, some of them held, whose D is too small
// for the hierarchy to end before its last level.
func ready(b *testing.B, n int, team *Team) (*PCG, *System) {
	b.Helper()
	s := even(n, n, 1)
	for k := n / 3; k < 2*n/3; k++ {
		s.Held[k*n+n/3] = true
	}
	p := NewPCG(n, n, team)
	p.Factor(s)
	for c := range p.r {
		if !s.Held[c] {
			p.r[c], p.p[c] = math.Sin(float64(c)), math.Cos(float64(c))
		}
	}
	return p, s
}

// BenchmarkApply is the operator: D, two fields of conductances and x read, A x written.
func BenchmarkApply(b *testing.B) {
	for _, n := range sides() {
		b.Run(fmt.Sprintf("cells=%d", n*n), func(b *testing.B) {
			p, s := ready(b, n, nil)
			perCell(b, n*n, 5*8, func() { s.ApplyTo(p.q, p.p) })
		})
	}
}

// relaxed counts the numbers of a level that a relaxation of rows reads and writes:
// right side, pivot and both coefficients of its own rows, the conductances to the
// others, x of the others; x of its own.
func (l *level) relaxed(own, others int) float64 { return float64(5*own + others + l.nx*l.nz - l.nx) }

// sweep is the numbers of rows of C and F, and of conductances between rows.
func (l *level) sweep() (c, f, down float64) {
	return float64((l.nz + 1) / 2 * l.nx), float64(l.nz / 2 * l.nx), float64((l.nz - 1) * l.nx)
}

// BenchmarkRelaxation is one sweep of lines on the finest grid, C and then F.
func BenchmarkRelaxation(b *testing.B) {
	for _, n := range sides() {
		b.Run(fmt.Sprintf("cells=%d", n*n), func(b *testing.B) {
			p, _ := ready(b, n, nil)
			l := p.multigrid.levels[0]
			c, f, _ := l.sweep()
			bytes := 8 * (l.relaxed(int(c), int(f)) + l.relaxed(int(f), int(c))) / float64(n*n)
			perCell(b, n*n, bytes, func() {
				l.share(l.doRelaxC)
				l.share(l.doRelaxF)
			})
		})
	}
}

// moved counts the numbers that a visit of level i reads and writes, with those below it,
// again saying that it is not the first.
func (m *Multigrid) moved(i int, again bool) float64 {
	l := m.levels[i]
	c, f, down := l.sweep()
	rows := func(own, others float64) float64 { return l.relaxed(int(own), int(others)) }
	switch {
	case l.next == nil && again:
		return 0
	case l.next == nil:
		return 5 * c // from zero
	}
	n := 0.0
	if again {
		n += 2*f + rows(f, c) // F put aside, and relaxed
	} else {
		n += 5*c + rows(f, c) // C from zero, then F
	}
	if i+1 < m.used {
		n += down + f + c // what flows from F to C, put where the next level has it
		if again {
			n += f
		}
		n += m.moved(i+1, false)
		for range l.visits - 1 {
			n += m.moved(i+1, true)
		}
		n += 3*c + rows(f, c) // C corrected, F relaxed
	}
	return n + rows(c, f)
}

// processors calls f with as many processors as it says, up to what the machine has.
func processors(b *testing.B, f func(b *testing.B)) {
	for procs := 1; procs <= min(2, runtime.NumCPU()); procs++ {
		b.Run(fmt.Sprintf("procs=%d", procs), func(b *testing.B) {
			before := runtime.GOMAXPROCS(procs)
			defer runtime.GOMAXPROCS(before)
			f(b)
		})
	}
}

// BenchmarkCycle is one cycle of the preconditioner.
func BenchmarkCycle(b *testing.B) {
	for _, n := range sides() {
		b.Run(fmt.Sprintf("cells=%d", n*n), func(b *testing.B) {
			processors(b, func(b *testing.B) {
				team := NewTeam()
				defer team.Close()
				p, _ := ready(b, n, team)
				perCell(b, n*n, 8*p.multigrid.moved(0, false)/float64(n*n), p.multigrid.Cycle)
			})
		})
	}
}

// BenchmarkIteration is one of conjugate gradients: the cycle, the operator (40 bytes),
// the step and its norm (x and r read and written, p and q read: 48), the product r·z (16)
// and the turn (p read and written, z read: 24).
func BenchmarkIteration(b *testing.B) {
	for _, n := range sides() {
		b.Run(fmt.Sprintf("cells=%d", n*n), func(b *testing.B) {
			processors(b, func(b *testing.B) {
				team := NewTeam()
				defer team.Close()
				p, s := ready(b, n, team)
				x := make([]float64, n*n)
				rhs := append([]float64(nil), p.r...)
				p.Residual(x, s, rhs, nil)
				p.alpha, p.beta = 1e-9, 0.5
				perCell(b, n*n, 8*p.multigrid.moved(0, false)/float64(n*n)+40+48+16+24, func() {
					p.rows(p.doApply)
					p.rows(p.doStep)
					p.precondition()
					p.rows(p.doTurn)
				})
			})
		})
	}
}

// BenchmarkFactor is a set-up. On the finest level the conductances between rows and D are
// copied, those along rows copied and pivots preset (7 numbers and a mark); then on each
// level pivots and coefficients are made (4 numbers read, 2 written), rows of F weighed (4
// numbers of each read, conductances between rows), the next level made (3 numbers of
// each row of C read, 4 written), and coefficients turned (2 read, 1 written).
func BenchmarkFactor(b *testing.B) {
	for _, n := range sides() {
		b.Run(fmt.Sprintf("cells=%d", n*n), func(b *testing.B) {
			processors(b, func(b *testing.B) {
				team := NewTeam()
				defer team.Close()
				p, s := ready(b, n, team)
				bytes := float64(7*8+1) * float64(n*n)
				for _, l := range p.multigrid.levels[:p.multigrid.used] {
					c, f, down := l.sweep()
					bytes += 8 * 9 * (c + f)
					if l.next != nil {
						bytes += 8 * (4*f + down + 7*c)
					}
				}
				perCell(b, n*n, bytes/float64(n*n), func() { p.Factor(s) })
			})
		})
	}
}
