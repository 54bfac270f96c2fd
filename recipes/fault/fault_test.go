package fault

import (
	"errors"
	"fmt"
	"testing"
)

func TestFault_carriesItsCauseForTheLogOnly(t *testing.T) {
	cause := errors.New("disk full")
	err := fmt.Errorf("saving: %w", New(Unavailable, "runs", "STORE_AWAY", "The run of %s was not stored. Try again.", "12 May").Because(cause).With("try", "2"))
	f, ok := As(err)
	if !ok || f.Words != "The run of 12 May was not stored. Try again." || !errors.Is(err, cause) || f.Facts["try"] != "2" {
		t.Fatalf("lost something on the way: %+v", f)
	}
	if !Is(err, Unavailable) || Is(err, Broken) || Is(cause, Broken) {
		t.Fatal("Is finds the wrong kind")
	}
}

func TestFields_gatherAllAtOnce(t *testing.T) {
	var inner, all Fields
	inner.Add("price", "is %d, must be above 0", -1)
	all.Add("title", "is empty")
	all.Under("breaks[2]", inner)
	f, _ := As(all.Fault("prices", "LIST_INVALID", "Two things need mending."))
	if len(f.Fields) != 2 || f.Fields[1].Path != "breaks[2].price" || f.Fields[1].Words != "is -1, must be above 0" {
		t.Fatalf("got %+v", f.Fields)
	}
	if Fields(nil).Fault("prices", "LIST_INVALID", "") != nil {
		t.Fatal("no fields must be no fault")
	}
}
