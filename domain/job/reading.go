package job

import (
	"cmp"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/wood"
)

// sameMinute is how soon a reading with the same values is taken for the same
// one, sent twice. Our own judgement, no source.
const sameMinute = time.Minute

// Is reports whether anything was measured.
func (r Reading) Is() bool {
	return r.RH.Is() || r.Air.Is() || r.Gap.Is() || r.Arch.Is() || r.Weight.Is()
}

// Withdrawn reports whether the row only takes an earlier reading back.
func (r Reading) Withdrawn() bool { return r.Replaces != 0 && !r.Is() }

// raw is what the meter showed: RH without the meter's offset.
func (r Reading) raw() wood.Measure {
	m := r.RH
	m.Value = m.Value.Sub(r.Offset)
	return m
}

// Check notes by field what cannot be: air outside 0 to 100 % as the meter
// showed it, or written as a fraction; a weight outside 50 to 20000 g.
func (r Reading) Check(f domain.Fields) {
	rh := r.raw()
	if rh.Is() && rh.Value.Sign() > 0 && rh.Value.LessThan(decimal.NewFromInt(1)) {
		percent := rh.Value.Shift(2).Round(1).String()
		f.Add("rh", "is in %%: write %s for %s %%", percent, percent)
	}
	within(f, "rh", rh, 0, 100, "%")
	within(f, "air", r.Air, -30, 50, "°C")
	within(f, "gap", r.Gap, 0, 20, "mm")
	within(f, "arch", r.Arch, -20, 20, "mm")
	within(f, "weight", r.Weight, 50, 20000, "g")
}

// same reports whether two readings say the same.
func (r Reading) same(o Reading) bool {
	if r.Meter != o.Meter || r.Note != o.Note {
		return false
	}
	for _, p := range [][2]wood.Measure{{r.RH, o.RH}, {r.Air, o.Air}, {r.Gap, o.Gap}, {r.Arch, o.Arch}, {r.Weight, o.Weight}} {
		if p[0].Is() != p[1].Is() || !p[0].Value.Equal(p[1].Value) {
			return false
		}
	}
	return true
}

// ReplacedBy returns the row that puts a reading right or takes it back, nil
// while it stands.
func (h *Hold) ReplacedBy(id domain.ReadingID) *Reading {
	for i := range h.Readings {
		if id != 0 && h.Readings[i].Replaces == id {
			return &h.Readings[i]
		}
	}
	return nil
}

// Standing returns the readings that count, oldest first: those that no later
// row replaced, without the rows that only take one back.
func (h *Hold) Standing() []Reading {
	if !slices.ContainsFunc(h.Readings, func(r Reading) bool { return r.Replaces != 0 }) {
		return h.Readings
	}
	out := make([]Reading, 0, len(h.Readings))
	for _, r := range h.Readings {
		if !r.Withdrawn() && h.ReplacedBy(r.ID) == nil {
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(a, b Reading) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// Reading returns a reading of a running hold that stands and may be corrected.
func (j *Job) Reading(id domain.HoldID, reading domain.ReadingID) (*Reading, error) {
	h, err := j.hold(id)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(h.Readings, func(r Reading) bool { return r.ID == reading })
	switch {
	case i < 0 || reading == 0:
		return nil, domain.NotFoundf("hold %d has no reading %d", id, reading)
	case h.Readings[i].Withdrawn():
		return nil, domain.Conflictf("this row takes a reading back; note a new reading instead")
	case h.ReplacedBy(reading) != nil:
		return nil, domain.Conflictf("this reading was corrected before; correct the newer one")
	}
	return &h.Readings[i], nil
}

// CorrectReading puts the reading that r.Replaces names right, or takes it back
// when r has no value. r.Note is the reason, which is needed. The old row stays;
// the new one counts in its place and for its moment.
func (j *Job) CorrectReading(id domain.HoldID, r Reading) error {
	old, err := j.Reading(id, r.Replaces)
	if err != nil {
		return err
	}
	f := domain.Fields{}
	r.Check(f)
	r.Note = domain.Line(f, "note", r.Note, 300, true)
	if err := f.Err(); err != nil {
		return err
	}
	r.ID, r.At = 0, old.At
	h, err := j.hold(id)
	if err != nil {
		return err
	}
	h.Readings = append(h.Readings, r)
	return nil
}
