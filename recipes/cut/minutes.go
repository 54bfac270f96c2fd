package cut

import (
	"math"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Motion is how a cutter moves: from its profile and the recipe.
type Motion struct {
	Speed, TravelSpeed units.MillimetresPerSecond // blade down and blade up
	Acceleration       int64                      // mm/s²
	Passes             int                        // how often each outline is cut
	CornerAngle        int                        // degrees of turn above which the blade stops; 0 stops at every point
}

// Estimate is what cutting a set of rings takes.
type Estimate struct {
	CutLength       float64            // mm, all passes
	TravelLength    float64            // mm with the blade up, in the order that Ordered gives
	TravelUnordered float64            // mm with the blade up, in the order as drawn
	Cutting         units.Milliseconds // blade down
	Travelling      units.Milliseconds // blade up
	Total           units.Milliseconds
	Pieces, Islands int // outlines that free a piece, and outlines of holes in them
	Stops           int // places where the blade comes to rest
}

// legTime is the time in seconds from rest to rest over a way of s mm: a trapezoid, or a triangle where the speed is
// not reached. Source: uniformly accelerated motion; shared reference physics C.5.
func legTime(s, speed, acceleration float64) float64 {
	if s >= speed*speed/acceleration {
		return s/speed + speed/acceleration
	}
	return 2 * math.Sqrt(s/acceleration)
}

// Estimated works out lengths and time for rings cut from 0,0 in the order that Ordered gives.
// Faults: OPTIONS_INVALID with every field of the motion that can not be.
func Estimated(rings []Ring, m Motion) (Estimate, error) {
	e, err := Driven(Ordered(rings, Point{}), m)
	if err != nil {
		return Estimate{}, err
	}
	e.TravelUnordered = Travel(rings, Point{})
	depth, _ := depths(rings)
	for i, r := range rings {
		if len(r) == 0 {
			continue
		}
		if depth[i]%2 == 0 {
			e.Pieces++
		} else {
			e.Islands++
		}
	}
	return e, nil
}

// Driven works out the time to cut rings in just the order given, each from its first point. It counts no pieces and
// islands, and TravelUnordered is left to the caller. Fault Invalid/OPTIONS_INVALID.
func Driven(rings []Ring, m Motion) (Estimate, error) {
	var fields fault.Fields
	if m.Speed < 1 || m.Speed > 10_000 {
		fields.Add("speed", "is %d mm/s; it must be 1 to 10000", m.Speed)
	}
	if m.TravelSpeed < 1 || m.TravelSpeed > 10_000 {
		fields.Add("travel_speed", "is %d mm/s; it must be 1 to 10000", m.TravelSpeed)
	}
	if m.Acceleration < 1 || m.Acceleration > 1_000_000 {
		fields.Add("acceleration", "is %d mm/s²; it must be 1 to 1000000", m.Acceleration)
	}
	if m.Passes < 1 || m.Passes > 20 {
		fields.Add("passes", "is %d; it must be 1 to 20", m.Passes)
	}
	if m.CornerAngle < 0 || m.CornerAngle > 180 {
		fields.Add("corner_angle", "is %d°; it must be 0 to 180", m.CornerAngle)
	}
	if err := fields.Fault("cut", OptionsInvalid, "The time can not be worked out with these settings."); err != nil {
		return Estimate{}, err
	}
	e := Estimate{}
	speed, travelSpeed, a := float64(m.Speed), float64(m.TravelSpeed), float64(m.Acceleration)
	cutting, travelling := 0.0, 0.0
	at := Point{}
	for _, r := range rings {
		if len(r) == 0 {
			continue
		}
		seconds, stops := ringTime(r, speed, a, float64(m.CornerAngle))
		cutting += seconds * float64(m.Passes)
		e.Stops += stops * m.Passes
		e.CutLength += r.Length() * float64(m.Passes)
		way := at.to(r[0])
		e.TravelLength += way
		travelling += legTime(way, travelSpeed, a)
		at = r[0]
	}
	e.Cutting, e.Travelling = milliseconds(cutting), milliseconds(travelling)
	e.Total = e.Cutting + e.Travelling
	return e, nil
}

func milliseconds(seconds float64) units.Milliseconds {
	return units.Milliseconds(math.Round(seconds * 1000))
}

// ringTime is the time once round, from rest to rest, with a stop at each corner above the angle.
func ringTime(r Ring, speed, a, corner float64) (seconds float64, stops int) {
	leg := 0.0
	for i := range r {
		p, q, next := r[i], r[(i+1)%len(r)], r[(i+2)%len(r)]
		leg += p.to(q)
		u, v := q.minus(p), next.minus(q)
		if math.Abs(math.Atan2(u.cross(v), u.dot(v)))*180/math.Pi > corner || i == len(r)-1 {
			seconds += legTime(leg, speed, a)
			stops++
			leg = 0
		}
	}
	return seconds, stops
}
