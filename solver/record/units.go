package record

import "soiljoule/materials"

// The units that files of a folder are written in.
//
// Source: NIST Special Publication 811 (2008), Appendix B.8, from memory.
const (
	day        = 86400.0                  // [s]
	kWh        = 3.6e6                    // [J]
	celsius    = materials.Celsius        // [K]
	kgPerPound = 0.45359237               // [kg]
	yard3      = 0.9144 * 0.9144 * 0.9144 // [m³]
	gallon     = 3.785411784e-3           // [m³] US liquid
	// kilograms an hour of condensate, of the model's density, in a US gallon a minute
	kgPerHourInGPM = 60 * gallon * materials.RhoWater
)
