package press

import (
	"math"

	"evenpeel/recipes/fault"
)

// march is the stack cut into cells, and its state. Cells run from the top down.
type march struct {
	width []float64 // m
	half  []float64 // resistance from a cell's centre to its face, m²·K/W
	joint []float64 // contact resistance below a cell, m²·K/W
	link  []float64 // conductance from a cell to the one below, W/(m²·K); 0 below the last
	cells []cell
	first []int // first cell of each layer, and one past the last cell of all
	wet   bool
	t     []float64 // °C

	heatIn, heatOut, stored float64 // J/m²

	next, trial, residual, trialResidual, slope, oldHeat, inflow, delta, pivot []float64
}

func newMarch(layers []Layer, r Resolution) *march {
	m := &march{}
	for _, l := range layers {
		m.first = append(m.first, len(m.cells))
		edge := 0.0
		for i := 1; i <= r.Cells; i++ {
			next := l.ThicknessUM * 1e-6 * graded(float64(i)/float64(r.Cells), r.Grade)
			m.width = append(m.width, next-edge)
			m.half = append(m.half, (next-edge)/2/l.K)
			m.joint = append(m.joint, 0)
			m.cells = append(m.cells, cell{dry: l.Rho * l.Cp, water: l.Water, onset: boilingFrom})
			m.t = append(m.t, l.Start)
			edge = next
		}
		m.joint[len(m.joint)-1] = l.ContactBelow
		m.wet = m.wet || l.Water > 0
	}
	n := len(m.cells)
	m.first = append(m.first, n)
	m.link = make([]float64, n)
	for i := range n - 1 {
		m.link[i] = 1 / (m.half[i] + m.joint[i] + m.half[i+1])
	}
	for _, scratch := range []*[]float64{&m.next, &m.trial, &m.residual, &m.trialResidual, &m.slope, &m.oldHeat, &m.inflow, &m.delta, &m.pivot} {
		*scratch = make([]float64, n)
	}
	return m
}

// graded maps 0…1 onto 0…1 with finer steps at both ends. It is smooth, so the scheme stays of second order.
func graded(s, grade float64) float64 {
	if grade == 0 {
		return s
	}
	return (1 + math.Tanh(grade*(2*s-1))/math.Tanh(grade)) / 2
}

// carry takes temperatures and what has boiled for the last layers from an earlier march over the same layers.
func (m *march) carry(from *march) {
	n := min(len(m.cells), len(from.cells))
	copy(m.t[len(m.t)-n:], from.t[len(from.t)-n:])
	for i := 1; i <= n; i++ {
		m.cells[len(m.cells)-i].onset = from.cells[len(from.cells)-i].onset
	}
}

// flow is the heat through an end into a cell at t °C with the half resistance given, and its slope −dq/dt.
func (e End) flow(t, half float64) (q, conductance float64) {
	if !e.conducts {
		return e.flux, 0
	}
	conductance = 1 / (e.resistance + half)
	return conductance * (e.temperature - t), conductance
}

// advance computes on for the seconds given; visit is called at the start, after every interval, and at the end.
func (m *march) advance(top, bottom End, seconds, every, step float64, visit func(t float64)) error {
	const rannacherSteps = 2
	visit(0)
	taken := 0
	intervals := int(math.Ceil(seconds/every - 1e-9))
	for i := range intervals {
		span := min(every, seconds-float64(i)*every)
		steps := max(1, int(math.Ceil(span/step-1e-9)))
		dt := span / float64(steps)
		for range steps {
			var err error
			if taken < rannacherSteps {
				if err = m.step(top, bottom, dt/2, 1); err == nil {
					err = m.step(top, bottom, dt/2, 1)
				}
			} else {
				err = m.step(top, bottom, dt, 0.5)
			}
			if err != nil {
				return err
			}
			taken++
		}
		visit(min(float64(i+1)*every, seconds))
	}
	return nil
}

// net fills out with the heat that flows into each cell, W/m².
func (m *march) net(top, bottom End, t, out []float64) {
	last := len(t) - 1
	above, _ := top.flow(t[0], m.half[0])
	for i := range last {
		below := m.link[i] * (t[i] - t[i+1])
		out[i] = above - below
		above = below
	}
	below, _ := bottom.flow(t[last], m.half[last])
	out[last] = above + below
}

