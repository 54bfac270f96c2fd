package branches

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
)

func TestBranchCheck_namesEveryPlaceThatIsWrong(t *testing.T) {
	good := Branch{Name: "branches/harbour-street", Title: "Harbour Street", Place: "Quay", Market: "EU", TimeZone: "Europe/Lisbon"}
	rows := []struct {
		name   string
		change func(*Branch)
		want   []string
		source string
	}{
		{"a good branch", func(*Branch) {}, nil, "Europe/Lisbon: IANA time zone database, file europe"},
		{"place is optional", func(b *Branch) { b.Place = "" }, nil, "ours: Branch"},
		{"nothing at all", func(b *Branch) { *b = Branch{} }, []string{"market", "name", "time_zone", "title"}, "ours: Branch"},
		{"name without its prefix", func(b *Branch) { b.Name = "harbour-street" }, []string{"name"}, "ours: Branch"},
		{"name of something inside", func(b *Branch) { b.Name = "branches/a/machines/c" }, []string{"name"}, "ours: Branch"},
		{"name of 63 characters", func(b *Branch) { b.Name = "branches/" + strings.Repeat("a", 63) }, nil, "RFC 1035 section 2.3.4: a label has at most 63 octets"},
		{"name of 64 characters", func(b *Branch) { b.Name = "branches/" + strings.Repeat("a", 64) }, []string{"name"}, "RFC 1035 section 2.3.4: a label has at most 63 octets"},
		{"title of blanks", func(b *Branch) { b.Title = " \t" }, []string{"title"}, "ours: Branch"},
		{"no market", func(b *Branch) { b.Market = "" }, []string{"market"}, "ours: Branch"},
		{"a zone that is none", func(b *Branch) { b.TimeZone = "Europe/Harbour" }, []string{"time_zone"}, "IANA time zone database has no such name"},
		{"an offset is no zone", func(b *Branch) { b.TimeZone = "+01:00" }, []string{"time_zone"}, "IANA time zone database has no such name"},
		{"a path out of the database", func(b *Branch) { b.TimeZone = "../../etc/passwd" }, []string{"time_zone"}, "IANA time zone database, theory: no '..' component"},
		{"the server's own zone", func(b *Branch) { b.TimeZone = "Local" }, []string{"time_zone"}, "IANA time zone database has no such name; Go's time.LoadLocation answers it with the machine's zone"},
	}
	for _, row := range rows {
		b := good
		row.change(&b)
		var got []string
		for _, f := range b.Check() {
			got = append(got, f.Path)
		}
		slices.Sort(got)
		if !slices.Equal(got, row.want) {
			t.Errorf("%s: got %v, want %v (%s)", row.name, got, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}

func TestOf_isTheBranchThatOwnsAResource(t *testing.T) {
	const ours = "ours: resource names begin with their owner"
	rows := []struct{ resource, want, source string }{
		{"branches/a/machines/x", "branches/a", ours},
		{"branches/a/orders/1/plans/2", "branches/a", ours},
		{"branches/a", "branches/a", ours},
		{"branches/a/", "branches/a", ours},
		{"branches/", "", ours},
		{"branches", "", ours},
		{"branches//machines/x", "", ours},
		{"recipes/a/revisions/1", "", ours},
		{"/branches/a", "", ours},
		{"", "", ours},
	}
	for _, row := range rows {
		if got := Of(row.resource); got != row.want {
			t.Errorf("%q: got %q, want %q (%s)", row.resource, got, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%q has no source", row.resource)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		resource := rapid.String().Draw(t, "resource")
		if owner := Of(resource); owner != "" && (!strings.HasPrefix(resource+"/", owner+"/") || Of(owner) != owner) {
			t.Fatalf("%q is owned by %q", resource, owner)
		}
	})
}

func TestNotFound_saysTheSameForAStrangersBranch(t *testing.T) {
	f, ok := fault.As(NotFound("branches/a"))
	if !ok || f.Kind != fault.NotFound || f.Reason != "BRANCH_NOT_FOUND" || !strings.Contains(f.Words, "no branch a,") {
		t.Fatalf("got %+v", f)
	}
}
