package linear

import (
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"
	"time"
)

// teamOf returns a team of size workers, which is closed when the test ends.
func teamOf(t testing.TB, size int) *Team {
	t.Helper()
	before := runtime.GOMAXPROCS(size)
	team := NewTeam()
	runtime.GOMAXPROCS(before)
	t.Cleanup(team.Close)
	if team.Size() != size {
		t.Fatalf("a team made while Go may use %d processors has %d workers", size, team.Size())
	}
	return team
}

// visits returns how often Rows calls for each row, and the first rows of its ranges.
func visits(team *Team, rows, cells, step int) (count, first []int) {
	var mutex sync.Mutex
	count = make([]int, rows)
	if team != nil {
		team.alone = 0 // whoever was late before
	}
	team.Rows(rows, cells, step, func(from, to int) {
		mutex.Lock()
		defer mutex.Unlock()
		if from < to {
			first = append(first, from)
		}
		for k := from; k < to; k++ {
			count[k]++
		}
	})
	return count, first
}

// Rows covers each row once, in ranges that begin at multiples of step, in as many as
// there are workers where the loop is worth it, and in one where it is not.
func TestRowsCoversEachRowOnce(t *testing.T) {
	for size := 1; size <= 4; size++ {
		team := teamOf(t, size)
		for _, rows := range []int{0, 1, 2, 3, 4, 5, 7, 8, 31, 100, 1001} {
			for _, step := range []int{1, 4, 8} {
				for _, cells := range []int{1, worth} {
					count, first := visits(team, rows, cells, step)
					for k, n := range count {
						if n != 1 {
							t.Fatalf("%d workers, %d rows of %d cells in steps of %d: row %d came %d times, want once", size, rows, cells, step, k, n)
						}
					}
					for _, k := range first {
						if k%step != 0 {
							t.Errorf("%d workers, %d rows in steps of %d: a range begins at row %d", size, rows, step, k)
						}
					}
					want := 1
					if rows*cells >= worth {
						want = min(size, (rows+step-1)/step)
					}
					if rows > 0 && len(first) != want {
						t.Errorf("%d workers, %d rows of %d cells in steps of %d: %d ranges, want %d", size, rows, cells, step, len(first), want)
					}
				}
			}
		}
	}
}

// A team that is nil or closed works alone, and may be closed again.
func TestTeamAlone(t *testing.T) {
	closed := teamOf(t, 3)
	closed.Close()
	closed.Close()
	var none *Team
	none.Close()
	for name, team := range map[string]*Team{"nil": none, "closed": closed} {
		count, first := visits(team, 100, worth, 1)
		if team.Size() != 1 || len(first) != 1 || count[0] != 1 || count[99] != 1 {
			t.Errorf("a %s team has %d workers and makes %d ranges, want one of each", name, team.Size(), len(first))
		}
	}
}

