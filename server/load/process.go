package load

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// run is one load with the processes that it started.
type run struct {
	self, folder string
	out          io.Writer
	processes    []*process
}

// process is a program that is measured.
type process struct {
	name  string
	cmd   *exec.Cmd
	ended chan struct{}
}

// start starts a program; what it says goes to a file in the run's folder.
func (r *run) start(ctx context.Context, name, program string, args ...string) (*process, error) {
	said, err := os.OpenFile(filepath.Join(r.folder, name+".log"), os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		return nil, err
	}
	defer said.Close()
	p := &process{name: name, cmd: exec.CommandContext(ctx, program, args...), ended: make(chan struct{})}
	p.cmd.Dir, p.cmd.Stdout, p.cmd.Stderr = r.folder, said, said
	p.cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + r.folder}
	if err := p.cmd.Start(); err != nil {
		return nil, fmt.Errorf("starting %s: %w", name, err)
	}
	go func() {
		_ = p.cmd.Wait() // it is ended by a signal
		close(p.ended)
	}()
	r.processes = append(r.processes, p)
	return p, nil
}

// stop asks a process to end, and insists after a while.
func (p *process) stop() {
	_ = p.cmd.Process.Signal(syscall.SIGTERM) // it may be gone already
	select {
	case <-p.ended:
	case <-time.After(15 * time.Second):
		_ = p.cmd.Process.Kill()
		<-p.ended
	}
}

func (r *run) stopAll() {
	for _, p := range r.processes {
		p.stop()
	}
}

// listening waits until somebody listens at an address.
func (r *run) listening(ctx context.Context, p *process, address string) error {
	for {
		conn, err := net.DialTimeout("tcp", address, time.Second)
		if err == nil {
			return conn.Close()
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-p.ended:
			said, _ := os.ReadFile(filepath.Join(r.folder, p.name+".log"))
			return fmt.Errorf("%s ended before it listened: %s", p.name, said[max(0, len(said)-2000):])
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// ticksPerSecond is USER_HZ, which Linux fixes for every machine that Go runs on (proc(5)).
const ticksPerSecond = 100

// cpu is the processor time that a process has used, all threads together.
func (p *process) cpu() (time.Duration, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.cmd.Process.Pid))
	if err != nil {
		return 0, err
	}
	// The program's name stands in brackets and may hold anything; fields are counted after it.
	_, rest, ok := strings.Cut(string(text), ") ")
	fields := strings.Fields(rest)
	if !ok || len(fields) < 13 {
		return 0, errors.New("/proc/…/stat has another form here")
	}
	user, err1 := strconv.ParseInt(fields[11], 10, 64)
	system, err2 := strconv.ParseInt(fields[12], 10, 64)
	return time.Duration(user+system) * time.Second / ticksPerSecond, errors.Join(err1, err2)
}

// memory is what a process has in memory, in bytes.
func (p *process) memory() (int64, error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		return 0, err
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			n, err := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
			return n << 10, err
		}
	}
	return 0, errors.New("/proc/…/status does not tell VmRSS here")
}

func freeAddress() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	defer l.Close()
	return l.Addr().String(), nil
}
