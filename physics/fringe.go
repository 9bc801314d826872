package physics

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Fringe is the current that rods of finite length draw, over that of the same rods
// without end in their slab: what leaves through the ground above and below it comes on
// top.
type Fringe struct {
	Factor      float64 // [-] of power, all electrodes together
	Least, Most float64 // [-] of current, of single electrodes
}

// endPiece is the length of the piece at a rod's end [radii]. A line current on the axis
// with the potential asked at the wall has no limit as pieces get shorter: the last one
// then takes ever more. At 1.25 radii it takes what the flat end and the last of the wall
// do: rods of 12 to 60 radii are within 0.2 % of the boundary solutions of validation,
// where 1 gives +0.9 % and 2 gives −1.3 %.
const endPiece = 1.25

// pieces returns the depths [m] between which a rod is cut: a short piece at each end in
// the ground and equal ones between, three in all from the surface down and four below it.
func pieces(radius, top, length float64) []float64 {
	end := math.Min(endPiece*radius, length/4)
	bottom := top + length
	if top == 0 {
		return []float64{0, (length - end) / 2, length - end, length}
	}
	return []float64{top, top + end, top + length/2, bottom - end, bottom}
}

// EndlessCurrents returns the currents of endless rods at 1 S/m [A/m], each at its phase's
// phasor [V] from one potential for all, so that they sum to zero.
func EndlessCurrents(rods []Rod, phase []complex128) ([]complex128, error) {
	return lineCurrents(endlessMatrix(rods), phase)
}

// errTooClose is what potential coefficients that are not positive definite say.
var errTooClose = errors.New("rods stand too close for line currents on their axes")

// lineCurrents returns the currents of rods [A, or A/m] at 1 S/m with the potential
// coefficients p, that sum to zero.
func lineCurrents(p *mat.SymDense, phase []complex128) ([]complex128, error) {
	rhs := mat.NewDense(len(phase), 3, nil)
	for i, v := range phase {
		rhs.SetRow(i, []float64{real(v), imag(v), 1})
	}
	var chol mat.Cholesky
	var q mat.Dense
	if !chol.Factorize(p) || chol.SolveTo(&q, rhs) != nil {
		return nil, errTooClose
	}
	out := make([]complex128, len(phase))
	var all complex128
	one := 0.0
	for i := range out {
		out[i] = complex(q.At(i, 0), q.At(i, 1))
		all += out[i]
		one += q.At(i, 2)
	}
	for i := range out {
		out[i] -= all / complex(one, 0) * complex(q.At(i, 2), 0)
	}
	return out, nil
}

// endlessMatrix returns p_ij of rods without end, in a constant that makes it positive
// definite and that currents which sum to zero do not feel.
func endlessMatrix(rods []Rod) *mat.SymDense {
	p := mat.NewSymDense(len(rods), nil)
	size := 0.0
	for i := range rods {
		for j := range i {
			size = math.Max(size, math.Hypot(rods[i].X-rods[j].X, rods[i].Y-rods[j].Y))
		}
		size = math.Max(size, rods[i].Radius)
	}
	for i, r := range rods {
		for j := range i {
			p.SetSym(i, j, math.Log(10*size/math.Hypot(r.X-rods[j].X, r.Y-rods[j].Y))/(2*math.Pi))
		}
		p.SetSym(i, i, math.Log(10*size/r.Radius)/(2*math.Pi))
	}
	return p
}

// finiteMatrix returns the potential coefficients p_ij [1/m] of rods of finite length, all
// length [m] long and from top [m] below the surface on; +Inf: in ground without a surface.
// The ground is uniform, of 1 S/m, the surface insulated, and the currents sum to zero. The
// rods' currents I are those of
//
//	V_i = C + Σ_j p_ij I_j,   p_ij = mean of 1/(4πr) between rods i and j,   Σ I = 0
//
// with a mirror image above the surface; r is the radius where a rod acts on itself, and
// C the potential of the ground far away. Along a rod the current lies in a few pieces, in
// the shares that give them one potential if the nearest rod is fed the other way round; for
// pieces k and l
//
//	p_kl = Σ ± f(z − z′)/(4π l_k l_l),   f(u) = √(u² + d²) − u·asinh(u/d)
//
// over the ends z of one and z′ of the other, + where both are tops or both bottoms.
// Without end p_ij = ln(1/r)/2π a metre.
//
// Source: Sunde (1949), Earth Conduction Effects in Transmission Systems, for the
// potentials of lines (from memory); the pieces are this program's own.
func finiteMatrix(rods []Rod, top, length float64) (*mat.SymDense, error) {
	image := top < 1e4*length // from further off it is the same on all rods
	if !image {
		top = length
	}
	cuts, shares := make([][]float64, len(rods)), make([][]float64, len(rods))
	for i, r := range rods {
		cuts[i] = pieces(r.Radius, top, length)
		near := math.Inf(1)
		for j, o := range rods {
			if i != j {
				near = math.Min(near, math.Hypot(r.X-o.X, r.Y-o.Y))
			}
		}
		if shares[i] = alone(cuts[i], r.Radius, near, image); shares[i] == nil {
			return nil, errTooClose
		}
	}
	p := mat.NewSymDense(len(rods), nil)
	between := make([]float64, len(cuts[0])*len(cuts[0]))
	for i, r := range rods {
		for j := range i + 1 {
			d := r.Radius
			if i != j {
				d = math.Hypot(r.X-rods[j].X, r.Y-rods[j].Y)
			}
			piecesTo(between, cuts[i], cuts[j], d, image)
			v := 0.0
			for k, a := range shares[i] {
				for l, b := range shares[j] {
					v += a * b * between[k*len(shares[j])+l]
				}
			}
			p.SetSym(i, j, v)
		}
	}
	return p, nil
}

// alone returns the shares of a rod's current by piece that give all pieces one potential
// where another at a distance near [m] carries the opposite current, nil where there are none.
func alone(z []float64, radius, near float64, image bool) []float64 {
	n := len(z) - 1
	own, other := make([]float64, (n+1)*(n+1)), make([]float64, (n+1)*(n+1))
	piecesTo(own, z, z, radius, image)
	if !math.IsInf(near, 1) {
		piecesTo(other, z, z, near, image)
	}
	p, ones := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for k := range n {
		ones.SetVec(k, 1)
		for l := range k + 1 {
			p.SetSym(k, l, own[k*n+l]-other[k*n+l])
		}
	}
	var chol mat.Cholesky
	var q mat.VecDense
	if !chol.Factorize(p) || chol.SolveVecTo(&q, ones) != nil {
		return nil
	}
	q.ScaleVec(1/mat.Sum(&q), &q)
	return q.RawVector().Data
}

// piecesTo sets the first n² of dst to p_kl [1/m] between the n pieces of two rods at a
// distance d [m], cut at depths a and b; dst has (n+1)², for f at all ends.
func piecesTo(dst, a, b []float64, d float64, image bool) {
	f := func(u float64) float64 { return math.Hypot(u, d) - u*math.Asinh(u/d) }
	n := len(a) - 1
	for k, z := range a {
		for l, o := range b {
			v := f(z - o)
			if image {
				v -= f(z + o) // its tops are bottoms
			}
			dst[k*(n+1)+l] = v
		}
	}
	for k := range n { // what is overwritten has been read
		for l := range n {
			c := k*(n+1) + l
			v := dst[c] + dst[c+n+2] - dst[c+1] - dst[c+n+1]
			dst[k*n+l] = v / (4 * math.Pi * (a[k+1] - a[k]) * (b[l+1] - b[l]))
		}
	}
}
