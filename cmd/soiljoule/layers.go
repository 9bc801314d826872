package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"soiljoule/cases"
	"soiljoule/materials"
)

type layerRow struct {
	Name              string  `json:"name"`
	Kind              string  `json:"kind"`
	TopM              float64 `json:"top_m"`
	BottomM           float64 `json:"bottom_m"`
	Resistivity       float64 `json:"resistivity_ohm_m"`
	ResistivityAtC    float64 `json:"resistivity_at_C"`
	ResistivityGround float64 `json:"resistivity_at_ambient_ohm_m"`
	Resistivity100    float64 `json:"resistivity_at_100C_ohm_m"`
	Conductivity      float64 `json:"thermal_conductivity_W_per_m_K"`
	ConductivityDry   float64 `json:"thermal_conductivity_dry_W_per_m_K"`
	DryByLaw          bool    `json:"dry_by_law"`
	ConductivityWet   float64 `json:"thermal_conductivity_wet_W_per_m_K"`
	ConductivityLaw   string  `json:"thermal_conductivity_law"`
	dryLaw            string  // by which the dry value is, where it is by law
	Capacity          float64 `json:"heat_capacity_MJ_per_m3_K"`
	BoilingTopC       float64 `json:"boiling_point_top_C"`
	BoilingBottomC    float64 `json:"boiling_point_bottom_C"`
	Inflow            string  `json:"inflow"`
	FieldCapacity     float64 `json:"field_capacity"` // as found where that is more
	Removable         float64 `json:"removable_water"`
	Residual          float64 `json:"residual_conductivity"`
	keepsMore         bool    // than found
	Groundwater       *water  `json:"groundwater,omitempty"`
}

// water is how fast a layer's groundwater moves, and the heat that it carries.
type water struct {
	Darcy   float64 `json:"darcy_flux_m_per_d"`
	Seepage float64 `json:"seepage_velocity_m_per_d"`
	Front   float64 `json:"heat_front_m_per_d"`
	// Direction is where it goes in a plan [deg], counter-clockwise from +x.
	Direction *float64 `json:"direction_deg,omitempty"`
}

// rain is how fast infiltration goes down, and the heat that it carries.
type rain struct {
	Mean  float64 `json:"mean_m_per_d"`
	Front float64 `json:"heat_front_m_per_d"`
}

func (r *checked) layers(c *cases.Case) {
	water := materials.NewWater()
	top := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		soil := l.Soil()
		sigma := soil.Conductivity(water)
		bottom := l.Bottom
		if math.IsInf(bottom, 1) {
			bottom = math.Max(top, r.Mesh.BottomM)
		}
		boil := func(z float64) float64 { return c.BoilingPoint(z, 0) - materials.Celsius }
		law, dryLaw := soil.LambdaLaw()
		r.Layers = append(r.Layers, layerRow{
			Name: l.Name, Kind: l.Kind, TopM: top, BottomM: bottom,
			Resistivity: l.Resistivity, ResistivityAtC: l.ResistivityAt - materials.Celsius,
			ResistivityGround: l.Resistivity / sigma.FactorT(c.Site.Ambient, math.Inf(1)),
			Resistivity100:    l.Resistivity / sigma.FactorT(materials.Celsius+100, math.Inf(1)),
			Conductivity:      l.ThermalConductivity, ConductivityDry: soil.ThermalConductivityDry, DryByLaw: math.IsNaN(l.ThermalConductivityDry),
			ConductivityWet: soil.Thermal().Lambda(1), ConductivityLaw: law, dryLaw: dryLaw,
			Capacity:    l.HeatCapacity / 1e6,
			BoilingTopC: boil(top), BoilingBottomC: boil(bottom),
			FieldCapacity: math.Max(soil.FieldCapacity, l.Saturation), keepsMore: soil.FieldCapacity > l.Saturation,
			Removable: l.RemovableWater, Residual: l.ResidualConductivity,
			Inflow: l.InflowText(bottom > c.Site.WaterTable, top < c.Site.WaterTable), Groundwater: groundwater(l, c.Site.Ambient, c.View),
		})
		top = bottom
	}
}

// groundwater returns how fast a layer's moves; nil: it has none.
func groundwater(l *cases.Layer, ambient float64, view cases.View) *water {
	if l.Groundwater == 0 {
		return nil
	}
	const day = 86400
	w := &water{Darcy: l.Groundwater * day, Seepage: l.Seepage() * day, Front: l.Front(ambient) * day}
	if view == cases.Plan {
		towards := l.GroundwaterDirection * 180 / math.Pi
		w.Direction = &towards
	}
	return w
}

// text says how fast it moves, and where to.
func (w *water) text(u units) string {
	text := fmt.Sprintf("Darcy flux %s, seepage velocity %s, front of heat %s", u.speed(w.Darcy), u.speed(w.Seepage), u.speed(w.Front))
	if w.Direction != nil {
		text += fmt.Sprintf(", towards %.4g° counter-clockwise from +x", *w.Direction)
	}
	return text
}

// metresPerResistivity returns Σ ℓ/ρ of the layers between two depths, at the
// ground's own temperature.
func (r *checked) metresPerResistivity(top, bottom float64) float64 {
	sum := 0.0
	for _, l := range r.Layers {
		if d := math.Min(bottom, l.BottomM) - math.Max(top, l.TopM); d > 0 {
			sum += d / l.ResistivityGround
		}
	}
	return sum
}

// printLaws says by which laws of saturation the layers conduct heat.
func (r *checked) printLaws(line func(string, ...any)) {
	var laws, dry []string
	of := map[string][]string{}
	add := func(list *[]string, key, name string) {
		if of[key] == nil {
			*list = append(*list, key)
		}
		of[key] = append(of[key], name)
	}
	for _, l := range r.Layers {
		add(&laws, "conduct heat by "+l.ConductivityLaw, l.Name)
		if l.DryByLaw {
			add(&dry, "dry* by "+l.dryLaw, l.Name)
		}
	}
	var unusual []string
	for _, l := range r.Layers {
		if l.Kind != "soil" {
			add(&unusual, "are "+l.Kind, l.Name)
		}
		if l.keepsMore {
			add(&unusual, fmt.Sprintf("keep up to %.4g of their pores full against draining", l.FieldCapacity), l.Name)
		}
		if l.Removable != cases.RemovableWaterDefault {
			add(&unusual, fmt.Sprintf("can lose %.4g of their water to boiling", l.Removable), l.Name)
		}
		if l.Residual != materials.ResidualConductivityDefault {
			add(&unusual, fmt.Sprintf("keep %.4g of their conductivity when dry", l.Residual), l.Name)
		}
	}
	for _, key := range slices.Concat(laws, dry, unusual) {
		line("  %s: %s", key, strings.Join(of[key], ", "))
	}
}
