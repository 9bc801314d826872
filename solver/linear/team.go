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
	over   func() bool   // ended, as a value made once
	idle   []idle        // by worker, the caller's of Rows first

	alone int // so many short loops the caller does by itself,
	pause int // as many as that was the last time
}

// idle is where one waits that has watched for the others in vain.
type idle struct {
	asleep atomic.Bool
	wake   chan struct{}
}

// sleep waits for a call of rouse, unless what it would wait for has come.
func (w *idle) sleep(come func() bool) {
	w.asleep.Store(true)
	if !come() { // else who rouses may not have seen it asleep
		<-w.wake
	}
	w.asleep.Store(false)
}

// rouse ends a sleep; one that has not begun may end at once, so who sleeps looks again.
func (w *idle) rouse() {
	if w.asleep.Load() {
		select {
		case w.wake <- struct{}{}:
		default: // it has been told
		}
	}
}

// watch is how often a worker looks for the next loop before it goes to sleep: for some
// half a millisecond, which bridges the small grids that one works on alone. To wake one
// up takes some 50 µs.
const watch = 400000

// patience is how often the caller looks for the workers' end before it sleeps: longer
// than they differ by, no longer, for one that has no processor may need this one.
const patience = 100000

// NewTeam returns a team of as many workers as Go may use at once, of which the
// caller of Rows is one. Close lets the others go.
func NewTeam() *Team {
	t := &Team{size: runtime.GOMAXPROCS(0)}
	t.idle, t.over = make([]idle, t.size), t.ended
	for i := range t.idle {
		t.idle[i].wake = make(chan struct{}, 1)
		if i > 0 {
			go t.work(i)
		}
	}
	return t
}

// work is worker i's life: it watches for the next loop, does its part, and sleeps where none
// comes for a while.
func (t *Team) work(i int) {
	me := &t.idle[i]
	seen := uint32(0)
	called := func() bool { return t.round.Load() != seen }
	for {
		for n := 0; n < watch && t.round.Load() == seen; n++ {
		}
		if t.round.Load() == seen {
			me.sleep(called)
			continue
		}
		seen++
		if t.closed {
			return
		}
		if from, to := t.part(i); from < to {
			t.do(from, to)
		}
		if t.left.Add(-1) == 0 {
			t.idle[0].rouse()
		}
	}
}

// begin lets the workers go on.
func (t *Team) begin() {
	t.left.Store(int32(t.size - 1))
	t.round.Add(1)
	for i := 1; i < t.size; i++ {
		t.idle[i].rouse()
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

// short is how many cells a loop has at most that is over before a processor changes hands:
// a worker that comes late to one has none, since other work has it. Then each such loop
// waits for the machine, some milliseconds for some tens of microseconds of work, so the
// caller does the next alone: firstPause of them, and twice as many each time, to
// longestPause. That is a share of the time that does not matter, and is over within a second
// when the processor is free again.
const (
	short        = 100000
	firstPause   = 64
	longestPause = 4096
)

// Rows calls do for ranges that together are 0 ≤ row < rows, each of cells cells, and
// returns when all are done. Ranges begin at multiples of step.
func (t *Team) Rows(rows, cells, step int, do func(from, to int)) {
	if t == nil || t.size == 1 || rows*cells < worth {
		do(0, rows)
		return
	}
	if rows*cells <= short && t.alone > 0 {
		t.alone--
		do(0, rows)
		return
	}
	t.do, t.rows, t.step = do, rows, step
	t.begin()
	defer t.wait(rows*cells <= short) // a panic of do, too, may leave no worker at the loop
	if from, to := t.part(0); from < to {
		do(from, to)
	}
}

// wait returns when the workers have ended the loop. Of a short one it counts whether they
// were late.
func (t *Team) wait(short bool) {
	n := 0
	for ; t.left.Load() > 0; n++ {
		if n >= patience {
			t.idle[0].sleep(t.over)
		}
	}
	switch {
	case !short:
	case n >= patience:
		t.pause = min(max(2*t.pause, firstPause), longestPause)
		t.alone = t.pause
	default:
		t.pause /= 2
	}
}

func (t *Team) ended() bool { return t.left.Load() == 0 }
