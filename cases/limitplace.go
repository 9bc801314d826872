package cases

// OwnLimitPlace returns the fault, allowed being what is wrong, of the current limit of its
// own that an electrode has at a time [s] in a case file read after the settings of --set: an
// electrode's, or that of the last [[change]] of it or of its array. false: the file cannot be
// read as a case, or gives it none.
func OwnLimitPlace(file string, sets []string, electrode string, at float64, allowed string) (Fault, bool) {
	l, err := load(file, sets)
	if err != nil {
		return Fault{}, false
	}
	x, layouts := l.c.Expand()
	section, row := "", 0
	for i := range l.c.Electrodes {
		if e := &l.c.Electrodes[i]; e.Name == electrode && e.CurrentLimit != nil {
			section, row = "electrode", i
		}
	}
	for i := range l.c.Changes {
		ch := &l.c.Changes[i]
		if ch.At > at || ch.CurrentLimit == nil || ch.Electrode == "" {
			continue
		}
		of := ch.Electrode == electrode
		if a := layoutOf(layouts, ch.Electrode); a != nil {
			for _, e := range x.Electrodes[a.From:a.To] {
				of = of || e.Name == electrode
			}
		}
		if of {
			section, row = "change", l.changeRow[i]
		}
	}
	if section == "" {
		return Fault{}, false
	}
	l.no(section, row, "current_limit", "%s", allowed)
	return l.faults[0], true
}
