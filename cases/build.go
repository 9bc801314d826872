package cases

import (
	"fmt"
	"math"
	"slices"

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

// build is Build, its errors without the file.
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
		if caps, err = c.joinCaps(electric, ground.Water); err != nil {
			return nil, err
		}
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
		Turns:    c.turns(),
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

// joinCaps returns the ground above and below a plan's slab, and gives the charge law the
// current that the ends of its rods send through it.
func (c *Case) joinCaps(electric *physics.Electric, water *materials.Water) (*physics.Caps, error) {
	ends, all, err := c.fringe()
	if err != nil {
		return nil, err
	}
	var passing func(depth float64) float64
	if ends != nil {
		ends.Spread()
		passing = ends.Passing
	}
	if len(c.Electrodes) > mostFringed {
		electric.Fringe = all.Factor
	} else if err := electric.JoinEnds(ends); err != nil {
		return nil, err
	}
	return c.caps(passing, water), nil
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

// body returns an electrode of the case as a body of the grid.
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
	for i := range out {
		if most, asSupply := c.reached(&out[i]); most > 0 && !asSupply {
			out[i].Voltage = most
		}
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