// step is one theta step: 1 is backward Euler, 0.5 Crank–Nicolson.
func (m *march) step(top, bottom End, dt, theta float64) error {
	const (
		settled    = 1e-9 // °C, the last Newton correction
		iterations = 80
	)
	last := len(m.t) - 1
	topBefore, _ := top.flow(m.t[0], m.half[0])
	bottomBefore, _ := bottom.flow(m.t[last], m.half[last])
	m.net(top, bottom, m.t, m.inflow)
	for i, c := range m.cells {
		m.oldHeat[i], _ = c.heat(m.t[i])
	}
	copy(m.next, m.t)
	norm := m.misfit(top, bottom, m.next, m.residual, m.slope, dt, theta)
	for n := 0; ; n++ {
		if n == iterations {
			return fault.New(fault.Broken, room, HeatDidNotSettle, "The heat through the stack did not settle. Please report these inputs.")
		}
		m.solve(top, bottom, dt, theta)
		if !m.wet {
			for i := range m.next {
				m.next[i] += m.delta[i]
			}
			break
		}
		largest := 0.0
		for _, d := range m.delta {
			largest = max(largest, math.Abs(d))
		}
		// The misfit is the slope of a convex function, so a short enough step always lowers it.
		part, tried := 1.0, 0.0
		for {
			for i := range m.next {
				m.trial[i] = m.next[i] + part*m.delta[i]
			}
			tried = m.misfit(top, bottom, m.trial, m.trialResidual, m.slope, dt, theta)
			if tried <= norm || part < 1e-3 || largest < settled {
				break
			}
			part /= 2
		}
		m.next, m.trial = m.trial, m.next
		m.residual, m.trialResidual = m.trialResidual, m.residual
		norm = tried
		if largest < settled {
			break
		}
	}
	topAfter, _ := top.flow(m.next[0], m.half[0])
	bottomAfter, _ := bottom.flow(m.next[last], m.half[last])
	m.heatIn += dt * (theta*topAfter + (1-theta)*topBefore)
	m.heatOut -= dt * (theta*bottomAfter + (1-theta)*bottomBefore)
	for i := range m.cells {
		h, _ := m.cells[i].heat(m.next[i])
		m.stored += m.width[i] * (h - m.oldHeat[i])
		m.cells[i].boilAt(m.next[i])
	}
	m.t, m.next = m.next, m.t
	return nil
}

// misfit fills the residual of the theta step at t and the heat slope of each cell; it returns the size of the
// residual as a temperature squared.
func (m *march) misfit(top, bottom End, t, residual, slope []float64, dt, theta float64) float64 {
	m.net(top, bottom, t, residual)
	norm := 0.0
	for i, c := range m.cells {
		h, s := c.heat(t[i])
		slope[i] = s
		residual[i] = m.width[i]*(h-m.oldHeat[i])/dt - theta*residual[i] - (1-theta)*m.inflow[i]
		scaled := residual[i] * dt / (m.width[i] * c.dry)
		norm += scaled * scaled
	}
	return norm
}

// solve finds the Newton correction: a tridiagonal system, Thomas' algorithm, diagonally dominant.
func (m *march) solve(top, bottom End, dt, theta float64) {
	last := len(m.t) - 1
	_, topConductance := top.flow(0, m.half[0])
	_, bottomConductance := bottom.flow(0, m.half[last])
	for i := range m.delta {
		diagonal := m.width[i]*m.slope[i]/dt + theta*m.link[i]
		right := -m.residual[i]
		if i == 0 {
			diagonal += theta * topConductance
		} else {
			diagonal += theta * m.link[i-1]
			factor := theta * m.link[i-1] / m.pivot[i-1]
			diagonal -= factor * theta * m.link[i-1]
			right += factor * m.delta[i-1]
		}
		if i == last {
			diagonal += theta * bottomConductance
		}
		m.pivot[i], m.delta[i] = diagonal, right
	}
	m.delta[last] /= m.pivot[last]
	for i := last - 1; i >= 0; i-- {
		m.delta[i] = (m.delta[i] + theta*m.link[i]*m.delta[i+1]) / m.pivot[i]
	}
}

// faces are the face temperatures of every layer, °C.
func (m *march) faces(top, bottom End) []Faces {
	out := make([]Faces, len(m.first)-1)
	for layer := range out {
		upper, lower := m.first[layer], m.first[layer+1]-1
		var q float64
		if layer == 0 {
			q, _ = top.flow(m.t[upper], m.half[upper])
		} else {
			q = m.link[upper-1] * (m.t[upper-1] - m.t[upper])
		}
		out[layer].Upper = m.t[upper] + q*m.half[upper]
		if lower == len(m.t)-1 {
			q, _ = bottom.flow(m.t[lower], m.half[lower])
			q = -q
		} else {
			q = m.link[lower] * (m.t[lower] - m.t[lower+1])
		}
		out[layer].Lower = m.t[lower] - q*m.half[lower]
	}
	return out
}

// waterLeft is the part of a layer's water that has not boiled, 1 for a dry layer.
func (m *march) waterLeft(layer int) float64 {
	var left, all float64
	for i := m.first[layer]; i < m.first[layer+1]; i++ {
		left += m.width[i] * m.cells[i].waterLeft()
		all += m.width[i] * m.cells[i].water
	}
	if all == 0 {
		return 1
	}
	return left / all
}
