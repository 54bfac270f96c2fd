package sealed

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

var update = flag.Bool("update", false, "write golden records that do not exist yet; never changes one")

// filled sets every field of a message to a value of its own, so that a mapper that drops one is caught.
func filled(m protoreflect.Message, seed *int64, kind int) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		fd := fields.Get(i)
		if one := fd.ContainingOneof(); one != nil && int(fd.Number()) != kind {
			continue
		}
		*seed++
		scalar := func() protoreflect.Value {
			switch fd.Kind() {
			case protoreflect.BoolKind:
				return protoreflect.ValueOfBool(true)
			case protoreflect.EnumKind:
				return protoreflect.ValueOfEnum(fd.Enum().Values().Get(1 + int(*seed)%(fd.Enum().Values().Len()-1)).Number())
			case protoreflect.StringKind:
				return protoreflect.ValueOfString(fmt.Sprintf("word-%d", *seed))
			case protoreflect.BytesKind:
				return protoreflect.ValueOfBytes([]byte(fmt.Sprintf("%032d", *seed)))
			case protoreflect.Int64Kind:
				return protoreflect.ValueOfInt64(*seed)
			case protoreflect.Int32Kind:
				return protoreflect.ValueOfInt32(int32(*seed))
			}
			panic("no value for " + fd.FullName())
		}
		switch {
		case fd.IsList():
			list := m.Mutable(fd).List()
			for range 2 {
				*seed++
				if fd.Kind() == protoreflect.MessageKind {
					filled(list.AppendMutable().Message(), seed, 0)
				} else {
					list.Append(scalar())
				}
			}
		case fd.Kind() == protoreflect.MessageKind:
			filled(m.Mutable(fd).Message(), seed, kind)
		default:
			m.Set(fd, scalar())
		}
	}
}

func filledRevision(kind int) *recordv1.Revision {
	m, seed := &recordv1.Revision{}, int64(100)
	filled(m.ProtoReflect(), &seed, kind)
	return m
}

var kinds = map[string]int{"recipe": 1, "price-list": 2, "note": 3, "certificate": 4, "placements": 5}

func TestMapping_forgetsNothing(t *testing.T) {
	for name, kind := range kinds {
		m := filledRevision(kind)
		b, _ := proto.Marshal(m)
		rev, err := Codec{}.OpenRevision(recipes.SealBytes(b))
		if err != nil {
			t.Fatal(name, err)
		}
		again, err := Codec{}.SealRevision(rev)
		if err != nil {
			t.Fatal(name, err)
		}
		var back recordv1.Revision
		if err := proto.Unmarshal(again.Content(), &back); err != nil || !proto.Equal(m, &back) {
			t.Errorf("%s: the way to Go and back lost something:\n%s", name, cmp.Diff(m.String(), back.String()))
		}
	}
	m, seed := &recordv1.Release{}, int64(7)
	filled(m.ProtoReflect(), &seed, 0)
	b, _ := proto.Marshal(m)
	r, err := Codec{}.OpenRelease(recipes.SealBytes(b))
	if err != nil {
		t.Fatal(err)
	}
	again, _ := Codec{}.SealRelease(r)
	var back recordv1.Release
	if err := proto.Unmarshal(again.Content(), &back); err != nil || !proto.Equal(m, &back) {
		t.Errorf("release: %v\n%s", err, cmp.Diff(m.String(), back.String()))
	}
}

func TestOpen_refusesWhatItDoesNotKnow(t *testing.T) {
	unknown := protowire.AppendVarint(protowire.AppendTag(nil, 500, protowire.VarintType), 1)
	top, _ := proto.Marshal(filledRevision(1))
	deep := filledRevision(1)
	deep.Content.GetRecipe().Film.ProtoReflect().SetUnknown(unknown)
	inside, _ := proto.Marshal(deep)
	strange := filledRevision(1)
	strange.Content.GetRecipe().Peel = 77
	enum, _ := proto.Marshal(strange)
	for name, b := range map[string][]byte{"at the top": append(top, unknown...), "deep inside": inside, "as an enum value": enum} {
		if _, err := (Codec{}).OpenRevision(recipes.SealBytes(b)); !fault.Is(err, fault.NotReady) {
			t.Errorf("an unknown field %s: got %v, want RECORD_TOO_NEW", name, err)
		}
	}
	if _, err := (Codec{}).OpenRevision(recipes.SealBytes([]byte{0xff, 0xff})); !fault.Is(err, fault.Broken) {
		t.Errorf("rubbish: got %v", err)
	}
}

