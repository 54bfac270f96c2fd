package compare

import (
	"fmt"
	"strings"
)

const namedInFinding = 3

// sides are the branches marked, by what a finding says of them.
type sides struct{ high, low, watch []string }

func (s *sides) add(branch string, m Mark) {
	switch m {
	case High998:
		s.high = append(s.high, branch)
	case Low998:
		s.low = append(s.low, branch)
	case High95, Low95:
		s.watch = append(s.watch, branch)
	}
}

func reprintFinding(v View) string {
	var s sides
	judged, found := 0, 0
	for _, x := range v.Standings {
		s.add(x.Branch, x.Mark)
		if x.Judged {
			judged++
		}
		if x.Discovery {
			found++
		}
	}
	return s.sentence("more reprints than chance explains: ", s.high, "fewer than chance explains: ", s.low,
		"No branch can be told from the others by its reprints", v.Counts) + allowed(judged, found)
}

// allowed says what is left once it is allowed for that many branches were looked at.
func allowed(judged, found int) string {
	switch {
	case judged < 2:
		return ""
	case found == 0:
		return fmt.Sprintf(" Allowing for looks at %d branches, none differs.", judged)
	case found == 1:
		return fmt.Sprintf(" Allowing for looks at %d branches, one differs.", judged)
	}
	return fmt.Sprintf(" Allowing for looks at %d branches, %d differ.", judged, found)
}

func yieldFinding(v YieldView) string {
	var s sides
	for _, x := range v.Standings {
		s.add(x.Branch, x.Mark)
	}
	return s.sentence("more film drawn than their orders explain: ", s.low, "less than their orders explain: ", s.high,
		"No branch can be told from the others by its use of film", v.Counts)
}

// sentence names the worse side first, and never forgets those of whom nothing is known.
func (s sides) sentence(worse string, worseNames []string, better string, betterNames []string, none string, c Counts) string {
	var parts []string
	for _, p := range []struct {
		words string
		names []string
	}{{worse, worseNames}, {better, betterNames}, {"worth a look: ", s.watch}} {
		if len(p.names) > 0 {
			parts = append(parts, p.words+listed(p.names))
		}
	}
	if len(parts) == 0 {
		parts = append(parts, none)
	}
	if c.CannotTell > 0 {
		parts = append(parts, fmt.Sprintf("too little to tell: %d", c.CannotTell))
	}
	if c.Silent > 0 {
		parts = append(parts, fmt.Sprintf("silent: %d", c.Silent))
	}
	words := strings.Join(parts, "; ")
	return strings.ToUpper(words[:1]) + words[1:] + "."
}

func listed(names []string) string {
	if len(names) <= namedInFinding {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:namedInFinding], ", "), len(names)-namedInFinding)
}
