package cases

import (
	"slices"
	"time"
)

// airAt returns the air temperature [K] at time t [s]. Monthly values hold in
// the middle of their month and run straight from one to the next; a series runs
// straight between its rows and is level beyond them.
func (c *Case) airAt(t float64) float64 {
	a := &c.Surface.Air
	switch {
	case len(a.Series) > 0:
		i, _ := slices.BinarySearchFunc(a.Series, t, func(p AirPoint, t float64) int {
			if p.Time < t {
				return -1
			}
			return 1
		})
		switch i {
		case 0:
			return a.Series[0].Temperature
		case len(a.Series):
			return a.Series[len(a.Series)-1].Temperature
		}
		p, q := a.Series[i-1], a.Series[i]
		return p.Temperature + (q.Temperature-p.Temperature)*(t-p.Time)/(q.Time-p.Time)
	case len(a.Monthly) == 12:
		now := c.Time.PowerOn.Add(time.Duration(t * float64(time.Second)))
		mid := func(months int) time.Time { // the middle of the month so many from now's
			first := time.Date(now.Year(), now.Month()+time.Month(months), 1, 0, 0, 0, 0, time.UTC)
			return first.Add(first.AddDate(0, 1, 0).Sub(first) / 2)
		}
		from := 0
		if now.Before(mid(0)) {
			from = -1
		}
		p, q := mid(from), mid(from+1)
		u := float64(now.Sub(p)) / float64(q.Sub(p))
		return a.Monthly[p.Month()-1]*(1-u) + a.Monthly[q.Month()-1]*u
	}
	return a.Constant
}

// airMean returns the mean of the air's series [K] between two times [s]: the
// trapezoids of its rows, exact for lines.
func (c *Case) airMean(from, to float64) float64 {
	if to <= from {
		return c.airAt(from)
	}
	sum, at, value := 0.0, from, c.airAt(from)
	add := func(t, v float64) {
		sum += (t - at) * (value + v) / 2
		at, value = t, v
	}
	for _, p := range c.Surface.Air.Series {
		if p.Time > from && p.Time < to {
			add(p.Time, p.Temperature)
		}
	}
	add(to, c.airAt(to))
	return sum / (to - from)
}
