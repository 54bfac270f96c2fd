package client

import (
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
)

// answerOf is a pull as it came, for Trusted.Accept to judge. A digest that is none stays zero, which no content has.
func answerOf(m *recipesv1.PullSheetResponse) recipes.Answer {
	a := recipes.Answer{
		Newest: m.GetNewestRelease(), ServerTime: m.GetServerTime().AsTime(), Freshness: m.GetFreshness().GetContent(), FreshnessSign: m.GetFreshness().GetSignature(),
		Current: entriesOf(m.GetCurrent()), Next: entriesOf(m.GetNext()),
	}
	if m.GetNext() != nil && a.Next == nil {
		a.Next = []recipes.Released{} // a next sheet that is empty is not the same as none
	}
	for _, r := range m.GetReleases() {
		a.Releases = append(a.Releases, recipes.AnswerRelease{Number: r.GetNumber(), Content: r.GetContent(), Signature: r.GetSignature(), Digest: digestOf(r.GetSha256())})
	}
	for _, r := range m.GetRecords() {
		a.Records = append(a.Records, recipes.AnswerRecord{Name: recipes.RevisionName(r.GetName()), Content: r.GetContent(), Digest: digestOf(r.GetSha256())})
	}
	return a
}

func entriesOf(s *recipesv1.Sheet) (out []recipes.Released) {
	for _, e := range s.GetEntries() {
		out = append(out, recipes.Released{Revision: recipes.RevisionName(e.GetRevision()), Digest: digestOf(e.GetSha256())})
	}
	return out
}

func digestOf(b []byte) recipes.Digest {
	d, err := recipes.ParseDigest(b)
	if err != nil {
		return recipes.Digest{}
	}
	return d
}
