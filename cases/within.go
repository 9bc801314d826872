package cases

// checkSensorsWithin refuses sensors outside the modelled ground where its sides are left
// to the case: what they read would be the nearest edge. It needs sound values.
func (l *loader) checkSensorsWithin() {
	if len(l.c.Sensors) == 0 {
		return
	}
	x, _ := l.c.Expand()
	left, right, bottom := x.Bounds()
	across := "x"
	if x.View == Axisymmetric {
		across = "r"
	}
	for i := range l.c.Sensors {
		s := &l.c.Sensors[i]
		if s.X < left || s.X > right {
			l.no("sensor", i, across, "is outside the modelled ground: must be from %s to %s, or give domain.left and domain.right", metres(left), metres(right))
		}
		if x.View == Plan {
			if front, back := x.ends(); s.Y < front || s.Y > back {
				l.no("sensor", i, "y", "is outside the modelled ground: must be from %s to %s, or give domain.front and domain.back", metres(front), metres(back))
			}
			continue
		}
		for _, z := range s.Depths {
			if z > bottom {
				l.no("sensor", i, "depth", "is outside the modelled ground: must be at most %s, or give domain.bottom", metres(bottom))
				break
			}
		}
	}
}

// checkChangesApart refuses two changes at one time that set one key of the same
// electrode, or of the supply: which holds would be left to their order.
func (l *loader) checkChangesApart() {
	c := l.c
	keys := []string{"voltage", "power_limit", "current_limit", "kva_limit", "on"}
	type what struct {
		at            float64
		electrode, of string
	}
	first := map[what]int{}
	for i := range c.Changes {
		for _, key := range keys {
			if !l.has("change", i, key) || c.Changes[i].At != c.Changes[i].At {
				continue
			}
			w := what{c.Changes[i].At, c.Changes[i].Electrode, key}
			j, twice := first[w]
			if !twice {
				first[w] = i
				continue
			}
			of := "of the supply"
			if w.electrode != "" {
				of = "of " + w.electrode
			}
			l.no("change", i, key, "is set twice at one time, %s: line %d sets it too; leave one out", of, l.pos.line(dotted(findSection("change").loc(j), key)))
		}
	}
}
