package linear

import (
	"runtime"
	"sync/atomic"
)

// Team shares loops over rows among the processors. Which rows go where never
// changes what is computed: each row is written by one worker, and sums are made
// row by row and added in order.
type Team struct {
	size   int
	do     func(from, to int) // the loop being run, over
	rows   int
	step   int
	round  atomic.Uint32 // counts loops: a worker's sign to begin
	left   atomic.Int32  // workers that have not ended it
	closed bool          // instead of a loop
	idle   []idle        // by worker
}

// idle is where a worker waits that has watched round in vain.
type idle struct {
	asleep atomic.Bool
	wake   chan struct{}
}

// watch is how often a worker looks for the next loop before it goes to sleep: for some
// half a millisecond, which bridges the small grids that one works on alone. To wake one
// up takes some 50 µs.
const watch = 400000

// NewTeam returns a team of as many workers as Go may use at once, of which the
// caller of Rows is one. Close lets the others go.
func NewTeam() *Team {
	t := &Team{size: runtime.GOMAXPROCS(0)}
	t.idle = make([]idle, t.size)
	for i := 1; i < t.size; i++ {
		t.idle[i].wake = make(chan struct{}, 1)
		go t.work(i)
	}
	return t
}

func (t *Team) work(i int) {
	me := &t.idle[i]
	for seen := uint32(0); ; {
		for n := 0; n < watch && t.round.Load() == seen; n++ {
		}
		if t.round.Load() == seen {
			me.asleep.Store(true)
			if t.round.Load() == seen { // else the caller may not have seen it asleep
				<-me.wake
			}
			me.asleep.Store(false)
			continue
		}
		seen++
		if t.closed {
			return
		}
		if from, to := t.part(i); from < to {
			t.do(from, to)
		}
		t.left.Add(-1)
	}
}

// begin lets the workers go on.
func (t *Team) begin() {
	t.left.Store(int32(t.size - 1))
	t.round.Add(1)
	for i := 1; i < t.size; i++ {
		if w := &t.idle[i]; w.asleep.Load() {
			select {
			case w.wake <- struct{}{}:
			default: // it has been told
			}
		}
	}
}

// part returns the rows of a worker: as many as others', from a multiple of step.
func (t *Team) part(i int) (from, to int) {
	at := func(i int) int { return min(t.rows, (t.rows*i/t.size+t.step-1)/t.step*t.step) }
	return at(i), at(i + 1)
}

// Size returns the number of workers.
func (t *Team) Size() int {
	if t == nil {
		return 1
	}
	return t.size
}

// Close ends the team; a nil or closed team works alone.
func (t *Team) Close() {
	if t != nil && t.size > 1 {
		t.closed = true
		t.begin()
		t.size = 1
	}
}

// worth is how many cells a loop must have for two workers to be quicker than one.
const worth = 5000

// Rows calls do for ranges that together are 0 ≤ row < rows, each of cells cells, and
// returns when all are done. Ranges begin at multiples of step.
func (t *Team) Rows(rows, cells, step int, do func(from, to int)) {
	if t == nil || t.size == 1 || rows*cells < worth {
		do(0, rows)
		return
	}
	t.do, t.rows, t.step = do, rows, step
	t.begin()
	if from, to := t.part(0); from < to {
		do(from, to)
	}
	for n := 0; t.left.Load() > 0; n++ {
		if n > watch { // a worker has no processor: let it have this one
			runtime.Gosched()
		}
	}
}
