// Package client is the command-line side of the native door: pull the sheet, watch releases, report runs, read the
// comparison. It trusts nothing it pulls before it has checked digests and signatures itself.
//
// Room: client
// Holds: Run, Knows, the commands
// May touch: proto, recipes, recipes/fault, recipes/sealed, server/patch, github.com/alecthomas/kong, google.golang.org/grpc, google.golang.org/protobuf
// Never: a password on the command line; it is read from the environment
package client

import (
	"context"
	"crypto/ed25519"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/alecthomas/kong"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	accessv1 "evenpeel/proto/evenpeel/access/v1"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
)

// commands are what the program can be asked beside serving.
type commands struct {
	Address  string `help:"Native address of the server." default:"127.0.0.1:9090" env:"EVENPEEL_SERVER"`
	TLS      bool   `help:"Speak TLS with it." env:"EVENPEEL_SERVER_TLS"`
	Email    string `help:"Who signs in." env:"EVENPEEL_EMAIL"`
	Password string `hidden:"" env:"EVENPEEL_PASSWORD"`

	Pull struct {
		Branch string `arg:"" help:"branches/…"`
		Held   int64  `help:"Newest release that you hold."`
		Keep   string `help:"Folder to keep the sheet in: the next pull gets only what changed."`
	} `cmd:"" help:"Pull a branch's settings sheet; digests and signatures are checked."`
	Watch struct {
		Branch string `arg:"" optional:"" help:"branches/…; none watches every release."`
		After  int64  `help:"Newest release that you know."`
		Count  int    `help:"Stop after so many releases; 0 never stops."`
		Seed   uint64 `help:"Seed of the waits before coming back after a break; 0 draws one."`
	} `cmd:"" help:"Say when a release arrives."`
	Report struct {
		File string `arg:"" help:"JSON of a ReportRunsRequest; - is standard input."`
	} `cmd:"" help:"Report runs; sending the same file twice stores once."`
	Branch struct {
		Name     string `arg:"" help:"branches/…"`
		Title    string `required:"" help:"Name for people."`
		Place    string `help:"Where it is."`
		Market   string `required:"" help:"EU, UK, US, CA or AU."`
		TimeZone string `required:"" help:"IANA time zone: Europe/Vienna."`
	} `cmd:"" help:"Add a branch or change its facts (office approver)."`
	Machine struct {
		File string `arg:"" help:"JSON of a SaveMachineRequest; - is standard input."`
	} `cmd:"" help:"Add a machine or change its facts (branch manager, office approver)."`
	Compare struct {
		From   string `required:"" help:"First day, 2026-01-01."`
		To     string `required:"" help:"Last day."`
		Metric string `enum:"reprints,yield" default:"reprints" help:"reprints or yield."`
		Raw    bool   `help:"Make no allowance for the work."`
		JSON   bool   `help:"Print all of it as JSON."`
	} `cmd:"" help:"Compare branches."`
	Runs runsCommand `cmd:"" help:"Write runs as CSV, for R or a spreadsheet."`

	officeCommands
}

// Knows reports whether a first word is one of this client's commands.
func Knows(word string) bool {
	switch word {
	case "pull", "watch", "report", "branch", "machine", "compare", "runs", "follow", "release", "cancel", "diff":
		return true
	}
	return false
}

