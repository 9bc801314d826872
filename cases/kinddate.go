package cases

import "time"

// dateKind is a date, or a date and time, on the site's clock.
type dateKind struct{}

func (dateKind) wants(*key) string {
	return "a date without quotes, such as 2026-05-01 or 2026-05-01T14:00:00"
}

func (dateKind) read(in input, dst any) {
	if t, ok := siteClock(in); ok {
		*dst.(*time.Time) = t
	}
}

func (dateKind) write(_ *key, src any) string {
	t := *src.(*time.Time)
	switch {
	case t.IsZero():
		return ""
	case t.Equal(t.Truncate(24 * time.Hour)):
		return t.Format("2006-01-02")
	}
	return t.Format("2006-01-02T15:04:05.999999999")
}

func (dateKind) column(*key) (string, string) { return "date", "years 1900 to 2200" }

// siteClock reads a TOML local date or local date and time. The site's clock
// is taken to run evenly, without summer time; it is held as UTC.
func siteClock(in input) (time.Time, bool) {
	t, ok := in.raw.(time.Time)
	if !ok {
		in.refuse("must be " + dateKind{}.wants(in.key))
		return time.Time{}, false
	}
	// The library marks a date's kind by the name of its zone.
	if zone := t.Location().String(); zone != "date-local" && zone != "datetime-local" {
		in.refuse("must be a date on the site's clock, without a zone, such as 2026-05-01T14:00:00")
		return time.Time{}, false
	}
	if t.Year() < 1900 || t.Year() > 2200 {
		in.refuse("must be between the years 1900 and 2200")
		return time.Time{}, false
	}
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC), true
}

// dateLayouts are what a date in a table may look like: as TOML has it, or as spreadsheets
// write it, with a blank for the T and without seconds. Go reads fractions of a second besides.
var dateLayouts = []string{"2006-01-02", "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04"}

// parseDate reads a date in a table, on the site's clock.
func parseDate(text string) (time.Time, bool) {
	for _, layout := range dateLayouts {
		if t, err := time.Parse(layout, text); err == nil {
			return t, t.Year() >= 1900 && t.Year() <= 2200
		}
	}
	return time.Time{}, false
}

// sinceSeconds returns t − start [s]; time.Duration would end at 292 years.
func sinceSeconds(t, start time.Time) float64 {
	return float64(t.Unix()-start.Unix()) + float64(t.Nanosecond()-start.Nanosecond())*1e-9
}
