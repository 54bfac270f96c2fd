package prices

// RecordKind is the first part of a price list's name.
func (List) RecordKind() string { return "prices" }

// RecordTitle is what lists of records show.
func (l List) RecordTitle() string { return l.Title }
