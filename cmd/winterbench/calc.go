package main

import (
	"fmt"
	"io"

	"winterbench/domain"
	"winterbench/domain/workshop"
)

type calcCommand struct {
	Name    string `arg:"" optional:"" help:"What to compute; leave it out for a list."`
	Example bool   `help:"Print an input that works and stop."`
}

// Help gives examples.
func (calcCommand) Help() string {
	return "Examples:\n  winterbench calc\n  winterbench calc invoice --example\n  winterbench calc invoice --example | winterbench calc invoice"
}

// maxCalc is the most bytes that one input may have.
const maxCalc = 1 << 20

// Run computes what was named, from standard input to standard output.
func (c *calcCommand) Run(t *terminal) error {
	if c.Name == "" {
		for _, k := range workshop.Calcs() {
			fmt.Fprintf(t.out, "%-10s %s\n", k.Name, k.What)
		}
		return nil
	}
	k, err := workshop.CalcNamed(c.Name)
	if err != nil {
		return err
	}
	if c.Example {
		_, err := t.out.Write(append(k.Example(), '\n'))
		return err
	}
	in, err := io.ReadAll(io.LimitReader(t.in, maxCalc+1))
	if err != nil {
		return fmt.Errorf("read the input: %w", err)
	}
	if len(in) > maxCalc {
		return domain.Invalidf("the input has more than %d bytes", maxCalc)
	}
	out, err := k.Run(in)
	if err != nil {
		return err
	}
	_, err = t.out.Write(append(out, '\n'))
	return err
}
