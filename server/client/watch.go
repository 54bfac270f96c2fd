package client

import (
	"context"
	cryptorand "crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
)

// watch says when releases arrive. When the stream breaks it comes back after a while and goes on after the release
// that it knows, so that none is missed and none is said twice.
func (c *commands) watch(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	seed := c.Watch.Seed
	if seed == 0 {
		var raw [8]byte
		if _, err := cryptorand.Read(raw[:]); err != nil {
			return err
		}
		seed = binary.LittleEndian.Uint64(raw[:])
	}
	w := watcher{branch: c.Watch.Branch, after: c.Watch.After, left: c.Watch.Count, wait: Backoff{Rand: rand.New(rand.NewPCG(seed, 0))},
		client: recipesv1.NewCatalogServiceClient(conn), out: out}
	for {
		err := w.follow(ctx)
		switch {
		case ctx.Err() != nil, err == nil:
			return nil
		case final(err):
			return err
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(w.wait.Next()):
		}
	}
}

// final reports whether trying again would end the same way.
func final(err error) bool {
	switch status.Code(err) {
	case codes.Unauthenticated, codes.PermissionDenied, codes.NotFound, codes.InvalidArgument, codes.Unimplemented:
		return true
	}
	return false
}

type watcher struct {
	branch string
	after  int64
	left   int // 0 never stops
	wait   Backoff
	client recipesv1.CatalogServiceClient
	out    io.Writer
}

// errBroken is a stream that the server ended in good order, as it does when it stops.
var errBroken = errors.New("the server ended the watch")

// follow reads one stream to its end. It returns nil where all that was asked for has come.
func (w *watcher) follow(ctx context.Context) error {
	stream, err := w.client.WatchReleases(ctx, &recipesv1.WatchReleasesRequest{Branch: w.branch, AfterRelease: w.after})
	if err != nil {
		return err
	}
	for {
		news, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return errBroken
		}
		if err != nil {
			return err
		}
		w.wait.Well()
		if news.GetRelease() <= w.after {
			continue // a heartbeat
		}
		w.after = news.GetRelease()
		if _, err := fmt.Fprintf(w.out, "release %d, in force from %s\n", news.GetRelease(), news.GetEffectiveTime().AsTime().Format(time.RFC3339)); err != nil {
			return err
		}
		if w.left--; w.left == 0 {
			return nil
		}
	}
}
