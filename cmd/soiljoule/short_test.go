//go:build !validate

package main

// long says that tests may take long: under make validate.
const long = false
