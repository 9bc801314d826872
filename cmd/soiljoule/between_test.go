package main

import (
	"math"
	"path/filepath"
	"testing"
)

// TestPowerBetweenRows: read as README says, the power of history.csv brings in energy_in_kWh: it
// runs straight from row to row, but stays as in the row before up to one where the supply is
// switched. Straight all along it does not. By quadrature of the rows.
func TestPowerBetweenRows(t *testing.T) {
	dir := t.TempDir()
	file := write(t, dir, "out.csv", "from_d,to_d\n1,1.5\n2,2.2\n")
	out := filepath.Join(dir, "out")
	runInto(t, out, cell, "--set", "mesh.finest=6 in", "--set", "time.duration=3 d", "--set", "supply.outages="+file)
	days, kW, energy := column(t, out, "history.csv", "time_d"), column(t, out, "history.csv", "power_kW"), column(t, out, "history.csv", "energy_in_kWh")
	var straight, read, tol float64
	for i := 1; i < len(days); i++ {
		h := 24 * (days[i] - days[i-1])
		line := h * (kW[i-1] + kW[i]) / 2
		straight += line
		if (kW[i] == 0) == (kW[i-1] == 0) {
			read += line
			// Power that only rises or only falls between two rows is within half their difference.
			tol += h * math.Abs(kW[i]-kW[i-1]) / 2
			continue
		}
		read += h * kW[i-1]
		// It changes up to the switch at no more than twice the rate of the step before.
		if i > 1 && kW[i-1] > 0 {
			tol += h * 2 * math.Abs(kW[i-1]-kW[i-2]) / (24 * (days[i-1] - days[i-2])) * h / 2
		}
	}
	all := energy[len(energy)-1]
	t.Logf("of %.6g kWh straight lines miss %.3g, as README says %.3g, allowed %.3g", all, straight-all, read-all, tol)
	if math.Abs(read-all) > tol || tol > 0.01*all {
		t.Errorf("read as README says, the power comes to %.6g kWh, want the %.6g of energy_in_kWh within %.3g", read, all, tol)
	}
	if math.Abs(straight-all) < tol {
		t.Errorf("by straight lines alone the power comes to %.6g kWh, want it beyond %.3g of %.6g, as README says", straight, tol, all)
	}
}
