// Package physics holds the conservation laws as discretised on a grid, and
// nothing of time stepping:
//
//	charge   ∇·(σ∇Φ) = 0                                    Electric
//	heat     ∂E/∂t = ∇·(λ∇T) + q − F·h_v − ∇·(ρ_w q_w h_w)  Heat, Store, Flow
//	water    ∂W/∂t = R − F                                  Store
//	boiling  0 ≤ F ⟂ T_b − T ≥ 0  while W is above its floor
//
// with E the heat stored per volume, counted from the ground's start; W the
// liquid water per volume; F the steam that leaves a cell and R the water that
// flows in to replace it; q_w a given flux of water that passes through. Fluxes live on faces (Balance), so what leaves one cell
// enters another and a budget closes by construction.
//
// Units are SI, temperatures in kelvin, potentials in RMS volts.
package physics