// Run does one command and writes its answer to out.
func Run(ctx context.Context, args []string, out io.Writer) error {
	var c commands
	stopped := false
	parser, err := kong.New(&c, kong.Name("evenpeel"), kong.Writers(out, out), kong.Exit(func(int) { stopped = true }))
	if err != nil {
		return fmt.Errorf("commands: %w", err)
	}
	parsed, err := parser.Parse(args)
	if stopped || err != nil {
		return err
	}
	secure := insecure.NewCredentials()
	if c.TLS {
		secure = credentials.NewTLS(&tls.Config{MinVersion: tls.VersionTLS12})
	}
	// Static flow-control windows: the default of growing them costs a watch twice as much (shared reference, performance).
	conn, err := grpc.NewClient(c.Address, grpc.WithTransportCredentials(secure), grpc.WithInitialWindowSize(1<<20), grpc.WithInitialConnWindowSize(1<<20))
	if err != nil {
		return fmt.Errorf("the address %s: %w", c.Address, err)
	}
	defer conn.Close()
	if ctx, err = c.signIn(ctx, conn); err != nil {
		return plain(err)
	}
	if ok, err := c.officeCommands.run(ctx, parsed.Selected().Name, conn, out); ok {
		return plain(err)
	}
	switch parsed.Selected().Name {
	case "pull":
		err = c.pull(ctx, conn, out)
	case "watch":
		err = c.watch(ctx, conn, out)
	case "report":
		err = c.report(ctx, conn, out)
	case "branch":
		err = c.branch(ctx, conn, out)
	case "machine":
		err = c.machine(ctx, conn, out)
	case "compare":
		err = c.compare(ctx, conn, out)
	case "runs":
		err = c.runs(ctx, conn, out)
	}
	return plain(err)
}

// plain gives the server's own words for a person, with every faulty field and the reference to read out.
func plain(err error) error {
	s, ok := status.FromError(err)
	if err == nil || !ok {
		return err
	}
	for _, d := range s.Details() {
		f, ok := d.(*recordv1.Fault)
		if !ok {
			continue
		}
		text := f.GetWords()
		for _, field := range f.GetFields() {
			text += "\n  " + field.GetPath() + ": " + field.GetWords()
		}
		return fmt.Errorf("%s (ref %s)", text, f.GetReference())
	}
	return errors.New(s.Message())
}

func (c *commands) signIn(ctx context.Context, conn *grpc.ClientConn) (context.Context, error) {
	if c.Email == "" || c.Password == "" {
		return ctx, errors.New("set EVENPEEL_EMAIL and EVENPEEL_PASSWORD to sign in")
	}
	ctx2, end := context.WithTimeout(ctx, 15*time.Second)
	defer end()
	answer, err := accessv1.NewAccessServiceClient(conn).SignIn(ctx2, &accessv1.SignInRequest{Email: c.Email, Password: c.Password})
	if err != nil {
		return ctx, err
	}
	return metadata.AppendToOutgoingContext(ctx, "authorization", "Bearer "+answer.GetToken()), nil
}

func (c *commands) pull(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	keep := kept{c.Pull.Keep}
	held, err := keep.held(c.Pull.Held)
	if err != nil {
		return err
	}
	ask := func(held int64) (*recipesv1.PullSheetResponse, map[recipes.Digest][]byte, error) {
		answer, err := recipesv1.NewCatalogServiceClient(conn).PullSheet(ctx, &recipesv1.PullSheetRequest{Branch: c.Pull.Branch, HeldRelease: held, TakesPatches: keep.folder != "" && held > 0}, grpc.MaxCallRecvMsgSize(8<<20))
		if err != nil {
			return nil, nil, err
		}
		records, err := keep.opened(answer)
		return answer, records, err
	}
	answer, records, err := ask(held)
	if err != nil && keep.folder != "" && held > 0 && status.Code(err) == codes.Unknown {
		// What is kept here was changed or lost: take everything anew. Refusals of the server have codes of their own.
		answer, records, err = ask(0)
	}
	if err != nil {
		return err
	}
	for _, r := range answer.GetReleases() {
		digest, err := recipes.ParseDigest(r.GetSha256())
		if err == nil {
			_, err = recipes.Unseal(r.GetContent(), digest)
		}
		if err != nil {
			return fmt.Errorf("release %d: %w", r.GetNumber(), err)
		}
		if len(answer.GetOfficeKey()) != ed25519.PublicKeySize || !ed25519.Verify(answer.GetOfficeKey(), digest[:], r.GetSignature()) {
			return fmt.Errorf("release %d is not signed by the office's key, so it is not used", r.GetNumber())
		}
	}
	if err := keep.put(answer, records); err != nil {
		return err
	}
	fmt.Fprintf(out, "release %d, in force since %s, %d records; %d sent now, every digest and signature is right\n",
		answer.GetNewestRelease(), answer.GetCurrent().GetEffectiveTime().AsTime().Format(time.RFC3339), len(answer.GetCurrent().GetEntries()), len(answer.GetRecords()))
	for _, e := range answer.GetCurrent().GetEntries() {
		fmt.Fprintf(out, "  %-52s %x\n", e.GetRevision(), e.GetSha256()[:6])
	}
	if next := answer.GetNext(); next != nil {
		fmt.Fprintf(out, "next: release %d from %s\n", next.GetRelease(), next.GetEffectiveTime().AsTime().Format(time.RFC3339))
	}
	return nil
}

