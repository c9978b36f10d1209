package customer

import (
	"strings"
	"time"

	"winterbench/domain"
)

// Construction says how a plate is built. Laminated plates move far less with
// the air than solid ones; so top, back and sides are told apart.
type Construction string

// Constructions lists how plates are built. Source: common practice, no source.
func Constructions() []Construction {
	return []Construction{"unknown", "solid", "laminated", "solid face, laminated core", "carved", "skin head", "metal", "composite"}
}

// Kinds lists the instruments the shop takes in. Source: common practice, no source.
func Kinds() []string {
	return []string{
		"steel-string guitar", "twelve-string guitar", "nylon-string guitar", "archtop guitar", "resonator guitar",
		"acoustic bass guitar", "electric guitar", "electric bass", "mandolin", "mandola", "octave mandolin", "bouzouki",
		"soprano ukulele", "concert ukulele", "tenor ukulele", "baritone ukulele", "four-string banjo", "five-string banjo",
		"lap steel", "dulcimer", "lute", "oud", "other",
	}
}

// Woods, Bindings, Finishes and Bracings are offered while typing; others may
// be typed.
func Woods() []string {
	return []string{
		"Sitka spruce", "Engelmann spruce", "red spruce", "European spruce", "western red cedar", "redwood", "mahogany", "sapele",
		"Indian rosewood", "Brazilian rosewood", "Madagascar rosewood", "rosewood, kind unknown", "ebony", "maple", "koa",
		"walnut", "cherry", "blackwood", "ovangkol", "cypress", "bubinga", "pau ferro", "basswood", "unknown",
	}
}

// Bindings lists edge bindings.
func Bindings() []string {
	return []string{"unknown", "none", "cellulose nitrate", "acetate", "ABS", "other plastic", "wood", "fibre"}
}

// Finishes lists finishes.
func Finishes() []string {
	return []string{
		"unknown", "nitrocellulose lacquer", "shellac, french polish", "spirit varnish", "oil varnish", "polyurethane",
		"polyester", "catalysed lacquer", "UV-cured", "oil or wax", "water-based", "unfinished",
	}
}

// Bracings lists bracing patterns.
func Bracings() []string {
	return []string{"unknown", "X", "ladder", "fan", "tone bar", "lattice", "V", "double X", "A", "none"}
}

// Plate is one of the plates an instrument is made of.
type Plate struct {
	Wood         string
	Construction Construction
}

// Instrument is one instrument of one customer.
type Instrument struct {
	ID       domain.InstrumentID
	Owner    domain.CustomerID
	Kind     string // one of Kinds
	Maker    string
	Model    string
	Serial   string // "" when it has none; then Marks tell it
	Made     string // year or decade as known
	Top      Plate
	Back     Plate
	Sides    Plate
	Board    string // wood of the fingerboard
	Binding  string
	Finish   string
	Bracing  string
	Identity string // marks to know it by when there is no serial
	Note     string
	Since    time.Time
	Version  int
}

// Check trims the fields and returns an Invalid error that names each wrong one.
func (in *Instrument) Check() error {
	f := domain.Fields{}
	domain.OneOf(f, "kind", in.Kind, Kinds())
	for _, line := range []struct {
		field string
		text  *string
		max   int
	}{
		{"maker", &in.Maker, 80}, {"model", &in.Model, 80}, {"serial", &in.Serial, 60}, {"made", &in.Made, 20},
		{"top_wood", &in.Top.Wood, 60}, {"back_wood", &in.Back.Wood, 60}, {"sides_wood", &in.Sides.Wood, 60},
		{"board", &in.Board, 60}, {"binding", &in.Binding, 60}, {"finish", &in.Finish, 60}, {"bracing", &in.Bracing, 60},
		{"identity", &in.Identity, 200},
	} {
		*line.text = domain.Line(f, line.field, *line.text, line.max, false)
	}
	in.Note = domain.Paragraph(f, "note", in.Note, 2000, false)
	for _, p := range []struct {
		field string
		plate *Plate
	}{{"top_construction", &in.Top}, {"back_construction", &in.Back}, {"sides_construction", &in.Sides}} {
		if p.plate.Construction == "" {
			p.plate.Construction = "unknown"
		}
		domain.OneOf(f, p.field, p.plate.Construction, Constructions())
	}
	return f.Err()
}

// Title names the instrument in a line: "Orrin No. 3, steel-string guitar".
func (in Instrument) Title() string {
	name := strings.TrimSpace(in.Maker + " " + in.Model)
	if name == "" {
		return in.Kind
	}
	return name + ", " + in.Kind
}

// Protected returns a caution when a wood named on the instrument may be under
// species protection, else "".
//
// Source: CITES notification on annotation #15, in force 26 November 2019:
// finished instruments of Dalbergia are exempt, D. nigra (Brazilian rosewood)
// is not. Lists change; the owner checks the date and local law.
func (in Instrument) Protected() string {
	all := strings.ToLower(strings.Join([]string{in.Top.Wood, in.Back.Wood, in.Sides.Wood, in.Board}, " "))
	switch {
	case strings.Contains(all, "brazilian rosewood"):
		return "Brazilian rosewood is strictly protected: keep its papers, do not replace or send it abroad before checking the current list and local law."
	case strings.Contains(all, "rosewood"):
		return "Rosewood may be protected: check the current list before replacing wood or sending it abroad."
	}
	return ""
}
