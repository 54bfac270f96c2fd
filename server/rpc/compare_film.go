package rpc

import (
	"context"
	"fmt"

	"evenpeel/branches/compare"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
)

func (s *compareService) GetFilmReport(ctx context.Context, req *comparev1.GetFilmReportRequest) (*comparev1.GetFilmReportResponse, error) {
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	a.span.Film = ""
	all, err := a.within(s.h.Source.Strata(ctx, a.span))
	if err != nil {
		return nil, err
	}
	counts, err := s.causeCounts(ctx, a)
	if err != nil {
		return nil, err
	}
	a.span.Film = req.GetFilm()
	own, others := parted(all, func(c compare.Cell) bool { return c.Film == req.GetFilm() })
	answer := &comparev1.GetFilmReportResponse{Method: reprintMethod + " " + yieldMethod, AsOf: a.stamp()}
	mix, err := s.mix(ctx, a)
	if err != nil {
		return nil, err
	}
	view, err := a.reprints(mix, true, compare.PoissonOnly)
	if err != nil {
		return nil, err
	}
	yields, err := s.yields(ctx, a, mix)
	if err != nil {
		return nil, err
	}
	for _, x := range view.Standings {
		answer.Reprints = append(answer.Reprints, reprintStanding(x))
	}
	for _, x := range yields.Standings {
		answer.Yields = append(answer.Yields, yieldStanding(x))
	}
	answer.Limits, answer.Overall = limitPoints(view.Funnel), view.Rate
	if answer.Losses, err = losses(own, all); err != nil {
		return nil, err
	}
	if answer.Causes, err = causes(counts, func(c compare.Cause) bool { return c.Film == req.GetFilm() }, pieces(own), pieces(others)); err != nil {
		return nil, err
	}
	answer.Fabrics = strata(own, others, onFabric)
	for _, standings := range [][]*comparev1.Standing{answer.Reprints, answer.Yields} {
		if err := s.reported(ctx, a, standings); err != nil {
			return nil, err
		}
		a.shown(ctx, standings)
	}
	answer.Finding = filmFinding(req.GetFilm(), view, others, a)
	if ofBranch(ctx) != "" {
		answer.Finding = fmt.Sprintf("How this branch stands among the others with %s", req.GetFilm())
	}
	return answer, nil
}

// filmFinding sets the film against the others first, then says who differs in it.
func filmFinding(film string, view compare.View, others []compare.Cell, a asked) string {
	if view.Pieces == 0 {
		return fmt.Sprintf("Nothing was pressed in %s in these days", film)
	}
	sentence := fmt.Sprintf("%s: %.1f %% reprints", film, 100*view.Rate)
	if rest := compare.TallyOf(others, func(compare.Cell) bool { return true }); rest.Pieces > 0 {
		sentence += fmt.Sprintf(", other films %.1f %%", 100*rest.Rate())
	}
	return sentence + ". " + a.readable(view.Finding)
}
