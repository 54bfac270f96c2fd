package main

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"evenpeel/recipes"
	"evenpeel/recipes/archive"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
	"evenpeel/server/access"
	"evenpeel/server/config"
	"evenpeel/server/sqlstore"
)

// office does one of head office's commands, with the store and the key at hand. Whoever may read the data folder may do
// it: no session is asked for.
func office(ctx context.Context, args []string, out io.Writer) error {
	o, chosen, done, err := config.ReadOffice(args, out)
	if err != nil || done {
		return err
	}
	switch chosen {
	case "verify":
		if o.Verify.File != "" {
			return inWords(verifyFile(o.Verify.File, o.Verify.Key, out))
		}
	case "export":
		if _, err := os.Stat(o.Export.File); err == nil {
			return fmt.Errorf("there is a file %s already; name a new one", o.Export.File)
		}
	}
	store, err := sqlstore.Open(ctx, o.StoreAddress(), nil)
	if err != nil {
		return inWords(err)
	}
	defer store.Close()
	switch chosen {
	case "export":
		err = export(ctx, o.Data, store, o.Export.File, out)
	case "import":
		err = bringIn(ctx, o.Data, store, o.Import.File, o.Import.Key, out)
	case "verify":
		err = verifyStore(ctx, o.Data, store, out)
	case "audit verify":
		err = verifyAudit(ctx, store, out)
	case "key show":
		err = showKey(ctx, o.Data, store, out)
	case "key rotate":
		err = rotateKey(ctx, o.Data, store, o.Key.Rotate.By, o.Key.Rotate.Reason, out)
	}
	return inWords(err)
}

// inWords gives a fault's words alone.
func inWords(err error) error {
	if f, ok := fault.As(err); ok {
		return fmt.Errorf("%s (%s)", f.Words, f.Reason)
	}
	return err
}

// keyOf is the office key that fits the store's releases.
func keyOf(ctx context.Context, folder string, store *sqlstore.Store) (*officeKey, []recipes.SignedRelease, error) {
	chain, err := store.Releases(ctx, 0)
	if err != nil {
		return nil, nil, err
	}
	key, err := keyFor(folder, recipes.SigningKey(chain))
	return key, chain, err
}

func export(ctx context.Context, folder string, store *sqlstore.Store, file string, out io.Writer) error {
	key, _, err := keyOf(ctx, folder, store)
	if err != nil {
		return err
	}
	a, err := archive.Gathered(ctx, store, recipes.ArchiveHead{Written: time.Now().Truncate(time.Second), Program: "evenpeel " + version}, key.Public())
	if err != nil {
		return err
	}
	if err := a.Verify(); err != nil { // a copy of what is broken would be found out only when it is needed
		return err
	}
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	err = archive.Write(f, a, func(text []byte) []byte { s, _ := key.Vouch(text); return s })
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return errors.Join(err, os.Remove(file)) // half a file is worse than none
	}
	_, err = fmt.Fprintf(out, "%s holds %d revisions and %d releases, signed by %s. Keep office.key apart from it: with both, anybody is head office.\n", file, len(a.Revisions), len(a.Releases), key.name)
	return err
}

func openArchive(file, first string, out io.Writer) (archive.Archive, error) {
	var key []byte
	if first != "" {
		var err error
		if key, err = hex.DecodeString(first); err != nil || len(key) != ed25519.PublicKeySize {
			return archive.Archive{}, errors.New("--key is not a key in hexadecimal; `evenpeel key show` prints one")
		}
	}
	f, err := os.Open(file)
	if err != nil {
		return archive.Archive{}, err
	}
	defer f.Close()
	a, err := archive.Read(f, key)
	if err == nil && key == nil {
		fmt.Fprintf(out, "the office's first key is %x by the file's own word; compare it\n", a.Head.FirstKey)
	}
	return a, err
}

