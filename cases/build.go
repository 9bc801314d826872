package cases

import (
	"fmt"
	"math"
	"slices"
	"time"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// Build turns a case, with its arrays expanded, into the problem that the
// solver steps. Its errors name keys and start with the file.
func (c *Case) Build() (*solver.Problem, error) {
	if len(c.Arrays) > 0 {
		panic("cases: Build before Expand")
	}
	p, err := c.build()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.File, err)
	}
	return p, nil
}

func (c *Case) build() (*solver.Problem, error) {
	grid, err := c.grid()
	if err != nil {
		return nil, err
	}
	ground, err := c.ground(grid)
	if err != nil {
		return nil, err
	}
	ground.Vapour = c.vapour()
	imposed, varying, err := c.heats(ground)
	if err != nil {
		return nil, err
	}
	electric, err := c.electric(grid, ground.Inserts)
	if err != nil {
		return nil, err
	}
	if err := c.checkReached(electric); err != nil {
		return nil, err
	}
	ground.Vapour.Bores = c.bores(electric)
	var airMean func(from, to float64) float64
	if len(c.Surface.Air.Series) > 0 {
		airMean = c.airMean
	}
	var caps *physics.Caps
	if c.View == Plan {
		ends, all, err := c.fringe()
		if err != nil {
			return nil, err
		}
		switch {
		case len(c.Electrodes) <= mostFringed:
			electric.JoinEnds(ends)
		default:
			electric.Fringe = all.Factor
		}
		caps = c.caps(ends != nil, ground.Water)
	}
	heat := physics.NewHeat(grid, physics.HeatBoundary{
		Film: c.Surface.Film, Cover: c.Surface.Cover, Air: c.airAt, AirMean: airMean,
		Below: physics.Held{On: !c.Domain.Below.Insulated, Temperature: c.Domain.Below.Temperature},
		Sides: physics.Held{On: !c.Domain.Sides.Insulated, Temperature: c.Domain.Sides.Temperature},
		Caps:  caps,
	})
	if c.Flows() {
		heat.Carry(ground, c.flow(ground))
	}
	added, err := c.added(ground, electric)
	if err != nil {
		return nil, err
	}
	p := &solver.Problem{
		Ground: ground, Electric: electric, Added: added, Imposed: imposed, Varying: varying,
		Heat:     heat,
		Supply:   c.Settings(),
		Duration: c.Time.Duration,
		OffAt:    c.Supply.Off.At, OffWhenHeld: c.Supply.Off.Held,
		Outputs:  c.outputTimes(),
		Turns:    c.stepEnds(),
		Settings: solver.Settings{Tolerance: c.Time.Tolerance},
	}
	for _, t := range c.Targets {
		p.Targets = append(p.Targets, solver.Target{Zone: c.box(grid, t, 0), Temperature: t.Temperature, Share: t.Share, Hold: t.Hold})
	}
	p.Watched = c.box(grid, c.Targets[0], c.margin())
	p.Thermostat, p.Meter = c.thermostat(ground, p.Targets[0].Zone), c.meter()
	for i := range c.Heats {
		p.Watched = p.Watched.Union(c.heatZone(grid, &c.Heats[i]))
	}
	return p, nil
}

// electric returns the charge law of the electrodes; nil where there are none.
func (c *Case) electric(grid *mesh.Grid, inserts []physics.Insert) (*physics.Electric, error) {
	if len(c.Electrodes) == 0 {
		return nil, nil
	}
	bodies := make([]physics.Body, len(c.Electrodes))
	for i := range c.Electrodes {
		bodies[i] = c.body(grid, &c.Electrodes[i])
	}
	floating, err := c.conductors(grid)
	if err != nil {
		return nil, err
	}
	bodies = append(bodies, floating...)
	return physics.NewElectric(grid, bodies, c.View == Axisymmetric && c.Extent.Rim == "neutral", inserts...)
}

