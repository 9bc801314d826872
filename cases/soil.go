package cases

import (
	"fmt"
	"math"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

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

// RemovableWaterDefault is the share [-] of a layer's pore water that boiling can take where
// the case does not say: a choice.
const RemovableWaterDefault = 0.3

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
