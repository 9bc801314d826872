package cases

import "fmt"

// goalCautions names goals that say nothing of the run: a target that is reached before it
// begins, one that must be kept for longer than it lasts.
func (c *Case) goalCautions() []string {
	var out []string
	for i := range c.Targets {
		t := &c.Targets[i]
		if !t.Boiling && t.Temperature <= c.Site.Ambient {
			out = append(out, fmt.Sprintf("Target %q at %s is not above the ground as found, %s: it is reached from the start.", t.Name, c.toldTemperature("%.4g", t.Temperature), c.toldTemperature("%.4g", c.Site.Ambient)))
		}
		if t.Hold > c.Time.Duration {
			out = append(out, fmt.Sprintf("Target %q is to be held for %.4g d, longer than the run, %.4g d: it does not come to the end of that.", t.Name, t.Hold/day, c.Time.Duration/day))
		}
	}
	return out
}
