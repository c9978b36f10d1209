package invoices

import "winterbench/domain/workshop"

// Margins in mm, and text sizes in points.
const (
	margin       = 16.0
	marginTop    = 14.0
	marginBottom = 10.0
	footHeight   = 9.0

	head  = 12.0
	body  = 9.5
	small = 8.0
)

// piece is one thing drawn on a line: text, a rule or a picture. Places are mm
// from the left margin and from the top of its line; the place of a text is
// where its baseline starts.
type piece struct {
	x, y    float64
	runs    []run
	size    float64 // of text, in points
	pale    bool    // grey ink for what is beside the matter
	w, h    float64 // of a rule (one of them is 0) and of a picture
	thick   float64 // of a rule; 0 for what is no rule
	dashed  bool
	picture []byte // PNG
}

// line is a strip across the page.
type line struct {
	height float64
	pieces []piece
}

// add puts a line of text on l: it starts at x, or ends there when right is set.
func (l *line) add(x float64, text string, w weight, size float64, right bool) {
	p := piece{x: x, y: size * point * 1.08, runs: set(text, w, size), size: size}
	if right {
		for _, r := range p.runs {
			p.x -= r.width
		}
	}
	l.height = max(l.height, leading(size))
	l.pieces = append(l.pieces, p)
}

// leading is the height of a line of text in mm.
func leading(size float64) float64 { return size * point * 1.32 }

// textLine is a line with one text on it.
func textLine(x float64, text string, w weight, size float64) line {
	var l line
	l.add(x, text, w, size, false)
	return l
}

// ruleLine is a hairline across the width with space above and below.
func ruleLine(x, width, above, below float64) line {
	return line{height: above + below, pieces: []piece{{x: x, y: above, w: width, thick: 0.2}}}
}

// gap is an empty line.
func gap(height float64) line { return line{height: height} }

// paragraph sets text in lines of the width, from x. Empty text gives none.
func paragraph(x, width float64, text string, w weight, size float64) []line {
	var out []line
	for _, l := range linesOf(text) {
		for _, part := range wrap(l, w, size, width, 0) {
			out = append(out, textLine(x, part, w, size))
		}
	}
	return out
}

// greyed turns the ink of lines grey.
func greyed(lines ...line) []line {
	for _, l := range lines {
		for i := range l.pieces {
			l.pieces[i].pale = true
		}
	}
	return lines
}

// beside sets columns of lines side by side as one line.
func beside(columns ...[]line) line {
	var out line
	for _, lines := range columns {
		y := 0.0
		for _, l := range lines {
			for _, p := range l.pieces {
				p.y += y
				out.pieces = append(out.pieces, p)
			}
			y += l.height
		}
		out.height = max(out.height, y)
	}
	return out
}

func heightOf(lines []line) float64 {
	var sum float64
	for _, l := range lines {
		sum += l.height
	}
	return sum
}

// block is lines that stay together on a page. When a block of a table opens
// a page, the head of the table is set above it.
type block struct {
	lines []line
	head  []line
}

// sheet collects the blocks of a document.
type sheet struct {
	shop   *workshop.Shop
	about  about
	size   paper
	width  float64 // between the margins
	blocks []block
}

func newSheet(shop *workshop.Shop, about about) *sheet {
	size := paperOf(shop)
	return &sheet{shop: shop, about: about, size: size, width: size.width - 2*margin}
}

// spare is left free at the end of each page, in mm. The library fills it with
// an empty row, cut to nine decimals, and turns the page when the rows come to
// more than the page: the last digit keeps the sum below that, however the
// floating-point sum of the rows falls out. Else a blank page appears.
const spare = 0.5 + 5e-10

// room is the height of a page that blocks may fill.
func (s *sheet) room() float64 {
	return s.size.height - marginTop - marginBottom - footHeight - spare
}

// together adds lines that stay on one page.
func (s *sheet) together(lines ...line) { s.blocks = append(s.blocks, block{lines: lines}) }

// loose adds lines between which a page may end.
func (s *sheet) loose(lines ...line) {
	for _, l := range lines {
		s.together(l)
	}
}

// prose adds a titled paragraph; without text it adds nothing. The title stays
// with the first line.
func (s *sheet) prose(title, text string) {
	lines := paragraph(0, s.width, text, plain, body)
	if len(lines) == 0 {
		return
	}
	s.together(gap(2.5), textLine(0, title, bold, small), lines[0])
	s.loose(lines[1:]...)
}

// pages spreads the blocks over pages and gives each its foot. A block that
// takes most of a page is taken apart.
func (s *sheet) pages() [][]line {
	var pages [][]line
	var page []line
	used := 0.0
	put := func(lines ...line) { page, used = append(page, lines...), used+heightOf(lines) }
	for _, b := range s.blocks {
		parts := [][]line{b.lines}
		if heightOf(b.lines) > s.room()*0.6 {
			parts = apart(b.lines)
		}
		for _, lines := range parts {
			if used+heightOf(lines) > s.room() && len(page) > 0 {
				pages, page, used = append(pages, page), nil, 0
				put(s.runningHead()...)
				put(b.head...)
			}
			put(lines...)
		}
	}
	pages = append(pages, page)
	for i := range pages {
		rest := max(s.room()-heightOf(pages[i]), 0.01)
		pages[i] = append(pages[i], gap(rest), s.foot(i+1, len(pages)))
	}
	return pages
}

func apart(lines []line) [][]line {
	out := make([][]line, len(lines))
	for i, l := range lines {
		out[i] = []line{l}
	}
	return out
}

// answer sets the sentences that answer what the reader came for, the first of
// them large.
func (s *sheet) answer(sentences ...string) {
	var lines []line
	for i, text := range sentences {
		if i == 0 {
			lines = append(lines, paragraph(0, s.width, text, bold, head)...)
			lines = append(lines, gap(0.8))
			continue
		}
		lines = append(lines, paragraph(0, s.width, text, plain, body)...)
	}
	s.together(lines...)
}

// list sets a titled list of sentences, each once; empty ones are left out.
func (s *sheet) list(title string, texts []string) {
	seen := map[string]bool{"": true}
	for _, text := range texts {
		text = clean(text)
		if seen[text] {
			continue
		}
		if len(seen) == 1 {
			s.together(gap(2.5), textLine(0, title, bold, small))
		}
		seen[text] = true
		lines := paragraph(3.5, s.width-3.5, text, plain, body)
		mark := textLine(0, "–", plain, body)
		lines[0].pieces = append(lines[0].pieces, mark.pieces...)
		s.together(lines...)
	}
}