// ground puts the layers into the grid's rows.
func (c *Case) ground(grid *mesh.Grid) (*physics.Ground, error) {
	if c.View == Plan {
		return c.planGround(grid)
	}
	soils := make([]*materials.Soil, len(c.Layers))
	bottoms := make([]float64, len(c.Layers))
	for i := range c.Layers {
		soils[i] = c.Layers[i].Soil()
		bottoms[i] = c.Layers[i].Bottom
	}
	if err := c.checkRange(grid.ZC[grid.NZ-1]); err != nil {
		return nil, err
	}
	site := c.pressureSite()
	site.SupplyAt = func(i int, z, table float64) physics.WaterSupply {
		l := &c.Layers[i]
		return physics.WaterSupply{Removable: l.RemovableWater, Inflow: l.inflow(z > table), Refill: l.RefillRate}
	}
	return physics.NewGround(grid, site, materials.NewWater(), soils, bottoms, func(i int, z float64) physics.WaterSupply {
		return site.SupplyAt(i, z, c.Site.WaterTable)
	})
}

// Soil returns the layer's laws; a dry conductivity left to the law is filled in.
func (l *Layer) Soil() *materials.Soil {
	law := materials.LawLinear
	if l.TemperatureLaw == "viscosity" {
		law = materials.LawViscosity
	}
	s := &materials.Soil{
		Name: l.Name, Source: materials.Source{Work: l.Source}, Resistivity: l.Resistivity, ResistivityAt: l.ResistivityAt,
		TemperatureLaw: law, TemperatureCoeff: l.TemperatureCoeff, SaturationExponent: l.SaturationExponent,
		GrainShare: l.GrainShare, ResidualConductivity: l.ResidualConductivity,
		Porosity: l.Porosity, Saturation: l.Saturation, DrySaturation: l.DrySaturation, SteamBarrier: l.SteamBarrier,
		ThermalConductivity: l.ThermalConductivity, ThermalConductivityDry: l.ThermalConductivityDry, HeatCapacity: l.HeatCapacity,
	}
	l.setLaws(s)
	if !math.IsNaN(l.FieldCapacity) {
		s.FieldCapacity = l.FieldCapacity
	}
	if math.IsNaN(s.ThermalConductivityDry) {
		s.ThermalConductivityDry = s.LambdaDry()
	}
	return s
}

// inflow returns the layer's inflow [1/s] below or above the water table.
func (l *Layer) inflow(below bool) float64 {
	switch l.Inflow.Kind {
	case InflowRate:
		return l.Inflow.Rate
	case InflowNone:
		return 0
	case InflowUnlimited:
		return math.Inf(1)
	}
	if below {
		return math.Inf(1)
	}
	return 0
}

// InflowText says what replaces boiled water in a layer of which a part lies
// below and a part above the water table.
func (l *Layer) InflowText(below, above bool) string {
	switch {
	case l.Inflow.Kind == InflowRate:
		return fmt.Sprintf("%.3g pore volumes a day", l.Inflow.Rate*86400)
	case l.Inflow.Kind == InflowByWaterTable && below && above:
		return "unlimited below the water table"
	case math.IsInf(l.inflow(below), 1):
		return "unlimited"
	}
	return "none"
}

func (c *Case) body(g *mesh.Grid, e *Electrode) physics.Body {
	if c.View == Plan {
		return c.rod(e)
	}
	b := physics.Body{Name: e.Name, Label: e.Phase, Phase: physics.Phasor(c.Supply.Phases, e.Phase), Rods: 1, Contact: e.ContactResistance}
	switch {
	case c.View == Axisymmetric:
		b.Rods = c.Extent.Count
		b.Zone = g.Box(e.Name, 0, e.Radius, e.Top, e.Bottom)
	case e.Width > 0:
		b.Zone = g.Box(e.Name, e.X-e.Width/2, e.X+e.Width/2, e.Top, e.Bottom)
	default:
		b.Rods = c.Extent.Length / e.RodSpacing
		left, right := c.column(e)
		b.Zone = g.Box(e.Name, left, right, e.Top, e.Bottom)
		b.Row = &physics.Row{X: e.X, Spacing: e.RodSpacing, Offset: e.RodOffset, Radius: e.Radius, Top: e.Top, Bottom: e.Bottom}
	}
	return b
}

// column returns the sides [m] of the mesh column that a row of rods is coupled
// to: mesh.finest wide and centred on the row, or, where a target's side runs
// through the row, beside that side towards the middle of the electrodes, so
// that a mirror image stays one.
func (c *Case) column(e *Electrode) (left, right float64) {
	w := c.Mesh.Finest
	for _, t := range c.Targets {
		for _, side := range []float64{t.Left, t.Right} {
			if math.Abs(side-e.X) < w/2*(1-1e-9) {
				if c.middle() >= e.X {
					return side, side + w
				}
				return side - w, side
			}
		}
	}
	return e.X - w/2, e.X + w/2
}

