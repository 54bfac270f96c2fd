package client

import (
	"context"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"google.golang.org/grpc"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
)

// runsCommand writes runs for R or a spreadsheet.
type runsCommand struct {
	Branches []string `arg:"" optional:"" help:"branches/…; none is every branch that you may see."`
	From     string   `help:"First day that a run ended on, 2026-01-01 (UTC)."`
	To       string   `help:"Last day."`
}

// runsColumns are the columns of the table, one run a row. Whole numbers in the units of their names; times are RFC 3339 in
// UTC. A run with a word in corrected_by is in no sum any more; reprints are "cause count area_mm2; …".
var runsColumns = []string{
	"branch", "id", "corrects", "corrected_by", "order", "recipe", "recipe_sha256", "film", "fabric", "colour", "lot", "cutter", "press",
	"band", "pieces", "good", "reprints", "reprints_by_cause", "drawn_mm", "drawn_mm2", "decorated_mm2", "layout_loss_mm2", "edge_loss_mm2",
	"test_cut_loss_mm2", "weeding_loss_mm2", "roll_end_loss_mm2", "achievable_mm2", "start_time", "end_time", "received_time",
	"timed_dwell_seconds", "reporter",
}

// runs writes every run that ended in the days asked for as CSV (RFC 4180), a branch after the other, newest first.
func (c *commands) runs(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	from, to, err := c.Runs.days()
	if err != nil {
		return err
	}
	names := c.Runs.Branches
	if len(names) == 0 {
		answer, err := branchesv1.NewBranchesServiceClient(conn).ListBranches(ctx, &branchesv1.ListBranchesRequest{})
		if err != nil {
			return err
		}
		for _, b := range answer.GetBranches() {
			names = append(names, b.GetName())
		}
	}
	table := csv.NewWriter(out)
	if err := table.Write(runsColumns); err != nil {
		return err
	}
	for _, branch := range names {
		if err := runsOf(ctx, branchesv1.NewRunsServiceClient(conn), branch, from, to, table); err != nil {
			return err
		}
	}
	table.Flush()
	return table.Error()
}

// days are the instants that bound the runs: from included, to not. Zero bounds nothing.
func (c runsCommand) days() (from, to time.Time, err error) {
	for _, day := range []struct {
		text string
		into *time.Time
		add  int
	}{{c.From, &from, 0}, {c.To, &to, 1}} {
		if day.text == "" {
			continue
		}
		at, err := time.Parse(time.DateOnly, day.text)
		if err != nil {
			return from, to, fmt.Errorf("%q is no day; one looks like 2026-03-01", day.text)
		}
		*day.into = at.AddDate(0, 0, day.add)
	}
	return from, to, nil
}

func runsOf(ctx context.Context, service branchesv1.RunsServiceClient, branch string, from, to time.Time, table *csv.Writer) error {
	for token := ""; ; {
		page, err := service.ListRuns(ctx, &branchesv1.ListRunsRequest{Branch: branch, PageSize: 200, PageToken: token})
		if err != nil {
			return err
		}
		for _, r := range page.GetRuns() {
			switch at := r.GetEndTime().AsTime(); {
			case !to.IsZero() && !at.Before(to):
				continue
			case at.Before(from): // newest first: no older one counts
				return nil
			}
			if err := table.Write(runsRow(r)); err != nil {
				return err
			}
		}
		if token = page.GetNextPageToken(); token == "" {
			return nil
		}
	}
}

func runsRow(r *branchesv1.Run) []string {
	whole := func(n int64) string { return strconv.FormatInt(n, 10) }
	instant := func(t interface{ AsTime() time.Time }) string { return t.AsTime().UTC().Format(time.RFC3339) }
	var reprints int64
	var causes []string
	for _, p := range r.GetReprints() {
		reprints += p.GetCount()
		causes = append(causes, fmt.Sprintf("%s %d %d", p.GetCause(), p.GetCount(), p.GetFilmAreaMm2()))
	}
	received := ""
	if r.GetReceivedTime() != nil {
		received = instant(r.GetReceivedTime())
	}
	return []string{
		r.GetBranch(), r.GetId(), r.GetCorrects(), r.GetCorrectedBy(), r.GetOrder(), r.GetRecipe(), hex.EncodeToString(r.GetRecipeSha256()),
		r.GetFilm(), r.GetFabric(), r.GetColour(), r.GetLot(), r.GetCutter(), r.GetPress(), whole(int64(r.GetBand())), whole(r.GetPiecesCount()),
		whole(r.GetGoodCount()), whole(reprints), strings.Join(causes, "; "), whole(r.GetDrawnMm()), whole(r.GetDrawnAreaMm2()),
		whole(r.GetDecoratedAreaMm2()), whole(r.GetLayoutLossMm2()), whole(r.GetEdgeLossMm2()), whole(r.GetTestCutLossMm2()),
		whole(r.GetWeedingLossMm2()), whole(r.GetRollEndLossMm2()), whole(r.GetAchievableAreaMm2()), instant(r.GetStartTime()),
		instant(r.GetEndTime()), received, whole(r.GetTimedDwellSeconds()), r.GetReporter(),
	}
}
