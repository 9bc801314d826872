package cases

import (
	"fmt"

	"soiljoule/materials"
)

// told returns a quantity written in both systems, the case's own first.
func (c *Case) told(us, si string) string {
	first, second := c.order(us, si)
	return first + " (" + second + ")"
}

// order returns what is written in both systems, in the case's own first.
func (c *Case) order(us, si string) (first, second string) {
	if c.Output.Units == "us" {
		return us, si
	}
	return si, us
}

// toldLength returns a length [m] in ft and m, each in a format such as "%.4g".
func (c *Case) toldLength(format string, m float64) string {
	m = unrounded(m)
	return c.told(fmt.Sprintf(format+" ft", m/Foot), fmt.Sprintf(format+" m", m))
}

// toldTemperature returns a temperature [K] in °F and °C, each in a format such as "%.1f".
func (c *Case) toldTemperature(format string, kelvin float64) string {
	return c.told(temperatures(format, kelvin))
}

// temperatures returns a temperature [K] in °F and in °C.
func temperatures(format string, kelvin float64) (us, si string) {
	celsius := kelvin - materials.Celsius
	return fmt.Sprintf(format+" °F", 1.8*celsius+32), fmt.Sprintf(format+" °C", celsius)
}

// length returns a length [m] as metres does, but in the case's own units first.
func (c *Case) length(m float64) string {
	m = unrounded(m)
	return c.told(about(m/Foot)+" ft", about(m)+" m")
}
