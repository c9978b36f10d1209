package main

import (
	"bufio"
	"context"
	"fmt"
	"strings"

	"winterbench/domain"
	"winterbench/domain/workshop"
	"winterbench/store"
)

type staffCommand struct {
	List     staffList     `cmd:"" help:"List the people who work here."`
	Password staffPassword `cmd:"" help:"Give a person a new password, read from standard input."`
	Token    staffToken    `cmd:"" help:"Make an API token for a person and print it once."`
	Unlock   staffUnlock   `cmd:"" help:"Take second step, PIN and waits off a person who is locked out."`
}

// Help gives examples.
func (staffCommand) Help() string {
	return "Examples:\n  winterbench staff list\n  winterbench staff password Runa < new-password.txt\n  winterbench staff token Runa stock-script --reads-only --days 90\n  winterbench staff unlock Runa"
}

type databaseFlag struct {
	Database string `help:"A file, or a postgres:// address." default:"${database}" env:"WINTERBENCH_DATABASE" placeholder:"FILE"`
}

// open opens the shop's database for a command at the terminal.
func (f databaseFlag) open(ctx context.Context) (*store.Store, *workshop.Workshop, error) {
	s, err := store.Open(ctx, f.Database, nil)
	if err != nil {
		return nil, nil, err
	}
	return s, workshop.New(s, domain.SystemClock{}), nil
}

type staffList struct{ databaseFlag }

// Run prints a line a person.
func (c *staffList) Run(ctx context.Context, t *terminal) error {
	s, _, err := c.open(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	people, err := s.StaffList(ctx)
	if err != nil {
		return err
	}
	for _, p := range people {
		state := ""
		if !p.Active {
			state = " (may not sign in)"
		}
		fmt.Fprintf(t.out, "%s: %s%s\n", p.Name, roleText(p.Roles), state)
	}
	return nil
}

func roleText(rs []domain.Role) string {
	words := make([]string, len(rs))
	for i, r := range rs {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

// find returns the person of this name and an owner's authority to change them:
// who can run this command at the terminal can open the database anyway.
func find(ctx context.Context, s *store.Store, name string) (workshop.Staff, []workshop.Staff, error) {
	people, err := s.StaffList(ctx)
	if err != nil {
		return workshop.Staff{}, nil, err
	}
	for _, p := range people {
		if workshop.NameKey(p.Name) == workshop.NameKey(name) {
			return p, people, nil
		}
	}
	return workshop.Staff{}, nil, domain.NotFoundf("nobody here is called %q; see: winterbench staff list", name)
}

type staffPassword struct {
	databaseFlag
	Name string `arg:"" help:"The person."`
}

// Run reads the new password from the first line of standard input.
func (c *staffPassword) Run(ctx context.Context, t *terminal) error {
	s, w, err := c.open(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	p, people, err := find(ctx, s, c.Name)
	if err != nil {
		return err
	}
	fmt.Fprintf(t.err, "New password for %s: ", p.Name)
	line, err := bufio.NewReader(t.in).ReadString('\n')
	if line == "" && err != nil {
		return fmt.Errorf("read the password: %w", err)
	}
	atTerminal := domain.Actor{Staff: p.ID, Name: "the terminal", Roles: domain.Roles()}
	if err := w.ChangeStaff(ctx, atTerminal, p, strings.TrimRight(line, "\r\n"), people); err != nil {
		return err
	}
	fmt.Fprintln(t.out, "Done.")
	return nil
}

type staffToken struct {
	databaseFlag
	Name  string `arg:"" help:"The person the program acts for."`
	Token string `arg:"" name:"token-name" help:"What the token is for."`

	ReadsOnly bool     `help:"The token changes nothing."`
	Hats      []string `help:"Hats it may use of those the person wears; without it all." placeholder:"HAT,..."`
	Days      int      `help:"Days until it ends, at most 366." default:"366"`
}

// Run prints the new token.
func (c *staffToken) Run(ctx context.Context, t *terminal) error {
	s, w, err := c.open(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	p, _, err := find(ctx, s, c.Name)
	if err != nil {
		return err
	}
	var hats []domain.Role
	for _, h := range c.Hats {
		hats = append(hats, domain.Role(h))
	}
	token, err := w.AddToken(ctx, p.Actor(), workshop.TokenAsk{Name: c.Token, ReadsOnly: c.ReadsOnly, Roles: hats, Days: c.Days})
	if err != nil {
		return err
	}
	fmt.Fprintln(t.out, token)
	return nil
}

type staffUnlock struct {
	databaseFlag
	Name string `arg:"" help:"The person."`
}

// Run takes off what locks a person out. Their password stays.
func (c *staffUnlock) Run(ctx context.Context, t *terminal) error {
	s, w, err := c.open(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	p, _, err := find(ctx, s, c.Name)
	if err != nil {
		return err
	}
	atTerminal := domain.Actor{Staff: p.ID, Name: "the terminal", Roles: domain.Roles()}
	if err := w.DropSecondOf(ctx, atTerminal, p.ID); err != nil {
		return err
	}
	fmt.Fprintln(t.out, "Second step, PIN and waits are off; the password stays.")
	return nil
}
