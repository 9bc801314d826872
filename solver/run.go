package solver

import (
	"math"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver/linear"
)

// run is the state of a run and its workspace: a step allocates nothing.
type run struct {
	problem *Problem
	set     Settings
	grid    *mesh.Grid
	ground  *physics.Ground
	heat    *physics.Heat
	charge  *charge // nil: no electrodes
	sources sources
	setting Setting
	control control
	taken   control // as the last accepted step left it
	whole   bool    // that step was brought to its end, and nothing has changed since

	thermostat thermostat
	meter      meter
	cooling    Cooling
	offEvent   offEvent
	team       *linear.Team

	rising  *rising          // steam in its columns; nil: it is taken out where it forms
	seepage *seepage         // water added, and that sinks; nil: none can
	columns *physics.Columns // above and below a level slab; nil: none
	steam   columnSteam      // in and about them, of the step being tried

	state, next  *State
	rate0, rate2 rates
	rate1        flows  // of the γ stage, whose rates by cell are summed at once
	first        *rates // that the step began with: rate0, or begun
	begun        rates  // rate0 moved to the set power and the water that the step begins with

	// By cell.
	eStar, wStar []float64 // a stage's known part [J/m³], [kg/m³]
	slope        []float64 // dT/de
	given        []float64 // [kg/(m³·s)] water that comes in the step whatever its stages do
	refilled     float64   // [kg/s] the part of it that refills what has cooled
	over         []float64 // [kg/m³] displaced in a stage
	drowned      []int     // rows that take no water in the γ stage of the step being tried
	mistake      []float64 // of the step [J/m³]
	power        []float64 // [W]
	beyond       float64   // [-] Joule heat beyond a slab over that in it, which stands in power
	residual     []float64 // [W]
	delta        []float64 // [K]
	scratch      []float64

	boils                      bool // something may: else there is neither steam nor inflow, and W stays
	held                       bool // some cell is, in the heat matrix
	volume                     []float64
	watchedVolume, totalVolume float64
	leastCapacity              float64 // [J/(m³·K)] of any cell
	heatTolerance              float64 // [K]

	pcg            *linear.PCG
	gmres          *linear.GMRES // of heat that water carries; nil: none does
	stiff          bool          // the heat matrix has other conductances than pcg was set up for
	heatSystem     *linear.System
	mostIterations int // of one solve for the potential

	part, most []float64      // by row, of sums and greatest values
	buffers    chan []float64 // of two rows, for who assembles conductances
	loop       loop
	do         loops

	ledger  Ledger
	targets []*tracker
	stats   Stats
	report  Report
}

// loop holds the arguments of the loop over rows that is under way. The loops themselves are
// values made once (loops), since one made in a step would be allocated there, so they take
// no arguments but their rows.
type loop struct {
	h, dt  float64   // [s] of the stage, of the step
	second bool      // the last stage of a step
	state  *State    // whose potential is solved for
	joule  []float64 // [W/V²]
	square float64   // [V²]
	a, b   *solution // to extrapolate from,
	u      float64   // [-] by so many spans
	field  []float64 // to be measured
	zone   mesh.Zone // there
	rates  *rates    // of a stage, or of a moment, being found
	dst, x []float64 // of a product
}

// loops are the loops over rows, each for rows k0 ≤ k < k1.
type loops struct {
	begin, assemble, respond, residual, linearise, update, close, sum, mistake, shown, size func(k0, k1 int)
	extrapolate, supply, saturation, sigma, conduct, joule, guess, compare, combine         func(k0, k1 int)
	known, outside, columns, expect, below, above                                           func(k0, k1 int)
	carried, rise, lift, liftMatrix, lower, net                                             func(k0, k1 int)
}

