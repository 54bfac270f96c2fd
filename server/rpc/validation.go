package rpc

import (
	"errors"
	"fmt"
	"strings"
	utf "unicode/utf8"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"evenpeel/recipes/fault"
)

// newValidator compiles the rules of every request of every service that is linked in, so that no call pays for it.
func newValidator() (protovalidate.Validator, error) {
	var requests []protoreflect.MessageDescriptor
	protoregistry.GlobalFiles.RangeFiles(func(file protoreflect.FileDescriptor) bool {
		if !strings.HasPrefix(string(file.Package()), "evenpeel.") {
			return true
		}
		for i := range file.Services().Len() {
			methods := file.Services().Get(i).Methods()
			for j := range methods.Len() {
				requests = append(requests, methods.Get(j).Input())
			}
		}
		return true
	})
	return protovalidate.New(protovalidate.WithMessageDescriptors(requests...))
}

// valid checks a request. Fault Invalid/REQUEST_INVALID with every field at once, in our own words.
func (f *frame) valid(req any) error {
	m, ok := req.(proto.Message)
	if !ok {
		return nil
	}
	err := f.validator.Validate(m)
	if err == nil {
		return nil
	}
	var wrong *protovalidate.ValidationError
	if !errors.As(err, &wrong) {
		return fmt.Errorf("validate %s: %w", m.ProtoReflect().Descriptor().FullName(), err)
	}
	var fields fault.Fields
	for _, v := range wrong.Violations {
		fields.Add(protovalidate.FieldPathString(v.Proto.GetField()), "%s", wordsFor(v))
	}
	return fields.Fault(room, RequestInvalid, "Something in this can not be taken as it is. See the fields marked.")
}

// patternWords say what a pattern means, by the pattern.
var patternWords = map[string]string{
	`^branches/[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`:                                       "is not the name of a branch; one looks like branches/harbour-street",
	`^(branches/[a-z]([a-z0-9-]{0,61}[a-z0-9])?)?$`:                                    "is neither empty nor the name of a branch; one looks like branches/harbour-street",
	`^drafts/[a-z0-9-]{1,64}$`:                                                         "is not the name of a draft; one looks like drafts/7f3a2b1c",
	`^proposals/[a-z0-9-]{1,64}$`:                                                      "is not the name of a proposal; one looks like proposals/7f3a2b1c",
	`^people/[a-z0-9-]{1,64}$`:                                                         "is not the name of a person; one looks like people/7f3a2b1c",
	`^(recipes|prices|notes|certificates|placements)/[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`: "is not the name of a record; one looks like recipes/glimmer-cotton, in lower-case letters, digits and hyphens",
	`^([0-9]{4}-[0-9]{2}-[0-9]{2})?$`:                                                  "is neither empty nor a day; one looks like 2026-03-01",
	`^[0-9]{4}-[0-9]{2}-[0-9]{2}$`:                                                     "is not a day; one looks like 2026-03-01",
}

// wordsFor says what is wrong and what is needed. The value itself is not repeated: it may be a password.
func wordsFor(v *protovalidate.Violation) string {
	var rules *validate.FieldRules
	if v.FieldDescriptor != nil {
		rules, _ = proto.GetExtension(v.FieldDescriptor.Options(), validate.E_Field).(*validate.FieldRules)
	}
	kind, rule, _ := strings.Cut(v.Proto.GetRuleId(), ".")
	if rules == nil && v.RuleValue.IsValid() && rule == "pattern" { // one entry of a list: only its rule is known
		if words, ok := patternWords[v.RuleValue.String()]; ok {
			return words
		}
	}
	switch kind {
	case "required":
		return "is missing"
	case "string":
		return stringWords(rule, v.FieldValue, rules.GetString())
	case "bytes":
		return bytesWords(rule, v.FieldValue, rules.GetBytes())
	case "repeated":
		return listWords(rule, v.FieldValue, rules.GetRepeated())
	case "enum":
		return "is not one of the choices; choose one"
	case "int32":
		return numberWords(rule, v.FieldValue, rules.GetInt32())
	case "int64":
		return numberWords(rule, v.FieldValue, rules.GetInt64())
	case "double":
		return ratioWords(rules.GetDouble())
	}
	return notAllowedHere
}

