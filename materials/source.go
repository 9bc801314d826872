package materials

// Source tells where a number or a law came from.
type Source struct {
	Work  string // the work; or "common practice", or "choice"
	Where string // page, table or equation in it; or "from memory" if it was not seen
}

// String gives the work, and the place in it after a comma.
func (s Source) String() string {
	switch {
	case s.Work == "" && s.Where == "":
		return "no source given"
	case s.Where == "":
		return s.Work
	case s.Work == "":
		return s.Where
	}
	return s.Work + ", " + s.Where
}

// Sources lists what the laws of this package rest on, in the order of the
// package comment.
func Sources() []Source {
	return []Source{
		{"IAPWS R7-97(2012)", "regions 1, 2 and 4: eqs. 7, 15 to 17, 30 and 31"},
		{"IAPWS R12-08", "eqs. 10 to 12, without critical enhancement"},
		{"ISO 2533:1975", "troposphere, from memory"},
		{"Hayashi, Environ. Monit. Assess. 96:119, 2004", "linear rise of conductivity with temperature: natural waters, 0 to 30 degC"},
		{"Walden's rule", "conductivity as 1/viscosity, from memory"},
		{"Waxman & Smits, SPE J. 8(2), 1968", "conductivity with saturation, from memory"},
		{"Cote & Konrad, Can. Geotech. J. 42:443, 2005", "Kersten number"},
		{"Johansen, thesis, Trondheim, 1975", "dry and saturated conductivity, Kersten number"},
		{"Woodside & Messmer, J. Appl. Phys. 32:1699, 1961", "geometric mean of rock, water and air, from memory"},
	}
}
