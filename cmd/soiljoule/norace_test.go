//go:build !race

package main

const slower = 1
