package figure

import (
	"math"
	"slices"

	"soiljoule/cases"
)

// siteBox is the site as seen from above: targets, electrodes, bodies of set power and
// buried metal with a margin; in a section out of the page as well, cut where that is long: then
// whole is how long it is [m], else 0.
func (f *folder) siteBox() (w box, whole float64) {
	w = box{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	grow := func(b box) {
		w = box{min(w.left, b.left), max(w.right, b.right), min(w.top, b.top), max(w.bottom, b.bottom)}
	}
	if f.c.View == cases.Axisymmetric {
		r := f.c.Extent.Radius
		for _, t := range f.c.Targets {
			if !math.IsNaN(t.Radius) {
				r = max(r, t.Radius)
			}
		}
		grow(box{-r, r, -r, r})
	} else {
		for _, t := range f.c.Targets {
			grow(f.targetBox(t, nil))
		}
		for _, e := range f.c.Electrodes {
			grow(f.electrodeBox(e))
		}
		for _, h := range f.c.Heats {
			grow(f.heatBox(h))
		}
		rest := w
		for _, m := range f.c.Conductors {
			if b, near := f.metalNear(m, rest); near {
				grow(b)
			}
		}
	}
	pad := max(0.3, 0.08*(w.right-w.left))
	if f.c.View == cases.Plan {
		pad = max(1.5, 0.12*max(w.right-w.left, w.bottom-w.top)) // as in window
	}
	w.left, w.right, w.top, w.bottom = w.left-pad, w.right+pad, w.top-pad, w.bottom+pad
	if f.c.View == cases.Plan {
		w = f.offTheFrame(w, pad, pad)
	}
	if f.c.View == cases.Section {
		w.top, w.bottom = 0, f.c.Extent.Length
		if most := 1.3 * (w.right - w.left); w.bottom > most {
			whole, w.bottom = w.bottom, most
		}
	}
	return w, whole
}

// siteDepth is how deep the section is drawn [m].
func (f *folder) siteDepth() float64 {
	deep := 0.0
	for _, t := range f.c.Targets {
		deep = max(deep, t.Bottom)
	}
	for _, e := range f.c.Electrodes {
		deep = max(deep, e.Bottom)
	}
	for _, h := range f.c.Heats {
		deep = max(deep, h.Bottom)
	}
	for _, m := range f.c.Conductors {
		deep = max(deep, m.Bottom)
	}
	return 1.15*deep + 0.5
}

// siteRod is one rod, or a row of plate, as seen from above.
type siteRod struct {
	e    *cases.Electrode
	x, y float64
	n    int // of the row, from 0
	of   int // rods in the row that lie in the picture
}

// siteRods returns where the electrodes stand. Of a section's rows those rods that lie
// in w; a row of more than mostRow is told by its first and last.
func (f *folder) siteRods(w box) []siteRod {
	var out []siteRod
	for i := range f.c.Electrodes {
		e := &f.c.Electrodes[i]
		switch {
		case f.c.View == cases.Axisymmetric:
			out = append(out, siteRod{e, 0, 0, 0, 1})
		case f.c.View == cases.Plan || e.RodSpacing == 0:
			out = append(out, siteRod{e, e.X, e.Y, 0, 1})
		default:
			first := e.RodOffset - math.Floor(e.RodOffset/e.RodSpacing)*e.RodSpacing
			count := math.Floor((w.bottom-first)/e.RodSpacing+1e-9) + 1
			if count < 1 {
				continue
			}
			const mostRow = 60 // a page has no more dots to tell them apart
			for n, step := 0.0, max(1, (count-1)/mostRow); n < count; n += step {
				out = append(out, siteRod{e, e.X, first + math.Round(n)*e.RodSpacing, int(math.Round(n)), int(min(count, 1e9))})
			}
		}
	}
	return out
}

// apart is how far electrodes stand apart at least [m]: in a section, rows from rows
// and rods in a row.
func (f *folder) apart() float64 {
	least := math.Inf(1)
	if f.c.View == cases.Plan {
		for _, d := range f.c.Nearest() {
			least = min(least, d)
		}
		return least
	}
	for i := range f.c.Electrodes {
		if s := f.c.Electrodes[i].RodSpacing; s > 0 {
			least = min(least, s)
		}
	}
	return min(least, f.rowsApart())
}

// rowsApart is how far electrodes stand apart at least across a section [m].
func (f *folder) rowsApart() float64 {
	least := math.Inf(1)
	var at []float64
	for i := range f.c.Electrodes {
		at = append(at, f.c.Electrodes[i].X)
	}
	slices.Sort(at)
	for i := 1; i < len(at); i++ {
		if d := at[i] - at[i-1]; d > 1e-6 { // else elements of one bore
			least = min(least, d)
		}
	}
	return least
}

// bores returns the largest radius of a rod [m].
func (f *folder) bores() float64 {
	r := 0.0
	for _, e := range f.c.Electrodes {
		r = max(r, e.Radius)
	}
	return r
}