// middle returns x [m] halfway between the outermost electrodes.
func (c *Case) middle() float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, e := range c.Electrodes {
		lo, hi = math.Min(lo, e.X), math.Max(hi, e.X)
	}
	return (lo + hi) / 2
}

// Reach is how far the ground is modelled beyond zone and electrodes, and why.
type Reach struct {
	Heat      float64 // [m] 3√(αt), α the largest of the layers
	Potential float64 // [m] twice the larger of active length and row distance; plan: see sidesReach
}

// Reach returns the case's.
func (c *Case) Reach() Reach {
	alpha := 0.0
	for _, l := range c.Layers {
		alpha = math.Max(alpha, l.ThermalConductivity/l.HeatCapacity)
	}
	r := Reach{Heat: 3 * math.Sqrt(alpha*c.span())}
	if c.View == Plan {
		r.Potential = c.sidesReach()
		return r
	}
	for _, e := range c.Electrodes {
		r.Potential = math.Max(r.Potential, 2*(e.Bottom-e.Top))
	}
	r.Potential = math.Max(r.Potential, 2*c.widestGap())
	return r
}

// widestGap returns the largest distance across between neighbouring electrodes
// of a section [m].
func (c *Case) widestGap() float64 {
	if c.View != Section {
		return 0
	}
	var x []float64
	for _, e := range c.Electrodes {
		x = append(x, e.X)
	}
	slices.Sort(x)
	gap := 0.0
	for i := 1; i < len(x); i++ {
		gap = math.Max(gap, x[i]-x[i-1])
	}
	return gap
}

// Bounds returns the sides of the modelled ground [m]: as given, or the reach
// beyond zones and electrodes.
func (c *Case) Bounds() (left, right, bottom float64) {
	r := c.Reach()
	reach := math.Max(r.Heat, r.Potential)
	given := func(dst *float64, v float64) {
		if !math.IsNaN(v) {
			*dst = v
		}
	}
	if c.View == Plan {
		left, right, _, _ = c.sides()
		bottom = c.Extent.Bottom + math.Max(r.Heat, thinnest)
		given(&bottom, c.Domain.Bottom)
		return left, right, bottom
	}
	left, right, bottom = math.Inf(1), math.Inf(-1), 0
	for _, t := range c.Targets {
		left, right, bottom = math.Min(left, t.Left), math.Max(right, t.Right), math.Max(bottom, t.Bottom)
	}
	for _, e := range c.Electrodes {
		left, right = math.Min(left, e.X-e.Width/2), math.Max(right, e.X+e.Width/2)
		bottom = math.Max(bottom, e.Bottom)
	}
	for _, h := range c.Heats {
		left, right, bottom = math.Min(left, h.Left), math.Max(right, h.Right), math.Max(bottom, h.Bottom)
	}
	back, on, down := c.fronts(bottom)
	left, right, bottom = left-reach-math.Min(back, farthest), right+reach+math.Min(on, farthest), bottom+reach+math.Min(down, farthest)
	for _, m := range c.Conductors {
		// Metal heats nothing: it needs the ground that it bends the current in.
		around := math.Max(m.Right-m.Left, m.Bottom-m.Top)
		left, right, bottom = math.Min(left, m.Left-around), math.Max(right, m.Right+around), math.Max(bottom, m.Bottom+around)
	}
	if c.View == Axisymmetric {
		left, right = 0, c.Extent.Radius
	}
	if c.View == Section {
		given(&left, c.Domain.Left)
		given(&right, c.Domain.Right)
	}
	given(&bottom, c.Domain.Bottom)
	return left, right, bottom
}

