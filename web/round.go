package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/hold"
	"winterbench/domain/job"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

// sessionMeter is the meter last chosen, as text.
const sessionMeter = "meter"

// RoundPage asks for the readings of every running hold at once.
type RoundPage struct {
	Page
	Meter   Field
	Wrong   []Problem // what is wrong, by place
	Rows    []RoundRow
	Nothing Empty
}

// RoundRow is one hold of the round.
type RoundRow struct {
	At      string // names of its fields begin with it: rows[12].
	Place   string
	Tag     string
	Href    string
	When    string
	Verdict string
	Stop    bool
	Fields  []Field // crack, air, weight
	Key     string  // its own, so that a row that is kept is kept once
	Error   string  // about the row as a whole
	Kept    bool    // its reading has just been noted
}

// roundSeries are what is read on a round.
var roundSeries = []struct {
	name, label string
	unit        wood.Unit
	of          func(workshop.HeldRow) wood.Measure
}{
	{"gap", "Crack", wood.Millimetre, func(r workshop.HeldRow) wood.Measure { return r.Gap }},
	{"rh", "Air", wood.Percent, func(r workshop.HeldRow) wood.Measure { return r.RH }},
	{"weight", "Weight", wood.Gram, func(r workshop.HeldRow) wood.Measure { return r.Weight }},
}

func (s *Server) round(c *gin.Context) { s.showRound(c, http.StatusOK, nil, nil) }

