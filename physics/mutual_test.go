package physics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestMutualOfRowsIsSymmetric: what a row does to another is to the bit what that does to
// it, wherever rods stand along their rows, and as long as they are spaced alike: the
// coupling of one pair is computed once. Reciprocity, which the mean of both was made for.
func TestMutualOfRowsIsSymmetric(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	for i := range 200 {
		s, top := 0.5+3*rng.Float64(), rng.Float64()
		row := func() (*Row, interval) {
			r := &Row{X: 20 * rng.Float64(), Spacing: s, Radius: 0.1}
			if rng.IntN(3) > 0 {
				r.Offset = s * rng.Float64()
			}
			length := s * (0.5 + 2*rng.Float64())
			if rng.IntN(4) == 0 {
				length *= 10 // rods long enough for the forms without end
			}
			return r, interval{top, top + length}
		}
		a, as := row()
		b, bs := row()
		if rng.IntN(2) == 0 {
			bs = as
		}
		at := interval{top, top + 0.3}
		one, other := mutual(a, b, as, bs, at), mutual(b, a, bs, as, at)
		if math.Float64bits(one) != math.Float64bits(other) {
			t.Fatalf("draw %d: rows %.4g and %.4g m, offsets %.4g and %.4g m, rods %.4v and %.4v: %.17g one way and %.17g the other", i, a.X, b.X, a.Offset, b.Offset, as, bs, one, other)
		}
		// Each row's part as the sum over rods has it, with nothing left out.
		y := a.Offset - b.Offset
		d := math.Abs(a.X - b.X)
		if want := (rowMutual(s, as, at, d, y) + rowMutual(s, bs, at, d, -y)) / 2; math.Float64bits(one) != math.Float64bits(want) {
			t.Fatalf("draw %d: the mean of both is %.17g, want %.17g", i, one, want)
		}
	}
}
