package web

import (
	"winterbench/domain/job"
	"winterbench/domain/wood"
)

// sign is how the form asks for one symptom.
type sign struct {
	symptom string // as job.Symptoms names it
	title   string // "" takes the symptom's name
	length  string // label of the measure; "" is Measure
	hint    string // where and with what it is measured
	shown   []ask  // beside the measure, always in sight
	details []ask  // under the fold
}

// ask is one question about a sign's detail.
type ask struct {
	name, label string
	kind        string // yes, words, length, measure, text, picks, count, place
	words       func() []string
	hint        string
}

// usualSigns are looked for on every instrument, in the order in which a dry
// one shows them; old and thin tops may crack first. Source: common practice,
// no source.
var usualSigns = []string{
	"fret ends proud", "action bass", "action treble", "relief", "top arch behind bridge", "top arch in front of bridge",
	"bridge lift", "loose brace", "binding gap", "heel gap", "crack length",
}

var side = ask{name: "side", label: "Side", kind: "words", words: job.Sides}

var place = ask{name: "place", label: "Place", kind: "place"}

func yesNo(name, label, hint string) ask {
	return ask{name: name, label: label, kind: "yes", hint: hint}
}

func length(name, label, hint string) ask {
	return ask{name: name, label: label, kind: "length", hint: hint}
}

// Source of tools and places: common practice, no source.
var signs = []sign{
	{symptom: "fret ends proud", hint: "The worst, a side: steel edge along the board, feeler; a nylon cloth tells how they feel.", details: []ask{
		{name: "feel", label: "They feel", kind: "words", words: job.Feels}, side,
		yesNo("bound", "The board is bound", ""), {name: "frets", label: "Which frets", kind: "text"}, place,
	}},
	{symptom: "action bass", hint: "Rule at the 12th fret, tuned to pitch, outer string."},
	{symptom: "action treble", hint: "Rule at the 12th fret, tuned to pitch, outer string."},
	{symptom: "relief", hint: "Feeler at the 7th fret under a straightedge; + is forward, \u2212 is bent back."},
	{symptom: "top arch behind bridge", hint: "Straightedge across the grain between bridge and tail; + is a dome, \u2212 is sunk.", details: []ask{
		length("slack", "The same, strings slack", ""), yesNo("ripple", "It ripples, or a brace below is loose", ""),
	}},
	{symptom: "top arch in front of bridge", hint: "Straightedge between soundhole and bridge; + is a dome, \u2212 is sunk.", details: []ask{
		length("slack", "The same, strings slack", ""), yesNo("ripple", "It ripples, or a brace below is loose", ""),
	}},
	{symptom: "back arch", hint: "Straightedge across the widest back; + is a dome, \u2212 is sunk."},
	{symptom: "bridge lift", length: "Deepest", hint: "How deep a paper of 0.1 mm goes under; the three depths below fill it in.", details: []ask{
		length("wings_bass", "At the bass wing", ""), length("wings_centre", "At the centre, behind", ""), length("wings_treble", "At the treble wing", ""),
	}},
	{symptom: "loose brace", length: "Loose length", hint: "Tap, a thin blade inside, a mirror.", details: []ask{
		{name: "brace", label: "Which brace", kind: "text", hint: "X leg, treble; tone bar 1; back 3"}, place,
	}},
	{symptom: "binding gap", hint: "Widest gap, by feeler; one that the thumb does not close is too short.", details: []ask{
		{name: "edge", label: "Edge", kind: "words", words: job.Edges}, side, length("run", "It runs for", ""),
		yesNo("closes", "It closes under the thumb", ""), place,
	}},
	{symptom: "heel gap", hint: "At the heel cap or between neck and heel, by feeler.", details: []ask{
		yesNo("moves", "It moves when the neck is flexed", ""), place,
	}},
	{symptom: "crack length", title: "crack", length: "Length", hint: "Rule along it, feeler or light across it, a mirror inside.",
		shown: []ask{{name: "width", label: "Width at its widest", kind: "measure"}, place},
		details: []ask{
			{name: "kind", label: "Kind", kind: "words", words: job.CrackKinds}, side, length("from_seam", "From the centre seam", ""),
			length("step", "One edge stands higher by", ""), yesNo("through", "Light shows through", ""), yesNo("closes", "Closes under the thumb", ""),
			yesNo("dirty", "Dirt or polish inside", ""), yesNo("reopened", "An old repair came open", ""), yesNo("finish_only", "Only the finish is cracked", ""),
			yesNo("across_grain", "Runs across the grain, or branches", ""),
			{name: "plates", label: "Plates it runs through", kind: "count"}, {name: "reaches", label: "It reaches", kind: "picks", words: job.Reaches},
		}},
	{symptom: "body-joint hump", hint: "Straightedge on the frets from 9 to the last; rise at 12 to 14."},
	{symptom: "buzz", hint: "Play every fret; string and frets in the note.", details: []ask{place}},
	{symptom: "finish", hint: "Raking light.", shown: []ask{{name: "state", label: "It shows", kind: "words", words: job.FinishStates}, place}},
	{symptom: "other", shown: []ask{place}},
}

// signOf says how a symptom is asked for. One without a line of its own is
// asked for its measure alone; a crack width belongs to the crack.
func signOf(symptom string) sign {
	if symptom == "crack width" {
		symptom = "crack length"
	}
	for _, s := range signs {
		if s.symptom == symptom {
			return s
		}
	}
	return sign{symptom: symptom}
}

func (s sign) name() string {
	if s.title != "" {
		return s.title
	}
	return s.symptom
}

// unit is the unit of the measure, "" for what is looked at and not measured.
func (s sign) unit() wood.Unit {
	unit, _ := job.SymptomUnit(s.symptom)
	return unit
}

// has reports whether a detail is asked for.
func (s sign) has(name string) bool {
	for _, list := range [][]ask{s.shown, s.details} {
		for _, a := range list {
			if a.name == name {
				return true
			}
		}
	}
	return false
}

// moreSigns are the signs that a row can be added for.
func moreSigns() []Option {
	out := make([]Option, 0, len(signs))
	for _, name := range []string{"crack length", "binding gap", "loose brace", "bridge lift", "buzz", "finish", "back arch", "body-joint hump", "heel gap", "fret ends proud", "top arch behind bridge", "top arch in front of bridge", "relief", "action bass", "action treble", "other"} {
		out = append(out, Option{Value: name, Label: signOf(name).name()})
	}
	return out
}
