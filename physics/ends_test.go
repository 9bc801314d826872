package physics

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// threeRings returns rods of a triangular grid, three rings about one in the middle, and its
// number.
func threeRings(s, a float64) (rods []Rod, middle int) {
	for i, b := range triangle(s, a, 3) {
		if *b.Rod == (Rod{0, 0, a}) {
			middle = i
		}
		rods = append(rods, *b.Rod)
	}
	return rods, middle
}

// every returns n phasors of a supply of so many phases, in turn.
func every(n, phases int) []complex128 {
	out := make([]complex128, n)
	for i := range out {
		out[i] = Phasor(phases, string(rune('A'+i%phases)))
	}
	return out
}

// drawn returns n random potentials.
func drawn(rng *rand.Rand, n int) []complex128 {
	v := make([]complex128, n)
	for i := range v {
		v[i] = complex(rng.NormFloat64(), rng.NormFloat64())
	}
	return v
}

// In uniform ground what flows through the slab and beyond it is what rods of finite length
// draw, whatever they are at, and σ̂ is the ground's conductivity.
// Source: superposition; the currents of either by a solve of their own. Tolerance 1e-9:
// rounding of 1e-16 times the condition of the coefficients, some 1e3 for 37 rods.
func TestEndsInUniformGround(t *testing.T) {
	const s, a, sigma = 4.2672, 0.1524, 0.04
	rng := rand.New(rand.NewPCG(3, 1))
	rods, _ := threeRings(s, a)
	for _, length := range []float64{0.43 * s, 2 * s} {
		v := drawn(rng, len(rods))
		e, err := NewEnds(rods, v, even, 1, length, 1, length)
		if err != nil {
			t.Fatal(err)
		}
		current, err := EndlessCurrents(rods, v)
		if err != nil {
			t.Fatal(err)
		}
		for i := range current {
			current[i] *= complex(sigma*length, 0)
		}
		if got := e.Sigma(v, current); math.Abs(got/sigma-1) > 1e-9 {
			t.Errorf("rods %g m long: the ground beyond conducts %.12g S/m, want %g", length, got, sigma)
		}
		e.AddTo(current, v, sigma)
		for i, want := range finiteCurrents(t, rods, v, 1, length) {
			want *= sigma
			if cmplx.Abs(current[i]-want) > 1e-9*cmplx.Abs(want) {
				t.Errorf("rod %d, %g m long: %.10g A with what is beyond, want %.10g", i, length, current[i], want)
			}
		}
	}
}

// What is beyond a slab takes power whatever the rods are at, and what is in series with
// them; a volt on one drives out of another what one on the other drives out of it; currents
// sum to zero, and rods that are all at one potential pass none. Rods much shorter than
// their slab have nothing beyond it.
// Source: the network is a difference of two of which one is the other with more ways for
// the current; reciprocity; Kirchhoff. Tolerances: rounding, as in TestEndsInUniformGround.
func TestEndsOnlyHeat(t *testing.T) {
	const s, a = 4.2672, 0.1524
	rng := rand.New(rand.NewPCG(3, 2))
	rods, _ := threeRings(s, a)
	n := len(rods)
	for _, length := range []float64{0.2 * s, 0.9 * s, 20 * s} {
		for _, thick := range []float64{1, 1.3, 30} {
			e, err := NewEnds(rods, every(len(rods), 3), even, 1, length, 1, thick*length)
			if err != nil {
				t.Fatal(err)
			}
			for draw := range 20 {
				for i := range e.series {
					e.series[i] = math.Pow(10, 3*rng.Float64()-2) * float64(min(draw, 1))
				}
				if !e.whole.set(e.series) || !e.slab.set(e.series) {
					t.Fatal("rods with resistances in series have no network")
				}
				v, current := drawn(rng, n), make([]complex128, n)
				e.AddTo(current, v, 1)
				power, sum, scale := 0.0, 0i, 0.0
				for i, c := range current {
					power += real(v[i] * cmplx.Conj(c))
					sum += c
					scale += cmplx.Abs(c)
				}
				_, slab := e.lay(v)
				if power < -1e-9*slab || thick == 30 && power > 1e-9*slab || thick == 1 && power < 1e-6*slab {
					t.Errorf("rods %g m long in a slab of %g times that: beyond it go %.3g of the slab's power", length, thick, power/slab)
				}
				if cmplx.Abs(sum) > 1e-12*scale+1e-12*slab {
					t.Errorf("rods %g m long: currents beyond sum to %.3g, all together are %.3g", length, cmplx.Abs(sum), scale)
				}
				i, j := rng.IntN(n), rng.IntN(n)
				var of [2][]complex128
				for k, one := range []int{i, j} {
					unit := make([]complex128, n)
					unit[one] = 1
					of[k] = make([]complex128, n)
					e.AddTo(of[k], unit, 1)
				}
				if x, y := of[0][j], of[1][i]; cmplx.Abs(x-y) > 1e-9*slab {
					t.Errorf("rods %g m long: a volt on rod %d drives %.10g out of %d, the other way round %.10g", length, i, x, j, y)
				}
			}
			v, current := make([]complex128, n), make([]complex128, n)
			for i := range v {
				v[i] = 3 + 0.1i
			}
			e.AddTo(current, v, 1)
			for i, c := range current {
				if c != 0 {
					t.Errorf("rod %d passes %g A beyond the slab, all being at one potential", i, c)
				}
			}
			if got := e.Sigma(v, drawn(rng, n)); got != 0 {
				t.Errorf("rods at one potential: the ground beyond conducts %g S/m, want 0", got)
			}
		}
	}
}

