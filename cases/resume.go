package cases

import (
	"fmt"
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
var mustStay = []string{"supply.phases", "supply.neutral", "steam.boiling", "steam.top", "steam.bottom"}

// atEdges are the sections whose keys the rates at a state depend on, beside the supply.
var atEdges = []string{"surface", "steam", "heat", "water_added"}

// Resumed is a case that goes on from a state.
type Resumed struct {
	*Case
	// Edges says that what flows in and out at the state's time, beside the supply, may
	// not be what it was.
	Edges bool
}

// LoadResumed is Load for a run that goes on from time at [s], of the case that its
// results folder holds. Settings of what its state depends on are faults, and so is a
// duration that does not lie after at.
func LoadResumed(file string, sets []string, at float64) (*Resumed, error) {
	before, err := Load(file, nil)
	if err != nil {
		return nil, err
	}
	r := &Resumed{}
	var faults Faults
	var allowed []string
	duration := Fault{File: file, Key: "time.duration", Given: about(before.Time.Duration/day) + " d"}
	for _, set := range sets {
		path, _, _ := strings.Cut(set, "=")
		path = strings.TrimSpace(path)
		section, key := "", path
		if i := strings.IndexAny(path, ".["); i >= 0 {
			section, key = path[:i], path[strings.LastIndexByte(path, '.')+1:]
		}
		keys, may := mayChange[section]
		full := dotted(section, key)
		if may && (keys == nil || slices.Contains(keys, key)) && !slices.Contains(mustStay, full) || findKey(full) == nil { // Load tells of what there is not
			allowed = append(allowed, set)
			r.Edges = r.Edges || slices.Contains(atEdges, section)
			if full == "time.duration" {
				duration = Fault{File: setPrefix + set}
			}
			continue
		}
		faults = append(faults, Fault{File: setPrefix + set, Allowed: "must stay as it is: the state depends on it; run the case from power-on"})
	}
	c, err := Load(file, allowed)
	if err != nil {
		more, ok := err.(Faults)
		if !ok {
			return nil, err
		}
		faults = append(faults, more...)
	} else {
		if !(c.Time.Duration > at*(1+1e-9)) {
			duration.Allowed = fmt.Sprintf("must be after day %s, to which the run has come", about(at/day))
			faults = append(faults, duration)
		}
		if was, is := before.Supply.Metered.File, c.Supply.Metered.File; (was == "") != (is == "") {
			faults = append(faults, Fault{File: file, Key: "supply.metered", Given: is, Allowed: "a metered drive can be neither taken up nor left on the way"})
		}
	}
	if len(faults) > 0 {
		faults.inOrder(file, sets)
		return nil, faults
	}
	if c.View == Plan && math.IsNaN(c.Domain.Duration) {
		c.Domain.Duration = before.Time.Duration
	}
	r.Case = c
	return r, nil
}

// span returns the time that the modelled ground is laid out for [s].
func (c *Case) span() float64 {
	if c.View == Plan && !math.IsNaN(c.Domain.Duration) {
		return c.Domain.Duration
	}
	return c.Time.Duration
}
