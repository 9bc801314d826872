package physics

// Vapour says where the steam goes that boils off. The zero value takes it out of the
// ground where it forms.
type Vapour struct {
	Rising bool // up its column, condensing on the way

	// Of the steam that comes to the interval from Top to Bottom [m], or forms in it,
	// the share Capture [-] is taken out there. Top = Bottom: there is no interval.
	Top, Bottom, Capture float64
}

// Added is water that is let into the ground at an electrode.
type Added struct {
	Name        string    // of the electrode
	Cells       []int     // that take it
	Share       []float64 // [-] of the rate, by those; together 1
	Rate        float64   // [kg/s] on all that the grid stands for
	Temperature float64   // [K]
	From, To    float64   // [s] To +Inf: to the end
}
