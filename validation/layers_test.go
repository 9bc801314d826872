//dossier:chapter Conduction

package validation

import (
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// layered fills a grid with soils down to their bottoms [m]; boiling is off.
func layered(t *testing.T, g *mesh.Grid, soils []materials.Soil, bottoms []float64) *physics.Ground {
	t.Helper()
	var list []*materials.Soil
	for i := range soils {
		list = append(list, &soils[i])
	}
	gr, err := physics.NewGround(g, physics.Site{Ambient: atStart, AirPressure: 101325, WaterTable: math.Inf(1)}, materials.NewWater(),
		list, bottoms, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	return gr
}
