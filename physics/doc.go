// Package physics holds the conservation laws as discretised on a grid, and
// nothing of time stepping:
//
//	charge   ∇·(σ∇Φ) = 0                                       Electric
//	heat     ∂E/∂t = ∇·(λ∇T) + q − ∇·(ρ_w q_w h_w)
//	                 − F·h_v + F_in·h_v,in − O·h_w              Heat, Flow, Store
//	water    ∂W/∂t = R + A − F + F_in − ∇·(ρ_w q_w) − O         Store, Percolation
//	boiling  0 ≤ F ⟂ T_b − T ≥ 0  while W is above its floor    Store, Ascent
//
// with E the heat stored per volume, counted from the ground's start; W the liquid water
// per volume; F the steam that leaves a cell and F_in that which comes to it from below,
// where steam rises; R the water that flows in to replace it and A what is added; q_w a
// flux of water, given across, of what sinks straight down; O what has no room below the
// water table. Fluxes live on faces (Balance), so what leaves one cell enters another and
// a budget closes by construction.
//
// Units are SI, temperatures in kelvin, potentials in RMS volts.
package physics
