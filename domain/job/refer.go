package job

import (
	"fmt"
	"strings"

	"winterbench/domain/customer"
)

// StopNow lists what must be done before anything else: strings slackened,
// playing stopped. It is empty when nothing in the survey is that grave.
//
// Source: common practice, no source.
func StopNow(s Survey) []string {
	var out []string
	if why := loads(s); len(why) > 0 {
		out = append(out, slacken(s.Strings)+": "+List(why)+".")
	}
	for _, f := range s.Findings {
		if f.Symptom == "fret ends proud" && f.Graded() && f.Grade == Stop {
			out = append(out, "Do not play it, its fret ends can cut: "+f.Named()+".")
		}
	}
	if s.CaseRH.Is() && s.CaseRH.Value.GreaterThan(mouldAir) {
		out = append(out, "Case air "+s.CaseRH.Text()+": take the instrument out of the wet case, look for mould, and let it dry slowly in room air. Glue joints weaken; leave the strings slack.")
	}
	return out
}

func slacken(strings string) string {
	if strings == "slack" || strings == "off" {
		return "Leave the strings slack"
	}
	return "Slacken the strings now, evenly and a little at a time, before anything else"
}

// loads lists what the pull of the strings can make worse.
func loads(s Survey) []string {
	var why []string
	var sunk, loose *Finding
	for i := range s.Findings {
		f := &s.Findings[i]
		switch {
		case !f.Graded():
			continue
		case f.Grade == Stop && f.Symptom != "fret ends proud" && f.Symptom != "finish":
			why = append(why, f.Named())
			continue
		}
		if f.Symptom == "top arch behind bridge" && f.Measure.Is() && f.Measure.Value.Sign() < 0 {
			sunk = f
		}
		if f.Symptom == "loose brace" && f.Grade > Fine {
			loose = f
		}
	}
	if sunk != nil && loose != nil {
		why = append(why, sunk.Named()+" with "+loose.Named())
	}
	if g, _, ok := s.CaseGrade(nil); ok && g == Stop {
		why = append(why, "case air "+s.CaseRH.Text())
	}
	return why
}

// Refer lists why the shop should refuse the work or send it to a specialist.
// It advises; the owner decides.
//
// Source: common practice, no source.
func Refer(s Survey, in customer.Instrument) []string {
	r := referring{said: map[string]bool{}}
	for _, f := range s.Findings {
		if f.Graded() && f.Grade > Fine {
			r.finding(f, s, in)
		}
	}
	if s.CaseRH.Is() && s.CaseRH.Value.GreaterThan(mouldAir) {
		r.add("Case air " + s.CaseRH.Text() + ": no hold for a wet case, and none at all where there is mould.")
	}
	if s.Worst() >= Moderate && Delicate(in) {
		r.add("The note on the instrument speaks of its value or its finish: ask the owner before anything that shows or cannot be undone; a conservator or specialist may be the better hand.")
	}
	return r.out
}

type referring struct {
	said map[string]bool
	out  []string
}

func (r *referring) add(text string) {
	if !r.said[text] {
		r.said[text] = true
		r.out = append(r.out, text)
	}
}

func (r *referring) finding(f Finding, s Survey, in customer.Instrument) {
	d := f.Detail
	switch f.Symptom {
	case "heel gap":
		if d.Moves == "yes" || f.Grade == Stop {
			r.add("The heel gap is at the neck joint: put no glue into it; refer it to somebody who sets necks.")
		}
	case "crack length", "crack width":
		r.crack(f)
	case "action bass", "action treble":
		usual, ok := usualAction(f.Symptom, in.Kind)
		if ok && f.Measure.Is() && f.Measure.Value.GreaterThan(usual) && !bentBack(s) && Dryness(s, in).Verdict != ReadsWet {
			r.add("High action and the neck is not known to bend back: it may need its angle reset, which is for a specialist.")
		}
	case "bridge lift":
		r.protected(in, "Should the bridge not come off whole, its wood must be replaced.")
	case "loose brace":
		if strings.Contains(strings.ToLower(f.Note), "broken") {
			r.add("A broken brace, or one out of reach, can mean that the back comes off: refer it.")
		}
	}
}

func (r *referring) crack(f Finding) {
	d := f.Detail
	at := ""
	if f.Place != "" {
		at = " (" + f.Place + ")"
	}
	if d.AcrossGrain == "yes" {
		r.add("A crack across the grain" + at + " is structural: refer it, glue alone will not carry the load.")
	}
	if d.Plates > 1 {
		r.add(fmt.Sprintf("A crack through %d plates%s: refer it.", d.Plates, at))
	}
	for _, to := range d.Reaches {
		if to == "bridge" {
			r.add("A crack that runs into the bridge" + at + " may go through the bridge plate: look inside with a mirror, and refer it when it does.")
		}
	}
}

// protected warns where a wood that may be protected would be replaced.
func (r *referring) protected(in customer.Instrument, why string) {
	if text := in.Protected(); text != "" {
		r.add(why + " " + text)
	}
}

// Delicate reports whether the note on an instrument speaks of its value, its
// age or its original finish, so that work which shows needs a second thought.
func Delicate(in customer.Instrument) bool {
	note := strings.ToLower(in.Note)
	for _, word := range []string{"original finish", "valuable", "high value", "historic", "museum", "heirloom", "collector", "apprais"} {
		if strings.Contains(note, word) {
			return true
		}
	}
	return false
}
