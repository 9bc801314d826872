package validation

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// cylinder is an endless upright rod in the plane.
type cylinder struct {
	x, y, a  float64    // [m]
	v        complex128 // [V]
	floating bool       // v is to be found, its net current is 0
}

// multipoles is the field of cylinders in an endless plane of 1 S/m, by Fourier series
// about each centre, r and θ counted from there:
//
//	Φ = C − E·(x, y) + Σ_j { −q_j ln(r/a)/(2π) + Σ_{m ≤ M} (a/r)^m (A_jm cos mθ + B_jm sin mθ) }
//
// with Σ q_j = 0, so that C, the potential far away, is finite. Φ = v_j is asked at 2M+1
// even points of each circle: as many equations as a circle has unknowns. The series of a
// neighbour at D converges there as (a/(D−a))^m, and so does the answer.
type multipoles struct {
	rods  []cylinder
	field [2]float64 // [V/m] E
	order int        // M
	u     []complex128
}

// solve finds the series and the potentials of floating cylinders.
func (p *multipoles) solve(t *testing.T) {
	t.Helper()
	per := 2*p.order + 1
	n := len(p.rods)*per + 1
	m, rhs := mat.NewDense(n, n, nil), mat.NewDense(n, 2, nil)
	for j, c := range p.rods {
		for s := range per {
			row := j*per + s
			sin, cos := math.Sincos(2 * math.Pi * float64(s) / float64(per))
			x, y := c.x+c.a*cos, c.y+c.a*sin
			for i, o := range p.rods {
				f := o.functions(x, y, p.order)
				if o.floating {
					f[0] = 0
				}
				for k, v := range f {
					m.Set(row, i*per+k, v)
				}
			}
			m.Set(row, n-1, 1)
			e := p.field[0]*x + p.field[1]*y
			if c.floating {
				m.Set(row, j*per, -1) // the unknown is its potential
				rhs.Set(row, 0, e)
				continue
			}
			rhs.Set(row, 0, real(c.v)+e)
			rhs.Set(row, 1, imag(c.v))
		}
		if !c.floating {
			m.Set(n-1, j*per, 1)
		}
	}
	driven := false
	for _, c := range p.rods {
		driven = driven || !c.floating
	}
	if !driven {
		m.Set(n-1, n-1, 1) // C is free: 0
	}
	var u mat.Dense
	if err := u.Solve(m, rhs); err != nil {
		t.Fatal(err)
	}
	p.u = make([]complex128, n)
	for i := range p.u {
		p.u[i] = complex(u.At(i, 0), u.At(i, 1))
	}
	for j := range p.rods {
		if c := &p.rods[j]; c.floating {
			c.v = p.u[j*per]
		}
	}
}

// functions returns those of q, A_1, B_1, A_2, … of a cylinder at (x, y).
func (c *cylinder) functions(x, y float64, order int) []float64 {
	z := complex(x-c.x, y-c.y)
	out := []float64{-math.Log(cmplx.Abs(z)/c.a) / (2 * math.Pi)}
	w := complex(c.a, 0) / z // (a/r) e^(−iθ)
	power := complex(1, 0)
	for range order {
		power *= w
		out = append(out, real(power), -imag(power))
	}
	return out
}

// current returns what leaves rod j [A/m], at 1 S/m.
func (p *multipoles) current(j int) complex128 {
	if p.rods[j].floating {
		return 0
	}
	return p.u[j*(2*p.order+1)]
}

// power returns Re Σ V·I* [W/m].
func (p *multipoles) power() float64 {
	sum := 0.0
	for j, c := range p.rods {
		sum += real(c.v * cmplx.Conj(p.current(j)))
	}
	return sum
}

// at returns ∂Φ/∂x and ∂Φ/∂y [V/m].
func (p *multipoles) at(x, y float64) (dx, dy complex128) {
	per := 2*p.order + 1
	dx, dy = complex(-p.field[0], 0), complex(-p.field[1], 0)
	for j, c := range p.rods {
		z := complex(x-c.x, y-c.y)
		w := complex(c.a, 0) / z
		add := func(f, u complex128) { // f = g′ of a potential Re g, or Im g: ∂x Re g = Re g′, ∂y Re g = −Im g′
			dx += u * complex(real(f), 0)
			dy -= u * complex(imag(f), 0)
		}
		if !c.floating {
			add(-1/(2*math.Pi*z), p.u[j*per])
		}
		power := complex(1, 0)
		for m := 1; m <= p.order; m++ {
			power *= w
			d := -complex(float64(m), 0) / z * power // of w^m
			add(d, p.u[j*per+2*m-1])
			add(d*complex(0, 1), p.u[j*per+2*m]) // Re(i w^m) = −Im w^m
		}
	}
	return dx, dy
}

// density returns |∇Φ|² [W/m³ at 1 S/m].
func (p *multipoles) density(x, y float64) float64 {
	dx, dy := p.at(x, y)
	return real(dx*cmplx.Conj(dx)) + real(dy*cmplx.Conj(dy))
}
