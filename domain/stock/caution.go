package stock

import (
	"winterbench/domain"
)

// Caution is a warning about a part, for whoever takes it in hand.
type Caution struct {
	Text string
	Stop bool // do not use it before somebody has looked
}

// Cautions warns of what is protected and of what is past its date on a day. That
// joints fail with glue past its date, and that some woods and bones need papers, is
// common practice, no source; which papers is for the law of the place.
func (p *Part) Cautions(today domain.Date) []Caution {
	var out []Caution
	if p.ExpiresOn != "" && p.ExpiresOn < today {
		out = append(out, Caution{Stop: true, Text: p.Name + " was good until " + string(p.ExpiresOn) +
			": do not trust a joint to it. Follow the maker's sheet, and dispose of it as the place's rules for waste say."})
	}
	if p.Protected {
		text := p.Species + " may be protected: selling it, or taking it across a border, can need papers. Which ones is for the law of the place and its authority, not for this page."
		if p.Papers == "" {
			out = append(out, Caution{Stop: true, Text: text + " No certificate is noted for it: find that first."})
		} else {
			out = append(out, Caution{Text: text + " Noted: " + p.Papers + "."})
		}
	}
	return out
}
