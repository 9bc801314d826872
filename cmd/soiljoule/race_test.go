//go:build race

package main

// slower is how many times longer the race detector lets a program take, at most.
const slower = 20
