package main

import (
	"fmt"
	"strings"

	"soiljoule/cases"
)

type heatRow struct {
	Name        string  `json:"name"`
	LeftM       float64 `json:"left_m"` // or inner radius
	RightM      float64 `json:"right_m"`
	FrontM      float64 `json:"front_m"` // of a plan
	BackM       float64 `json:"back_m"`
	TopM        float64 `json:"top_m"`
	BottomM     float64 `json:"bottom_m"`
	VolumeM3    float64 `json:"volume_m3"` // of all of it on the site
	MeanKW      float64 `json:"mean_kW"`
	LeastKW     float64 `json:"least_kW"`
	MostKW      float64 `json:"most_kW"`
	EnergyKWh   float64 `json:"energy_kWh"`
	PerVolumeKW float64 `json:"mean_kW_per_m3"`
	PerLength   float64 `json:"mean_W_per_m"` // section: of extent.length; axisymmetric: of depth, one body; plan: of depth
	Series      string  `json:"series"`       // the CSV's name, "" if constant
	Solid       bool    `json:"solid"`
}

// heats lists the bodies of set power and what they give over the run.
func (r *checked) heats(c *cases.Case) {
	end := c.Time.Duration
	for i := range c.Heats {
		h := &c.Heats[i]
		energy := h.Power.Energy(0, end)
		least, most := h.Power.Range(end)
		mean := energy / end
		row := heatRow{Name: h.Name, LeftM: h.Left, RightM: h.Right, TopM: h.Top, BottomM: h.Bottom,
			VolumeM3: c.Volume(h), MeanKW: mean / 1e3, LeastKW: least / 1e3, MostKW: most / 1e3, EnergyKWh: energy / 3.6e6,
			PerVolumeKW: mean / 1e3 / c.Volume(h), PerLength: mean / c.Extent.Length, Series: h.Power.File, Solid: h.Solid()}
		if c.View == cases.Axisymmetric {
			row.LeftM, row.RightM = h.InnerRadius, h.Radius
			row.PerLength = mean / c.Extent.Count / (h.Bottom - h.Top)
		}
		if c.View == cases.Plan {
			row.FrontM, row.BackM = h.Front, h.Back
			row.PerLength = mean / (h.Bottom - h.Top)
		}
		r.Heats = append(r.Heats, row)
	}
}

// printHeats lists the bodies of set power.
func (r *checked) printHeats(line func(string, ...any), u units, place string) {
	if len(r.Heats) == 0 {
		return
	}
	per := "W a metre of extent.length"
	if place == "r" {
		per = "W a metre of depth, one body"
	}
	unit, scale, largest := "kW", 1.0, 0.0
	for _, h := range r.Heats {
		largest = max(largest, h.MeanKW)
	}
	if largest > 0 && largest < 1 {
		unit, scale = "W", 1e3
	}
	down := "depth"
	if r.Plan != nil {
		down, per = "y", "W a metre of depth"
	}
	line("%-12s %-26s %-26s %10s %10s %14s  %s", "set power", place, down, "mean "+unit, "kWh", "mean "+unit+"/m3", per)
	for _, h := range r.Heats {
		from, to := h.TopM, h.BottomM
		if r.Plan != nil {
			from, to = h.FrontM, h.BackM
		}
		line("%-12s %-26s %-26s %10.4g %10s %14.4g  %s", h.Name, u.between(h.LeftM, h.RightM), u.between(from, to), h.MeanKW*scale,
			amount(h.EnergyKWh, h.EnergyKWh), h.PerVolumeKW*scale, amount(h.PerLength, h.PerLength))
	}
	for _, h := range r.Heats {
		what := []string{"constant"}
		if h.Series != "" {
			what[0] = fmt.Sprintf("%s, from %.4g to %.4g kW, straight between its rows", h.Series, h.LeastKW, h.MostKW)
			if h.MostKW < 1 {
				what[0] = fmt.Sprintf("%s, from %.4g to %.4g W, straight between its rows", h.Series, h.LeastKW*1e3, h.MostKW*1e3)
			}
		}
		if h.Solid {
			what = append(what, "a solid with its own conductivity and heat capacity")
		} else {
			what = append(what, "put into the ground that lies there")
		}
		line("  %s: %s", h.Name, strings.Join(what, "; "))
	}
	line("  no potential, no current: whether electrodes could bring this power is not asked here")
}