// showRound asks for the readings. errs tells what is wrong with rows that came
// back, kept which rows are noted.
func (s *Server) showRound(c *gin.Context, status int, errs domain.Fields, kept map[domain.HoldID]bool) {
	ctx := c.Request.Context()
	if err := workshop.May(actor(c), workshop.ActHold); err != nil {
		s.fail(c, err)
		return
	}
	cab, err := workshop.ReadCabinet(ctx, s.Read, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	meters, err := s.Read.Meters(ctx)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := &RoundPage{Page: s.frame(c, "Round of the cabinet", domain.Bench), Nothing: Empty{Text: "Nothing stands in the cabinet."}}
	p.Answer, p.Errors = roundAnswer(len(cab.Held), len(kept), len(errs)), errs
	var holds []job.Hold
	for _, r := range cab.Held {
		holds = append(holds, r.Record)
	}
	p.Meter = meterField(meters, s.roundMeter(c, holds...), s.now()).Marked(errs)
	slices.SortStableFunc(cab.Held, func(a, b workshop.HeldRow) int { return placeOrder(cab, a) - placeOrder(cab, b) })
	for _, r := range cab.Held {
		row := s.roundRow(c, r, cab.Shop, errs)
		if row.Kept = kept[r.Hold]; row.Kept {
			row.Key = NewKey()
			for i := range row.Fields {
				row.Fields[i].Value = ""
			}
		}
		p.Rows = append(p.Rows, row)
		p.Wrong = append(p.Wrong, rowProblems(row)...)
	}
	if text := errs["meter"]; text != "" {
		p.Wrong = append(p.Wrong, Problem{Href: "#" + p.Meter.ID(), Label: "Meter", Text: text})
	}
	s.page(c, status, "cabinet/round", p)
}

// placeOrder is where a hold stands in the cabinet: a round goes from place to
// place, whatever is urgent.
func placeOrder(cab *workshop.Cabinet, r workshop.HeldRow) int {
	return slices.IndexFunc(cab.Places, func(p workshop.PlaceRow) bool { return p.Place == r.Place })
}

func roundAnswer(holds, kept, wrong int) string {
	switch {
	case wrong > 0 && kept > 0:
		return fmt.Sprintf("%s noted. What is marked below was not.", Plural(kept, "reading is", "readings are"))
	case wrong > 0:
		return "Nothing was noted yet: see what is marked below."
	}
	return fmt.Sprintf("%s in the cabinet. Fill in what you read, leave the rest empty.", Plural(holds, "hold is", "holds are"))
}

func (s *Server) roundRow(c *gin.Context, r workshop.HeldRow, shop *workshop.Shop, errs domain.Fields) RoundRow {
	at := fmt.Sprintf("rows[%d].", r.Hold)
	row := RoundRow{
		At: at, Place: r.Place, Tag: fmt.Sprintf("tag %d", r.Tag), Href: holdPath(r.Job, r.Hold), When: fmt.Sprintf("day %d", domain.WholeDays(r.Start, s.now())),
		Verdict: capital(workshop.Verdict(r.Says, r.Readings, s.now(), shop)) + ".", Stop: r.Stop() != "", Key: form(c, at+"key"), Error: errs[at+"row"],
	}
	switch {
	case row.Stop:
		row.Verdict = r.Stop()
	case r.Readings > 0 && r.Says.Verdict == hold.StillDrinking:
		row.Verdict = "" // nothing to do but to read it
	}
	if row.Key == "" {
		row.Key = NewKey()
	}
	for _, q := range roundSeries {
		f := Field{Kind: "text", Name: at + q.name, Label: q.label, Value: form(c, at+q.name), Unit: UnitWord(q.unit), Keys: "decimal", Max: 24}.Marked(errs)
		if last := q.of(r); last.Is() {
			f.Help = "was " + last.Rounded().String()
		}
		row.Fields = append(row.Fields, f)
	}
	return row
}

// rowProblems lists what is wrong with a row, by its place.
func rowProblems(row RoundRow) []Problem {
	var out []Problem
	if row.Error != "" {
		out = append(out, Problem{Href: "#" + row.Fields[0].ID(), Label: capital(row.Place), Text: row.Error})
	}
	for _, f := range row.Fields {
		if f.Error != "" {
			out = append(out, Problem{Href: "#" + f.ID(), Label: capital(row.Place) + ", " + f.Label, Text: f.Error})
		}
	}
	return out
}

// keepRound notes every row with something in it. Each row is a use case of its
// own with its own key: good rows are kept whatever is wrong with others.
func (s *Server) keepRound(c *gin.Context) {
	ctx := c.Request.Context()
	before, err := workshop.ReadCabinet(ctx, s.Read, s.now())
	if err != nil {
		s.fail(c, err)
		return
	}
	errs, kept := domain.Fields{}, map[domain.HoldID]bool{}
	meter := meterIn(errs, c)
	if len(errs) == 0 {
		s.Sessions.Put(ctx, sessionMeter, form(c, "meter"))
	}
	for _, r := range before.Held {
		if len(errs) > 0 && errs["meter"] != "" {
			break
		}
		if s.keepRow(c, r.HoldRow, meter, errs) {
			kept[r.Hold] = true
		}
	}
	switch {
	case len(errs) > 0:
		s.showRound(c, http.StatusUnprocessableEntity, errs, kept)
	case len(kept) == 0:
		errs.Add("meter", "nothing is filled in: note at least one reading")
		s.showRound(c, http.StatusUnprocessableEntity, errs, kept)
	default:
		s.sayRound(c, before, len(kept))
		Go(c, "/cabinet")
	}
}

// sayRound says how many readings were noted and what they changed.
func (s *Server) sayRound(c *gin.Context, before *workshop.Cabinet, kept int) {
	text := Plural(kept, "reading is", "readings are") + " noted."
	after, err := workshop.ReadCabinet(c.Request.Context(), s.Read, s.now())
	if err != nil {
		slog.WarnContext(c.Request.Context(), "cabinet after a round", "error", err) // the cabinet's page says it
	} else {
		text += " " + workshop.Turned(before, after, s.now())
	}
	s.say(c, text)
}

// keepRow notes the reading of one row, false when the row is empty or wrong.
func (s *Server) keepRow(c *gin.Context, r workshop.HoldRow, meter domain.MeterID, errs domain.Fields) bool {
	at := fmt.Sprintf("rows[%d].", r.Hold)
	f, typed, sent := domain.Fields{}, map[string]wood.Measure{}, form(c, "meter")
	for _, q := range roundSeries {
		text := form(c, at+q.name)
		m, err := wood.ParseMeasure(text, q.unit)
		f.AddErr(q.name, err)
		typed[q.name] = m
		sent += "|" + text
	}
	if sent == form(c, "meter")+"|||" {
		return false
	}
	read := job.Reading{Gap: typed["gap"], RH: typed["rh"], Weight: typed["weight"], Meter: meter}
	if len(f) > 0 {
		read.Check(f) // so that a row tells all that is wrong with it at once
	} else {
		f = rowFields(s.Work.NoteReading(rowKeyed(c, form(c, at+"key"), sent), actor(c), r.Job, r.Hold, read))
	}
	for name, text := range f {
		errs.Add(at+name, "%s", text)
	}
	return len(f) == 0
}

// rowKeyed is the request's context with the key of one row.
func rowKeyed(c *gin.Context, key, sent string) context.Context {
	sum := sha256.Sum256([]byte(c.Request.URL.Path + "?" + sent))
	return workshop.WithKey(c.Request.Context(), key, hex.EncodeToString(sum[:]))
}

// rowFields says what is wrong with a row, by the names of its fields; what
// concerns none of them stands under row.
func rowFields(err error) domain.Fields {
	out := domain.Fields{}
	if err == nil {
		return out
	}
	var row []string
	for name, text := range fieldErrors(err) {
		if !slices.ContainsFunc(roundSeries, func(q struct {
			name, label string
			unit        wood.Unit
			of          func(workshop.HeldRow) wood.Measure
		}) bool {
			return q.name == name
		}) {
			row = append(row, text)
			continue
		}
		out.Add(name, "%s", text)
	}
	if len(row) > 0 {
		slices.Sort(row)
		out.Add("row", "%s", strings.Join(row, "; "))
	}
	if len(out) == 0 {
		out.Add("row", "%s", "could not be noted; try again")
	}
	return out
}

// roundMeter is the meter on the form, else the one that was chosen last, else
// the one that read the holds last.
func (s *Server) roundMeter(c *gin.Context, holds ...job.Hold) string {
	if _, sent := c.GetPostForm("meter"); sent {
		return form(c, "meter")
	}
	if last := s.Sessions.GetString(c.Request.Context(), sessionMeter); last != "" {
		return last
	}
	var last job.Reading
	for _, h := range holds {
		for _, r := range h.Standing() {
			if r.Meter != 0 && r.Trusted && r.At.After(last.At) {
				last = r
			}
		}
	}
	if last.Meter == 0 {
		return ""
	}
	return strconv.FormatInt(int64(last.Meter), 10)
}

// meterField asks which meter read the air. Those that are not to be trusted
// say why.
func meterField(meters []air.Meter, chosen string, now time.Time) Field {
	options := []Option{{Value: "", Label: "no meter: the air is not trusted"}}
	for _, m := range meters {
		if !m.Retired.IsZero() && !now.Before(m.Retired) {
			continue
		}
		o := Option{Value: strconv.FormatInt(int64(m.ID), 10), Label: m.Name}
		if m.Doubt(now) != "" {
			o.Label += " (not trusted)"
		}
		options = append(options, o)
	}
	if chosen == "" && len(options) > 1 {
		chosen = firstTrusted(meters, now)
	}
	return ChoiceField("meter", "Meter of the air", chosen, options).Middle()
}

// firstTrusted is the first meter within its calibration, "" for none.
func firstTrusted(meters []air.Meter, now time.Time) string {
	for _, m := range meters {
		if m.Doubt(now) == "" {
			return strconv.FormatInt(int64(m.ID), 10)
		}
	}
	return ""
}

// meterIn reads the chosen meter, 0 for none.
func meterIn(f domain.Fields, c *gin.Context) domain.MeterID {
	typed := form(c, "meter")
	if typed == "" {
		return 0
	}
	n, err := strconv.ParseInt(typed, 10, 64)
	if err != nil || n < 1 {
		f.Add("meter", "is not a meter of the shop; choose one of the list")
		return 0
	}
	return domain.MeterID(n)
}
