// Package hand holds closed forms of electrical soil heating: what an engineer
// works out by hand beside a run. Each function is pure and gives its equation, its
// source and its range. SI units and kelvin.
package hand
