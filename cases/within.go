package cases

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"soiljoule/physics"
)

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

// onNeutral reports whether an electrode stands on the neutral.
func (c *Case) onNeutral() bool {
	return slices.ContainsFunc(c.Electrodes, func(e Electrode) bool { return e.Phase == "N" })
}

// cellCaution names cells of a plan too large for its nearest electrodes: of 0.47 times
// their distance the cold power is wrong by 1.4 % (measured).
func (c *Case) cellCaution() []string {
	near := slices.Min(c.Nearest())
	if fine := c.Mesh.Finest; !math.IsInf(near, 1) && fine > near/3*(1+1e-9) {
		return []string{fmt.Sprintf("Cells of %s are larger than a third of the distance of the nearest electrodes, %s: power is wrong by some 1 %% and more; make mesh.finest smaller.", c.length(fine), c.length(near))}
	}
	return nil
}

// ringCaution says what the middle of a ring of electrodes takes: nothing where the field
// of all cancels there, as where opposite electrodes are on one phase. One on the neutral in
// the middle is no part of the ring, and changes neither.
func (c *Case) ringCaution() []string {
	var ring, neutral []complex128
	var phases []string
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		if at := complex(e.X, e.Y); e.Phase == "N" {
			neutral = append(neutral, at)
		} else {
			ring, phases = append(ring, at), append(phases, e.Phase)
		}
	}
	n := len(ring)
	if n < 3 {
		return nil
	}
	var middle complex128
	for _, at := range ring {
		middle += at / complex(float64(n), 0)
	}
	radius := cmplx.Abs(ring[0] - middle)
	for _, at := range neutral {
		if cmplx.Abs(at-middle) > 1e-3*radius {
			return nil
		}
	}
	var inX, inY complex128
	for i, at := range ring {
		from := at - middle
		if r := cmplx.Abs(from); math.Abs(r-radius) > 1e-3*radius {
			return nil // no ring
		}
		q := physics.Phasor(c.Supply.Phases, phases[i])
		inX, inY = inX+q*complex(real(from)/radius, 0), inY+q*complex(imag(from)/radius, 0)
	}
	const spots = "the cold spots of rings grow with their diameter (common practice, no source)"
	if cmplx.Abs(inX)+cmplx.Abs(inY) < 1e-3*float64(n) {
		return []string{"Electrodes stand on a ring, whose middle takes no power: by the symmetry of its phases the field of all electrodes cancels there; " + spots + "."}
	}
	return []string{"Electrodes stand on a ring: power falls from them towards its middle; " + spots + "."}
}