// mostJSON bounds a request read from a file.
const mostJSON = 8 << 20

// readJSON reads a request from a file, or from standard input for "-".
func readJSON(file string, into proto.Message) error {
	in := io.Reader(os.Stdin)
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	text, err := io.ReadAll(io.LimitReader(in, mostJSON))
	if err != nil {
		return err
	}
	if err := protojson.Unmarshal(text, into); err != nil {
		return fmt.Errorf("the file is not the JSON of a %s: %w", into.ProtoReflect().Descriptor().Name(), err)
	}
	return nil
}

func (c *commands) report(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	var req branchesv1.ReportRunsRequest
	if err := readJSON(c.Report.File, &req); err != nil {
		return err
	}
	answer, err := branchesv1.NewRunsServiceClient(conn).ReportRuns(ctx, &req)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%d stored, %d known already\n", answer.GetStoredCount(), answer.GetKnownCount())
	return err
}

func (c *commands) branch(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	b := c.Branch
	_, err := branchesv1.NewBranchesServiceClient(conn).SaveBranch(ctx, &branchesv1.SaveBranchRequest{Branch: &branchesv1.Branch{Name: b.Name, Title: b.Title, Place: b.Place, Market: b.Market, TimeZone: b.TimeZone}})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s is saved; add its cutters and presses next\n", b.Name)
	return err
}

func (c *commands) machine(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	var req branchesv1.SaveMachineRequest
	if err := readJSON(c.Machine.File, &req); err != nil {
		return err
	}
	answer, err := branchesv1.NewBranchesServiceClient(conn).SaveMachine(ctx, &req)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s is saved\n", answer.GetMachine().GetName())
	return err
}

func (c *commands) compare(ctx context.Context, conn *grpc.ClientConn, out io.Writer) error {
	metric := comparev1.Metric_METRIC_REPRINTS
	if c.Compare.Metric == "yield" {
		metric = comparev1.Metric_METRIC_YIELD
	}
	answer, err := comparev1.NewCompareServiceClient(conn).CompareBranches(ctx, &comparev1.CompareBranchesRequest{Metric: metric, MixAdjusted: !c.Compare.Raw, Span: &comparev1.Span{FromDay: c.Compare.From, ToDay: c.Compare.To}})
	if err != nil {
		return err
	}
	if c.Compare.JSON {
		return writeJSON(out, answer)
	}
	fmt.Fprintf(out, "%s\n\n%-28s %9s %9s %8s %22s  %s\n", answer.GetFinding(), "branch", "pieces", "reprints", "rate", "ratio (95 %)", "mark")
	for _, s := range answer.GetStandings() {
		fmt.Fprintf(out, "%-28s %9d %9d %7.2f%% %6.2f (%5.2f to %5.2f)  %s\n", s.GetTitle(), s.GetPiecesCount(), s.GetReprintsCount(), 100*s.GetRate(), s.GetRatio(), s.GetRatioLow(), s.GetRatioHigh(), s.GetMark())
	}
	_, err = fmt.Fprintf(out, "\n%s\n%s\n", answer.GetMethod(), answer.GetCaveat())
	return err
}

// writeJSON writes a message calmly: protojson's own spacing changes from build to build on purpose.
func writeJSON(out io.Writer, m proto.Message) error {
	text, err := protojson.Marshal(m)
	if err != nil {
		return err
	}
	var any any
	if err := json.Unmarshal(text, &any); err != nil {
		return err
	}
	e := json.NewEncoder(out)
	e.SetIndent("", "  ")
	return e.Encode(any)
}
