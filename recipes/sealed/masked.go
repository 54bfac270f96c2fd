package sealed

import (
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes/fault"
)

// Masked is the draft's content with the fields of the mask taken from change. Paths run inside the kind of content:
// "dwell_seconds.set", "film.colours"; "trials" replaces a draft's trials. The mask is required and "*" is refused, so that a page that does not know a
// field can not blank it. Fault Invalid/MASK_INVALID with every bad path, Invalid/CONTENT_OF_OTHER_KIND.
func Masked(s Sealed, change *recordv1.Content, paths []string) (Sealed, error) {
	m, err := ContentMessage(s)
	if err != nil {
		return s, err
	}
	if err := refuseUnknown(change.ProtoReflect()); err != nil {
		return s, err
	}
	into, from := kindMessage(m), kindMessage(change)
	if into == nil || from == nil || into.Descriptor() != from.Descriptor() {
		return s, fault.New(fault.Invalid, room, "CONTENT_OF_OTHER_KIND", "The change is not of the draft's kind.")
	}
	var fs fault.Fields
	if len(paths) == 0 {
		fs.Add("update_mask", "is empty; name the fields that changed")
	}
	for _, path := range paths {
		if path == "trials" { // beside the kind, since trials are of the draft
			m.Trials = proto.CloneOf(change).GetTrials()
			continue
		}
		if !taken(into, from, strings.Split(path, ".")) {
			fs.Add("update_mask", "%q is not a field of this kind of record", path)
		}
	}
	if err := fs.Fault(room, "MASK_INVALID", "The change names fields that do not exist."); err != nil {
		return s, err
	}
	return marshalled(m)
}

// kindMessage is the message inside the oneof; nil where none is set.
func kindMessage(c *recordv1.Content) protoreflect.Message {
	m := c.ProtoReflect()
	fd := m.WhichOneof(m.Descriptor().Oneofs().ByName("content"))
	if fd == nil {
		return nil
	}
	return m.Get(fd).Message()
}

// taken copies one path; a list is taken whole.
func taken(into, from protoreflect.Message, path []string) bool {
	fd := into.Descriptor().Fields().ByName(protoreflect.Name(path[0]))
	switch {
	case fd == nil:
		return false
	case len(path) == 1 && from.Has(fd):
		// A copy, so that the request and the draft share nothing.
		into.Set(fd, proto.Clone(from.Interface()).ProtoReflect().Get(fd))
		return true
	case len(path) == 1:
		into.Clear(fd)
		return true
	case fd.Kind() != protoreflect.MessageKind || fd.IsList():
		return false
	}
	return taken(into.Mutable(fd).Message(), from.Get(fd).Message(), path[1:])
}
