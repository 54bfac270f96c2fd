package load

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
)

// upload reports runs from several branches at once, each with the next report as soon as the last one was taken.
func (r *run) upload(ctx context.Context, count, batches, size int) error {
	h, err := r.house(ctx, count, func(int) string { return "EU" })
	if err != nil {
		return err
	}
	conns, err := dialAll(h.native, count)
	defer closeAll(conns)
	if err != nil {
		return err
	}
	// Runs name a revision that was in force; any kind of record will do for the store.
	revision, err := h.priced(ctx, conns[0], "prices/eu", "EU", 1, 1, 0)
	if err != nil {
		return err
	}
	sheet, err := recipesv1.NewCatalogServiceClient(conns[0]).PullSheet(as(ctx, h.tokens[0]), &recipesv1.PullSheetRequest{Branch: branchName(0)})
	if err != nil {
		return err
	}
	digest := sheet.GetCurrent().GetEntries()[0].GetSha256()
	before, err := h.cpu()
	if err != nil {
		return err
	}
	begun := time.Now()
	took, failed := make([]measured, count), make([]error, count)
	var all sync.WaitGroup
	for b := range count {
		all.Go(func() {
			for batch := range batches {
				report := &branchesv1.ReportRunsRequest{}
				end := time.Now()
				for i := range size {
					report.Runs = append(report.Runs, &branchesv1.Run{
						Id: fmt.Sprintf("%08d-0000-4000-8000-%012d", b, batch*size+i), Branch: branchName(b), Recipe: revision, RecipeSha256: digest,
						Film: "film-000", Fabric: "cotton", Colour: "red", Cutter: branchName(b) + "/machines/c", Press: branchName(b) + "/machines/p",
						PiecesCount: 12, GoodCount: 12, DrawnAreaMm2: 200_000, DrawnMm: 400, DecoratedAreaMm2: 120_000, EdgeLossMm2: 30_000, LayoutLossMm2: 50_000, AchievableAreaMm2: 180_000,
						StartTime: timestamppb.New(end.Add(-time.Millisecond)), EndTime: timestamppb.New(end),
					})
				}
				at := time.Now()
				answer, err := branchesv1.NewRunsServiceClient(conns[b]).ReportRuns(as(ctx, h.tokens[b]), report)
				if err == nil && answer.GetStoredCount() != int32(size) {
					err = fmt.Errorf("%d of %d runs were stored", answer.GetStoredCount(), size)
				}
				if failed[b] = err; err != nil {
					return
				}
				took[b] = append(took[b], time.Since(at))
			}
		})
	}
	all.Wait()
	wall := time.Since(begun)
	after, err := h.cpu()
	if err := errors.Join(append(failed, err)...); err != nil {
		return err
	}
	var together measured
	for _, m := range took {
		together = append(together, m...)
	}
	total := count * batches * size
	_, err = fmt.Fprintf(r.out, "%d branches reported %d runs, %d at a time: %.0f runs a second, %.1f µs of the server's CPU a run, an answer after p50 %s, p99 %s\n",
		count, total, size, float64(total)/wall.Seconds(), float64((after-before).Microseconds())/float64(total), together.at(.5).Round(100*time.Microsecond), together.at(.99).Round(100*time.Microsecond))
	return err
}
