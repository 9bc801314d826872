package figure

import (
	"math"

	"soiljoule/cases"
)

// cutPlace returns a place of a plan's target through which to cut it, and its name: the
// middle of the box round it; where that lies outside, as of an L, the place farthest from
// its sides, of a raster of places the first.
func cutPlace(t cases.Target) (x, y float64, name string) {
	x, y = (t.Left+t.Right)/2, (t.Front+t.Back)/2
	inside := func(x, y float64) bool {
		for _, c := range chords(t, cut{letter: "x", at: y}) {
			if x > c[0] && x < c[1] {
				return true
			}
		}
		return false
	}
	if t.Outline == nil || inside(x, y) {
		return x, y, "middle"
	}
	const parts = 60
	far := 0.0
	for k := range parts {
		for i := range parts {
			u, v := t.Left+(float64(i)+0.5)/parts*(t.Right-t.Left), t.Front+(float64(k)+0.5)/parts*(t.Back-t.Front)
			if d := fromSides(t.Outline, u, v); d > far*(1+1e-9) && inside(u, v) {
				far, x, y = d, u, v
			}
		}
	}
	return x, y, "widest part"
}

// fromSides returns how far a place is from the nearest side of an outline [m].
func fromSides(outline [][2]float64, x, y float64) float64 {
	least := math.Inf(1)
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		along := min(1, max(0, ((x-a[0])*dx+(y-a[1])*dy)/(dx*dx+dy*dy)))
		least = min(least, math.Hypot(x-a[0]-along*dx, y-a[1]-along*dy))
	}
	return least
}
