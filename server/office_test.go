package main

import (
	"database/sql"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	_ "modernc.org/sqlite"

	"evenpeel/server/client"
	"evenpeel/server/demo"
)

// said runs a command as a person would and gives what it wrote.
func said(t *testing.T, args ...string) (string, error) {
	t.Helper()
	out := &words{}
	if client.Knows(args[0]) {
		err := client.Run(t.Context(), args, out)
		return out.String(), err
	}
	err := run(t.Context(), args, out)
	return out.String(), err
}

func did(t *testing.T, want string, args ...string) string {
	t.Helper()
	text, err := said(t, args...)
	if err != nil || !strings.Contains(text, want) {
		t.Fatalf("%s: %v\n%s\nwant %q", strings.Join(args, " "), err, text, want)
	}
	return text
}

func refusedIn(t *testing.T, want string, args ...string) {
	t.Helper()
	text, err := said(t, args...)
	if err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%s: %v\n%s\nwant %q", strings.Join(args, " "), err, text, want)
	}
}

// TestOffice walks through head office's command line: releases with words, a client that follows them through a new
// key, the file with everything, and another installation that takes it.
func TestOffice(t *testing.T) {
	folder, keep := t.TempDir(), filepath.Join(t.TempDir(), "bench")
	h := started(t, folder, "--demo")
	as := func(email string) {
		t.Setenv("EVENPEEL_SERVER", h.native)
		t.Setenv("EVENPEEL_EMAIL", email)
		for _, s := range demo.SignIns() {
			if s.Email == email {
				t.Setenv("EVENPEEL_PASSWORD", s.Password)
			}
		}
	}
	// The glitter recipe that dwelt too short and was mended: design of the demo.
	short := string(demo.Short)
	as("approver@evenpeel.example")
	did(t, "dwell: 6 s before, 13 s now (7 s more)", "diff", short, "2", "3")
	did(t, "the two say the same", "diff", short, "3", "3")
	did(t, "in place of "+short+"/revisions/3, at 1 branches", "release", short+"/revisions/2", "--market", "EU", "--branch", demo.Cold, "--preview")
	scheduled := did(t, "in force from 2", "release", short+"/revisions/2", "--market", "EU", "--branch", demo.Cold, "--at", "2027-06-01T08:00:00+02:00", "--reason", "a trial")
	number := regexp.MustCompile(`release (\d+), in force`).FindStringSubmatch(scheduled)[1]
	did(t, "cancels release "+number, "cancel", number)
	refusedIn(t, "was cancelled already", "cancel", number)

	first := regexp.MustCompile(`first: +\S+ ([0-9a-f]{64})`).FindStringSubmatch(did(t, "signs now: office-", "key", "show", "--data", folder))[1]
	as("operator.eu@evenpeel.example")
	refusedIn(t, "SIGNATURE_WRONG", "follow", demo.Cold, "--keep", keep, "--key", strings.Repeat("00", 32))
	did(t, "confirmed until", "follow", demo.Cold, "--keep", keep, "--key", first)
	as("approver@evenpeel.example")
	bad := regexp.MustCompile(`release (\d+), in force`).FindStringSubmatch(did(t, "in force from", "release", short+"/revisions/2", "--market", "EU"))[1]
	as("operator.eu@evenpeel.example")
	did(t, short+"/revisions/2", "follow", demo.Cold, "--keep", keep)
	records, err := os.ReadDir(filepath.Join(keep, "records"))
	if err != nil || len(records) == 0 {
		t.Fatal(records, err)
	}
	if err := os.WriteFile(filepath.Join(keep, "records", records[0].Name()), []byte("something else"), 0o600); err != nil {
		t.Fatal(err)
	}
	did(t, "confirmed until", "follow", demo.Cold, "--keep", keep) // it noticed, and pulled the record again
	if text, err := os.ReadFile(filepath.Join(keep, "records", records[0].Name())); err != nil || string(text) == "something else" {
		t.Error("a record that was changed is still kept", err)
	}

	// A new key, with the server stopped and started again: the client follows by itself, and the old key is worth nothing.
	old, err := os.ReadFile(keyFile(folder))
	if err != nil {
		t.Fatal(err)
	}
	if err := h.stop(); err != nil {
		t.Fatal(err)
	}
	did(t, "hands over from", "key", "rotate", "--data", folder, "--by", "people/ada", "--reason", "yearly")
	h = started(t, folder)
	as("operator.eu@evenpeel.example")
	did(t, "confirmed until", "follow", demo.Cold, "--keep", keep)
	did(t, "the office's key is "+first+" by this server's word", "follow", demo.Cold, "--keep", filepath.Join(t.TempDir(), "new"))
	as("approver@evenpeel.example")
	did(t, short+"/revisions/3 in place of "+short+"/revisions/2", "release", "--back", bad)
	as("operator.eu@evenpeel.example")
	did(t, short+"/revisions/3", "follow", demo.Cold, "--keep", keep)
	if err := h.stop(); err != nil {
		t.Fatal(err)
	}

	file := filepath.Join(t.TempDir(), "all.evenpeel")
	did(t, "revisions and", "export", file, "--data", folder)
	refusedIn(t, "already", "export", file, "--data", folder)
	did(t, "is whole", "verify", file, "--key", first)
	refusedIn(t, "ARCHIVE_OF_OTHER_OFFICE", "verify", file, "--key", strings.Repeat("00", 32))
	did(t, "the audit chain is whole", "verify", "--data", folder)

	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	torn, edited := file+".torn", file+".edited"
	if err := os.WriteFile(torn, whole[:len(whole)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	refusedIn(t, "ends in the middle of part", "verify", torn)
	spoiled := append([]byte(nil), whole...)
	spoiled[len(spoiled)/2] ^= 1
	if err := os.WriteFile(edited, spoiled, 0o600); err != nil {
		t.Fatal(err)
	}
	refusedIn(t, "was changed after it was written", "verify", edited)

	elsewhere := t.TempDir()
	refusedIn(t, "put the right office.key there", "import", file, "--data", elsewhere)
	if err := os.WriteFile(keyFile(elsewhere), old, 0o600); err != nil {
		t.Fatal(err)
	}
	refusedIn(t, "put the right office.key there", "import", file, "--data", elsewhere) // the key that was given up
	now, err := os.ReadFile(keyFile(folder))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(keyFile(elsewhere), now, 0o600); err != nil {
		t.Fatal(err)
	}
	refusedIn(t, "ARCHIVE_EDITED", "import", edited, "--data", elsewhere)
	did(t, "are here now", "import", file, "--data", elsewhere, "--key", first)
	refusedIn(t, "STORE_NOT_EMPTY", "import", file, "--data", elsewhere)
	did(t, "the store is whole", "verify", "--data", elsewhere)
	again := filepath.Join(t.TempDir(), "again.evenpeel")
	did(t, "revisions and", "export", again, "--data", elsewhere)
	refusedIn(t, "STORE_NOT_EMPTY", "import", again, "--data", folder)

	// A link of the audit chain that somebody mends by hand is named.
	db, err := sql.Open("sqlite", "file:"+filepath.Join(folder, "evenpeel.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range []string{"DROP TRIGGER access_audit_no_UPDATE", "UPDATE access_audit SET person = 'people/nobody' WHERE number = 2"} {
		if _, err := db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	refusedIn(t, "breaks at entry 2, after 1 that are whole", "audit", "verify", "--data", folder)
}