// newRun returns the run of a problem before its start, with all the memory it will need.
func newRun(p *Problem) *run {
	g := p.Ground.Grid
	n := g.Cells()
	v := func() []float64 { return make([]float64, n) }
	bodies := 0
	if p.Electric != nil {
		bodies = len(p.Electric.Bodies)
	}
	r := &run{problem: p, set: p.Settings.withDefaults(), grid: g, ground: p.Ground, heat: p.Heat, sources: newSources(p, n),
		state: physics.NewState(n, bodies), next: physics.NewState(0, bodies), boils: p.Ground.Boils(),
		eStar: v(), slope: v(), mistake: v(), power: v(), residual: v(), delta: v(),
		volume: g.Volume, mostIterations: 20000, leastCapacity: math.Inf(1), part: make([]float64, g.NZ), most: make([]float64, g.NZ),
	}
	r.set.Lean = r.set.Lean || n > twoSetUps
	r.rate0, r.rate2 = newRates(p), newRates(p)
	r.newFields()
	// A heat solve is left when it no longer matters beside the step's error;
	// what remains stays in the state, not in the ledger.
	r.heatTolerance = 1e-4 * r.set.Tolerance
	r.newSolvers()
	if r.boils && p.Ground.Vapour.Rising {
		r.rising = newRising(p.Ground)
	}
	r.newSeepage()
	if p.Varying != nil || r.seepage != nil {
		r.begun = newRates(p)
	}
	if r.heat.MayMove() || r.rising != nil {
		r.gmres = linear.NewGMRES(r.pcg, carriedDepth, r.unsymmetric)
	}
	r.doLoops()
	for i := range p.Targets {
		r.targets = append(r.targets, newTracker(&p.Targets[i], p.Ground))
	}
	r.newControls()
	r.cooling = newCooling()
	r.stats.ShallowestBoil = math.Inf(1)
	r.stats.HottestAbove, r.stats.HottestBelow = math.Inf(-1), math.Inf(-1)
	r.report.Targets = make([]TargetStatus, len(p.Targets))
	return r
}

// newFields makes the states' fields, the workspace that goes with boiling and with columns,
// and the sums over the ground.
func (r *run) newFields() {
	p, g := r.problem, r.grid
	n := g.Cells()
	v := func() []float64 { return make([]float64, n) }
	if k := p.Heat.Columns; k != nil {
		r.columns = k
		r.state.Caps, r.next.Caps = make([]float64, k.Size()), make([]float64, k.Size())
		if k.Boils() {
			r.steam = columnSteam{slab: v(), comes: v(), rise: make([]physics.CapSteam, n)}
		}
	}
	r.next.T, r.next.E = v(), v()
	if r.boils {
		r.next.W, r.wStar, r.given, r.over = v(), v(), v(), v()
		r.drowned = make([]int, 0, g.NZ)
	} else {
		r.next.W, r.wStar = r.state.W, r.state.W
	}
	for k := range g.NZ {
		for _, run := range r.ground.Runs(k) {
			for c := run.From; c < run.To; c++ {
				r.totalVolume += g.Volume[c]
			}
			r.leastCapacity = math.Min(r.leastCapacity, r.ground.Stores[run.Store].Capacity)
		}
	}
	r.watchedVolume = p.Watched.Volume(g)
}

// newSolvers makes the linear solvers of heat and charge, the team that they share, and, where
// bodies have settings of their own, what the states then hold by body.
func (r *run) newSolvers() {
	p, g := r.problem, r.grid
	n := g.Cells()
	r.heatSystem = &linear.System{NX: g.NX, NZ: g.NZ, Across: r.heat.Across, Down: r.heat.Down, Diag: make([]float64, n), Held: make([]bool, n)}
	if p.Electric != nil {
		r.charge = newCharge(p.Electric, p.Supply, r.set.Lean)
	}
	if r.charge != nil && r.charge.feed != nil {
		bodies := len(p.Electric.Bodies)
		for _, s := range []*State{r.state, r.next} {
			s.Potential, s.Fed, s.Bound = make([]complex128, bodies), make([]float64, bodies), make([]physics.Limit, bodies)
			if p.Electric.Buries() {
				s.Pickup = make([]float64, bodies)
			}
		}
	}
	r.team = linear.NewTeam()
	r.pcg = linear.NewPCG(g.NX, g.NZ, r.team)
	r.scratch = r.pcg.Workspace()
	if r.charge != nil {
		// σ and the right side are wanted while the heat's fields are not.
		r.charge.pcg, r.charge.sigma, r.charge.rhs = r.pcg, r.delta, r.residual
		if !r.set.Lean {
			r.charge.pcg = linear.NewPCG(g.NX, g.NZ, r.team)
			r.charge.own = true
		}
	}
	r.buffers = make(chan []float64, r.team.Size())
	for range r.team.Size() {
		r.buffers <- make([]float64, 2*g.NX)
	}
}

// twoSetUps is the largest number of cells for which charge and heat have a solver each,
// whose set-ups serve for several solves. With more they take turns with one, which saves
// 110 bytes a cell.
const twoSetUps = 300000

