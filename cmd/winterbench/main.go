// Command winterbench is the job and parts ledger of a small fretted-instrument
// repair shop in a cold climate.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // the shop's zone must be known on a bare machine too

	"github.com/alecthomas/kong"

	"winterbench/domain"
)

// version is set when a release is built.
var version = "dev"

// commands are what the program can do.
type commands struct {
	Serve serveCommand `cmd:"" help:"Open the shop: pages, API and paper."`
	Staff staffCommand `cmd:"" help:"Add people, give passwords and API tokens from the terminal."`
	Calc  calcCommand  `cmd:"" help:"Compute something on its own: JSON in, JSON out."`

	Backup  backupCommand  `cmd:"" help:"Copy the whole shop into one file while it works."`
	Restore restoreCommand `cmd:"" help:"Bring a copy back into an empty place, or check it."`
	Audit   auditCommand   `cmd:"" help:"Prove that the books agree with themselves."`

	Version kong.VersionFlag `help:"Print the version."`
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// terminal is where a command reads and writes.
type terminal struct {
	in       io.Reader
	out, err io.Writer
}

// run carries out one command line and returns the exit status: 0, 1 when it
// failed, 2 when the command line is wrong.
func run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) int {
	var c commands
	exited := -1
	parser, err := kong.New(&c,
		kong.Name("winterbench"),
		kong.Description("The job and parts ledger of a small fretted-instrument repair shop in a cold climate.\n\nStart here: winterbench serve --demo"),
		kong.Vars{"version": version, "database": defaultDatabase()},
		kong.Writers(out, errs),
		kong.Exit(func(code int) { exited = code }),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(&terminal{in: in, out: out, err: errs}),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
	)
	if err != nil {
		fmt.Fprintln(errs, "winterbench:", err)
		return 2
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if exited >= 0 {
		return exited
	}
	if err != nil {
		fmt.Fprintf(errs, "winterbench: %v\nTry: winterbench --help\n", err)
		return 2
	}
	if err := k.Run(); err != nil && !errors.Is(err, context.Canceled) {
		fmt.Fprintln(errs, "winterbench:", readable(err))
		return 1
	}
	return 0
}

// readable is the text for a person; an error of no known kind is told in full,
// as the person at the terminal runs the program.
func readable(err error) string {
	var e *domain.Error
	if errors.As(err, &e) {
		return e.Error()
	}
	return err.Error()
}
