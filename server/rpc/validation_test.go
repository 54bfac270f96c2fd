package rpc

import (
	"strings"
	"testing"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	_ "evenpeel/proto/evenpeel/branches/v1"
	_ "evenpeel/proto/evenpeel/compare/v1"
	_ "evenpeel/proto/evenpeel/compliance/v1"
	_ "evenpeel/proto/evenpeel/prices/v1"
	"evenpeel/recipes/fault"
)

func TestValid_inOurOwnWords(t *testing.T) {
	f := newFrame(Options{}.filled())
	for _, row := range []struct{ message, text, path, words string }{
		{"access.v1.CreateFirstPersonRequest", `word: "w" email: "a@b.c" title: "A" password: "abc"`, "password", "has 3 characters, at least 10 are needed"},
		{"access.v1.CreateFirstPersonRequest", `word: "w" email: "a@b.c" title: "A" password: "ä"`, "password", "has 1 character, at least 10 are needed"},
		{"access.v1.SignInRequest", `email: "a@b.c"`, "password", "is empty"},
		{"access.v1.SignInRequest", `email: "a@b.c" password: "` + strings.Repeat("x", 201) + `"`, "password", "has 201 characters, at most 200 are allowed"},
		{"access.v1.CreatePersonRequest", `password: "0123456789"`, "person", "is missing"},
		{"access.v1.EndSessionsRequest", `name: "x"`, "name", "is not the name of a person; one looks like people/7f3a2b1c"},
		{"recipes.v1.ListRecordsRequest", `kind: "x"`, "kind", "is none of recipes, prices, notes, certificates, placements"},
		{"recipes.v1.GetRevisionRequest", `record: "r" number: -2`, "number", "is -2, at least 0 is needed"},
		{"recipes.v1.PullSheetRequest", `branch: "x"`, "branch", "is not the name of a branch; one looks like branches/harbour-street"},
		{"recipes.v1.WatchReleasesRequest", `branch: "x"`, "branch", "is neither empty nor the name of a branch; one looks like branches/harbour-street"},
		{"recipes.v1.ListReleasesRequest", `page_size: -1`, "page_size", "is -1, at least 0 is needed"},
		{"recipes.v1.GetDraftRequest", `name: "drafts/"`, "name", "is not the name of a draft; one looks like drafts/7f3a2b1c"},
		{"recipes.v1.ListDraftsRequest", `state: 99`, "state", "is not one of the choices; choose one"},
		{"recipes.v1.CreateDraftRequest", `record: "recipes/A" request_id: "0b7e4f3a-2f6d-4c1e-9a55-3d1f0c8b7e21"`, "record", "is not the name of a record; one looks like recipes/glimmer-cotton, in lower-case letters, digits and hyphens"},
		{"recipes.v1.CreateDraftRequest", `record: "recipes/a" request_id: "x"`, "request_id", "is no UUID; one looks like 0b7e4f3a-2f6d-4c1e-9a55-3d1f0c8b7e21"},
		{"recipes.v1.ApproveDraftRequest", `name: "drafts/a" seen_sha256: "abc"`, "seen_sha256", "has 3 bytes, exactly 32 are needed"},
		{"recipes.v1.ApproveDraftRequest", `name: "drafts/a"`, "seen_sha256", "is empty"},
		{"recipes.v1.CreateReleaseRequest", `revisions: "a" request_id: "0b7e4f3a-2f6d-4c1e-9a55-3d1f0c8b7e21"`, "markets", "is empty"},
		{"recipes.v1.CreateReleaseRequest", `revisions: "a" revisions: "a" markets: "EU" request_id: "0b7e4f3a-2f6d-4c1e-9a55-3d1f0c8b7e21"`, "revisions", "names the same thing twice"},
		{"prices.v1.QuoteRequest", `list {} designs_count: 1001`, "designs_count", "is 1001, from 0 to 1000 is allowed"},
		{"prices.v1.QuoteRequest", `list {} garments { count: 0 }`, "garments[0].count", "is 0, from 1 to 100000 is allowed"},
		{"prices.v1.QuoteRequest", "list {} " + strings.Repeat("film {} ", 51), "film", "has 51 entries, at most 50 are allowed"},
		{"compliance.v1.JudgeRequest", `situation { market: "EU" on: "today" }`, "situation.on", "is neither empty nor a day; one looks like 2026-03-01"},
		{"compare.v1.GetBranchReportRequest", `branch: "branches/a" span { from_day: "x" to_day: "2026-01-01" }`, "span.from_day", "is not a day; one looks like 2026-03-01"},
		{"compare.v1.WatchTrialRequest", `ratio: 1`, "ratio", "has to be 0 or more and below 1"},
		{"compare.v1.WatchTrialRequest", `branches: "x"`, "branches[0]", "is not the name of a branch; one looks like branches/harbour-street"},
		{"compare.v1.CompareBranchesRequest", `span { from_day: "2026-01-01" to_day: "2026-01-01" }`, "metric", "is not one of the choices; choose one"},
	} {
		kind, err := protoregistry.GlobalTypes.FindMessageByName(protoreflect.FullName("evenpeel." + row.message))
		if err != nil {
			t.Fatal(err)
		}
		m := kind.New().Interface()
		if err := prototext.Unmarshal([]byte(row.text), m); err != nil {
			t.Fatalf("%s: %v", row.message, err)
		}
		got, ok := fault.As(f.valid(m))
		if !ok || got.Kind != fault.Invalid || got.Reason != RequestInvalid || len(got.Fields) != 1 ||
			got.Fields[0] != (fault.Field{Path: row.path, Words: row.words}) {
			t.Errorf("%s %s: got %v", row.message, row.text, got)
		}
	}
}

