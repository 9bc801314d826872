package physics

import (
	"math"
	"math/cmplx"
	"testing"
)

// star returns the currents of three phases on resistances to one floating point:
// I_k = (V_k − V_0)/R_k, with V_0 such that they sum to 0.
func star(volts [3]complex128, ohms [3]float64) (amps [3]complex128) {
	var v0 complex128
	g := 0.0
	for k, r := range ohms {
		v0 += volts[k] / complex(r, 0)
		g += 1 / r
	}
	for k, r := range ohms {
		amps[k] = (volts[k] - v0/complex(g, 0)) / complex(r, 0)
	}
	return amps
}

// TestApparentPower: of a balanced star the apparent power is the power, since each
// phase's current is in phase with its voltage; of one resistance R between two of three
// phases it is 2√3 V²/R where the power is 3 V²/R; electrodes of one phase count by
// their currents' sum; the neutral takes none. Worked by hand from Ohm's law.
func TestApparentPower(t *testing.T) {
	a := [3]complex128{1, cmplx.Exp(complex(0, -2*math.Pi/3)), cmplx.Exp(complex(0, -4*math.Pi/3))}
	bodies := []Body{{Label: "A", Phase: a[0]}, {Label: "B", Phase: a[1]}, {Label: "C", Phase: a[2]}, {Label: "A", Phase: a[0]}, {Label: "N"}}
	power := func(n int, i []complex128) (p float64) {
		for b := range n {
			p += real(bodies[b].Phase * cmplx.Conj(i[b]))
		}
		return p
	}
	even := star(a, [3]float64{4, 4, 4})
	two := star(a, [3]float64{2, 3, math.Inf(1)}) // 5 Ω from A to B
	uneven := star(a, [3]float64{2, 5, 9})
	// Of the uneven star by hand: conductances 1/2, 1/5, 1/9, in ninetieths 45, 18, 10 of
	// 73. V0 = (45 + 18a + 10a²)/73 with a = (−1 − i√3)/2 has the real part 31/73 and the
	// imaginary part −4√3/73. So V_A − V0 = 42/73 + i·4√3/73, of the size √1812/73;
	// V_B − V0 = −67.5/73 − i·32.5√3/73, √7725/73; V_C − V0 = −67.5/73 + i·40.5√3/73,
	// √9477/73.
	unevenS := (math.Sqrt(1812)/2 + math.Sqrt(7725)/5 + math.Sqrt(9477)/9) / 73
	for _, c := range []struct {
		name string
		n    int
		amps []complex128
		want float64
		over float64 // of the power
	}{
		{"a balanced star of 4 Ω", 3, even[:], 0.75, 1},
		{"5 Ω between two of three phases", 2, two[:2], 2 * math.Sqrt(3) / 5, 2 / math.Sqrt(3)},
		{"a star of 2, 5 and 9 Ω", 3, uneven[:], unevenS, 0},
		// 1 A each, 60° before and behind the voltage: 1 A together.
		{"two electrodes on one phase, and a neutral", 5, []complex128{cmplx.Exp(complex(0, math.Pi/3)), 0, 0, cmplx.Exp(complex(0, -math.Pi/3)), 7}, 1, 1},
	} {
		// Some roundings of numbers near 1.
		if got := ApparentPower(bodies[:c.n], c.amps); math.Abs(got-c.want) > 1e-14 {
			t.Errorf("the apparent power of %s is %.16g VA/V², want %.16g", c.name, got, c.want)
		}
		switch p := power(c.n, c.amps); {
		case c.over > 0 && math.Abs(c.want/p-c.over) > 1e-14:
			t.Errorf("the apparent power of %s is %.16g times its power, want %.16g", c.name, c.want/p, c.over)
		case c.over == 0 && !(c.want > p*1.0001):
			t.Errorf("the apparent power of %s, %.6g VA/V², is not above its power, %.6g W/V²", c.name, c.want, p)
		}
	}
}
