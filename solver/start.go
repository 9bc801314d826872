package solver

// Start returns the report of the ground as found with the supply just switched
// on: the cold currents and powers.
func Start(p *Problem) (*Report, error) {
	r := newRun(p)
	defer r.done()
	if err := r.begin(); err != nil {
		return nil, err
	}
	return &r.report, r.record(nil, false)
}