func TestUnseal_refusesChangedBytes(t *testing.T) {
	b, _ := proto.Marshal(filledRevision(2))
	s := recipes.SealBytes(b)
	for i := range b {
		changed := append([]byte(nil), b...)
		changed[i] ^= 1
		if _, err := Unseal(changed, s.Digest()); !fault.Is(err, fault.Broken) {
			t.Fatalf("byte %d changed and nobody noticed", i)
		}
	}
	if got, err := Unseal(b, s.Digest()); err != nil || string(got.Content()) != string(b) {
		t.Fatal("the true bytes were refused", err)
	}
}

// Golden records are kept for ever: today's program must open every one, to the same bytes' digest.
func TestGolden_everyRecordEverSealedOpens(t *testing.T) {
	for name, kind := range kinds {
		file := filepath.Join("testdata", "v1-"+name+".binpb")
		if _, err := os.Stat(file); os.IsNotExist(err) && *update {
			b, _ := proto.MarshalOptions{Deterministic: true}.Marshal(filledRevision(kind))
			if err := os.WriteFile(file, b, 0o644); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(file+".sha256", []byte(recipes.SealBytes(b).Digest().String()+"\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	files, _ := filepath.Glob("testdata/*.binpb")
	if len(files) < len(kinds) {
		t.Fatalf("%d golden records, want at least %d", len(files), len(kinds))
	}
	for _, file := range files {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := os.ReadFile(file + ".sha256")
		s := recipes.SealBytes(b)
		if s.Digest().String() != strings.TrimSpace(string(want)) {
			t.Errorf("%s was changed", file)
		}
		if _, err := (Codec{}).OpenRevision(s); err != nil {
			t.Errorf("%s does not open any more: %v", file, err)
		}
	}
}

func TestMasked_changesOnlyWhatItNames(t *testing.T) {
	content := filledRevision(1).GetContent()
	draft, err := FromMessage(content)
	if err != nil {
		t.Fatal(err)
	}
	change := proto.Clone(content).(*recordv1.Content)
	change.GetRecipe().DwellSeconds.Set = 12
	change.GetRecipe().Title = "not in the mask"
	change.GetRecipe().Advice = nil
	got, err := Masked(draft, change, []string{"dwell_seconds.set", "advice"})
	if err != nil {
		t.Fatal(err)
	}
	m, _ := ContentMessage(got)
	want := proto.Clone(content).(*recordv1.Content)
	want.GetRecipe().DwellSeconds.Set = 12
	want.GetRecipe().Advice = nil
	if !proto.Equal(m, want) {
		t.Error(cmp.Diff(want.String(), m.String()))
	}
	for _, paths := range [][]string{nil, {"*"}, {"dwell"}, {"film.colours.0"}, {"title.x"}, {""}} {
		if _, err := Masked(draft, change, paths); !fault.Is(err, fault.Invalid) {
			t.Errorf("mask %q: got %v, want MASK_INVALID", paths, err)
		}
	}
	if _, err := Masked(draft, filledRevision(2).GetContent(), []string{"title"}); !fault.Is(err, fault.Invalid) {
		t.Errorf("a price list for a recipe: got %v", err)
	}
}

func FuzzOpen(f *testing.F) {
	for _, kind := range kinds {
		b, _ := proto.Marshal(filledRevision(kind))
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		rev, err := Codec{}.OpenRevision(recipes.SealBytes(b))
		if err == nil && rev.Content != nil {
			rev.Content.Check()
		}
	})
}
