package rpc

import (
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
)

// heartbeat is how often a quiet watch says that it lives; below the half minute after which proxies cut a stream.
const heartbeat = 20 * time.Second

func (s *catalogService) WatchReleases(req *recipesv1.WatchReleasesRequest, stream grpc.ServerStreamingServer[recipesv1.WatchReleasesResponse]) error {
	ctx := stream.Context()
	reaches := func(recipes.Release) bool { return true }
	if req.GetBranch() != "" {
		b, err := s.h.Register.Branch(ctx, req.GetBranch())
		if err != nil {
			return err
		}
		reaches = func(r recipes.Release) bool { return r.Reaches(b.Name, b.Market) }
	}
	news, end := s.h.Hub.Listen()
	defer end()
	known := req.GetAfterRelease()
	tick := time.NewTicker(heartbeat)
	defer tick.Stop()
	// The first heartbeat goes at once, so that a client knows that it is listened to.
	if err := stream.Send(&recipesv1.WatchReleasesResponse{}); err != nil {
		return err
	}
	for {
		signed, err := s.h.Office.Catalog.Releases(ctx, known)
		if err != nil {
			return err
		}
		for _, r := range signed {
			known = r.Release.Number
			if reaches(r.Release) {
				if err := stream.Send(&recipesv1.WatchReleasesResponse{Release: r.Release.Number, EffectiveTime: timestamppb.New(r.Release.Effective)}); err != nil {
					return err
				}
			}
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case _, open := <-news:
			if !open { // the server stops; the client comes back to another, or to this one later
				return nil
			}
		case <-tick.C:
			if _, ok := access.PersonFrom(ctx); ok {
				if session, found := access.SessionFrom(ctx); found {
					if err := s.h.Guard.Still(ctx, session.Hash); err != nil {
						return err
					}
				}
			}
			if err := stream.Send(&recipesv1.WatchReleasesResponse{}); err != nil {
				return err
			}
		}
	}
}
