package layout

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenpeel/recipes/units"
)

// instance is a published strip-packing problem, in its own unit.
type instance struct {
	name    string
	width   int
	optimum int
	sizes   [][2]int
	source  string
}

const (
	hopperTurton = "Hopper & Turton 2001, EJOR 128(1):34-57, table 1: 90° turns allowed, optimum by construction"
	burke        = "Burke, Kendall & Whitwell 2004, Oper. Res. 52(4):655-671, table of N1-N13: 90° turns allowed, optimum by construction"
)

var typedIn = []instance{
	{"C1P1", 20, 20, [][2]int{{2, 12}, {7, 12}, {8, 6}, {3, 6}, {3, 5}, {5, 5}, {3, 12}, {3, 7}, {5, 7}, {2, 6}, {3, 2}, {4, 2}, {3, 4}, {4, 4}, {9, 2}, {11, 2}}, hopperTurton},
	{"N1", 40, 40, [][2]int{{7, 6}, {40, 16}, {5, 20}, {24, 24}, {7, 4}, {4, 4}, {7, 8}, {4, 20}, {5, 4}, {7, 6}}, burke},
}

// perUnit is how many micrometres an instance's unit is taken for.
const perUnit = 1000

func (in instance) order() (Roll, []Piece) {
	var ps []Piece
	for i, s := range in.sizes {
		ps = append(ps, Piece{Key: fmt.Sprint(i), Width: units.Micrometres(s[0] * perUnit), Height: units.Micrometres(s[1] * perUnit), Copies: 1, Turns: Quarter})
	}
	return Roll{Width: units.Micrometres(in.width * perUnit)}, ps
}

// gap is (length − optimum) ÷ optimum in percent.
func (in instance) gap(l Layout) float64 {
	optimum := float64(in.optimum * perUnit)
	return 100 * (float64(l.Length) - optimum) / optimum
}

// published reads a set in place from EVENPEEL_DATA; the test is skipped where the data is absent.
func published(t testing.TB, file, source string) []instance {
	root := os.Getenv("EVENPEEL_DATA")
	if root == "" {
		root = "../../../shared/reference/data"
	}
	path := filepath.Join(root, "packing", "rect", file)
	f, err := os.Open(path)
	if err != nil {
		t.Skipf("published instances not here, set EVENPEEL_DATA to read them: %v", err)
	}
	defer f.Close()
	at := map[string]int{}
	var out []instance
	for lines := bufio.NewScanner(f); lines.Scan(); {
		line := lines.Text()
		var in instance
		var n int
		if c, _ := fmt.Sscanf(line, "# instance=%s W=%d n=%d opt=%d", &in.name, &in.width, &n, &in.optimum); c == 4 {
			in.source = source
			at[in.name] = len(out)
			out = append(out, in)
			continue
		}
		name, rest, _ := strings.Cut(line, ",")
		var id, w, h int
		if c, _ := fmt.Sscanf(rest, "%d,%d,%d", &id, &w, &h); c == 3 {
			out[at[name]].sizes = append(out[at[name]].sizes, [2]int{w, h})
		}
	}
	return out
}

func TestPack_reachesThePublishedOptimum(t *testing.T) {
	for _, in := range typedIn {
		t.Run(in.name, func(t *testing.T) {
			if in.source == "" {
				t.Fatal("a published row names its source")
			}
			r, ps := in.order()
			l, err := Pack(context.Background(), r, ps, Effort{Seed: 1, Moves: 20_000})
			if err != nil {
				t.Fatal(err)
			}
			if err := Verify(r, ps, l); err != nil {
				t.Fatal(err)
			}
			want := units.Micrometres(in.optimum * perUnit)
			if l.Length != want || l.Bound != want {
				t.Errorf("length %d, bound %d, want %d for both", l.Length, l.Bound, want)
			}
		})
	}
}

// Measured mean gap with these moves: C greedy 5.07 %, searched 0.34 … 0.43 %; N greedy 2.66 %, searched
// 0.21 … 0.38 % over seeds 1 … 3. The best-fit heuristic of Burke et al. 2004, best of three policies, is at
// 5.70 % and 4.05 % (from memory).
func TestPack_staysNearTheOptimumOnPublishedSets(t *testing.T) {
	for _, set := range []struct {
		file, source          string
		instances             int
		greedyLimit, gapLimit float64
	}{
		{file: "hopper_turton_c.csv", source: hopperTurton, instances: 21, greedyLimit: 7, gapLimit: 0.6},
		{file: "burke_n.csv", source: burke, instances: 13, greedyLimit: 4, gapLimit: 0.6},
	} {
		t.Run(set.file, func(t *testing.T) {
			ins := published(t, set.file, set.source)
			if len(ins) != set.instances {
				t.Fatalf("read %d instances, want %d", len(ins), set.instances)
			}
			var greedy, searched float64
			for _, in := range ins {
				r, ps := in.order()
				for _, moves := range []int{0, min(20_000, 200_000/len(ps))} {
					l, err := Pack(context.Background(), r, ps, Effort{Seed: 1, Moves: moves})
					if err != nil {
						t.Fatalf("%s: %v", in.name, err)
					}
					if err := Verify(r, ps, l); err != nil {
						t.Fatalf("%s: %v", in.name, err)
					}
					if l.Bound > units.Micrometres(in.optimum*perUnit) {
						t.Errorf("%s: bound %d is above the optimum %d", in.name, l.Bound, in.optimum*perUnit)
					}
					if moves == 0 {
						greedy += in.gap(l) / float64(len(ins))
					} else {
						searched += in.gap(l) / float64(len(ins))
					}
				}
			}
			t.Logf("mean gap: greedy %.2f %%, searched %.3f %%", greedy, searched)
			if greedy > set.greedyLimit || searched > set.gapLimit {
				t.Errorf("mean gap: greedy %.2f %% (limit %.2f), searched %.3f %% (limit %.2f)", greedy, set.greedyLimit, searched, set.gapLimit)
			}
		})
	}
}
