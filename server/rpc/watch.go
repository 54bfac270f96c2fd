package rpc

import (
	"google.golang.org/grpc"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
)

// beat is a heartbeat: a message whose number is 0.
var beat = &message{}

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
	if err := beat.send(stream); err != nil {
		return err
	}
	hub, known := s.h.Hub, req.GetAfterRelease()
	bench := hub.seat()
	defer bench.getUp()
	for beats := bench.beats.Load(); ; {
		bell := *bench.bell.Load() // taken before looking, so that nothing falls in between
		if hub.closed.Load() {     // the client comes back to another server, or to this one later
			return nil
		}
		sent := false
		for _, a := range hub.after(known) {
			known = a.number
			if !a.reaches(req.GetBranch(), market) {
				continue
			}
			if err := a.message.send(stream); err != nil {
				return err
			}
			sent = true
		}
		if now := bench.beats.Load(); now != beats {
			beats = now
			if !sent {
				if err := beat.send(stream); err != nil {
					return err
				}
			}
		}
		bench.rest()
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-bell:
		}
	}
}
