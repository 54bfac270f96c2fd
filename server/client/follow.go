package client

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"time"

	"google.golang.org/grpc"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
)

// followCommand keeps a branch's sheet in a folder and believes only what the office's chain of releases proves.
type followCommand struct {
	Branch string `arg:"" help:"branches/…"`
	Keep   string `required:"" help:"Folder for the records and for what is trusted."`
	Key    string `help:"The office's first key in hexadecimal, from head office. Needed once; without it the server's word is taken the first time, and said so."`
}

// endless bounds the time of one pull, so that a server that never stops sending is left.
const endless = time.Minute

func (c *followCommand) run(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	k := keeping{c.Keep}
	t, kept, err := k.trusted()
	if err != nil {
		return err
	}
	if kept && t.Branch != c.Branch {
		return fmt.Errorf("%s is the folder of %s; name another for %s", c.Keep, t.Branch, c.Branch)
	}
	ctx, end := context.WithTimeout(ctx, endless)
	defer end()
	pull := func(held int64) (*recipesv1.PullSheetResponse, error) {
		return recipesv1.NewCatalogServiceClient(conn).PullSheet(ctx, &recipesv1.PullSheetRequest{Branch: c.Branch, HeldRelease: held}, grpc.MaxCallRecvMsgSize(recipes.MaxAnswerBytes+1<<20))
	}
	m, err := pull(t.Release)
	if err != nil {
		return err
	}
	if !kept {
		if t, err = c.begun(m, out); err != nil {
			return err
		}
	}
	now := time.Now()
	next, err := t.Accept(sealed.Codec{}, answerOf(m), k.has, now)
	if f, ok := fault.As(err); ok && f.Reason == "RECORD_MISSING" && kept {
		// Records of the folder were lost or changed: everything is pulled again, under the trust that is held.
		if m, err = pull(0); err != nil {
			return err
		}
		m.Releases = above(m.GetReleases(), t.Release)
		next, err = t.Accept(sealed.Codec{}, answerOf(m), k.has, now)
	}
	if err != nil {
		if kept {
			fmt.Fprintf(out, "release %d is held, %s\n", t.Release, standing(t, now))
		}
		return worded(err)
	}
	if err := k.keep(next, answerOf(m).Records); err != nil {
		return err
	}
	return said(out, next, now)
}

// begun is the trust that a first pull begins with.
func (c *followCommand) begun(m *recipesv1.PullSheetResponse, out io.Writer) (recipes.Trusted, error) {
	key := m.GetOfficeKey()
	if c.Key != "" {
		var err error
		if key, err = hex.DecodeString(c.Key); err != nil {
			return recipes.Trusted{}, errors.New("--key is not hexadecimal")
		}
	} else {
		fmt.Fprintf(out, "the office's key is %x by this server's word; compare it with head office\n", key)
	}
	return recipes.Pinned(key, c.Branch, recipes.Market(m.GetMarket())), nil
}

func above(releases []*recipesv1.SealedRelease, held int64) (out []*recipesv1.SealedRelease) {
	for _, r := range releases {
		if r.GetNumber() > held {
			out = append(out, r)
		}
	}
	return out
}

// said tells what is trusted now.
func said(out io.Writer, t recipes.Trusted, now time.Time) error {
	current, next, err := t.Sheets(sealed.Codec{}, now)
	if err != nil {
		return worded(err)
	}
	fmt.Fprintf(out, "release %d, %s; %d records in force, signed by the office's key %s\n", t.Release, standing(t, now), len(current.Entries), recipes.KeyName(t.Key))
	for _, e := range current.Entries {
		fmt.Fprintf(out, "  %-52s %x by release %d\n", e.Revision, e.Digest[:6], e.Release)
	}
	if next != nil {
		fmt.Fprintf(out, "next: release %d from %s\n", next.Release, next.Effective.UTC().Format(time.RFC3339))
	}
	return nil
}

func standing(t recipes.Trusted, now time.Time) string {
	if t.Confirmed(now) {
		return "confirmed until " + t.Until.UTC().Format(time.RFC3339)
	}
	return "unconfirmed: nobody has said lately that it is the newest"
}

// worded gives the words of a fault with its reason, as a refusal is reported to head office.
func worded(err error) error {
	f, ok := fault.As(err)
	if !ok {
		return err
	}
	return fmt.Errorf("%s (%s)", f.Words, f.Reason)
}
