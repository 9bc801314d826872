package figure

import (
	"image/color"
	"math"
	"sort"
	"strings"

	"gonum.org/v1/plot/vg"
)

// spread moves positions apart to at least gap, within [lo, hi], each as little
// as possible (least squares), keeping their order: neighbours that would
// overlap form a block, centred on the mean of what its members want. It
// reports false if [lo, hi] is too short for them.
func spread(want []vg.Length, gap, lo, hi vg.Length) ([]vg.Length, bool) {
	n := len(want)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return want[order[a]] < want[order[b]] })
	// With the n-th gap taken off, "at least gap apart" becomes "not falling".
	type block struct {
		sum  vg.Length
		size int
	}
	var blocks []block
	for r, i := range order {
		blocks = append(blocks, block{want[i] - vg.Length(r)*gap, 1})
		for len(blocks) > 1 {
			a, b := blocks[len(blocks)-2], blocks[len(blocks)-1]
			if a.sum/vg.Length(a.size) <= b.sum/vg.Length(b.size) {
				break
			}
			blocks = append(blocks[:len(blocks)-2], block{a.sum + b.sum, a.size + b.size})
		}
	}
	top := hi - vg.Length(max(0, n-1))*gap
	out := make([]vg.Length, n)
	r := 0
	for _, b := range blocks {
		at := max(lo, min(top, b.sum/vg.Length(b.size)))
		for range b.size {
			out[order[r]] = at + vg.Length(r)*gap
			r++
		}
	}
	return out, top >= lo
}

// endLabel is a label at the right end of a line.
type endLabel struct {
	at    vg.Point // where the line ends
	text  string   // may have several lines
	color color.Color
	rank  int // of several that do not fit, those of the highest rank go first
}

// endLabels writes labels right of x, spread over [lo, hi], with a thin leader
// from each line's end. Where there is no room for all, some are left out.
func (p *pen) endLabels(list []endLabel, f face, x, lo, hi vg.Length) {
	pitch, rows := f.size*1.08, 1
	for _, l := range list {
		rows = max(rows, 1+strings.Count(l.text, "\n"))
	}
	// Labels of several lines reach further from their middles.
	gap, extra := pitch*vg.Length(rows), pitch*vg.Length(rows-1)/2
	lo, hi = lo+extra, hi-extra
	for len(list) > 0 && vg.Length(len(list)-1)*gap > hi-lo {
		worst := 0
		for i := range list {
			if list[i].rank > list[worst].rank {
				worst = i
			}
		}
		list = append(append([]endLabel(nil), list[:worst]...), list[worst+1:]...)
	}
	want := make([]vg.Length, len(list))
	for i, l := range list {
		want[i] = l.at.Y
	}
	ys, _ := spread(want, gap, lo, hi)
	for i, l := range list {
		p.stroke(line(l.color, 0.7), l.at, vg.Point{X: x - 8, Y: l.at.Y}, vg.Point{X: x - 2, Y: ys[i]})
		lines := strings.Split(l.text, "\n")
		for n, one := range lines {
			p.text(f, color.Black, x, ys[i]+pitch*(vg.Length(len(lines)-1)/2-vg.Length(n)), 0, 0.5, one)
		}
	}
}

// curve is something to be labelled on the spot.
type curve struct {
	lines [][]vg.Point
	text  string
}

// placeLabels finds a box for each curve's label, on the curve, inside bounds,
// clear of the boxes in taken and of each other, and as far as possible from
// the other curves. A box without size means that there was no room; clear is
// whether every curve has a box that hides no other curve.
func (p *pen) placeLabels(curves []curve, f face, bounds vg.Rectangle, taken []vg.Rectangle) (out []vg.Rectangle, clear bool) {
	const spacing, enough = 3.0, 40.0
	samples := make([][]vg.Point, len(curves))
	for i, c := range curves {
		for _, l := range c.lines {
			samples[i] = append(samples[i], resample(l, spacing)...)
		}
	}
	// Two labels in a line are not to be read as one.
	const between = 6
	taken = append([]vg.Rectangle(nil), taken...)
	marks := len(taken)
	out, clear = make([]vg.Rectangle, len(curves)), true
	for i, c := range curves {
		half := vg.Point{X: p.width(f, c.text)/2 + 2, Y: f.size*0.36 + 2}
		best := math.Inf(-1)
		for _, s := range samples[i] {
			r := vg.Rectangle{Min: s.Sub(half), Max: s.Add(half)}
			if r.Min.X < bounds.Min.X+2 || r.Max.X > bounds.Max.X-2 || r.Min.Y < bounds.Min.Y+2 || r.Max.Y > bounds.Max.Y-2 {
				continue
			}
			free := true
			for j, t := range taken {
				pad := vg.Point{X: 2, Y: 2}
				if j >= marks {
					pad.X = between
				}
				if overlap(vg.Rectangle{Min: r.Min.Sub(pad), Max: r.Max.Add(pad)}, t, 0) {
					free = false
					break
				}
			}
			if !free {
				continue
			}
			score := enough
			for j := range samples {
				if j == i {
					continue
				}
				for _, o := range samples[j] {
					dx := max(0, math.Abs(float64(o.X-s.X))-float64(half.X))
					dy := max(0, math.Abs(float64(o.Y-s.Y))-float64(half.Y))
					score = min(score, math.Hypot(dx, dy))
					if dx == 0 && dy == 0 {
						score = min(score, -enough+math.Hypot(float64(o.X-s.X), float64(o.Y-s.Y)))
					}
				}
			}
			if score > best+1e-6 {
				best, out[i] = score, r
			}
		}
		if !math.IsInf(best, -1) {
			taken = append(taken, out[i])
		}
		clear = clear && best > 0
	}
	return out, clear
}

func overlap(a, b vg.Rectangle, pad vg.Length) bool {
	return a.Min.X < b.Max.X+pad && b.Min.X < a.Max.X+pad && a.Min.Y < b.Max.Y+pad && b.Min.Y < a.Max.Y+pad
}

// resample returns points along l at about the given spacing.
func resample(l []vg.Point, spacing float64) []vg.Point {
	var out []vg.Point
	carry := 0.0
	for i := 1; i < len(l); i++ {
		d := l[i].Sub(l[i-1])
		length := math.Hypot(float64(d.X), float64(d.Y))
		at := carry
		for ; at < length; at += spacing {
			out = append(out, l[i-1].Add(d.Scale(vg.Length(at/length))))
		}
		carry = at - length
	}
	return out
}
