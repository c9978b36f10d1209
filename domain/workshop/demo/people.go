package demo

import (
	_ "embed" // for the lists
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"

	"winterbench/domain"
	"winterbench/domain/customer"
	"winterbench/domain/money"
)

var (
	//go:embed data/names.txt
	namesFile string
	//go:embed data/makers.csv
	makersFile string
	//go:embed data/words.csv
	wordsFile string
	//go:embed data/complaints.csv
	complaintsFile string
)

// rowsOf splits a list into rows and fields; lines with # in front are notes.
func rowsOf(file, sep string) [][]string {
	var out [][]string
	for line := range strings.Lines(file) {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.Split(line, sep)
		for i := range fields {
			fields[i] = strings.TrimSpace(fields[i])
		}
		out = append(out, fields)
	}
	return out
}

// phrases are short texts by use.
type phrases map[string][]string

func phrasesOf(files ...string) phrases {
	out := phrases{}
	for _, f := range files {
		for _, row := range rowsOf(f, ";") {
			out[row[0]] = append(out[row[0]], strings.Join(row[1:], "; "))
		}
	}
	return out
}

func (p phrases) pick(r *rand.Rand, use string) string { return pick(r, p[use]) }

func pick[T any](r *rand.Rand, from []T) T { return from[r.IntN(len(from))] }

// chance is true in p of 100 cases.
func chance(r *rand.Rand, p int) bool { return r.IntN(100) < p }

// crowd invents customers and their instruments.
type crowd struct {
	names  [][2][]string
	words  phrases
	makers []maker
	taken  map[string]bool
	count  int
}

type maker struct {
	name   string
	kinds  []string // a kind stands as often as its weight
	models []string
	serial string
}

func newCrowd() *crowd {
	c := &crowd{words: phrasesOf(wordsFile, complaintsFile), taken: map[string]bool{}}
	for _, row := range rowsOf(namesFile, "|") {
		c.names = append(c.names, [2][]string{strings.Fields(row[1]), strings.Fields(row[2])})
	}
	for _, row := range rowsOf(makersFile, ";") {
		m := maker{name: row[0], models: strings.Split(row[2], ","), serial: row[3]}
		for _, k := range strings.Split(row[1], ",") {
			kind, weight, _ := strings.Cut(k, "*")
			n, err := strconv.Atoi(weight)
			if err != nil {
				n = 1
			}
			for range n {
				m.kinds = append(m.kinds, kind)
			}
		}
		c.makers = append(c.makers, m)
	}
	return c
}

// person invents a customer. Numbers are of ranges kept for fiction, 555-0100
// to 555-0199 in North America and 01632 960000 to 960999 in Britain; mail goes
// to example.org, which belongs to nobody (RFC 2606).
func (c *crowd) person(r *rand.Rand) customer.Customer {
	c.count++
	name := c.name(r)
	p := customer.Customer{
		Name: name, Contact: customer.ByPhone,
		Phone:   fmt.Sprintf("(%s) 555-01%02d", pick(r, []string{"819", "819", "819", "873", "418", "367", "514", "450"}), r.IntN(100)),
		Address: fmt.Sprintf("%d %s\n%s, QC", 1+r.IntN(240), c.words.pick(r, "street"), c.words.pick(r, "place")),
	}
	if chance(r, 3) {
		p.Phone = fmt.Sprintf("+44 1632 960%03d", r.IntN(1000))
	}
	if chance(r, 70) {
		p.Email = fmt.Sprintf("%s%d@example.org", pick(r, []string{"player", "strings", "post", "hello", "home"}), c.count)
	}
	if chance(r, 35) && p.Email != "" {
		p.Contact = customer.ByMessage
	}
	if chance(r, 8) {
		p.Note = c.words.pick(r, "note")
	}
	return p
}

// name invents a name that nobody has yet. The first two languages of the list
// are those of the town; every third customer comes with another.
func (c *crowd) name(r *rand.Rand) string {
	for {
		lang := c.names[r.IntN(2)]
		if chance(r, 42) {
			lang = pick(r, c.names)
		}
		name := pick(r, lang[0]) + " " + pick(r, lang[1])
		if chance(r, 6) {
			name = pick(r, lang[0]) + " " + name
		}
		if !c.taken[name] {
			c.taken[name] = true
			return name
		}
	}
}

