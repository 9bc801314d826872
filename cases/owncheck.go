package cases

// checkOwn refuses settings of single electrodes that mean nothing.
func (l *loader) checkOwn() {
	c := l.c
	for i := range c.Electrodes {
		if c.Electrodes[i].Phase != "N" {
			continue
		}
		for _, key := range []string{"voltage", "current_limit"} {
			if l.has("electrode", i, key) {
				l.no("electrode", i, key, "must not be given for the neutral, which is at 0 V")
			}
		}
	}
	for i := range c.Changes {
		for _, key := range []string{"power_limit", "kva_limit"} {
			if c.Changes[i].Electrode != "" && l.has("change", i, key) {
				l.no("change", i, key, "must not stand beside electrode: it is of the whole supply")
			}
		}
	}
}

// checkOwnApart refuses changes of electrodes that are not there, and settings of its own
// for an electrode that touches another of its phase: the two are one conductor. Names
// and places of an array's electrodes need sound values.
func (l *loader) checkOwnApart() {
	c := l.c
	if l.tree["electrode"] == nil && l.tree["array"] == nil {
		return // said where changes and supply are
	}
	sound := len(l.faults) == 0
	x := c
	var layouts []Layout
	if sound {
		x, layouts = c.Expand()
	}
	at := map[string]int{}
	for i := range x.Electrodes {
		at[x.Electrodes[i].Name] = i
	}
	own := l.refuseOwn(x, layouts)
	for i := range c.Changes {
		l.checkChanged(i, x, layouts, at, own, sound)
	}
	l.checkManyOwn(x, layouts)
	if !sound {
		return
	}
	for i := range x.Electrodes {
		refuse := own[i]
		if refuse == nil {
			continue
		}
		for j := range x.Electrodes {
			if i != j && x.joined(&x.Electrodes[i], &x.Electrodes[j]) {
				refuse("%s touches electrode %s of the same phase, so the two are one conductor and share voltage and switch; leave a gap between them", x.Electrodes[i].Name, x.Electrodes[j].Name)
				break
			}
		}
	}
}

// refusal writes a fault of one key.
type refusal func(format string, args ...any)

// refuseOnce returns the refusal of a key, which says only the first of what it is given: a key
// of an array stands for its many electrodes.
func (l *loader) refuseOnce(section string, i int, key string) refusal {
	said := false
	return func(format string, args ...any) {
		if !said {
			l.no(section, i, key, format, args...)
		}
		said = true
	}
}

// refuseOwn returns, by electrode of the expanded case, the refusal of the key that gives it a
// voltage or a current limit of its own.
func (l *loader) refuseOwn(x *Case, layouts []Layout) map[int]refusal {
	c, own := l.c, map[int]refusal{}
	for i := range c.Electrodes {
		for _, key := range []string{"current_limit", "voltage"} {
			if l.has("electrode", i, key) {
				own[i] = l.refuseOnce("electrode", i, key)
			}
		}
	}
	for i, a := range layouts {
		refuse := l.refuseOnce("array", i, "voltage")
		for k := a.From; k < a.To && l.has("array", i, "voltage"); k++ {
			if x.Electrodes[k].Phase != "N" {
				own[k] = refuse
			}
		}
	}
	return own
}

// checkChanged refuses change i of an electrode or an array that is not there, and one that a
// neutral cannot have, and adds what it changes to own. at has the place of each electrode of
// the expanded case by name; an array's are known in a sound one only.
func (l *loader) checkChanged(i int, x *Case, layouts []Layout, at map[string]int, own map[int]refusal, sound bool) {
	c := l.c
	name := c.Changes[i].Electrode
	if name == "" {
		return
	}
	refuse := l.refuseOnce("change", i, "electrode")
	j, there := at[name]
	if a := layoutOf(layouts, name); a != nil {
		if there {
			refuse("is the name of an electrode and of an array; name one of them otherwise")
		}
		for k := a.From; k < a.To; k++ {
			if own[k] == nil {
				own[k] = refuse
			}
		}
		return
	}
	switch {
	case !there && (sound || len(c.Arrays) == 0):
		of := ""
		if n := len(c.Arrays); n > 0 {
			of = "; or of an array, for all of its electrodes: " + listArrays(c)
		}
		refuse("must be the name of an electrode; there %s%s", listNames(x), of)
	case !there:
	case x.Electrodes[j].Phase == "N" && (c.Changes[i].Voltage != nil || c.Changes[i].CurrentLimit != nil):
		refuse("is the neutral, which is at 0 V: it can be switched off or on alone")
	case own[j] == nil:
		own[j] = refuse
	}
}

// checkManyOwn refuses more changes of single electrodes, or more electrodes and conductors of
// their own, than a run can solve for.
func (l *loader) checkManyOwn(x *Case, layouts []Layout) {
	c := l.c
	if len(layouts) > 0 && len(x.Changes) > mostChanges {
		l.no("change", 0, "", "is one of more than %d changes of single electrodes that the changes of arrays come to; make them fewer, or change the supply", mostChanges)
	}
	if n := len(x.freeNames()) + len(x.Conductors); n > mostFree {
		section := "electrode"
		switch {
		case len(c.Conductors) > 0:
			section = "conductor"
		case len(c.Electrodes) == 0:
			section = "change"
		}
		l.no(section, 0, "", "is one of %d electrodes and conductors that float, are switched off or have a current limit of their own; must be at most %d", n, mostFree)
	}
}

// listArrays names the arrays of a case.
func listArrays(c *Case) string {
	names := make([]string, 0, len(c.Arrays))
	for i := range c.Arrays {
		names = append(names, c.Arrays[i].Name)
	}
	return enumerate(names)
}

// listNames names the electrodes of a case, a few of many.
func listNames(c *Case) string {
	names := make([]string, 0, len(c.Electrodes))
	for i := range c.Electrodes {
		names = append(names, c.Electrodes[i].Name)
	}
	if len(names) == 1 {
		return "is " + names[0]
	}
	return "are " + enumerate(names)
}
