package compliance

// RecordKind is the first part of a note's name.
func (Note) RecordKind() string { return "notes" }

// RecordTitle is what lists of records show.
func (n Note) RecordTitle() string { return n.Title }

// RecordKind is the first part of a certificate's name.
func (Certificate) RecordKind() string { return "certificates" }

// RecordTitle is what lists of records show.
func (c Certificate) RecordTitle() string { return c.Scheme + " " + c.Number }
