//go:build validate

package cases

// draws is how many times as many problems are drawn by lot.
const draws = 4