// houses are the customers that are not single persons: two of them pay no tax
// or not on everything.
func houses(since domain.Date) []customer.Customer {
	return []customer.Customer{
		{Name: "Kettle Narrows Youth Strings", Phone: "(819) 555-0100", Email: "office@example.org", Address: "3 Icehouse Hill\nKettle Narrows, QC",
			Note: "School loan instruments. Certificate is in the green folder.", Contact: customer.ByMessage,
			Exempt: &money.Exemption{Reason: money.ReasonExempt, Certificate: "DEMO-EX-1042", From: since}},
		{Name: "Halfmoon Trading Post", Phone: "(819) 555-0101", Email: "desk@example.org", Address: "118 Station Parade\nUpper Tarrow, QC",
			Note: "Sells second-hand instruments. Pays by the month.", Contact: customer.ByPhone,
			Exempt: &money.Exemption{Reason: money.ReasonResale, Certificate: "DEMO-RS-0077", From: since}},
		{Name: "Chorale du Lac-au-Givre", Phone: "(873) 555-0102", Email: "chorale@example.org", Address: "9 Chemin du Lac-Noir\nLac-au-Givre, QC", Contact: customer.ByLetter},
	}
}

// instrument invents an instrument that suits a kind of work.
func (c *crowd) instrument(r *rand.Rand, kind string) customer.Instrument {
	for {
		m := pick(r, c.makers)
		in := customer.Instrument{Kind: pick(r, m.kinds), Maker: m.name, Model: pick(r, m.models)}
		if !suits(in.Kind, kind) {
			continue
		}
		in.Serial = serial(r, m.serial)
		if in.Serial == "" {
			in.Identity = "no serial; " + pick(r, []string{"burn mark inside the soundhole", "initials under the end pin", "blue ink number on the neck block", "repaired heel, two plugs"})
		}
		in.Made = pick(r, []string{"1968", "1970s", "1979", "1984", "1991", "1998", "2003", "2007", "2012", "2016", "2019", "2021", "2022", ""})
		build(r, &in)
		return in
	}
}

// suits says whether a kind of work is done on a kind of instrument: a solid
// body has no top to crack, a banjo's bridge stands loose.
func suits(instrument, work string) bool {
	solid := strings.HasPrefix(instrument, "electric") || instrument == "lap steel"
	banjo := strings.HasSuffix(instrument, "banjo")
	switch work {
	case "crack", "brace":
		return !solid && !banjo
	case "bridge":
		return !solid && !banjo && instrument != "mandolin" && instrument != "mandola" && instrument != "archtop guitar" && instrument != "octave mandolin"
	case "heel":
		return !solid && !banjo && instrument != "oud" && instrument != "lute"
	case "ends", "frets":
		return instrument != "oud" && instrument != "lute" && instrument != "lap steel"
	}
	return true
}

func serial(r *rand.Rand, shape string) string {
	return strings.Map(func(c rune) rune {
		switch c {
		case '#':
			return rune('0' + r.IntN(10))
		case '@':
			return rune("ABCDEFGHKM"[r.IntN(10)])
		}
		return c
	}, shape)
}

// build chooses woods and construction.
func build(r *rand.Rand, in *customer.Instrument) {
	in.Board = pick(r, []string{"Indian rosewood", "Indian rosewood", "ebony", "pau ferro", "maple", "unknown"})
	in.Finish = pick(r, []string{"nitrocellulose lacquer", "polyurethane", "polyester", "UV-cured", "shellac, french polish", "oil or wax", "unknown"})
	in.Binding = pick(r, []string{"ABS", "none", "wood", "acetate", "cellulose nitrate", "unknown"})
	switch {
	case strings.HasPrefix(in.Kind, "electric") || in.Kind == "lap steel":
		in.Top = customer.Plate{Wood: pick(r, []string{"basswood", "maple", "mahogany"}), Construction: "solid"}
		in.Bracing = "none"
		return
	case strings.HasSuffix(in.Kind, "banjo"):
		in.Top = customer.Plate{Construction: "skin head"}
		in.Bracing = "none"
		return
	}
	in.Top = customer.Plate{Wood: pick(r, []string{"Sitka spruce", "Sitka spruce", "Engelmann spruce", "red spruce", "European spruce", "western red cedar"}), Construction: "solid"}
	back := pick(r, []string{"Indian rosewood", "mahogany", "sapele", "maple", "walnut", "cherry"})
	how := pick(r, []customer.Construction{"solid", "solid", "laminated"})
	in.Back, in.Sides = customer.Plate{Wood: back, Construction: how}, customer.Plate{Wood: back, Construction: how}
	switch in.Kind {
	case "mandolin", "mandola", "octave mandolin", "archtop guitar":
		in.Top.Construction, in.Bracing = "carved", "tone bar"
	case "nylon-string guitar":
		in.Bracing = "fan"
	case "lute", "oud", "bouzouki", "dulcimer":
		in.Bracing = "ladder"
	default:
		in.Bracing = "X"
	}
}

// spare is the name of somebody who comes in the owner's place.
func (c *crowd) spare(r *rand.Rand) string {
	lang := pick(r, c.names[:2])
	return pick(r, lang[0]) + " " + pick(r, lang[1])
}
