package solver

import "errors"

// Unheld returns the electrode whose own current limit could not be held, of an error of
// Start, Run or Resume; "": it is another error, or of the limits of several together.
func Unheld(err error) (electrode string) {
	var own ownError
	if errors.As(err, &own) {
		return own.body
	}
	return ""
}
