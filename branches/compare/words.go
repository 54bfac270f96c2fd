package compare

import (
	"fmt"
	"strings"
)

// Sentence says an association in words; title names a resource for people ("" where it has no name of its own). It never
// says why.
func (a Association) Sentence(title func(resource string) string) string {
	cause := "A reprint of any cause"
	if a.Cause != "" {
		cause = capital(strings.ReplaceAll(a.Cause, "-", " "))
	}
	with := a.Factor.words(a.Level, title)
	if a.WithFactor != "" {
		with += " together with " + a.WithFactor.words(a.With, title)
	}
	also := make([]string, 0, len(a.Also))
	for _, level := range a.Also {
		also = append(also, named(level, title))
	}
	if len(also) > 0 {
		with += " (not to be told apart from " + strings.Join(also, ", ") + ")"
	}
	ratio := fmt.Sprintf("%s times (%s to %s)", short(a.Ratio), short(a.Ratio95.Low), short(a.Ratio95.High))
	if !a.Discovery {
		return fmt.Sprintf("%s can not be told to go with %s: %s what is expected", cause, with, ratio)
	}
	if a.WithFactor != "" {
		return fmt.Sprintf("%s is associated with %s: %s what either would lead one to expect", cause, with, ratio)
	}
	return fmt.Sprintf("%s is associated with %s: %s what all else would lead one to expect", cause, with, ratio)
}

func (f Factor) words(level string, title func(string) string) string {
	name := named(level, title)
	switch f {
	case ByBand:
		return name + " designs"
	case ByLot:
		if film, lot, ok := strings.Cut(name, " "); ok {
			return "lot " + lot + " of " + film
		}
		return "lot " + name
	case ByHour:
		return "work begun " + name
	case ByOnFor:
		return name + " at work"
	case ByFabric:
		return name + " fabric"
	}
	return name
}

func named(level string, title func(string) string) string {
	if title != nil {
		if t := title(level); t != "" {
			return t
		}
	}
	return level
}

// short is a ratio as people read one.
func short(v float64) string {
	if v >= 9.95 {
		return fmt.Sprintf("%.0f", v)
	}
	if v < 0.095 {
		return fmt.Sprintf("%.2f", v)
	}
	return fmt.Sprintf("%.1f", v)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