func verifyFile(file, first string, out io.Writer) error {
	a, err := openArchive(file, first, out)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s is whole: %d revisions, %d releases, written %s, signed by %s\n", file, len(a.Revisions), len(a.Releases), a.Head.Written.UTC().Format(time.RFC3339), recipes.KeyName(a.Head.Key))
	return err
}

func bringIn(ctx context.Context, folder string, store *sqlstore.Store, file, first string, out io.Writer) error {
	a, err := openArchive(file, first, out)
	if err != nil {
		return err
	}
	// Without the key that the chain ends with, nothing could be released here ever after.
	key, err := keyFor(folder, recipes.KeyName(a.Head.Key))
	if err != nil {
		return err
	}
	if err := store.Restore(ctx, a.Revisions, a.Releases); err != nil {
		return err
	}
	if err := store.AppendAudit(ctx, access.AuditEntry{Time: time.Now(), Person: "whoever runs the server", Act: "Import", Object: file}); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%d revisions and %d releases are here now; %s signs\n", len(a.Revisions), len(a.Releases), key.name)
	return err
}

func verifyStore(ctx context.Context, folder string, store *sqlstore.Store, out io.Writer) error {
	key, chain, err := keyOf(ctx, folder, store)
	if err != nil {
		return err
	}
	a, err := archive.Gathered(ctx, store, recipes.ArchiveHead{}, key.Public())
	if err != nil {
		return err
	}
	if number, err := recipes.VerifyChain(sealed.Codec{}, a.Head.FirstKey, chain); err != nil {
		return fmt.Errorf("release %d: %w", number, inWords(err))
	}
	if err := a.Verify(); err != nil {
		return err
	}
	fmt.Fprintf(out, "the store is whole: %d revisions, %d releases, signed by %s\n", len(a.Revisions), len(a.Releases), key.name)
	return verifyAudit(ctx, store, out)
}

func verifyAudit(ctx context.Context, store *sqlstore.Store, out io.Writer) error {
	checked, broken, err := access.VerifyAudit(ctx, store)
	if err != nil {
		return err
	}
	if broken != nil {
		return fmt.Errorf("the audit chain breaks at entry %d, after %d that are whole: %s", broken.Number, checked, broken.Words)
	}
	_, err = fmt.Fprintf(out, "the audit chain is whole: %d entries\n", checked)
	return err
}

func showKey(ctx context.Context, folder string, store *sqlstore.Store, out io.Writer) error {
	key, chain, err := keyOf(ctx, folder, store)
	if err != nil {
		return err
	}
	first := recipes.KeyAfter(chain, 0, key.Public())
	_, err = fmt.Fprintf(out, "signs now: %s %x\nfirst:     %s %x\n", key.name, key.Public(), recipes.KeyName(first), first)
	return err
}

// rotateKey hands over to a new key. The new key lies in the folder before the old one signs it, so that a stop at any
// point leaves a folder that the next start can tell: see keyFor.
func rotateKey(ctx context.Context, folder string, store *sqlstore.Store, by, reason string, out io.Writer) error {
	key, chain, err := keyOf(ctx, folder, store)
	if err != nil {
		return err
	}
	next, err := readKey(nextKeyFile(folder))
	if errors.Is(err, os.ErrNotExist) {
		next, err = makeKey(nextKeyFile(folder))
	}
	if err != nil {
		return err
	}
	desk := recipes.Office{Catalog: store, Desk: store, Sealer: sealed.Codec{}, Signer: key, Now: time.Now}
	done, err := desk.HandOver(ctx, by, "key/"+next.name, key.Public(), next.Public(), reason)
	if err != nil {
		return err
	}
	if err := store.AppendAudit(ctx, access.AuditEntry{Time: time.Now(), Person: by, Act: "RotateKey", Object: next.name}); err != nil {
		return err
	}
	if _, err := keyFor(folder, next.name); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "release %d, after %d others, hands over from %s to %s. Copy %s to every server of this office and start them again; clients follow by themselves.\n", done.Release.Number, len(chain), key.name, next.name, keyFile(folder))
	return err
}
