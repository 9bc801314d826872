package main

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// kept is a check as a dossier has it.
type kept struct{ got, want float64 }

// parse reads the checks out of a dossier: by test and claim, in their order.
func parse(dossier string) (map[string]map[string][]kept, error) {
	had := map[string]map[string][]kept{}
	name, inChecks := "", false
	for n, line := range strings.Split(dossier, "\n") {
		switch {
		case strings.HasPrefix(line, "#"):
			name, inChecks = strings.TrimPrefix(line, "### "), false
			had[name] = map[string][]kept{}
		case line == checkHead:
			inChecks = true
		case !strings.HasPrefix(line, "|"):
			inChecks = false
		case inChecks && !strings.HasPrefix(line, "|--"):
			// A bar within a cell is escaped, so only bars between blanks part cells.
			cells := strings.Split(strings.TrimPrefix(line, "| "), " | ")
			if len(cells) < 3 {
				return nil, fmt.Errorf("line %d is no row of a check: %.80s", n+1, line)
			}
			got, errGot := strconv.ParseFloat(cells[1], 64)
			want, errWant := strconv.ParseFloat(cells[2], 64)
			if err := errors.Join(errGot, errWant); err != nil {
				return nil, fmt.Errorf("line %d: %w", n+1, err)
			}
			had[name][cells[0]] = append(had[name][cells[0]], kept{got, want})
		}
	}
	return had, nil
}

// agrees says where a dossier and this run differ: a test that did not run, a claim that
// the dossier lacks, one that no test makes any more, or a number that has moved. Numbers may move
// by the six digits printed and a tenth of the tolerance: machines round differently,
// and other versions of other programs are used.
func (r *report) agrees(dossier string) error {
	had, err := parse(dossier)
	if err != nil {
		return err
	}
	var faults []error
	for _, name := range sortedKeys(had) {
		if len(had[name]) > 0 && r.tests[name] == nil {
			faults = append(faults, fmt.Errorf("  %s is in the dossier and did not run", name))
		}
	}
	for _, t := range r.sorted() {
		if t.skipped != "" {
			continue
		}
		left := had[t.name]
		for _, c := range t.checks {
			claim := strings.TrimSpace(cell(c.Claim))
			if len(left[claim]) == 0 {
				faults = append(faults, fmt.Errorf("  %s: %q is not in the dossier", t.name, claim))
				continue
			}
			k := left[claim][0]
			left[claim] = left[claim][1:]
			moved := func(a, b float64) bool { return math.Abs(a-b) > 1e-5*math.Abs(b)+c.Tol/10 }
			if moved(k.got, c.Got) || moved(k.want, c.Want) {
				faults = append(faults, fmt.Errorf("  %s: %q: the dossier has %.6g against %.6g, the tests %.6g against %.6g", t.name, claim, k.got, k.want, c.Got, c.Want))
			}
		}
		for _, claim := range sortedKeys(left) {
			if len(left[claim]) > 0 && !t.partly {
				faults = append(faults, fmt.Errorf("  %s: %q is in the dossier, and no test claims it", t.name, claim))
			}
		}
	}
	if len(faults) > 20 {
		faults = append(faults[:20], fmt.Errorf("  … and %d more", len(faults)-20))
	}
	return errors.Join(faults...)
}
