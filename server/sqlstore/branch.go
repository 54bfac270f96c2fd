package sqlstore

import (
	"cmp"
	"context"
	"slices"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/recipes/fault"
)

const (
	branchByName = `SELECT name, title, place, market, time_zone FROM branches_branch WHERE name = $1`
	branchesAll  = `SELECT name, title, place, market, time_zone FROM branches_branch`
	branchPut    = `INSERT INTO branches_branch (name, title, place, market, time_zone) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (name) DO UPDATE SET title = excluded.title, place = excluded.place, market = excluded.market, time_zone = excluded.time_zone`
)

func scanBranch(row scanner) (branches.Branch, error) {
	var b branches.Branch
	err := row.Scan(&b.Name, &b.Title, &b.Place, &b.Market, &b.TimeZone)
	return b, err
}

// Branch reads one. Fault NotFound/BRANCH_NOT_FOUND.
func (s *Store) Branch(ctx context.Context, name string) (branches.Branch, error) {
	b, err := scanBranch(s.read.QueryRowContext(ctx, branchByName, name))
	if none(err) {
		return b, branches.NotFound(name)
	}
	return b, s.fault(err)
}

// Branches lists all, by title.
func (s *Store) Branches(ctx context.Context) ([]branches.Branch, error) {
	list, err := all(ctx, s.read, scanBranch, branchesAll)
	slices.SortFunc(list, func(a, b branches.Branch) int {
		return cmp.Or(cmp.Compare(a.Title, b.Title), cmp.Compare(a.Name, b.Name))
	})
	return list, s.fault(err)
}

// PutBranch adds or replaces one.
func (s *Store) PutBranch(ctx context.Context, b branches.Branch) error {
	_, err := s.write.ExecContext(ctx, branchPut, b.Name, b.Title, b.Place, b.Market, b.TimeZone)
	return s.fault(err)
}

const machineColumns = `name, branch, kind, title, dials, width_mm, edge_margin_mm, lead_mm, tail_mm, longest_cut_mm,
	blade_offset_um, acceleration_mm_per_second2, travel_mm_per_second, units_per_metre, platen_width_mm, platen_depth_mm,
	press_count, calibrated_on, etag, long_numbers, overcut_um`

const (
	machinesOf = `SELECT ` + machineColumns + ` FROM machines_machine WHERE branch = $1`
	machineAdd = `INSERT INTO machines_machine (` + machineColumns + `)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21) ON CONFLICT (name) DO NOTHING`
	machineReplace = `UPDATE machines_machine SET branch = $2, kind = $3, title = $4, dials = $5, width_mm = $6, edge_margin_mm = $7,
		lead_mm = $8, tail_mm = $9, longest_cut_mm = $10, blade_offset_um = $11, acceleration_mm_per_second2 = $12,
		travel_mm_per_second = $13, units_per_metre = $14, platen_width_mm = $15, platen_depth_mm = $16, press_count = $17,
		calibrated_on = $18, etag = $19, long_numbers = $20, overcut_um = $21 WHERE name = $1 AND etag = $19 - 1`
)

// dialColumn is one entry of the column dials. Its names are the column's, not the code's, so that renaming a field
// of machines.Dial loses nothing that is stored.
type dialColumn struct {
	Quantity machines.Quantity `json:"quantity"`
	Scale    string            `json:"scale"`
	Step     machines.Milli    `json:"step_milli"`
	Low      machines.Milli    `json:"low_milli"`
	High     machines.Milli    `json:"high_milli"`
	Points   [][2]int64        `json:"points_milli"` // dial, true
}

func scanMachine(row scanner) (machines.Machine, error) {
	var m machines.Machine
	var branch, dials string
	if err := row.Scan(&m.Name, &branch, &m.Kind, &m.Title, &dials, &m.Width, &m.EdgeMargin, &m.Lead, &m.Tail, &m.LongestCut,
		&m.BladeOffset, &m.Acceleration, &m.Travel, &m.UnitsPerM, &m.PlatenWidth, &m.PlatenDepth, &m.Count, &m.CalibratedOn, &m.Etag, &m.LongNumbers, &m.Overcut); err != nil {
		return m, err
	}
	var columns []dialColumn
	if err := readList(dials, &columns); err != nil {
		return m, err
	}
	for _, c := range columns {
		d := machines.Dial{Quantity: c.Quantity, Scale: c.Scale, Step: c.Step, Low: c.Low, High: c.High}
		for _, p := range c.Points {
			d.Points = append(d.Points, machines.Point{Dial: machines.Milli(p[0]), True: machines.Milli(p[1])})
		}
		m.Dials = append(m.Dials, d)
	}
	return m, nil
}

// Machines lists a branch's machines, by name.
func (s *Store) Machines(ctx context.Context, branch string) ([]machines.Machine, error) {
	list, err := all(ctx, s.read, scanMachine, machinesOf, branch)
	slices.SortFunc(list, func(a, b machines.Machine) int { return cmp.Compare(a.Name, b.Name) })
	return list, s.fault(err)
}

// PutMachine adds (Etag 1) or replaces one that stands at Etag−1. Fault MovedOn/MACHINE_MOVED_ON.
func (s *Store) PutMachine(ctx context.Context, m machines.Machine) error {
	columns := make([]dialColumn, len(m.Dials))
	for i, d := range m.Dials {
		columns[i] = dialColumn{Quantity: d.Quantity, Scale: d.Scale, Step: d.Step, Low: d.Low, High: d.High}
		for _, p := range d.Points {
			columns[i].Points = append(columns[i].Points, [2]int64{int64(p.Dial), int64(p.True)})
		}
	}
	dials, err := list(columns)
	if err != nil {
		return s.fault(err)
	}
	query := machineReplace
	if m.Etag == 1 {
		query = machineAdd
	}
	r, err := s.write.ExecContext(ctx, query, m.Name, m.Branch(), m.Kind, m.Title, dials, m.Width, m.EdgeMargin, m.Lead, m.Tail, m.LongestCut,
		m.BladeOffset, m.Acceleration, m.Travel, m.UnitsPerM, m.PlatenWidth, m.PlatenDepth, m.Count, m.CalibratedOn, m.Etag, m.LongNumbers, m.Overcut)
	if err != nil {
		return s.fault(err)
	}
	if n, err := r.RowsAffected(); err != nil || n == 1 {
		return s.fault(err)
	}
	return fault.New(fault.MovedOn, "machines", "MACHINE_MOVED_ON", "Somebody else changed this machine after you opened it. Open it again, then make your change.")
}