// grid marks every face that must be a cell edge and grades the cells between.
func (c *Case) grid() (*mesh.Grid, error) {
	if c.View == Plan {
		return c.planGrid()
	}
	left, right, bottom := c.Bounds()
	fine := c.Mesh.Finest
	any := math.Inf(1)
	x := []mesh.Mark{{At: left, Size: any}, {At: right, Size: any}}
	z := []mesh.Mark{{At: 0, Size: 4 * fine}, {At: bottom, Size: any}}
	add := func(m *[]mesh.Mark, size float64, at ...float64) {
		first, last := (*m)[0].At, (*m)[1].At
		for _, a := range at {
			if a > first && a < last {
				*m = append(*m, mesh.Mark{At: a, Size: size})
			}
		}
	}
	for _, t := range c.Targets {
		add(&z, fine, t.Top, t.Bottom)
		if c.View == Axisymmetric {
			add(&x, fine, t.Radius)
		} else {
			add(&x, fine, t.Left, t.Right)
		}
	}
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		add(&z, fine, e.Top, e.Bottom)
		switch {
		case c.View == Axisymmetric:
			add(&x, c.wallCell(e), e.Radius)
		case e.Width > 0:
			add(&x, fine, e.X-e.Width/2, e.X+e.Width/2)
		default:
			a, b := c.column(e)
			add(&x, fine, a, b)
		}
	}
	for _, h := range c.Heats {
		add(&z, fine, h.Top, h.Bottom)
		if c.View == Axisymmetric {
			add(&x, fine, h.InnerRadius, h.Radius)
		} else {
			add(&x, fine, h.Left, h.Right)
		}
	}
	for _, m := range c.Conductors {
		add(&z, fine, m.Top, m.Bottom)
		if c.View == Axisymmetric {
			add(&x, fine, m.InnerRadius, m.Radius)
		} else {
			add(&x, fine, m.Left, m.Right)
		}
	}
	for _, l := range c.Layers {
		add(&z, 2*fine, l.Bottom)
	}
	add(&z, any, c.tables()...) // the boiling point has a kink there
	xe, err := mesh.Grade(x, c.Mesh.Growth, c.Mesh.MaxCells)
	if err != nil {
		return nil, c.tooMany(err)
	}
	ze, err := mesh.Grade(z, c.Mesh.Growth, c.Mesh.MaxCells)
	// Whatever the fate, which a run that goes on may change.
	if s := &c.Steam; err == nil && s.interval() && !(onEdge(ze, s.Top) && onEdge(ze, s.Bottom)) {
		add(&z, 2*fine, s.Top, s.Bottom)
		ze, err = mesh.Grade(z, c.Mesh.Growth, c.Mesh.MaxCells)
	}
	if err != nil {
		return nil, c.tooMany(err)
	}
	if n := (len(xe) - 1) * (len(ze) - 1); n > c.Mesh.MaxCells {
		return nil, c.tooMany(fmt.Errorf("%d × %d = %d cells", len(xe)-1, len(ze)-1, n))
	}
	if c.View == Axisymmetric {
		return mesh.NewAxisymmetric(xe, ze, c.Extent.Count), nil
	}
	return mesh.NewSection(xe, ze, c.Extent.Length), nil
}

// edgeWithin [m] is how near to a cell edge a depth counts as on it: to the last of the
// digits in which edges are told.
const edgeWithin = 1e-5

// onEdge says whether a depth [m] is one of the edges.
func onEdge(edges []float64, at float64) bool {
	return math.Abs(edges[mesh.EdgeAt(edges, at)]-at) <= edgeWithin
}

func (c *Case) tooMany(err error) error {
	return fmt.Errorf("mesh.max_cells = %d: %w; allow more, or make mesh.finest (%.3g m) larger", c.Mesh.MaxCells, err, c.Mesh.Finest)
}

// box returns a target's zone; with a margin [m] the box round it, grown by that on
// all sides.
func (c *Case) box(g *mesh.Grid, t Target, margin float64) mesh.Zone {
	switch {
	case c.View == Plan && margin > 0:
		return g.Box(t.Name, t.Left-margin, t.Right+margin, t.Front-margin, t.Back+margin)
	case c.View == Plan:
		return planZone(g, t.Name, t.figure())
	}
	if c.View == Axisymmetric {
		return g.Box(t.Name, 0, t.Radius+margin, t.Top-margin, t.Bottom+margin)
	}
	return g.Box(t.Name, t.Left-margin, t.Right+margin, t.Top-margin, t.Bottom+margin)
}

// margin is one spacing of the electrodes [m].
func (c *Case) margin() float64 {
	if c.View == Plan {
		return math.Max(c.Mesh.Finest, c.farthestNeighbour())
	}
	m := c.widestGap()
	for _, e := range c.Electrodes {
		m = math.Max(m, e.RodSpacing/math.Sqrt(3))
	}
	if c.View == Axisymmetric {
		m = c.Extent.Radius
	}
	return m
}

