package solver

import (
	"cmp"
	"math"
	"slices"

	"soiljoule/physics"
)

// TargetStatus is how far a target has come.
type TargetStatus struct {
	Mean, Min  float64   // [K]
	Max        float64   // [K] of the cells that may be the coldest
	MinX, MinZ float64   // [m] the coldest cell's node; of cells that the zone cuts only those at least half inside count, or the ones that are most
	Share      float64   // [-] of the volume at or above the temperature now
	ShareMax   float64   // [-] the largest share at an accepted step
	ShareMaxAt float64   // [s] when that was first
	Held       float64   // [s] time at which the share had been kept for Hold; NaN: not yet
	Crossing   []float64 // [s] by cell of the grid, first time at the temperature; NaN: not yet
}

// tracker follows one target.
type tracker struct {
	target   *Target
	ground   *physics.Ground
	cells    []int
	volumes  []float64 // [m³] by cell of the whole grid
	volume   float64
	least    float64   // [-] of a cell that may be the coldest
	wanted   []float64 // [K] by row, the threshold of the state last followed
	crossing []float64 // by cell of the whole grid
	share    float64
	most     float64 // the largest share, since the time mostAt [s]
	mostAt   float64
	since    float64 // time since which Share has been kept; NaN: it is not
	held     float64
}

// newTracker returns what follows a target through a ground, yet to be started.
func newTracker(t *Target, g *physics.Ground) *tracker {
	k := &tracker{target: t, ground: g, cells: t.Zone.Cells(g.Grid), volume: t.Zone.Volume(g.Grid), volumes: t.Zone.Volumes(g.Grid),
		crossing: make([]float64, g.Grid.Cells()), wanted: make([]float64, g.Grid.NZ), since: math.NaN(), held: math.NaN()}
	for c := range k.crossing {
		k.crossing[c] = math.NaN()
	}
	for _, c := range k.cells {
		k.least = math.Max(k.least, math.Min(k.weight(c), 0.5))
	}
	return k
}

// weight returns which part of cell c lies in the target [-].
func (k *tracker) weight(c int) float64 {
	nx := k.ground.Grid.NX
	return k.target.Zone.Weight(c%nx, c/nx)
}

// keepWanted notes the temperature that counts as reached in each row, which moves with the
// boiling point where that does.
func (k *tracker) keepWanted() {
	for row := range k.wanted {
		k.wanted[row] = k.target.Threshold(k.ground, k.ground.Grid.Index(0, row))
	}
}

// start follows the target from the start of a run: what is as hot then has crossed.
func (k *tracker) start(s *State) {
	k.keepWanted()
	for c, t := range s.T {
		if t >= k.target.Threshold(k.ground, c) {
			k.crossing[c] = s.Time
		}
	}
	k.share = k.shareOf(s)
	k.most, k.mostAt = k.share, s.Time
	if reached(k.share, k.target.Share) {
		k.since = s.Time
	}
}

// step follows the target from one accepted state to the next. Crossings are
// interpolated linearly in each cell.
func (k *tracker) step(a, b *State) {
	for c, t := range b.T {
		want, was := k.target.Threshold(k.ground, c), k.wanted[k.ground.Row(c)]
		if t >= want && math.IsNaN(k.crossing[c]) {
			k.crossing[c] = between(a.Time, b.Time, a.T[c], t-(want-was), was) // a boiling point runs straight too
		}
	}
	k.keepWanted()
	before := k.share
	k.share = k.shareOf(b)
	if k.share > k.most {
		k.most, k.mostAt = k.share, b.Time
	}
	kept := b.Time // until when the share was kept, if it was
	switch {
	case !reached(k.share, k.target.Share):
		kept = between(a.Time, b.Time, before, k.share, k.target.Share)
	case math.IsNaN(k.since):
		k.since = k.sinceBy(a, b, before, k.share, k.crossing)
	}
	if math.IsNaN(k.held) && kept >= k.since+k.target.Hold {
		k.held = k.since + k.target.Hold
	}
	if !reached(k.share, k.target.Share) {
		k.since = math.NaN()
	}
}

// sinceBy returns when the target's share came to be kept, between two states at which
// it was before and share: the first time, the day at which cells summing to it crossed.
func (k *tracker) sinceBy(a, b *State, before, share float64, crossing []float64) float64 {
	if day := Quantile(crossing, k.cells, k.volumes, k.target.Share); day >= a.Time && day <= b.Time {
		return day
	}
	return between(a.Time, b.Time, before, share, k.target.Share)
}

// wouldHaveSince returns what step would find of a share that is not kept at a: since
// when it is at b; false: it is not.
func (k *tracker) wouldHaveSince(a, b *State) (since float64, ok bool) {
	share := k.shareOf(b)
	if !reached(share, k.target.Share) {
		return 0, false
	}
	crossing := slices.Clone(k.crossing)
	for _, c := range k.cells {
		if want := k.target.Threshold(k.ground, c); b.T[c] >= want && math.IsNaN(crossing[c]) {
			crossing[c] = between(a.Time, b.Time, a.T[c], b.T[c], want)
		}
	}
	return k.sinceBy(a, b, k.share, share, crossing), true
}

// reached says whether a share of a volume comes up to the one wanted, but for
// the rounding of the sums.
func reached(share, want float64) bool { return share >= want*(1-1e-12) }

// between returns the time at which a line from y0 at t0 to y1 at t1 passes y, t0 or t1 where it
// does not.
func between(t0, t1, y0, y1, y float64) float64 {
	if y1 == y0 {
		return t1
	}
	return t0 + (t1-t0)*math.Min(math.Max((y-y0)/(y1-y0), 0), 1)
}

// shareOf returns the share [-] of the target's volume that is as hot as it is to be.
func (k *tracker) shareOf(s *State) float64 {
	v := 0.0
	for _, c := range k.cells {
		if s.T[c] >= k.target.Threshold(k.ground, c) {
			v += k.volumes[c]
		}
	}
	return v / k.volume
}

// status returns how far the target has come at a state.
func (k *tracker) status(s *State) TargetStatus {
	g := k.ground.Grid
	st := TargetStatus{Min: math.Inf(1), Max: math.Inf(-1), Share: k.share, ShareMax: k.most, ShareMaxAt: k.mostAt, Held: k.held, Crossing: k.crossing}
	for _, c := range k.cells {
		st.Mean += k.volumes[c] * s.T[c]
		if k.weight(c) < k.least {
			continue
		}
		st.Max = math.Max(st.Max, s.T[c])
		if s.T[c] < st.Min {
			st.Min, st.MinX, st.MinZ = s.T[c], g.XC[c%g.NX], g.ZC[c/g.NX]
		}
	}
	st.Mean /= k.volume
	return st
}

// Quantile returns the first time at which cells that sum to the share of the
// volume of all cells given have crossed; NaN if they have not.
func Quantile(crossing []float64, cells []int, volume []float64, share float64) float64 {
	var crossed []int
	total := 0.0
	for _, c := range cells {
		total += volume[c]
		if !math.IsNaN(crossing[c]) {
			crossed = append(crossed, c)
		}
	}
	slices.SortStableFunc(crossed, func(a, b int) int { return cmp.Compare(crossing[a], crossing[b]) })
	sum := 0.0
	for _, c := range crossed {
		sum += volume[c]
		if reached(sum/total, share) {
			return crossing[c]
		}
	}
	return math.NaN()
}
