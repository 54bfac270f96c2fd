package config

import (
	"fmt"
	"io"
	"slices"

	"github.com/alecthomas/kong"
)

// Office is what head office does beside the running server, on its own machine: with the store and the key at hand.
type Office struct {
	Data  string `name:"data" env:"EVENPEEL_DATA_FOLDER" default:"./data" help:"Folder of the server: the built-in store, the office key."`
	Store string `name:"store" env:"EVENPEEL_STORE" help:"Address of the store, as the server has it."`

	Export struct {
		File string `arg:"" help:"File to write; it must not be there."`
	} `cmd:"" help:"Write everything approved, the releases and the public keys as one signed file."`
	Import struct {
		File string `arg:"" help:"File that export wrote."`
		Key  string `help:"The office's first key in hexadecimal; without it the file's own word is taken, and said so."`
	} `cmd:"" help:"Bring such a file into an empty store. The office key goes by hand: copy office.key into the data folder first."`
	Verify struct {
		File string `arg:"" optional:"" help:"File that export wrote; none checks the store."`
		Key  string `help:"The office's first key in hexadecimal."`
	} `cmd:"" help:"Check every digest, signature and chain of a file, or of the store."`
	Audit struct {
		Verify struct{} `cmd:"" help:"Work the audit chain out again and name the first broken link."`
	} `cmd:"" help:"The chain of who did what."`
	Key struct {
		Show   struct{} `cmd:"" help:"Print the public keys: the one that signs now, and the first one, for clients to begin with."`
		Rotate struct {
			By     string `required:"" help:"Who does it, as people are named: people/…"`
			Reason string `help:"Why."`
		} `cmd:"" help:"Make a new office key, let the old one sign it, and take it into use. Start the servers again afterwards."`
	} `cmd:"" help:"The office key."`
}

// officeWords are its first words.
var officeWords = []string{"export", "import", "verify", "audit", "key"}

// IsOffice reports whether a first word is one of head office's commands.
func IsOffice(word string) bool { return slices.Contains(officeWords, word) }

// ReadOffice reads such a command; chosen is its words: "key rotate". Done is true where help was written.
func ReadOffice(args []string, out io.Writer) (o Office, chosen string, done bool, err error) {
	parser, err := kong.New(&o, kong.Name("evenpeel"), kong.Writers(out, out), kong.Exit(func(int) { done = true }))
	if err != nil {
		return o, "", false, fmt.Errorf("commands: %w", err)
	}
	parsed, err := parser.Parse(args)
	if done || err != nil {
		return o, "", done, err
	}
	for _, node := range parsed.Path {
		if node.Command != nil {
			chosen += " " + node.Command.Name
		}
	}
	return o, chosen[1:], false, nil
}

// StoreAddress is where the server keeps things.
func (o Office) StoreAddress() string { return Config{Data: o.Data, Store: o.Store}.StoreAddress() }
