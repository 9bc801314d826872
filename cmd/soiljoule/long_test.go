//go:build validate

package main

// long says that tests may take long.
const long = true
