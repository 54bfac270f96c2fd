package access

import (
	"context"
	"slices"
	"sync"
	"time"

	"evenpeel/recipes/fault"
)

// memory is a Directory in memory, with counts of what was asked.
type memory struct {
	mu       sync.Mutex
	people   map[string]Person
	sessions map[SessionHash]Session
	seen     int
	looked   int
}

func newMemory() *memory {
	return &memory{people: map[string]Person{}, sessions: map[SessionHash]Session{}}
}

func (m *memory) Person(_ context.Context, name string) (Person, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	p, ok := m.people[name]
	if !ok {
		return p, fault.New(fault.NotFound, room, "PERSON_NOT_FOUND", "There is no such person.")
	}
	return p, nil
}

func (m *memory) PersonByEmail(_ context.Context, email string) (Person, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, p := range m.people {
		if p.Email == email {
			return p, nil
		}
	}
	return Person{}, fault.New(fault.NotFound, room, "PERSON_NOT_FOUND", "There is no such person.")
}

func (m *memory) People(context.Context) ([]Person, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var list []Person
	for _, p := range m.people {
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b Person) int { return len(a.Email) - len(b.Email) })
	return list, nil
}

func (m *memory) AddPerson(_ context.Context, p Person, first bool) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if first && len(m.people) > 0 {
		return fault.New(fault.NotReady, room, FirstPersonExists, "Somebody was here first.")
	}
	for _, other := range m.people {
		if other.Email == p.Email {
			return fault.New(fault.Invalid, room, "EMAIL_TAKEN", "Somebody has this address already.")
		}
	}
	m.people[p.Name] = p
	return nil
}

func (m *memory) PutPerson(_ context.Context, p Person) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.people[p.Name] = p
	return nil
}

func (m *memory) AddSession(_ context.Context, s Session) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.sessions[s.Hash] = s
	return nil
}

func (m *memory) Session(_ context.Context, hash SessionHash) (Session, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.looked++
	s, ok := m.sessions[hash]
	if !ok {
		return s, sessionEnded()
	}
	return s, nil
}

func (m *memory) Standings(_ context.Context, hashes []SessionHash) (list []Standing, _ error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.looked++
	for _, hash := range hashes {
		if s, ok := m.sessions[hash]; ok {
			if p, ok := m.people[s.Person]; ok {
				list = append(list, Standing{s, p})
			}
		}
	}
	return list, nil
}

func (m *memory) Marks(_ context.Context, began time.Time) (k Marks, _ error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, s := range m.sessions {
		if !s.Started.After(began) {
			k.Sessions++
			k.Began += s.Started.UnixMicro()
		}
	}
	for _, p := range m.people {
		k.People++
		if p.Barred {
			k.Barred++
		}
	}
	return k, nil
}

func (m *memory) SeeSessions(_ context.Context, hashes []SessionHash, seen time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.seen++
	for _, hash := range hashes {
		if s, ok := m.sessions[hash]; ok {
			s.Seen = seen
			m.sessions[hash] = s
		}
	}
	return nil
}

func (m *memory) EndSession(_ context.Context, hash SessionHash) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.sessions, hash)
	return nil
}

func (m *memory) EndSessions(_ context.Context, person string) (int, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := 0
	for hash, s := range m.sessions {
		if s.Person == person {
			delete(m.sessions, hash)
			n++
		}
	}
	return n, nil
}
