package load

import (
	"context"
	"os/exec"
	"path/filepath"
)

// Methods and fields of etcd's API, as far as they are used here: etcd-io/etcd, api/etcdserverpb/rpc.proto.
const (
	etcdRange = "/etcdserverpb.KV/Range"
	etcdPut   = "/etcdserverpb.KV/Put"
	etcdWatch = "/etcdserverpb.Watch/Watch"
)

func etcdPutRequest(key string, value []byte) []byte {
	return field(field(nil, 1, []byte(key)), 2, value)
}

// etcdRangeRequest asks for one key; serializable spares it the round that makes a read linearizable, which is the
// cheapest read that etcd has.
func etcdRangeRequest(key string) []byte { return number(field(nil, 1, []byte(key)), 7, 1) }

// etcdWatchRequest is a WatchRequest with a WatchCreateRequest in it.
func etcdWatchRequest(key string) []byte { return field(nil, 1, field(nil, 1, []byte(key))) }

// etcd starts etcd on a folder of its own; nil where it is not installed.
func (r *run) etcd(ctx context.Context) (*process, string, error) {
	program, err := exec.LookPath("etcd")
	if err != nil {
		return nil, "", nil
	}
	address, err := freeAddress()
	if err != nil {
		return nil, "", err
	}
	peer, err := freeAddress()
	if err != nil {
		return nil, "", err
	}
	p, err := r.start(ctx, "etcd", program, "--data-dir", filepath.Join(r.folder, "etcd"), "--log-level", "error", "--logger", "zap",
		"--listen-client-urls", "http://"+address, "--advertise-client-urls", "http://"+address,
		"--listen-peer-urls", "http://"+peer, "--initial-advertise-peer-urls", "http://"+peer, "--initial-cluster", "default=http://"+peer)
	if err != nil {
		return nil, "", err
	}
	return p, address, r.listening(ctx, p, address)
}
