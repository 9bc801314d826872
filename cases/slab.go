package cases

import (
	"fmt"
	"math"

	"soiljoule/materials"
)

// slabPart is a layer's part of a plan's slab.
type slabPart struct {
	layer       *Layer
	top, bottom float64 // [m]
	share       float64 // [-] of the slab's thickness
	sigma       float64 // [S/m] as found, at the ambient temperature
}

// slabParts returns the layers that a plan's slab runs through, from the top down.
func (c *Case) slabParts() []slabPart {
	water := materials.NewWater()
	out := c.inSlab()
	for i := range out {
		l := out[i].layer
		out[i].sigma = l.Soil().Conductivity(water).FactorT(c.Site.Ambient, inf) / l.Resistivity
	}
	return out
}

// inSlab is slabParts without their conductivities, which take a while.
func (c *Case) inSlab() []slabPart {
	var out []slabPart
	for _, p := range c.Parts(c.Extent.Top, c.Extent.Bottom) {
		if p.Thickness() > sliver {
			out = append(out, slabPart{layer: p.Layer, top: p.Top, bottom: p.Bottom, share: p.Thickness() / (c.Extent.Bottom - c.Extent.Top)})
		}
	}
	return out
}

// slab returns the ground of a plan's slab as one layer, averaged along the slab:
// current and heat run side by side in its layers, so that electrical and thermal
// conductivity, heat capacity and porosity are means by thickness; what belongs to the
// water is weighted by the pores, what shapes the electrical conductivity by the
// conductivities. With the linear law the mean is exact at every temperature:
//
//	Σ wᵢσᵢ(1 + aᵢ(T − T₀)) = σ̄(1 + ā(T − T₀)),  σ̄ = Σ wᵢσᵢ,  ā = Σ wᵢσᵢaᵢ/σ̄,  T₀ = 25 °C
//
// Of laws and of inflows that differ, the greater part decides: by conductance of current
// or heat, and by pore volume.
func (c *Case) slab() Layer {
	parts := c.slabParts()
	if len(parts) == 1 {
		l := *parts[0].layer
		l.Inflow = parts[0].inflow(c)
		return l
	}
	const reference = materials.Celsius + 25 // [K]
	water := materials.NewWater()
	var sigma, viscous, pores, held, removable, unlimited, most float64
	out := Layer{Name: "slab", Bottom: inf, ResistivityAt: reference}
	for _, p := range parts {
		l, soil := p.layer, p.layer.Soil()
		s := p.share * soil.Conductivity(water).FactorT(reference, inf) / l.Resistivity
		sigma += s
		if l.TemperatureLaw == "viscosity" {
			viscous += s
		} else {
			out.TemperatureCoeff += p.share / l.Resistivity * l.TemperatureCoeff
		}
		out.SaturationExponent += s * l.SaturationExponent
		out.GrainShare += s * l.GrainShare
		out.ResidualConductivity += s * l.ResidualConductivity

		out.ThermalConductivity += p.share * l.ThermalConductivity
		out.ThermalConductivityDry += p.share * soil.ThermalConductivityDry
		out.HeatCapacity += p.share * l.HeatCapacity
		if s := p.share * l.ThermalConductivity; s > most {
			most = s
			out.Kind, out.ConductivityLaw, out.Texture = l.Kind, l.ConductivityLaw, l.Texture
		}

		v := p.share * l.Porosity
		pores += v
		held += v * l.Saturation
		removable += v * l.Saturation * l.RemovableWater
		out.DrySaturation += v * l.DrySaturation
		out.FieldCapacity += v * l.keeps()
		out.RefillRate += v * l.RefillRate
		switch in := p.inflow(c); in.Kind {
		case InflowUnlimited:
			unlimited += v
		case InflowRate:
			out.Inflow.Rate += v * in.Rate
		}
	}
	out.Resistivity = 1 / sigma
	out.TemperatureLaw = "linear"
	if viscous > sigma/2 {
		out.TemperatureLaw = "viscosity"
	}
	if viscous < sigma {
		out.TemperatureCoeff /= sigma - viscous
	}
	for _, x := range []*float64{&out.SaturationExponent, &out.GrainShare, &out.ResidualConductivity} {
		*x /= sigma
	}
	out.Porosity = pores
	if pores > 0 {
		out.Saturation = held / pores
		for _, x := range []*float64{&out.DrySaturation, &out.FieldCapacity, &out.RefillRate, &out.Inflow.Rate} {
			*x /= pores
		}
	}
	if held > 0 {
		out.RemovableWater = removable / held
	}
	switch {
	case pores > 0 && unlimited >= pores/2:
		out.Inflow = Inflow{Kind: InflowUnlimited}
	case out.Inflow.Rate > 0:
		out.Inflow.Kind = InflowRate
	default:
		out.Inflow.Kind = InflowNone
	}
	return out
}

// inflow returns the inflow of the layer's part of the slab, decided by its middle
// where it is left to the water table.
func (p *slabPart) inflow(c *Case) Inflow {
	if p.layer.Inflow.Kind != InflowByWaterTable {
		return p.layer.Inflow
	}
	if (p.top+p.bottom)/2 > c.Site.WaterTable {
		return Inflow{Kind: InflowUnlimited}
	}
	return Inflow{Kind: InflowNone}
}

// slabCaution names the layers that a plan averages and by how much they differ.
func (c *Case) slabCaution() []string {
	parts := c.slabParts()
	if len(parts) < 2 {
		return nil
	}
	var names []string
	least, most := inf, 0.0
	laws, conducts, inflows := map[string]bool{}, map[string]bool{}, map[InflowKind]bool{}
	for i := range parts {
		p := &parts[i]
		names = append(names, fmt.Sprintf("%s (%.3g %%)", p.layer.Name, 100*p.share))
		least, most = math.Min(least, p.sigma), math.Max(most, p.sigma)
		laws[p.layer.TemperatureLaw] = true
		conducts[p.layer.lawText()] = true
		inflows[p.inflow(c).Kind] = true
	}
	text := fmt.Sprintf("Layers within the slab are averaged along it: %s. As found their electrical conductivities differ %.3g times; that current and heat keep to the better one, and that they heat and dry one before the other, does not appear", enumerate(names), most/least)
	if len(laws) > 1 || len(inflows) > 1 || len(conducts) > 1 {
		text += ". Where their temperature_law, conductivity_law or inflow differ, that of the greater part is taken for all"
	}
	return []string{text + "."}
}
