package invoices

import (
	"fmt"
	"strings"

	"winterbench/domain/customer"
	"winterbench/domain/job"
)

// mostAddress is how many lines of an address are printed; none that an address
// of a real place needs is cut.
const mostAddress = 10

// wholeName is how many lines of half the width hold a name of 120 letters, the
// longest there is, however wide they are.
const wholeName = 5

// letterhead sets the shop on the left, and on the right what this document is.
func (s *sheet) letterhead(right ...string) {
	half := s.width*0.55 - 4
	left := []line{}
	for _, l := range wrap(clean(s.shop.Name), bold, head+2, half, 2) {
		left = append(left, textLine(0, l, bold, head+2))
	}
	left = append(left, s.address(0, half, s.shop.Address)...)
	if reach := joinFilled(" · ", s.shop.Phone, s.shop.Email); reach != "" {
		for _, l := range wrap(reach, plain, small, half, 2) {
			left = append(left, greyed(textLine(0, l, plain, small))...)
		}
	}
	s.together(beside(left, s.titleLines(right)), ruleLine(0, s.width, 2.5, 3.5))
}

// titleLines is the title of the document and facts below it, set right.
func (s *sheet) titleLines(facts []string) []line {
	room := s.width * 0.45
	size := head + 4
	for size > head-2 && wide(s.about.title, bold, size) > room {
		size--
	}
	out := []line{{}}
	out[0].add(s.width, shorten(clean(s.about.title), bold, size, room), bold, size, true)
	for _, f := range facts {
		if f = clean(f); f == "" {
			continue
		}
		var l line
		l.add(s.width, shorten(f, plain, body, room), plain, body, true)
		out = append(out, l)
	}
	return out
}

// address sets the lines of an address; each may break once.
func (s *sheet) address(x, width float64, text string) []line {
	var out []line
	for _, l := range linesOf(text) {
		for _, part := range wrap(l, plain, body, width, 2) {
			if len(out) == mostAddress {
				return append(out, textLine(x, "…", plain, body))
			}
			out = append(out, textLine(x, part, plain, body))
		}
	}
	return out
}

// overTheCounter says on papers that there is no job.
const overTheCounter = "Sold over the counter"

// tagNumber is the tag of a job, 0 for none.
func tagNumber(j *job.Job) int {
	if j == nil {
		return 0
	}
	return j.Tag
}

// parties sets whom the document is for beside the instrument it is about. lines are
// the name and address. Without a job it says that it was sold over the counter, and
// without a name whom it is for is left out.
func (s *sheet) parties(word, lines string, in customer.Instrument, j *job.Job) {
	half := s.width/2 - 4
	x := s.width / 2
	left := greyed(textLine(0, word, plain, small))
	for i, l := range linesOf(lines) {
		if i == 0 {
			left = append(left, named(0, half, l, wholeName)...)
			continue
		}
		left = append(left, s.address(0, half, strings.Join(linesOf(lines)[1:], "\n"))...)
		break
	}
	right := greyed(textLine(x, "Instrument", plain, small))
	if j != nil || in.ID != 0 {
		right = append(right, s.instrument(x, half, in, j)...)
	} else {
		right = []line{textLine(x, overTheCounter, plain, body)}
	}
	if len(linesOf(lines)) == 0 {
		left, right = nil, []line{textLine(0, overTheCounter, plain, body)}
	}
	s.together(beside(left, right), gap(3))
}

// instrument sets what tells an instrument from others, and the job's tag when
// there is a job.
func (s *sheet) instrument(x, width float64, in customer.Instrument, j *job.Job) []line {
	out := named(x, width, in.Title(), 3)
	facts := []string{}
	if in.Serial != "" {
		facts = append(facts, "serial "+in.Serial)
	}
	if in.Made != "" {
		facts = append(facts, "made "+in.Made)
	}
	if in.Serial == "" && in.Identity != "" {
		facts = append(facts, in.Identity)
	}
	for _, l := range wrap(joinFilled(" · ", facts...), plain, body, width, 3) {
		out = append(out, textLine(x, l, plain, body))
	}
	if j != nil {
		out = append(out, textLine(x, fmt.Sprintf("tag %d · arrived %s", j.Tag, s.day(j.Arrival.At)), plain, body))
	}
	return out
}

// named sets a name in bold on at most so many lines.
func named(x, width float64, name string, most int) []line {
	var out []line
	for _, l := range wrap(clean(name), bold, body, width, most) {
		out = append(out, textLine(x, l, bold, body))
	}
	return out
}

// runningHead tells on later pages what they belong to.
func (s *sheet) runningHead() []line {
	var l line
	l.add(0, shorten(clean(s.shop.Name), plain, small, s.width*0.6), plain, small, false)
	text := s.about.title + ", continued"
	if s.about.tag > 0 {
		text = fmt.Sprintf("%s · tag %d, continued", s.about.title, s.about.tag)
	}
	l.add(s.width, shorten(clean(text), plain, small, s.width*0.38), plain, small, true)
	return []line{greyed(l)[0], ruleLine(0, s.width, 1, 4)}
}

// foot is the last line of every page: what it is, its number, and whether the
// shop is invented.
func (s *sheet) foot(number, of int) line {
	l := line{height: footHeight}
	text := s.about.title
	if s.shop.Demo {
		text = "DEMONSTRATION - invented shop · " + text
	}
	l.add(0, shorten(clean(text), plain, small-0.5, s.width*0.75), plain, small-0.5, false)
	l.add(s.width, fmt.Sprintf("page %d of %d", number, of), plain, small-0.5, true)
	for i := range l.pieces {
		l.pieces[i].y += 4
		l.pieces[i].pale = true
	}
	l.pieces = append(l.pieces, piece{y: 2, w: s.width, thick: 0.2})
	return l
}

// closing sets the shop's own last lines.
func (s *sheet) closing() {
	lines := greyed(paragraph(0, s.width, s.shop.Foot, plain, small)...)
	if len(lines) == 0 {
		return
	}
	s.together(gap(4), lines[0])
	s.loose(lines[1:]...)
}

// joinFilled joins the texts that are not empty.
func joinFilled(sep string, texts ...string) string {
	var out []string
	for _, t := range texts {
		if t = clean(t); t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, sep)
}
