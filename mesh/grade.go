package mesh

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrTooMany is wrapped by the error of Grade when an axis needs more cells
// than allowed.
var ErrTooMany = errors.New("too many cells")

// Mark is a place on an axis that must be a cell edge, and the cell size wanted
// beside it.
type Mark struct {
	At   float64 // [m]
	Size float64 // [m]; +Inf: an edge is all that is wanted
}

// MaxGrowth is the largest ratio of neighbouring cell sizes that a graded axis
// may have: beyond it the truncation error of the two-point flux shows.
const MaxGrowth = 1.3

// Grade returns the edges [m] of an axis whose cells are about the size that each
// mark asks beside it, at most (growth − 1)/ln(growth) times that, and grow away from
// there by growth from cell to cell; where whole cells must fit between marks they may
// be smaller and differ by more, never by more than MaxGrowth. The outermost marks are
// the ends. It fails with ErrTooMany beyond limit cells.
//
// The wanted size is h(x) = min over marks of size + ln(growth)·|x − mark|;
// between two marks the edges stand at equal steps of ∫dx/h, which makes
// neighbours differ by the factor growth where h rises and keeps a symmetric
// axis symmetric. Rounding up to whole cells can still make two neighbours
// across a mark too unlike: the mark's own size is then lowered, and the axis
// cut again.
func Grade(marks []Mark, growth float64, limit int) ([]float64, error) {
	marks = merge(marks)
	if len(marks) < 2 {
		return nil, fmt.Errorf("mesh: an axis of fewer than two marks")
	}
	slope := math.Log(growth)
	for {
		soften(marks, slope)
		edges, at, err := cut(marks, slope, limit)
		if err != nil {
			return nil, err
		}
		if !lowerSteep(marks, edges, at) {
			return edges, nil
		}
	}
}

// merge sorts the marks and joins those closer than a billionth of the axis:
// the same face written in feet and in metres.
func merge(marks []Mark) []Mark {
	marks = slices.Clone(marks)
	slices.SortFunc(marks, func(a, b Mark) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	if len(marks) == 0 {
		return marks
	}
	near := 1e-9 * (marks[len(marks)-1].At - marks[0].At)
	out := marks[:1]
	for _, m := range marks[1:] {
		if last := &out[len(out)-1]; m.At-last.At <= near {
			last.Size = math.Min(last.Size, m.Size)
		} else {
			out = append(out, m)
		}
	}
	return out
}

// soften lowers each mark's size to what its neighbours' growth allows, and to
// the length of the gaps beside it.
func soften(marks []Mark, slope float64) {
	lower := func(m, n *Mark) {
		gap := math.Abs(m.At - n.At)
		m.Size = math.Min(m.Size, math.Min(gap, n.Size+slope*gap))
	}
	for i := 1; i < len(marks); i++ {
		lower(&marks[i], &marks[i-1])
	}
	for i := len(marks) - 2; i >= 0; i-- {
		lower(&marks[i], &marks[i+1])
	}
}

// cut places edges between softened marks. at[j] is the index of mark j's edge.
func cut(marks []Mark, slope float64, limit int) (edges []float64, at []int, err error) {
	edges, at = []float64{marks[0].At}, []int{0}
	for j := 1; j < len(marks); j++ {
		a, b := marks[j-1], marks[j]
		// h rises from a.Size, then falls to b.Size; top is where they meet.
		length := b.At - a.At
		top := (length + (b.Size-a.Size)/slope) / 2
		top = math.Min(math.Max(top, 0), length)
		up := math.Log1p(slope*top/a.Size) / slope            // ∫dx/h from a to top
		down := math.Log1p(slope*(length-top)/b.Size) / slope // and from top to b
		n := int(math.Max(1, math.Ceil((up+down)*(1-1e-9))))
		if len(edges)+n-1 > limit {
			return nil, nil, fmt.Errorf("%w: more than %d along one axis", ErrTooMany, limit)
		}
		for i := 1; i < n; i++ {
			s := (up + down) * float64(i) / float64(n)
			if s <= up {
				edges = append(edges, a.At+a.Size*math.Expm1(slope*s)/slope)
			} else {
				edges = append(edges, b.At-b.Size*math.Expm1(slope*(up+down-s))/slope)
			}
		}
		edges = append(edges, b.At)
		at = append(at, len(edges)-1)
	}
	return edges, at, nil
}

// lowerSteep finds marks whose two cells differ by more than MaxGrowth and
// lowers their size to the smaller cell; it reports whether it found any. Each
// call lowers a size by a finite factor, so Grade ends.
func lowerSteep(marks []Mark, edges []float64, at []int) bool {
	found := false
	size := func(i int) float64 { return edges[i+1] - edges[i] }
	for j := 1; j < len(marks)-1; j++ {
		before, after := size(at[j]-1), size(at[j])
		small, large := math.Min(before, after), math.Max(before, after)
		if large > small*MaxGrowth {
			want := small * (1 + MaxGrowth) / 2 // leaves room for the next rounding
			marks[j].Size = math.Min(marks[j].Size*0.97, want)
			found = true
		}
	}
	return found
}
