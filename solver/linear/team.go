package linear

import (
	"runtime"
	"sync"
)

// Team shares loops over rows among the processors. Which rows go where never
// changes what is computed: each row is written by one worker, and sums are made
// row by row and added in order.
type Team struct {
	size  int
	tasks chan task
	busy  sync.WaitGroup
}

type task struct {
	do       func(from, to int)
	from, to int
}

// NewTeam returns a team of as many workers as Go may use at once, of which the
// caller of Rows is one. Close lets the others go.
func NewTeam() *Team {
	t := &Team{size: runtime.GOMAXPROCS(0)}
	if t.size > 1 {
		tasks := make(chan task, t.size)
		t.tasks = tasks
		for range t.size - 1 {
			go func() {
				for k := range tasks {
					k.do(k.from, k.to)
					t.busy.Done()
				}
			}()
		}
	}
	return t
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
	if t != nil && t.tasks != nil {
		close(t.tasks)
		t.tasks, t.size = nil, 1
	}
}

// worth is how many cells a loop must have for two workers to be quicker than one:
// waking one costs some microseconds, as much as a few thousand cells.
const worth = 16000

// Rows calls do for ranges that together are 0 ≤ row < rows, each of cells cells, and
// returns when all are done. Ranges begin at multiples of step.
func (t *Team) Rows(rows, cells, step int, do func(from, to int)) {
	if t == nil || t.size == 1 || rows*cells < worth {
		do(0, rows)
		return
	}
	parts := min(t.size, (rows+step-1)/step)
	at := func(i int) int { return min(rows, (rows*i/parts+step-1)/step*step) }
	for i := 1; i < parts; i++ {
		t.busy.Add(1)
		t.tasks <- task{do, at(i), at(i + 1)}
	}
	do(0, at(1))
	t.busy.Wait()
}
