package sqlstore

import (
	"encoding/json"
	"strconv"
	"strings"
	"time"

	"evenpeel/recipes"
)

// micros is a time as columns hold it.
func micros(t time.Time) int64 { return t.UnixMicro() }

// instant reads it back, in UTC.
func instant(us int64) time.Time { return time.UnixMicro(us).UTC() }

// list writes a list as JSON text; a missing list and an empty one stay different.
func list(v any) (string, error) {
	b, err := json.Marshal(v)
	return string(b), err
}

func readList(text string, into any) error { return json.Unmarshal([]byte(text), into) }

// digestOf reads a digest column; its length is checked by the table.
func digestOf(b []byte) (recipes.Digest, error) { return recipes.ParseDigest(b) }

// limit turns a caller's "most" into a LIMIT that is never without end.
func limit(most int) int { return min(max(most, 0), mostRows) }

// mostRows bounds every list that names its length.
const mostRows = 10_000

// bytesOf keeps a missing value out of a column that is NOT NULL.
func bytesOf(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

// places are the numbered places of so many rows of so many columns: ($1, $2), ($3, $4) where first is 1.
func places(rows, columns, first int) string {
	var b strings.Builder
	for i := range rows * columns {
		switch {
		case i == 0:
			b.WriteString("($")
		case i%columns == 0:
			b.WriteString("), ($")
		default:
			b.WriteString(", $")
		}
		b.WriteString(strconv.Itoa(first + i))
	}
	b.WriteByte(')')
	return b.String()
}
