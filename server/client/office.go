package client

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"strings"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
)

// officeCommands are head office's part of the client.
type officeCommands struct {
	Follow  followCommand  `cmd:"" help:"Keep a branch's settings sheet in a folder, believing only what the office's chain of signed releases proves."`
	Release releaseCommand `cmd:"" help:"Show what a release would change, then release (office approver)."`
	Cancel  cancelCommand  `cmd:"" help:"Cancel a scheduled release, by a new one (office approver)."`
	Diff    diffCommand    `cmd:"" help:"Say in words how two revisions of a record differ, and what follows."`
}

// run does one of them; ok is false where the word is none of these.
func (c *officeCommands) run(ctx context.Context, word string, conn *grpc.ClientConn, out io.Writer) (ok bool, err error) {
	switch word {
	case "follow":
		return true, c.Follow.run(ctx, conn, out)
	case "release":
		return true, c.Release.run(ctx, conn, out)
	case "cancel":
		return true, c.Cancel.run(ctx, conn, out)
	case "diff":
		return true, c.Diff.run(ctx, conn, out)
	}
	return false, nil
}

type releaseCommand struct {
	Revisions []string  `arg:"" optional:"" help:"recipes/film-fabric/revisions/3 …"`
	Withdraw  []string  `help:"Record to take out of force: notes/name." placeholder:"RECORD"`
	Back      int64     `help:"Go back to what stood before this release." placeholder:"NUMBER"`
	Market    []string  `help:"EU, UK, US, CA or AU." placeholder:"MARKET"`
	Branch    []string  `help:"Only these branches: a trial." placeholder:"BRANCH"`
	Widens    int64     `help:"Trial release that this one widens." placeholder:"NUMBER"`
	At        time.Time `help:"From when, with its offset: 2026-03-29T08:00:00+02:00. Now, where none is given."`
	Reason    string    `help:"Why."`
	Preview   bool      `help:"Show what would change, and stop."`
}

func (c *releaseCommand) run(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	plan := &recipesv1.PlannedRelease{Revisions: c.Revisions, Withdrawn: c.Withdraw, Markets: c.Market, Branches: c.Branch, Reason: c.Reason, Widens: c.Widens}
	if !c.At.IsZero() {
		plan.EffectiveTime = timestamppb.New(c.At)
	}
	p, err := recipesv1.NewReleaseServiceClient(conn).PreviewRelease(ctx, &recipesv1.PreviewReleaseRequest{Plan: plan, GoBackOf: c.Back})
	if err != nil {
		return err
	}
	previewed(out, p)
	if c.Preview {
		return nil
	}
	plan = p.GetPlan()
	made, err := recipesv1.NewDeskServiceClient(conn).CreateRelease(ctx, &recipesv1.CreateReleaseRequest{
		Revisions: plan.GetRevisions(), Withdrawn: plan.GetWithdrawn(), Markets: plan.GetMarkets(), Branches: plan.GetBranches(), EffectiveTime: plan.GetEffectiveTime(), Reason: plan.GetReason(), Widens: plan.GetWidens(), RequestId: newID(),
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "release %d, in force from %s\n", made.GetRelease().GetNumber(), made.GetRelease().GetEffectiveTime().AsTime().Format(time.RFC3339))
	return err
}

func previewed(out io.Writer, p *recipesv1.PreviewReleaseResponse) {
	fmt.Fprintf(out, "%d of %d branches change\n", p.GetChangedBranchesCount(), p.GetBranchesCount())
	for _, c := range p.GetChanges() {
		before, after := c.GetBefore(), c.GetAfter()
		if before == "" {
			before = "nothing"
		}
		if after == "" {
			after = "nothing"
		}
		fmt.Fprintf(out, "%s: %s in place of %s, at %d branches\n", c.GetTitle(), after, before, c.GetBranchesCount())
		differed(out, c.GetDifferences(), c.GetConsequences())
	}
	for _, i := range p.GetInstants() {
		fmt.Fprintf(out, "takes effect %s, at %d branches\n", i.GetWords(), i.GetBranchesCount())
	}
	for _, words := range p.GetCautions() {
		fmt.Fprintf(out, "! %s\n", words)
	}
}

func differed(out io.Writer, list []*recipesv1.Difference, c *recipesv1.Consequences) {
	for _, d := range list {
		fmt.Fprintf(out, "  %s\n", d.GetWords())
	}
	if s := c.GetSecondsPerGarmentDelta(); s != 0 {
		fmt.Fprintf(out, "  %+d s a garment\n", s)
	}
	if n := len(c.GetRefusals()); n > 0 {
		fmt.Fprintf(out, "  %d of %d machines can not hold it:\n", n, c.GetMachinesCount())
		for _, r := range c.GetRefusals() {
			fmt.Fprintf(out, "    %s: %s\n", r.GetMachine(), r.GetWords())
		}
	}
	for _, words := range c.GetPriceWords() {
		fmt.Fprintf(out, "  %s\n", words)
	}
}

type cancelCommand struct {
	Number int64  `arg:"" help:"Release."`
	Reason string `help:"Why."`
}

func (c *cancelCommand) run(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	made, err := recipesv1.NewReleaseServiceClient(conn).CancelRelease(ctx, &recipesv1.CancelReleaseRequest{Number: c.Number, Reason: c.Reason, RequestId: newID()})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "release %d cancels release %d\n", made.GetRelease().GetNumber(), c.Number)
	return err
}

type diffCommand struct {
	Record string `arg:"" help:"recipes/film-fabric"`
	From   int64  `arg:"" help:"Number of the revision before."`
	To     int64  `arg:"" help:"Number of the revision after."`
}

func (c *diffCommand) run(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	d, err := recipesv1.NewCatalogServiceClient(conn).DiffRevisions(ctx, &recipesv1.DiffRevisionsRequest{Record: c.Record, FromNumber: c.From, ToNumber: c.To})
	if err != nil {
		return err
	}
	if len(d.GetDifferences()) == 0 {
		_, err := fmt.Fprintln(out, "the two say the same")
		return err
	}
	differed(out, d.GetDifferences(), d.GetConsequences())
	return nil
}

// newID is a UUID of version 4 (RFC 9562), for one act.
func newID() string {
	var b [16]byte
	rand.Read(b[:]) // it never fails: crypto/rand ends the program instead
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80
	h := fmt.Sprintf("%x", b)
	return strings.Join([]string{h[:8], h[8:12], h[12:16], h[16:20], h[20:]}, "-")
}