// Every rule that stands in a request has words of its own: a new kind of rule fails here first.
func TestValidation_hasWordsForEveryRule(t *testing.T) {
	worded := map[string][]protoreflect.Name{
		"string": {"min_len", "max_len", "pattern", "in", "uuid"}, "bytes": {"len", "min_len"}, "int32": {"gte", "lte"},
		"int64": {"gte", "lte"}, "enum": {"defined_only", "not_in"}, "repeated": {"min_items", "max_items", "unique", "items"}, "double": {"gte", "lt"},
	}
	seen := 0
	var walk func(m protoreflect.MessageDescriptor, done map[protoreflect.FullName]bool)
	walk = func(m protoreflect.MessageDescriptor, done map[protoreflect.FullName]bool) {
		if done[m.FullName()] {
			return
		}
		done[m.FullName()] = true
		if len(proto.GetExtension(m.Options(), validate.E_Message).(*validate.MessageRules).GetCel()) > 0 {
			t.Errorf("%s has a rule over several fields, which has no words here", m.FullName())
		}
		for i := range m.Fields().Len() {
			field := m.Fields().Get(i)
			rules, _ := proto.GetExtension(field.Options(), validate.E_Field).(*validate.FieldRules)
			rules.ProtoReflect().Range(func(kind protoreflect.FieldDescriptor, value protoreflect.Value) bool {
				if kind.Message() == nil {
					if kind.Name() != "required" {
						t.Errorf("%s: no words for %s", field.FullName(), kind.Name())
					}
					return true
				}
				value.Message().Range(func(rule protoreflect.FieldDescriptor, v protoreflect.Value) bool {
					seen++
					known := false
					for _, name := range worded[string(kind.Name())] {
						known = known || name == rule.Name()
					}
					if _, ok := patternWords[v.String()]; rule.Name() == "pattern" && !ok {
						t.Errorf("%s: no words for the pattern %s", field.FullName(), v)
					}
					if !known {
						t.Errorf("%s: no words for %s.%s", field.FullName(), kind.Name(), rule.Name())
					}
					return true
				})
				return true
			})
			if field.Message() != nil {
				walk(field.Message(), done)
			}
		}
	}
	protoregistry.GlobalFiles.RangeFiles(func(file protoreflect.FileDescriptor) bool {
		for i := range file.Services().Len() {
			if methods := file.Services().Get(i).Methods(); strings.HasPrefix(string(file.Package()), "evenpeel.") {
				for j := range methods.Len() {
					walk(methods.Get(j).Input(), map[protoreflect.FullName]bool{})
				}
			}
		}
		return true
	})
	if seen < 50 {
		t.Errorf("saw only %d rules", seen)
	}
}