// done ends the workers of the team.
func (r *run) done() { r.team.Close() }

// doLoops makes the loops' values.
func (r *run) doLoops() {
	r.do = loops{begin: r.beginRows, assemble: r.assembleRows,
		respond: r.respondRows, residual: r.residualRows, linearise: r.lineariseRows, update: r.updateRows, close: r.closeRows, sum: r.sumRows,
		mistake: r.mistakeRows, shown: r.shownRows, size: r.sizeRows,
		extrapolate: r.extrapolateRows, supply: r.supplyRows, saturation: r.saturationRows, sigma: r.sigmaRows, conduct: r.conductRows,
		joule: r.jouleRows, guess: r.guessRows, compare: r.compareRows, combine: r.combineRows,
		known: r.knownRows, outside: r.outsideRows, columns: r.columnRows, expect: r.expectRows, below: r.belowRows, above: r.aboveRows,
		carried: r.carriedLoop, rise: r.riseColumns, lift: r.liftColumns, liftMatrix: r.liftMatrixRows, lower: r.lowerRows, net: r.netRows}
}

// rows shares a loop over the grid's rows among the team.
func (r *run) rows(do func(k0, k1 int)) { r.team.Rows(r.grid.NZ, r.grid.NX, 1, do) }

// row returns row k of a field.
func (r *run) row(field []float64, k int) []float64 { return field[k*r.grid.NX : (k+1)*r.grid.NX] }

// totals returns the sum of part and the greatest of most over the rows, in their order.
func (r *run) totals() (sum, most float64) {
	for k, v := range r.part {
		sum += v
		most = math.Max(most, r.most[k])
	}
	return sum, most
}

// norm is the size of a field in kelvin.
type norm struct{ rms, max float64 } // [K]; in max, hot cells count by the share hot

// hot is the weight [-] that the error of a hot cell has in norm.max: of a cell at or above
// its boiling point, or in which steam condenses. A wall that dries cell by cell has an error
// of some kelvins in one cell of a thousand, gone a step later. With a weight of 1 a run takes
// four times the steps, for a mean temperature of the zone that is the same to 1e-3 K after 60
// days; where steam rises, in a front that passes cell by cell, it takes a fifth more, for the
// same energy to 1e-6.
const hot = 0.1

// size returns what a tolerance bounds [K]: the rms, or a tenth of the largest if that is more.
func (n norm) size() float64 { return math.Max(n.rms, n.max/10) }

// watched returns the norm of a field over the watched zone, weighted by volume.
func (r *run) watched(field []float64) norm {
	r.loop.zone, r.loop.field = r.problem.Watched, field
	r.rows(r.do.size)
	sum, most := r.totals()
	return norm{math.Sqrt(sum / r.watchedVolume), most}
}

// sizeRows sums the squares of a field over a zone. A NaN makes NaN of both.
func (r *run) sizeRows(k0, k1 int) {
	z := r.loop.zone
	for k := k0; k < k1; k++ {
		r.part[k], r.most[k] = 0, 0
		if k < z.K0 || k >= z.K1 {
			continue
		}
		v, f := r.row(r.volume, k)[z.I0:z.I1], r.row(r.loop.field, k)[z.I0:z.I1]
		sum, most := 0.0, 0.0
		if z.Share == nil {
			for i, x := range f {
				sum += v[i] * x * x
				most = max(most, math.Abs(x))
			}
		} else {
			for i, x := range f {
				if w := z.Weight(z.I0+i, k); w > 0 {
					sum += w * v[i] * x * x
					most = max(most, math.Abs(x))
				}
			}
		}
		if r.boils && most > 0 {
			most = r.mostOf(k, z)
		}
		r.part[k], r.most[k] = sum, most
	}
}

// mostOf returns the largest of a row's values in a zone, those of hot cells as they count.
func (r *run) mostOf(k int, z mesh.Zone) float64 {
	most, base := 0.0, k*r.grid.NX
	for _, run := range r.ground.Runs(k) {
		boiling := r.ground.Stores[run.Store].BoilingPoint
		for c := max(run.From, base+z.I0); c < min(run.To, base+z.I1); c++ {
			if z.Weight(c-base, k) == 0 {
				continue
			}
			x := math.Abs(r.loop.field[c])
			if r.next.T[c] >= boiling || r.rising != nil && r.rising.Arrived[c] > 0 {
				x *= hot
			}
			most = max(most, x)
		}
	}
	return most
}
