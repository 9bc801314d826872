package cases

import "math"

// checkShorts refuses electrodes of different phases whose active intervals meet end to
// end in one bore, or whose plates touch: with no ground between them they short the
// supply. Those that overlap, and rods of a plan, are refused with their places. It needs
// sound values.
func (l *loader) checkShorts() {
	c := l.c
	if len(l.faults) > 0 || c.View == Plan || len(c.Electrodes)+len(c.Arrays) == 0 {
		return
	}
	x, layouts := c.Expand()
	for j := range x.Electrodes {
		for i := range x.Electrodes[:j] {
			a, b := &x.Electrodes[i], &x.Electrodes[j]
			if a.Phase == b.Phase || !c.touch(a, b) {
				continue
			}
			section, row, key := "electrode", j, "x"
			switch {
			case b.Top >= a.Bottom-1e-9:
				key = "top"
			case b.Bottom <= a.Top+1e-9:
				key = "bottom"
			}
			for n, y := range layouts {
				if j >= y.From && j < y.To {
					section, row = "array", n
				}
			}
			l.no(section, row, key, "%s on phase %s touches electrode %s on phase %s: a short circuit; leave a gap between them", b.Name, b.Phase, a.Name, a.Phase)
			return
		}
	}
}

// touch reports whether two electrodes that share no depth or no place touch all the same.
func (c *Case) touch(a, b *Electrode) bool {
	switch {
	case c.View == Axisymmetric:
		return room{0, a.Radius, a.Top, a.Bottom}.meets(room{0, b.Radius, b.Top, b.Bottom})
	case a.Width > 0 || b.Width > 0: // a plate runs on past every rod of a row
		half := func(e *Electrode) float64 { return math.Max(e.Radius, e.Width/2) }
		return room{a.X - half(a), a.X + half(a), a.Top, a.Bottom}.meets(room{b.X - half(b), b.X + half(b), b.Top, b.Bottom})
	case a.RodSpacing == b.RodSpacing && a.RodOffset != b.RodOffset: // rods beside each other along the row
		return false
	}
	return math.Abs(a.X-b.X) <= a.Radius+b.Radius && a.Top <= b.Bottom+1e-9 && b.Top <= a.Bottom+1e-9
}