// settings returns the supply from 0 on, each change cumulative; those of one time are
// one setting.
func (c *Case) settings() []solver.Setting {
	s := solver.Setting{Voltage: c.Supply.PhaseVoltage(c.Supply.Voltage), PowerLimit: c.Supply.PowerLimit, CurrentLimit: c.Supply.CurrentLimit, ApparentLimit: c.Supply.ApparentLimit, On: true,
		Bodies: c.ownSettings()}
	out := []solver.Setting{s}
	at := map[string]int{}
	for i := range c.Electrodes {
		at[c.Electrodes[i].Name] = i
	}
	shared := true // the bodies with the setting before
	for _, ch := range c.Changes {
		if ch.At != s.At {
			out, shared = append(out, s), true
		}
		last := &out[len(out)-1]
		s.At = ch.At
		if ch.Electrode != "" {
			if shared {
				before := s.Bodies
				s.Bodies, shared = asSupply(len(c.Electrodes)+len(c.Conductors)), false
				copy(s.Bodies, before)
			}
			c.changeOwn(&s.Bodies[at[ch.Electrode]], &ch)
			*last = s
			continue
		}
		if ch.Voltage != nil {
			s.Voltage = c.Supply.PhaseVoltage(*ch.Voltage)
		}
		if ch.PowerLimit != nil {
			s.PowerLimit = *ch.PowerLimit
		}
		if ch.CurrentLimit != nil {
			s.CurrentLimit = *ch.CurrentLimit
		}
		if ch.ApparentLimit != nil {
			s.ApparentLimit = *ch.ApparentLimit
		}
		if ch.On != nil {
			s.On = *ch.On
		}
		*last = s
	}
	return out
}

// outputTimes returns the times at which fields are written [s], without 0.
func (c *Case) outputTimes() []float64 {
	var t []float64
	for i := 1; float64(i)*c.Output.FieldsEvery < c.Time.Duration*(1-1e-12); i++ {
		t = append(t, float64(i)*c.Output.FieldsEvery)
	}
	t = append(t, c.Output.FieldsAt...)
	t = append(t, c.Time.Duration)
	slices.Sort(t)
	t = slices.CompactFunc(t, func(a, b float64) bool { return math.Abs(b-a) <= 1e-9*b })
	return slices.DeleteFunc(t, func(a float64) bool { return a <= 0 || a > c.Time.Duration })
}

// airAt returns the air temperature [K] at time t [s]. Monthly values hold in
// the middle of their month and run straight from one to the next; a series runs
// straight between its rows and is level beyond them.
func (c *Case) airAt(t float64) float64 {
	a := &c.Surface.Air
	switch {
	case len(a.Series) > 0:
		i, _ := slices.BinarySearchFunc(a.Series, t, func(p AirPoint, t float64) int {
			if p.Time < t {
				return -1
			}
			return 1
		})
		switch i {
		case 0:
			return a.Series[0].Temperature
		case len(a.Series):
			return a.Series[len(a.Series)-1].Temperature
		}
		p, q := a.Series[i-1], a.Series[i]
		return p.Temperature + (q.Temperature-p.Temperature)*(t-p.Time)/(q.Time-p.Time)
	case len(a.Monthly) == 12:
		now := c.Time.PowerOn.Add(time.Duration(t * float64(time.Second)))
		mid := func(months int) time.Time { // the middle of the month so many from now's
			first := time.Date(now.Year(), now.Month()+time.Month(months), 1, 0, 0, 0, 0, time.UTC)
			return first.Add(first.AddDate(0, 1, 0).Sub(first) / 2)
		}
		from := 0
		if now.Before(mid(0)) {
			from = -1
		}
		p, q := mid(from), mid(from+1)
		u := float64(now.Sub(p)) / float64(q.Sub(p))
		return a.Monthly[p.Month()-1]*(1-u) + a.Monthly[q.Month()-1]*u
	}
	return a.Constant
}

// airMean returns the mean of the air's series [K] between two times [s]: the
// trapezoids of its rows, exact for lines.
func (c *Case) airMean(from, to float64) float64 {
	if to <= from {
		return c.airAt(from)
	}
	sum, at, value := 0.0, from, c.airAt(from)
	add := func(t, v float64) {
		sum += (t - at) * (value + v) / 2
		at, value = t, v
	}
	for _, p := range c.Surface.Air.Series {
		if p.Time > from && p.Time < to {
			add(p.Time, p.Temperature)
		}
	}
	add(to, c.airAt(to))
	return sum / (to - from)
}
