package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"

	"evenpeel/server/load"
)

// TestLoad_runsEachSmall runs every load once, small and without etcd. What it measures is not looked at; that figures
// come out is, and that nothing is left running.
func TestLoad_runsEachSmall(t *testing.T) {
	binary, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	// The processes that a load starts inherit nothing but PATH, so a script says that they are the program.
	self := filepath.Join(t.TempDir(), "evenpeel")
	if err := os.WriteFile(self, fmt.Appendf(nil, "#!/bin/sh\n%s=1 exec %s \"$@\"\n", beTheProgram, binary), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", t.TempDir()) // etcd is not found
	for _, row := range []struct {
		args    string
		figures []string
	}{
		{"pull --seconds 0.05 --rounds 1 --workers 4", []string{`small sheet +\d+`, `nothing new, CPU of a bare read of 16 bytes +\d+\.\d\d`}},
		{"watch --streams 20 --releases 2", []string{`evenpeel +\d+\.\d\d`, `of bare: CPU of a delivery \S+, time to the last \d+\.\d\d`, `etcd is not installed`}},
		{"watch --streams 20 --releases 2 --own --alone", []string{`20 watchers over a connection each, told of 2 releases`, `evenpeel +\d+\.\d\d`}},
		{"storm --streams 20 --within 1s", []string{`all were current again within \S+`, `somebody else pulled [1-9]\d* times`}},
		{"storm --streams 20 --within 1s --tls", []string{`all were current again within \S+`, `somebody else pulled [1-9]\d* times`}},
		{"upload --branches 2 --batches 2 --runs 5", []string{`2 branches reported 20 runs, 5 at a time: \d+ runs a second`}},
	} {
		t.Run(row.args, func(t *testing.T) {
			before := runtime.NumGoroutine()
			var out strings.Builder
			if err := load.Run(t.Context(), strings.Fields(row.args), &out, self); err != nil {
				t.Fatalf("%v\n%s", err, &out)
			}
			for _, figure := range row.figures {
				if !regexp.MustCompile(figure).MatchString(out.String()) {
					t.Errorf("there is no %q in\n%s", figure, &out)
				}
			}
			patient, end := context.WithTimeout(t.Context(), 20*time.Second)
			defer end()
			for runtime.NumGoroutine() > before {
				if patient.Err() != nil {
					stacks := make([]byte, 1<<20)
					t.Fatalf("%d goroutines before, %d after:\n%s", before, runtime.NumGoroutine(), stacks[:runtime.Stack(stacks, true)])
				}
				runtime.Gosched()
			}
		})
	}
}
