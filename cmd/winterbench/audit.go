package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"winterbench/domain/audit"
	"winterbench/store"
)

type auditCommand struct {
	shopFlags
	JSON bool `name:"json" help:"Say it as JSON, every rule with what was looked at."`
}

// Help gives examples.
func (auditCommand) Help() string {
	return "Everything that is kept is held against the rules of the books, as it stands at one moment, while the shop goes on working: " +
		"totals against their lines, stages against their facts, numbers against their series, payments, clocks, holds, photos. " +
		"Nothing is changed. The exit status is 1 when anything is not as it must be.\n\n" +
		"Examples:\n  winterbench audit\n  winterbench audit --database postgres://bench@localhost/winterbench --json"
}

// errBroken says that the books are not as they must be.
type errBroken int

func (e errBroken) Error() string {
	if e == 1 {
		return "1 thing in the books is not as it must be"
	}
	return fmt.Sprintf("%d things in the books are not as they must be", int(e))
}

// Run audits and tells the result.
func (c *auditCommand) Run(ctx context.Context, t *terminal) error {
	if err := mustExist(c.Database); err != nil {
		return err
	}
	s, err := store.Open(ctx, c.Database, nil, c.photos())
	if err != nil {
		return err
	}
	defer s.Close()
	bar := newBar(t.err)
	report, err := s.Audit(ctx, bar.tell)
	bar.clear()
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(t.out, report)
	} else {
		tellAudit(t.out, report)
	}
	if err == nil && !report.Clean() {
		err = errBroken(report.Found())
	}
	return err
}

func writeJSON(to io.Writer, v any) error {
	e := json.NewEncoder(to)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// tellAudit says a report in words: a line for each rule, then what breaks them.
func tellAudit(to io.Writer, r audit.Report) {
	for _, l := range r.Lines {
		says := "holds"
		switch {
		case l.Breaks > 0:
			says = fmt.Sprintf("BROKEN %d times", l.Breaks)
		case l.Looked == 0:
			says = "nothing to look at"
		}
		fmt.Fprintf(to, "%-14s %-18s %9d looked at  %s\n", l.Code, says, l.Looked, l.Holds)
	}
	code := ""
	for _, b := range r.Breaks {
		if b.Rule != code {
			code = b.Rule
			fmt.Fprintf(to, "\n%s\n", why(r.Lines, code))
		}
		fmt.Fprintf(to, "  %s\n", b.Text)
	}
	if r.LeftOut > 0 {
		fmt.Fprintf(to, "  and %d more\n", r.LeftOut)
	}
	fmt.Fprintf(to, "\n%d jobs, %s, in %s.\n", r.Jobs, found(r), r.Took.Round(10*time.Millisecond))
}

func why(lines []audit.Line, code string) string {
	for _, l := range lines {
		if l.Code == code {
			return fmt.Sprintf("%s: %s %s", l.Code, l.Holds, l.Why)
		}
	}
	return code
}

func found(r audit.Report) string {
	if r.Clean() {
		return "everything is as it must be"
	}
	return errBroken(r.Found()).Error()
}