const notAllowedHere = "has a value that is not allowed here"

func stringWords(rule string, value protoreflect.Value, rules *validate.StringRules) string {
	text, _ := value.Interface().(string)
	n := utf.RuneCountInString(text)
	switch rule {
	case "min_len":
		if n == 0 {
			return "is empty"
		}
		return fmt.Sprintf("has %s, at least %d are needed", characters(n), rules.GetMinLen())
	case "max_len":
		return fmt.Sprintf("has %s, at most %d are allowed", characters(n), rules.GetMaxLen())
	case "uuid", "uuid_empty":
		return "is no UUID; one looks like 0b7e4f3a-2f6d-4c1e-9a55-3d1f0c8b7e21"
	case "in":
		var choices []string
		for _, choice := range rules.GetIn() {
			if choice != "" {
				choices = append(choices, choice)
			}
		}
		return "is none of " + strings.Join(choices, ", ")
	case "pattern":
		if words, ok := patternWords[rules.GetPattern()]; ok {
			return words
		}
	}
	return notAllowedHere
}

func bytesWords(rule string, value protoreflect.Value, rules *validate.BytesRules) string {
	content, _ := value.Interface().([]byte)
	switch {
	case len(content) == 0:
		return "is empty"
	case rule == "len":
		return fmt.Sprintf("has %d bytes, exactly %d are needed", len(content), rules.GetLen())
	case rule == "min_len":
		return fmt.Sprintf("has %d bytes, at least %d are needed", len(content), rules.GetMinLen())
	}
	return notAllowedHere
}

func listWords(rule string, value protoreflect.Value, rules *validate.RepeatedRules) string {
	n := 0
	if list, ok := value.Interface().(protoreflect.List); ok {
		n = list.Len()
	}
	switch rule {
	case "min_items":
		if n == 0 {
			return "is empty"
		}
		return fmt.Sprintf("has %d entries, at least %d are needed", n, rules.GetMinItems())
	case "max_items":
		return fmt.Sprintf("has %d entries, at most %d are allowed", n, rules.GetMaxItems())
	case "unique":
		return "names the same thing twice"
	}
	return notAllowedHere
}

// numberWords reads the limits from the rules of the number's own type.
func numberWords(rule string, value protoreflect.Value, rules proto.Message) string {
	limit := func(name protoreflect.Name) (int64, bool) {
		m := rules.ProtoReflect()
		field := m.Descriptor().Fields().ByName(name)
		if field == nil || !m.IsValid() || !m.Has(field) {
			return 0, false
		}
		return m.Get(field).Int(), true
	}
	low, hasLow := limit("gte")
	high, hasHigh := limit("lte")
	if !value.IsValid() || !strings.HasPrefix(rule, "gte") && !strings.HasPrefix(rule, "lte") {
		return notAllowedHere
	}
	switch {
	case hasLow && hasHigh:
		return fmt.Sprintf("is %d, from %d to %d is allowed", value.Int(), low, high)
	case hasLow:
		return fmt.Sprintf("is %d, at least %d is needed", value.Int(), low)
	case hasHigh:
		return fmt.Sprintf("is %d, at most %d is allowed", value.Int(), high)
	}
	return notAllowedHere
}

// ratioWords says the range of a number with decimals, as its rules have it.
func ratioWords(rules *validate.DoubleRules) string {
	low, high := "", ""
	if _, ok := rules.GetGreaterThan().(*validate.DoubleRules_Gte); ok {
		low = fmt.Sprintf("%g or more", rules.GetGte())
	}
	if _, ok := rules.GetLessThan().(*validate.DoubleRules_Lt); ok {
		high = fmt.Sprintf("below %g", rules.GetLt())
	}
	switch {
	case low != "" && high != "":
		return "has to be " + low + " and " + high
	case low+high != "":
		return "has to be " + low + high
	}
	return notAllowedHere
}

func characters(n int) string {
	if n == 1 {
		return "1 character"
	}
	return fmt.Sprintf("%d characters", n)
}
