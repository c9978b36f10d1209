package job

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
)

// held is a job whose hold 5 runs with three readings, 11 to 13.
func held(t *testing.T) *Job {
	t.Helper()
	j := approved()
	must(t, j.StartHold(1, "place 1", runa, start))
	j.Holds[0].ID = 5
	for i, gap := range []string{"0.4", "3", "0.3"} { // 3 was meant to be 0.35
		must(t, j.NoteReading(5, Reading{At: start.Add(time.Duration(i) * 24 * time.Hour), Gap: mm(t, gap), By: "Runa"}))
		j.Holds[0].Readings[i].ID = domain.ReadingID(11 + i)
	}
	return j
}

func TestAReadingIsPutRightByALaterRow(t *testing.T) {
	j := held(t)
	refused(t, j.CorrectReading(5, Reading{Replaces: 12, Gap: mm(t, "0.35")}), domain.Invalid, "needed")
	refused(t, j.CorrectReading(5, Reading{Replaces: 99, Note: "slip"}), domain.NotFound, "no reading 99")
	refused(t, j.CorrectReading(5, Reading{Note: "slip"}), domain.NotFound, "no reading 0")
	refused(t, j.CorrectReading(5, Reading{Replaces: 12, Note: "slip", Gap: mm(t, "35")}), domain.Invalid, "from 0 to 20 mm")
	must(t, j.CorrectReading(5, Reading{Replaces: 12, Note: "a point too far", Gap: mm(t, "0.35"), By: "Tove"}))
	h := &j.Holds[0]
	h.Readings[3].ID = 14
	var gaps []string
	for _, r := range h.Standing() {
		gaps = append(gaps, r.Gap.Value.String())
	}
	if got := strings.Join(gaps, " "); got != "0.4 0.35 0.3" || len(h.Readings) != 4 {
		t.Errorf("standing %s of %d rows, want 0.4 0.35 0.3 of 4, at the moment of the old one", got, len(h.Readings))
	}
	if got := ReadingsOf(*h); len(got) != 3 || *got[1].Gap != 0.35 {
		t.Errorf("judged by %d readings, want the three that stand", len(got))
	}
	if by := h.ReplacedBy(12); by == nil || by.Note != "a point too far" {
		t.Errorf("reading 12 is replaced by %v", by)
	}
	refused(t, j.CorrectReading(5, Reading{Replaces: 12, Note: "again"}), domain.Conflict, "corrected before")
	must(t, j.CorrectReading(5, Reading{Replaces: 14, Note: "not sure at all"}))
	h.Readings[4].ID = 15
	if n := len(h.Standing()); n != 2 {
		t.Errorf("%d readings stand after one was taken back, want 2", n)
	}
	refused(t, j.CorrectReading(5, Reading{Replaces: 15, Note: "after all", Gap: mm(t, "0.3")}), domain.Conflict, "takes a reading back")
	must(t, j.EndHold(5, Release{Reason: TakenBack}, runa, start.Add(99*time.Hour)))
	refused(t, j.CorrectReading(5, Reading{Replaces: 11, Note: "late"}), domain.Conflict, "ended before")
}

func TestWhatIsRefusedAtEntry(t *testing.T) {
	j := held(t)
	at := start.Add(80 * time.Hour)
	refused(t, j.NoteReading(5, Reading{At: at, RH: pc("0.47")}), domain.Invalid, "write 47 for 47 %")
	// 0.47 with an offset of -2 is kept as -1.53: what the meter showed counts.
	low := pc("0.47")
	low.Value, low.Typed = low.Value.Sub(decimal.NewFromInt(2)), "0.47"
	refused(t, j.NoteReading(5, Reading{At: at, RH: low, Offset: decimal.NewFromInt(-2)}), domain.Invalid, "write 47")
	over := pc("99")
	over.Value = over.Value.Add(decimal.NewFromInt(3)) // shown 99 %, an offset of 3
	must(t, j.NoteReading(5, Reading{At: at, RH: over, Offset: decimal.NewFromInt(3)}))
	must(t, j.NoteReading(5, Reading{At: at.Add(time.Hour), RH: pc("46"), Gap: mm(t, "0.2")}))
	refused(t, j.NoteReading(5, Reading{At: at.Add(time.Hour + 50*time.Second), RH: pc("46.0 %"), Gap: mm(t, "0.2 mm")}), domain.Conflict, "a moment ago")
	must(t, j.NoteReading(5, Reading{At: at.Add(time.Hour + 50*time.Second), RH: pc("46"), Gap: mm(t, "0.25")}))
	must(t, j.NoteReading(5, Reading{At: at.Add(time.Hour + 60*time.Second), RH: pc("46"), Gap: mm(t, "0.2")}))
}
