package cases

// checkSupply refuses phases that the supply does not have, and changes of nothing.
func (l *loader) checkSupply() {
	s := l.c.Supply
	if s.Phases == 6 && s.VoltageBasis == "phase to phase" {
		l.no("supply", 0, "voltage_basis", `must be "phase to neutral" with six phases, which have five different voltages from phase to phase`)
	}
	last := map[int]string{1: "B", 3: "C", 6: "F"}[s.Phases]
	for i, e := range l.c.Electrodes {
		switch {
		case e.Phase == "N" && s.Neutral == "floating":
			l.no("electrode", i, "phase", `N needs supply.neutral = "grounded": a floating neutral is connected to no electrode`)
		case e.Phase == "" || e.Phase == "N" || last == "":
		case e.Phase > last:
			l.no("electrode", i, "phase", "must be A to %s: supply.phases is %d", last, s.Phases)
		}
	}
	for i := range l.c.Changes {
		if i >= len(l.rows["change"]) {
			break
		}
		if row := l.rows["change"][i]; row["at"] != nil && (len(row) == 1 || len(row) == 2 && row["electrode"] != nil) {
			l.no("change", i, "", "changes nothing: needs voltage, power_limit, current_limit, kva_limit or on")
		}
	}
}

// checkReturnPath refuses a supply whose current could not come back: all
// electrodes on one potential, and no other potential at the edge.
func (l *loader) checkReturnPath() {
	c := l.c
	phases := map[string]bool{}
	for _, e := range c.Electrodes {
		if e.Phase == "" {
			return // refused already
		}
		phases[e.Phase] = true
	}
	switch {
	case c.ownVoltages(): // two taps of one phase
	case c.View == Section && len(c.Arrays) == 0 && len(phases) == 1:
		l.no("electrode", len(c.Electrodes)-1, "phase", "no return path: all electrodes are on one phase, so no current flows")
	case c.View == Axisymmetric && c.Extent.Rim == "insulated":
		if len(c.Arrays) > 0 {
			phases["A"] = true
		}
		if len(phases) == 1 {
			l.no("extent", 0, "rim", `no return path: there is one potential and no current passes the edge; must be "neutral"`)
		}
	}
}
