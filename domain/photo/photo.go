// Package photo holds the photos of a job: what each shows, and how a picture
// that somebody sends is checked and made over before it is kept.
package photo

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
	"time"

	"winterbench/domain"
)

// MaxOfJob is the most photos of one job that are shown.
const MaxOfJob = 60

// Photo is a picture of an instrument on one job. It is never changed or
// removed; a wrong one is withdrawn with a reason.
type Photo struct {
	ID      domain.PhotoID
	Job     domain.JobID
	Survey  domain.SurveyID // the survey it belongs to; 0: none
	Subject string          // one of Subjects
	Place   string          // where on the instrument, such as "treble lower bout"; may be ""
	Note    string

	Content string // name of the large picture, see Name
	Thumb   string // name of the small picture
	Width   int    // of the large picture, px
	Height  int    // px
	Size    int    // of the large picture's file, bytes

	At time.Time // when it was sent
	By string

	Withdrawn    time.Time // zero: it stands
	WithdrawnBy  string
	WithdrawnWhy string
}

// Subjects lists what a photo may show. Source: the shop's list of typed
// values (common practice, no source).
func Subjects() []string {
	return []string{"before", "during", "after", "front", "back", "sides", "headstock", "label", "inside", "detail with ruler"}
}

// Check trims the words and returns an Invalid error that names each wrong one.
func (p *Photo) Check() error {
	f := domain.Fields{}
	p.Subject = domain.OneOf(f, "subject", strings.TrimSpace(p.Subject), Subjects())
	p.Place = domain.Line(f, "place", p.Place, 80, false)
	p.Note = domain.Line(f, "note", p.Note, 300, false)
	return f.Err()
}

// Stands reports whether the photo was not withdrawn.
func (p *Photo) Stands() bool { return p.Withdrawn.IsZero() }

// Withdraw takes the photo out of sight; its row stays.
func (p *Photo) Withdraw(by, why string, at time.Time) error {
	f := domain.Fields{}
	why = domain.Line(f, "why", why, 200, true)
	if err := f.Err(); err != nil {
		return err
	}
	if !p.Stands() {
		return domain.Conflictf("this photo was withdrawn already, by %s", p.WithdrawnBy)
	}
	p.Withdrawn, p.WithdrawnBy, p.WithdrawnWhy = at, by, why
	return nil
}

// ThumbSize is the size of the small picture, px.
func (p *Photo) ThumbSize() (width, height int) { return fit(p.Width, p.Height, ThumbSide) }

// What says what the photo shows, for a heading and for those who cannot see it.
func (p *Photo) What() string {
	if p.Place == "" {
		return p.Subject
	}
	return p.Subject + ", " + p.Place
}

// Group is the photos of one subject.
type Group struct {
	Subject string
	Photos  []Photo
}

// Grouped puts photos that stand under their subjects: before, during and after
// first, then the rest in the order of Subjects. Within a group their order stays.
func Grouped(all []Photo) []Group {
	subjects := Subjects()
	for _, p := range all {
		if !slices.Contains(subjects, p.Subject) { // a word of a newer program
			subjects = append(subjects, p.Subject)
		}
	}
	var groups []Group
	for _, s := range subjects {
		g := Group{Subject: s}
		for _, p := range all {
			if p.Subject == s && p.Stands() {
				g.Photos = append(g.Photos, p)
			}
		}
		if len(g.Photos) > 0 {
			groups = append(groups, g)
		}
	}
	return groups
}

// Standing returns the photos that were not withdrawn.
func Standing(all []Photo) []Photo {
	return slices.DeleteFunc(slices.Clone(all), func(p Photo) bool { return !p.Stands() })
}

// Name is the name under which a picture's bytes are kept: their SHA-256 in 64
// lower-case hexadecimal digits (FIPS 180-4).
func Name(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// IsName reports whether name has the form of a picture's name.
func IsName(name string) bool {
	return len(name) == 2*sha256.Size && strings.Trim(name, "0123456789abcdef") == ""
}
