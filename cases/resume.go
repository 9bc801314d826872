package cases

import (
	"math"
	"slices"
	"strings"
)

// mayChange are the keys that a run which goes on may have otherwise than before, by
// section: nothing else that a state depends on follows from them. nil: all but those in
// mustStay.
var mayChange = map[string][]string{
	"":            {"title", "question", "note"},
	"surface":     nil,
	"supply":      nil,
	"change":      nil,
	"control":     nil,
	"steam":       nil,
	"water_added": nil,
	"heat":        {"power"},
	"electrode":   {"voltage", "current_limit"},
	"time":        {"duration", "tolerance"},
	"output":      nil,
}

// mustStay are keys of those sections that decide what bodies and stores there are.
var mustStay = []string{"supply.phases", "supply.neutral", "steam.boiling"}

// atEdges are the sections whose keys the rates at a state depend on, beside the supply.
var atEdges = []string{"surface", "steam", "heat", "water_added"}

// mayDiffer says whether a run that goes on may have a key otherwise than before.
func mayDiffer(section, key string) bool {
	keys, may := mayChange[section]
	return may && (keys == nil || slices.Contains(keys, key)) && !slices.Contains(mustStay, dotted(section, key))
}

// Resumed is a case that goes on from a state.
type Resumed struct {
	*Case
	// Edges says that what flows in and out at the state's time, beside the supply, may
	// not be what it was.
	Edges bool
}

// Reached is where a run has come to.
type Reached struct {
	Time float64 // [s]
	Off  float64 // [s] when the supply went off for good; NaN: it has not
}

// LoadResumed is Load for a run that goes on from where the case of file, as its results
// folder holds it, has come to; next names the case to go on with, "" the same one. What
// the state depends on and is not as it was is a fault of next or of the settings, and so
// is a time that would have acted before, and a duration that does not lie after. What
// next leaves open of the modelled ground's size is what it was.
func LoadResumed(file, next string, sets []string, reached Reached) (*Resumed, error) {
	before, err := Load(file, nil)
	if err != nil {
		return nil, err
	}
	if next == "" {
		next = file
	}
	var faults Faults
	var allowed []string
	for _, set := range sets {
		path, _, _ := strings.Cut(set, "=")
		path = strings.TrimSpace(path)
		section, key := "", path
		if i := strings.IndexAny(path, ".["); i >= 0 {
			section, key = path[:i], path[strings.LastIndexByte(path, '.')+1:]
		}
		if mayDiffer(section, key) || findKey(dotted(section, key)) == nil { // load tells of what there is not
			allowed = append(allowed, set)
			continue
		}
		faults = append(faults, Fault{File: setPrefix + set, Allowed: "must stay as it is: the state depends on it; run the case from power-on"})
	}
	r := &Resumed{}
	l, err := load(next, allowed)
	if more, ok := err.(Faults); ok {
		faults = append(faults, more...)
	} else if err != nil {
		return nil, err
	} else {
		on := &onward{loader: l, file: file, before: before, reached: reached, told: map[string]bool{}}
		on.compare()
		faults = append(faults, l.faults...)
		r.Case, r.Edges = l.c, on.edges
	}
	if len(faults) > 0 {
		faults.inOrder(next, sets)
		if len(faults) > mostFaults {
			faults = append(faults[:mostFaults], Fault{File: next, Allowed: "and more faults, not told"})
		}
		return nil, faults
	}
	return r, nil
}

// span returns the time that the modelled ground is laid out for [s].
func (c *Case) span() float64 {
	if c.View == Plan && !math.IsNaN(c.Domain.Duration) {
		return c.Domain.Duration
	}
	return c.Time.Duration
}