// Of a rod with an endless resistance in series the others see nothing: they pass beyond the
// slab what they would without it.
// Source: a line that passes no current changes no potential. Tolerances: 1e-6 of the network
// without its row and column, as the resistance is 1e8 times that of the ground, over a
// condition of some 1e2 beyond; 1e-3 of rods that never had it among them, whose shape is
// that of other neighbours: of the first order in a change of shape is what one potential
// drives out of another rod.
func TestEndsWithoutOne(t *testing.T) {
	const s, a, length = 4.2672, 0.1524, 3.0
	rods, middle := threeRings(s, a)
	e, err := NewEnds(rods, every(len(rods), 3), even, 1, length, 1, length)
	if err != nil {
		t.Fatal(err)
	}
	e.series[middle] = 1e8
	if !e.whole.set(e.series) || !e.slab.set(e.series) {
		t.Fatal("a resistance in series leaves no network")
	}
	others := append(append([]Rod{}, rods[:middle]...), rods[middle+1:]...)
	never, err := NewEnds(others, every(len(others), 3), even, 1, length, 1, length)
	if err != nil {
		t.Fatal(err)
	}
	cut := *never
	for _, of := range []struct{ dst, src *network }{{&cut.whole, &e.whole}, {&cut.slab, &e.slab}} {
		p := mat.NewSymDense(len(others), nil)
		for i := range others {
			for j := range others {
				at := func(k int) int {
					if k >= middle {
						return k + 1
					}
					return k
				}
				p.SetSym(i, j, of.src.p[at(i)*len(rods)+at(j)])
			}
		}
		*of.dst = newNetwork(p)
		of.dst.set(make([]float64, len(others)))
	}
	v := drawn(rand.New(rand.NewPCG(3, 3)), len(rods))
	got := make([]complex128, len(rods))
	e.AddTo(got, v, 1)
	if i := cmplx.Abs(got[middle]); i > 1e-6 {
		t.Errorf("through an endless resistance go %.3g A", i)
	}
	got = append(append([]complex128{}, got[:middle]...), got[middle+1:]...)
	for _, c := range []struct {
		name string
		ends *Ends
		bar  float64
	}{{"with it cut out of the network", &cut, 1e-6}, {"that never had it", never, 1e-3}} {
		want := make([]complex128, len(others))
		c.ends.AddTo(want, append(append([]complex128{}, v[:middle]...), v[middle+1:]...), 1)
		for i, w := range want {
			if cmplx.Abs(got[i]-w) > c.bar*cmplx.Abs(w) {
				t.Errorf("rod %d passes %.10g beside a rod that passes nothing, %.10g of rods %s", i, got[i], w, c.name)
			}
		}
	}
}

// What the rods take is what heats the slab and the ground beyond, where rods of finite length
// take less than those without end too: with ground beyond that conducts as none of the tables
// has it, potentials that find nothing beyond rods shorter than their slab find less than that,
// by what the tables' polynomial is off.
// Source: conservation of energy. Tolerance 1e-12: rounding of sums over 7 rods and 35 cells.
func TestEndsKeepEnergy(t *testing.T) {
	const grounds, draws = 6, 40
	rng := rand.New(rand.NewPCG(3, 4))
	less := 0
	for drawnGround := range grounds {
		var rods []Rod
		for i := range 7 {
			sin, cos := math.Sincos(math.Pi / 3 * float64(i%6))
			ring := 2.7 * float64(min(1, 6-i))
			rods = append(rods, Rod{X: ring * cos, Y: ring * sin, Radius: 0.03})
		}
		ground := []Stratum{{Bottom: 6.5, Conductivity: math.Pow(10, -3*rng.Float64())}, {Bottom: math.Inf(1), Conductivity: math.Pow(10, -3*rng.Float64())}}
		e, err := NewEnds(rods, every(len(rods), 3), ground, 6, 4*rng.Float64()+0.5, 6, 4)
		if err != nil {
			t.Fatal(err)
		}
		if err := e.tabulate(); err != nil {
			t.Fatal(err)
		}
		q := make([]float64, 35)
		if drawnGround%2 == 0 {
			e.Spread()
			for range q {
				e.pattern = append(e.pattern, 2*rng.Float64())
			}
		}
		for range draws {
			e.SetOutside(math.Pow(10, 1.6*rng.Float64()-1))
			for i := range e.series {
				e.series[i] = rng.Float64()
			}
			if !e.whole.set(e.series) || !e.slab.set(e.series) {
				t.Fatal("rods with resistances in series have no network")
			}
			// Any currents through the slab that the rods give power to, and heat of that sum.
			v, current := drawn(rng, 7), make([]complex128, 7)
			for i := range current {
				current[i] = v[i] + 0.1*complex(rng.NormFloat64(), rng.NormFloat64())
			}
			slab := powerOf(v, current)
			for c := range q {
				q[c] = slab / float64(len(q))
			}
			e.AddTo(current, v, e.Sigma(v, current))
			e.deal(q, v, nil)
			heat := 0.0
			for _, x := range q {
				heat += x
			}
			power := powerOf(v, current)
			if power < slab {
				less++
			}
			share, _ := e.beyond(v)
			if !(share >= 0 && share < 1) || math.Abs(heat/(1-share)/power-1) > 1e-12 {
				t.Errorf("rods give %.15g W, of which %.15g W heat the slab and the part %.3g the ground beyond", power, heat, share)
			}
		}
	}
	if t.Logf("%d draws took less than rods without end", less); less < 5 {
		t.Errorf("%d draws took less than rods without end: nothing is seen of them", less)
	}
}
