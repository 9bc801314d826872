package solver

import "soiljoule/physics"

// rates is the right side of the equations at one stage, as the stage used it.
type rates struct {
	heat []float64 // [W/m³] conduction, Joule heat and heat that water carries in, before steam leaves
	// The rest is nil where nothing boils.
	water  []float64        // [kg/(m³·s)] liquid gained by boiling, condensing, inflow and what is displaced
	vapour []float64        // [W/m³] heat that steam takes less what it brings, and that displaced water takes
	steam  []float64        // [kg/(m³·s)] F; where steam rises F − F_in
	inflow []float64        // [kg/(m³·s)] what replaces boiled water, refill apart
	caps   physics.CapRates // of a plan
	flows
}

// copyFrom makes f's values those of from.
func (f *rates) copyFrom(from *rates) {
	copy(f.heat, from.heat)
	copy(f.water, from.water)
	copy(f.vapour, from.vapour)
	copy(f.steam, from.steam)
	copy(f.inflow, from.inflow)
	f.caps.CopyFrom(&from.caps)
	f.flows = from.flows
}

// newRates returns rates of 0, with the fields that the problem needs.
func newRates(p *Problem) rates {
	v := func() []float64 { return make([]float64, p.Ground.Grid.Cells()) }
	f := rates{heat: v()}
	if p.Ground.Boils() {
		f.water, f.vapour, f.steam, f.inflow = v(), v(), v(), v()
	}
	if k := p.Heat.Columns; k != nil {
		f.caps = k.NewRates()
	}
	return f
}
