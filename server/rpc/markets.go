package rpc

import (
	"context"
	"sync"

	"evenpeel/branches"
	"evenpeel/recipes"
)

// markets knows which market each branch belongs to. A branch keeps its market for good (MARKET_FIXED), so what was
// read once stays true; a branch that is not known is asked for every time, since it may have been added just now.
type markets struct {
	known sync.Map // branch → recipes.Market
	turn  sync.Mutex
	read  bool // whether all were read once
}

// of gives a branch's market. Fault NotFound/BRANCH_NOT_FOUND. Many that ask at once cause one reading.
func (m *markets) of(ctx context.Context, register branches.Register, branch string) (recipes.Market, error) {
	if market, ok := m.known.Load(branch); ok {
		return market.(recipes.Market), nil
	}
	m.turn.Lock()
	defer m.turn.Unlock()
	if !m.read {
		all, err := register.Branches(ctx)
		if err != nil {
			return "", err
		}
		for _, b := range all {
			m.known.Store(b.Name, b.Market)
		}
		m.read = true
	}
	if market, ok := m.known.Load(branch); ok {
		return market.(recipes.Market), nil
	}
	b, err := register.Branch(ctx, branch)
	if err != nil {
		return "", err
	}
	m.known.Store(b.Name, b.Market)
	return b.Market, nil
}
