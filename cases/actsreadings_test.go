package cases

import (
	"math"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// reading is a number read off a problem.
type reading func(p *solver.Problem) float64

func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// soilOf and storeOf read a layer's laws and its uppermost row's store.
func soilOf(layer int, f func(*materials.Soil) float64) reading {
	return func(p *solver.Problem) float64 { return f(p.Ground.Soils[layer]) }
}

func storeOf(layer int, f func(*physics.Store) float64) reading {
	return func(p *solver.Problem) float64 {
		for k, l := range p.Ground.Layer {
			if l == layer {
				return f(&p.Ground.Stores[k])
			}
		}
		return math.NaN()
	}
}

// sandDry is Johansen's dry value of the sand of wiredSection [W/(m·K)].
const sandDry = (0.135*1620 + 64.7) / (2700 - 0.947*1620)

// lambdaOf reads the thermal conductivity of a layer at a saturation [W/(m·K)].
func lambdaOf(layer int, saturation float64) reading {
	return func(p *solver.Problem) float64 {
		out := make([]float64, p.Ground.Grid.Cells())
		s := make([]float64, len(out))
		for c := range s {
			s[c] = saturation
		}
		p.Ground.LambdaTo(out, s)
		for c, k := p.Ground.Grid.NX-1, 0; ; c, k = c+p.Ground.Grid.NX, k+1 {
			if p.Ground.Layer[k] == layer {
				return out[c]
			}
		}
	}
}

func bodyOf(b int, f func(p *solver.Problem, b *physics.Body) float64) reading {
	return func(p *solver.Problem) float64 { return f(p, &p.Electric.Bodies[b]) }
}

func rowOf(b int, f func(*physics.Row) float64) reading {
	return bodyOf(b, func(_ *solver.Problem, b *physics.Body) float64 { return f(b.Row) })
}

func settingOf(i int, f func(solver.Setting) float64) reading {
	return func(p *solver.Problem) float64 { return f(p.Supply[i]) }
}

// sideOf returns a side [m] of a target, of a body or of the ground with set power.
func sideOf(side string, box func(p *solver.Problem) (i0, i1, k0, k1 int)) reading {
	return func(p *solver.Problem) float64 {
		i0, i1, k0, k1 := box(p)
		g := p.Ground.Grid
		return map[string]float64{"left": g.X[i0], "right": g.X[i1], "top": g.Z[k0], "bottom": g.Z[k1]}[side]
	}
}

// vacuumOf reads the vacuum [inH2O] off the boiling point of a row above the water table.
func vacuumOf(at float64, row int) reading {
	return func(p *solver.Problem) float64 {
		p.Ground.Begin(at)
		pressure := materials.SaturationPressure(p.Ground.Stores[row].BoilingPoint)
		return (materials.AirPressure(0) - pressure) / 249.08891
	}
}

func ofTarget(p *solver.Problem) (i0, i1, k0, k1 int) {
	z := p.Targets[0].Zone
	return z.I0, z.I1, z.K0, z.K1
}

func ofPlate(p *solver.Problem) (i0, i1, k0, k1 int) {
	z := p.Electric.Bodies[0].Zone
	return z.I0, z.I1, z.K0, z.K1
}

func ofHeat(p *solver.Problem) (i0, i1, k0, k1 int) {
	g := p.Ground.Grid
	i0, k0 = g.NX, g.NZ
	for c, q := range p.Imposed {
		if q > 0 {
			i, k := c%g.NX, c/g.NX
			i0, i1, k0, k1 = min(i0, i), max(i1, i+1), min(k0, k), max(k1, k+1)
		}
	}
	return i0, i1, k0, k1
}

// ofMetal is the box of the last body, a conductor.
func ofMetal(p *solver.Problem) (i0, i1, k0, k1 int) {
	b := p.Electric.Bodies[len(p.Electric.Bodies)-1]
	if !b.Floating {
		return 0, 0, 0, 0
	}
	return b.Zone.I0, b.Zone.I1, b.Zone.K0, b.Zone.K1
}

// ownOf reads what a body has of its own in a setting; NaN: nothing.
func ownOf(i, b int, f func(solver.BodySetting) float64) reading {
	return func(p *solver.Problem) float64 {
		if own := p.Supply[i].Bodies; own != nil {
			return f(own[b])
		}
		return math.NaN()
	}
}

func ofAll(p *solver.Problem) (i0, i1, k0, k1 int) { return 0, p.Ground.Grid.NX, 0, p.Ground.Grid.NZ }

// aboveGround returns the thermal resistance [m²·K/W] between the surface and the
// air: that of the exchange less half the uppermost cell's.
func aboveGround(lambda float64) reading {
	return func(p *solver.Problem) float64 {
		s := make([]float64, p.Ground.Grid.Cells())
		w := physics.NewState(len(s), 0)
		p.Ground.Start(w)
		p.Ground.SaturationTo(s, w.W)
		p.Heat.Assemble(p.Ground, s)
		top := p.Ground.Grid.Top
		return top.Area[0]/p.Heat.Exchanges[0].G[0] - p.Ground.Grid.Z[1]/2/lambda
	}
}

// airOf returns the air's temperature [K] at a time [s].
func airOf(at float64) reading {
	return func(p *solver.Problem) float64 {
		p.Heat.SetAir(at, 0)
		return p.Heat.Exchanges[0].Outside
	}
}

// heldAt returns the temperature [K] at which so many exchanges of a name are held;
// NaN: they are not so many, or not alike.
func heldAt(name string, sides int) reading {
	return func(p *solver.Problem) float64 {
		n, at := 0, math.NaN()
		for _, e := range p.Heat.Exchanges {
			if e.Name != name {
				continue
			}
			if n > 0 && e.Outside != at {
				return math.NaN()
			}
			n, at = n+1, e.Outside
		}
		if n != sides {
			return math.NaN()
		}
		return at
	}
}

// ratioOf returns the largest ratio of neighbouring columns or rows.
func ratioOf(p *solver.Problem) float64 {
	most := 1.0
	for _, e := range [][]float64{p.Ground.Grid.X, p.Ground.Grid.Z} {
		for i := 2; i < len(e); i++ {
			r := (e[i] - e[i-1]) / (e[i-1] - e[i-2])
			most = math.Max(most, math.Max(r, 1/r))
		}
	}
	return most
}

// meteredAt returns the metered power at the electrodes [W] at a time [s].
func meteredAt(t float64) reading {
	return func(p *solver.Problem) float64 {
		if p.Meter == nil {
			return 0
		}
		return p.Meter.Power(t, t)
	}
}

func thermostatOf(f func(*solver.Thermostat) float64) reading {
	return func(p *solver.Problem) float64 {
		if p.Thermostat == nil {
			return 0
		}
		return f(p.Thermostat)
	}
}

// followedOf returns what the thermostat follows [K] of ground at 300 K whose first cell
// of the target is at 290 K.
func followedOf(p *solver.Problem) float64 {
	s := physics.NewState(p.Ground.Grid.Cells(), 0)
	for c := range s.T {
		s.T[c] = 300
	}
	s.T[p.Targets[0].Zone.Cells(p.Ground.Grid)[0]] = 290
	return p.Thermostat.Follow(s)
}

// followedLinear returns what the thermostat follows of a plan that warms by 2 K a metre
// along x and cools by 1 K a metre along y.
func followedLinear(p *solver.Problem) float64 {
	g := p.Ground.Grid
	s := physics.NewState(g.Cells(), 0)
	for c := range s.T {
		s.T[c] = 280 + 2*g.XC[c%g.NX] - g.ZC[c/g.NX]
	}
	return p.Thermostat.Follow(s)
}

// warmerBy returns the ground's cells 10 K warmer than at the start where in says so.
func warmerBy(p *solver.Problem, in func(k int) bool) []float64 {
	g := p.Ground.Grid
	t := make([]float64, g.Cells())
	for c := range t {
		t[c] = p.Ground.Ambient
		if in(c / g.NX) {
			t[c] += 10
		}
	}
	return t
}

// rainHeat returns what rain brings in a step of dt [s] from a time, over the ground's plan
// [W/m²].
func rainHeat(at, dt float64) reading {
	return func(p *solver.Problem) float64 {
		if !p.Heat.Rains() {
			return 0
		}
		p.Heat.Sinks(p.Ground)
		p.Heat.SetAir(at, dt)
		p.Heat.Percolate(p.Ground, &physics.Percolation{Gain: make([]float64, p.Ground.Grid.Cells())}, nil, at, dt)
		in, _ := p.Heat.CarriedBy(warmerBy(p, func(int) bool { return false }))
		plan := 0.0
		for _, a := range p.Ground.Grid.Plan {
			plan += a
		}
		return in / plan
	}
}

// groundwaterHeat returns what water takes out of the ground where one layer is warm, over
// extent.length [W/m].
func groundwaterHeat(layer int) reading {
	return func(p *solver.Problem) float64 {
		_, out := p.Heat.CarriedBy(warmerBy(p, func(k int) bool { return p.Ground.Layer[k] == layer }))
		return out / p.Ground.Grid.Outline[0]
	}
}

// levelHeat returns what water takes out of a plan's ground 10 K warm, at its sides across
// columns or, along, across rows, over their area [W/m²]: towards +x or +y.
func levelHeat(along bool) reading {
	return func(p *solver.Problem) float64 {
		g := p.Ground.Grid
		t := warmerBy(p, func(int) bool { return true })
		z := mesh.Zone{I0: g.NX / 2, I1: g.NX, K1: g.NZ}
		area := g.Outline[0] * (g.Z[g.NZ] - g.Z[0])
		for k := range g.NZ {
			for i := g.NX / 2; i < g.NX; i++ { // the half beyond is warm, and gives it off downstream
				t[g.Index(i, k)] = p.Ground.Ambient
			}
		}
		if along {
			t = warmerBy(p, func(k int) bool { return k < g.NZ/2 })
			z = mesh.Zone{I1: g.NX, K0: g.NZ / 2, K1: g.NZ}
			area = g.Outline[0] * (g.X[g.NX] - g.X[0])
		}
		return -p.Heat.CarriedFrom(z, t) / area
	}
}

// wallCellOf returns the larger cell [m] beside the rod's wall.
func wallCellOf(p *solver.Problem) float64 {
	g, i := p.Ground.Grid, p.Electric.Bodies[0].Zone.I1
	return math.Max(g.X[i]-g.X[i-1], g.X[i+1]-g.X[i])
}
