package main

import (
	"os"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"evenpeel/server/config"
)

// There is no engine here to run the container files, so what they say is held against what the program reads.
func TestDeploy_namesOnlyWhatTheProgramReads(t *testing.T) {
	known := map[string]bool{}
	settings := reflect.TypeFor[config.Config]()
	for i := range settings.NumField() {
		known[settings.Field(i).Tag.Get("env")] = true
	}
	variable := regexp.MustCompile(`EVENPEEL_[A-Z_]+`)
	for _, file := range []string{"../deploy/Containerfile", "../deploy/compose.yaml", "../deploy/chart/templates/deployment.yaml"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		found := variable.FindAllString(string(text), -1)
		if len(found) == 0 {
			t.Errorf("%s sets nothing", file)
		}
		for _, name := range found {
			if !known[name] {
				t.Errorf("%s sets %s, which nothing reads", file, name)
			}
		}
		if strings.Contains(string(text), "\t") {
			t.Errorf("%s holds a tab", file)
		}
	}
	// The same settings as the compose file makes must be ones that the program starts with.
	c, done, err := config.Read([]string{"--web-address", "0.0.0.0:8080", "--grpc-address", "0.0.0.0:9090", "--behind-tls", "--store", "postgres://evenpeel:x@store:5432/evenpeel?sslmode=disable", "--redis", "cache:6379", "--data", t.TempDir()}, os.Stderr)
	if err != nil || done {
		t.Fatal(err)
	}
	if err := c.Check(); err != nil {
		t.Error("the compose file's settings are refused:", err)
	}
}

// The dashboard and the runbook may name only figures that the server has: those are made where Name: stands.
func TestDeploy_drawsOnlyFiguresThatExist(t *testing.T) {
	made := map[string]bool{"process_resident_memory_bytes": true, "go_goroutines": true} // by the Prometheus library's own collectors
	for _, file := range []string{"rpc/counts.go", "rediscache/far.go"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range regexp.MustCompile(`Name: "([a-z_]+)"`).FindAllStringSubmatch(string(text), -1) {
			made[found[1]] = true
		}
	}
	figure := regexp.MustCompile(`\b[a-z]+_[a-z_]+_(total|seconds|bytes|seconds_bucket)\b|\bgo_goroutines\b`)
	for _, file := range []string{"../deploy/dashboard.json", "../deploy/runbook.md"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		found := figure.FindAllString(string(text), -1)
		if len(found) == 0 {
			t.Errorf("%s names no figure", file)
		}
		for _, name := range found {
			if !made[strings.TrimSuffix(name, "_bucket")] {
				t.Errorf("%s names %s, which nothing counts", file, name)
			}
		}
	}
}