// Close ends the workers: no goroutine is left of many teams.
func TestCloseEndsWorkers(t *testing.T) {
	before := runtime.NumGoroutine()
	for i := range 50 {
		team := teamOf(t, 4)
		if i%2 == 0 { // else they may not even have begun
			team.Rows(100, worth, 1, func(int, int) {})
		}
		team.Close()
	}
	for range 200 { // they end when they are next scheduled
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("%d goroutines are left of 50 teams, want none", runtime.NumGoroutine()-before)
}

// A panic in the caller's own range reaches the caller when the workers have ended theirs,
// and the team may be used again; one in a worker's ends the program, as in any goroutine,
// so there is no test of it.
func TestRowsPanics(t *testing.T) {
	team := teamOf(t, 2)
	ended := false // not atomic: the race detector sees a caller that did not wait
	func() {
		defer func() {
			if recover() == nil {
				t.Error("a panic in the caller's range did not reach the caller")
			}
		}()
		team.Rows(100, worth, 1, func(from, _ int) {
			if from == 0 {
				panic("in row 0")
			}
			time.Sleep(10 * time.Millisecond)
			ended = true
		})
	}()
	if !ended {
		t.Error("the panic reached the caller before the worker had ended its range")
	}
	if count, first := visits(team, 100, worth, 1); len(first) != 2 || count[99] != 1 {
		t.Errorf("after a panic the team makes %d ranges, want 2", len(first))
	}
}

// Set-up, cycle, solve and balance give the same bits whoever shares the work, in loops
// that are shared and with rows and columns that no number of workers divides.
func TestSameBitsForAnyTeam(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	const nx, nz = 401, 303
	sizes, iterations := []int{1, 2, 3, 4}, 4
	if testing.Short() { // a second iteration runs all that later ones do
		sizes, iterations = []int{2, 3}, 2
	}
	if nx*nz < 4*worth {
		t.Fatal("the grid is too small for the coarser levels to be shared")
	}
	for _, kind := range []struct {
		name string
		*System
	}{{"noise", random(rng, nx, nz)}, {"even", even(nx, nz, 1)}} {
		name, s := kind.name, kind.System
		s.Held[nx/2] = true
		over := make([]float64, s.Size())
		for c := range over {
			over[c] = 0.5 + rng.Float64()
		}
		b := normal(rng, s)
		type result struct {
			cycle, x, balanced []float64
			st                 Stats
		}
		solve := func(team *Team) (r result) {
			p := NewPCG(nx, nz, team)
			p.Factor(s)
			r.cycle = cycle(p, b)
			r.x = make([]float64, len(b))
			var err error // that it did not come to the end is no matter
			if r.st, err = p.SolveTo(r.x, s, b, Settings{Over: over, MaxIterations: iterations}); !errors.Is(err, ErrNoConvergence) {
				t.Fatal(err)
			}
			r.balanced = append([]float64(nil), r.x...)
			p.Balance(r.balanced)
			return r
		}
		want := solve(nil)
		for _, size := range sizes {
			got := solve(teamOf(t, size))
			if !equalBits(got.cycle, want.cycle) {
				t.Errorf("%s: the cycle of %d workers differs from that of one", name, size)
			}
			if !equalBits(got.x, want.x) || got.st.Iterations != want.st.Iterations || math.Float64bits(got.st.Residual) != math.Float64bits(want.st.Residual) {
				t.Errorf("%s: the solve of %d workers differs from that of one: %d iterations to %v and %d to %v", name, size, got.st.Iterations, got.st.Residual, want.st.Iterations, want.st.Residual)
			}
			if !equalBits(got.balanced, want.balanced) {
				t.Errorf("%s: the balance of %d workers differs from that of one", name, size)
			}
		}
	}
}

// late is a loop's body whose worker ends only when the caller has watched in vain and
// sleeps; prompt is one whose caller ends its part only when the worker has. Neither asks
// the clock.
func (t *Team) late(from, to int) {
	for from > 0 && !t.idle[0].asleep.Load() {
		runtime.Gosched()
	}
}

func (t *Team) prompt(from, to int) {
	for from == 0 && t.left.Load() > 0 {
		runtime.Gosched()
	}
}

// Workers that come late to short loops are left out of the next 64, 128 … of them, of at
// most longestPause; where no pause is left they are asked again. Of long loops they are
// left out of none.
func TestLateWorkersAreLeftOut(t *testing.T) {
	for _, c := range []struct{ cells, loops, want int }{
		// 64 + 128 + … + 4096 + 4096 alone, and the nine before, between and after.
		{worth, 64*(1+2+4+8+16+32+64+64) + 9, 9},
		{short, 5, 5},
	} {
		team, alone, shared := teamOf(t, 2), 0, 0
		for range c.loops {
			team.Rows(2, c.cells, 1, func(from, to int) {
				switch {
				case to-from == 2:
					alone++
				case from > 0: // the worker's part
					shared++
					team.late(from, to)
				}
			})
			if team.alone > longestPause {
				t.Fatalf("the worker is left out of %d loops, want %d at most", team.alone, longestPause)
			}
		}
		if shared != c.want || alone+shared != c.loops {
			t.Errorf("of %d loops of %d cells %d are shared with a late worker and %d done alone, want %d shared", c.loops, 2*c.cells, shared, alone, c.want)
		}
	}
}

// A worker that is in time is asked at once again, and halves the pause that the next late
// one begins from.
func TestWorkersInTimeAreForgiven(t *testing.T) {
	team := teamOf(t, 2)
	for i, c := range []struct {
		do   func(from, to int)
		want int // loops left out after it
	}{
		{team.prompt, 0}, {team.late, 64}, {team.late, 128}, {team.late, 256},
		{team.prompt, 0}, {team.late, 256}, {team.prompt, 0}, {team.prompt, 0}, {team.late, 128},
	} {
		team.Rows(2, worth, 1, c.do)
		if team.alone != c.want {
			t.Errorf("after loop %d the worker is left out of %d, want %d", i+1, team.alone, c.want)
		}
		team.alone = 0 // as if these had passed
	}
}
