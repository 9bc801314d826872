package cases

import (
	"fmt"
	"math"
	"slices"
)

// mostBeside is the share of a target's thickness or width that may lie past the
// electrodes before a caution says so: common practice lets them reach past the zone, no
// source.
const mostBeside = 0.1

// beyondCautions names targets of which a part lies where no electrode is near: their
// ground warms by what flows and conducts there from afar.
func (c *Case) beyondCautions() []string {
	if len(c.Electrodes) == 0 || len(c.Heats) > 0 { // set power warms too
		return nil
	}
	var out []string
	for i := range c.Targets {
		t := &c.Targets[i]
		if c.View == Plan {
			out = append(out, c.farInPlan(t)...)
			continue
		}
		out = append(out, c.pastEnds(t)...)
		if c.View == Section {
			out = append(out, c.pastRows(t)...)
		}
	}
	return out
}

// pastEnds compares a target's depths with those of the electrodes.
func (c *Case) pastEnds(t *Target) []string {
	top, bottom := inf, -inf
	for _, e := range c.Electrodes {
		top, bottom = math.Min(top, e.Top), math.Max(bottom, e.Bottom)
	}
	past := 1 - shareWithin(t.Top, t.Bottom, top, bottom)
	if past <= mostBeside {
		return nil
	}
	return []string{fmt.Sprintf("Target %q is %s to %s deep, the electrodes are active from %s to %s: hardly any current flows in the %.0f %% of its thickness above and below them, which warms by conduction.",
		t.Name, c.length(t.Top), c.length(t.Bottom), c.length(top), c.length(bottom), 100*past)}
}

// pastRows compares a target's sides with the rows of a section, from each of which its
// like would stand as far out as the widest gap between rows.
func (c *Case) pastRows(t *Target) []string {
	var at []float64
	for _, e := range c.Electrodes {
		at = append(at, e.X)
	}
	slices.Sort(at)
	gap := 0.0
	for i := range at[1:] {
		gap = math.Max(gap, at[i+1]-at[i])
	}
	left, right := at[0], at[len(at)-1]
	past := 1 - shareWithin(t.Left, t.Right, left-gap, right+gap)
	if gap == 0 || past <= mostBeside {
		return nil
	}
	return []string{fmt.Sprintf("Target %q is from %s to %s across, the electrodes stand from %s to %s, at most %s apart: hardly any current flows in the %.0f %% of its width that is farther out than that, which warms by conduction.",
		t.Name, c.length(t.Left), c.length(t.Right), c.length(left), c.length(right), c.length(gap), 100*past)}
}

// farInPlan looks for the place on a target's outline that is farthest from any electrode.
func (c *Case) farInPlan(t *Target) []string {
	places := t.Outline
	if places == nil {
		const around = 16
		for i := range around {
			s, k := math.Sincos(2 * math.Pi * float64(i) / around)
			places = append(places, [2]float64{t.Center[0] + t.Radius*k, t.Center[1] + t.Radius*s})
		}
	}
	from := func(x, y float64, but int) float64 {
		d := inf
		for i := range c.Electrodes {
			if i != but {
				d = math.Min(d, math.Hypot(x-c.Electrodes[i].X, y-c.Electrodes[i].Y))
			}
		}
		return d
	}
	apart := 0.0 // of those that stand farthest from their nearest neighbour
	for i := range c.Electrodes {
		apart = math.Max(apart, from(c.Electrodes[i].X, c.Electrodes[i].Y, i))
	}
	far, at := 0.0, [2]float64{}
	for _, p := range places {
		if d := from(p[0], p[1], -1); d > far {
			far, at = d, p
		}
	}
	if far <= apart*(1+mostBeside) {
		return nil
	}
	return []string{fmt.Sprintf("Target %q reaches to x %s, y %s, which is %s from the nearest electrode, where no electrode is farther than %s from its own nearest: hardly any current flows there, it warms by conduction.",
		t.Name, c.length(at[0]), c.length(at[1]), c.length(far), c.length(apart))}
}

// shareWithin returns the share of a to b that lies between from and to.
func shareWithin(a, b, from, to float64) float64 {
	return math.Max(0, math.Min(b, to)-math.Max(a, from)) / (b - a)
}
