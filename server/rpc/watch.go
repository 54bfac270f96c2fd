package rpc

import (
	"google.golang.org/grpc"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
)

// beatMessage is a heartbeat: a message whose number is 0.
var beatMessage = &message{}

func (s *catalogService) WatchReleases(req *recipesv1.WatchReleasesRequest, stream grpc.ServerStreamingServer[recipesv1.WatchReleasesResponse]) error {
	ctx := stream.Context()
	var market recipes.Market
	if req.GetBranch() != "" {
		var err error
		if market, err = s.sheets.markets.of(ctx, s.h.Register, req.GetBranch()); err != nil {
			return err
		}
	}
	// The first heartbeat goes at once, so that a client knows that it is listened to.
	if err := beatMessage.send(stream); err != nil {
		return err
	}
	w := &watcher{hub: s.h.Hub, stream: stream, branch: req.GetBranch(), market: market, known: req.GetAfterRelease(), ended: make(chan error, 1)}
	bench := w.hub.sit(w)
	defer bench.getUp(w)
	if w.hub.closed.Load() { // the client comes back to another server, or to this one later
		return nil
	}
	w.tell(false)
	select {
	case <-ctx.Done():
		return ctx.Err()
	case err := <-w.ended:
		return err
	}
}
