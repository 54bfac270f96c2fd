package load

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // database/sql's name for PostgreSQL
)

// meter reads the CPU that this process and, with PostgreSQL on this machine, the database's processes have spent.
type meter struct{ postmaster int }

// spent is CPU time.
type spent struct{ own, database time.Duration }

func newMeter(ctx context.Context, store string) (*meter, error) {
	if strings.HasPrefix(store, "sqlite:") {
		return &meter{}, nil
	}
	db, err := sql.Open("pgx", store)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	var backend int
	if err := db.QueryRowContext(ctx, "SELECT pg_backend_pid()").Scan(&backend); err != nil {
		return nil, err
	}
	facts, err := stat(backend)
	if err != nil {
		return nil, fmt.Errorf("PostgreSQL has to run on this machine, so that its CPU can be read: %w", err)
	}
	return &meter{postmaster: facts.parent}, nil
}

func (m *meter) read() spent {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return spent{}
	}
	s := spent{own: time.Duration(u.Utime.Nano() + u.Stime.Nano())}
	if m.postmaster == 0 {
		return s
	}
	folders, err := filepath.Glob("/proc/[0-9]*")
	if err != nil {
		return s
	}
	for _, folder := range folders {
		pid, err := strconv.Atoi(filepath.Base(folder))
		if err != nil {
			continue
		}
		p, err := stat(pid)
		switch {
		case err != nil: // it has ended
		case pid == m.postmaster:
			s.database += p.own + p.ended
		case p.parent == m.postmaster:
			s.database += p.own
		}
	}
	return s
}

func (m *meter) since(from spent) spent {
	now := m.read()
	return spent{now.own - from.own, now.database - from.database}
}

func (s spent) both() time.Duration { return s.own + s.database }

// dbProcess is what /proc says of one: its parent, its CPU, and that of its children that have ended.
type dbProcess struct {
	parent     int
	own, ended time.Duration
}

// tick is the kernel's unit in /proc/PID/stat, 10 ms on every Linux that Go knows.
const tick = 10 * time.Millisecond

func stat(pid int) (p dbProcess, err error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return p, err
	}
	_, rest, _ := strings.Cut(string(text), ") ") // the name before it may hold spaces
	fields := strings.Fields(rest)
	if len(fields) < 15 {
		return p, fmt.Errorf("/proc/%d/stat can not be read", pid)
	}
	numbers := make([]int, 15)
	for i := 1; i < 15; i++ {
		numbers[i], _ = strconv.Atoi(fields[i]) // those that are used are numbers, says proc(5)
	}
	p = dbProcess{parent: numbers[1], own: time.Duration(numbers[11]+numbers[12]) * tick, ended: time.Duration(numbers[13]+numbers[14]) * tick}
	// The scheduler knows it to the nanosecond, where the kernel keeps its figures.
	if text, err := os.ReadFile(fmt.Sprintf("/proc/%d/schedstat", pid)); err == nil {
		if first, _, ok := strings.Cut(string(text), " "); ok {
			if ns, err := strconv.ParseInt(first, 10, 64); err == nil && ns > 0 {
				p.own = time.Duration(ns)
			}
		}
	}
	return p, nil
}
