package access

import (
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"evenpeel/recipes/fault"
)

// NeedsNobody reports whether the method may be called without a session.
func NeedsNobody(method string) bool {
	rule, ok := byMethod[method]
	return ok && rule.Scope == Anyone
}

// MayCall checks the role alone, for streams whose first message is still on its way. Faults NotSignedIn/SESSION_ENDED
// and NotAllowed/NOT_YOUR_ROLE, the latter for every method that the Table does not know.
func MayCall(p Person, method string) error {
	_, err := mayCall(p, method)
	return err
}

func mayCall(p Person, method string) (*Rule, error) {
	rule, ok := byMethod[method]
	if ok && rule.Scope == Anyone {
		return rule, nil
	}
	if p.Name == "" {
		return nil, sessionEnded()
	}
	if !ok || p.Barred || !slices.ContainsFunc(p.Roles, func(r Role) bool { return slices.Contains(rule.Roles, r) }) {
		return nil, fault.New(fault.NotAllowed, room, NotYourRole, "This is not part of what you do here. Ask your manager or head office.")
	}
	return rule, nil
}

// Allowed checks whether the person may make this call. It looks at the request alone, before anything is looked
// up, so that a refusal never tells whether the thing exists. The zero Person is nobody. Faults
// NotSignedIn/SESSION_ENDED, NotAllowed/NOT_YOUR_ROLE, NotAllowed/NOT_YOUR_BRANCH.
func Allowed(p Person, method string, req proto.Message) error {
	rule, err := mayCall(p, method)
	if err != nil || rule.Scope != Own {
		return err
	}
	// One role that reaches every branch is enough.
	if slices.ContainsFunc(p.Roles, func(r Role) bool { return !r.OfBranch() && slices.Contains(rule.Roles, r) }) {
		return nil
	}
	names := valuesAt(req, rule.Branch)
	own := len(names) > 0 && !slices.ContainsFunc(names, func(name string) bool { return !p.owns(name) })
	for _, path := range rule.Also {
		own = own && !slices.ContainsFunc(valuesAt(req, path), func(name string) bool { return name != "" && !p.owns(name) })
	}
	if !own {
		return fault.New(fault.NotAllowed, room, NotYourBranch, "You may do this for your own branch only.")
	}
	return nil
}

func (p Person) owns(name string) bool {
	if p.Branch == "" {
		return false
	}
	rest, ok := strings.CutPrefix(name, p.Branch)
	return ok && (rest == "" || rest[0] == '/')
}

// valuesAt reads the strings at a dotted path; a list stands for all of its elements, a message that is not set for
// none. A path that the message does not have gives none, which refuses.
func valuesAt(req proto.Message, path string) []string {
	if req == nil {
		return nil
	}
	found := []protoreflect.Message{req.ProtoReflect()}
	steps := strings.Split(path, ".")
	for _, step := range steps[:len(steps)-1] {
		var next []protoreflect.Message
		for _, m := range found {
			field := m.Descriptor().Fields().ByName(protoreflect.Name(step))
			switch {
			case field == nil || field.Message() == nil || field.IsMap():
				return nil
			case field.IsList():
				list := m.Get(field).List()
				for i := range list.Len() {
					next = append(next, list.Get(i).Message())
				}
			case m.Has(field):
				next = append(next, m.Get(field).Message())
			}
		}
		found = next
	}
	var values []string
	for _, m := range found {
		field := m.Descriptor().Fields().ByName(protoreflect.Name(steps[len(steps)-1]))
		if field == nil || field.Kind() != protoreflect.StringKind || field.IsList() {
			return nil
		}
		values = append(values, m.Get(field).String())
	}
	return values
}
