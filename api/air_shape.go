package api

import (
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
	"winterbench/domain/workshop"
)

type (
	placeKindWords struct{}
	sourceWords    struct{}
	saltWords      struct{}
	alarmWords     struct{}
)

func (placeKindWords) list() []string { return texts(air.Kinds()) }
func (sourceWords) list() []string    { return texts([]air.Source{air.Hand, air.Logger}) }
func (saltWords) list() []string      { return air.SaltNames() }
func (alarmWords) list() []string {
	return []string{air.OutOfBand, air.TooDry, air.TooMoist, air.StopNow, air.NoReading, air.Stuck, air.MetersApart, air.MeterDoubt}
}

// airRules are a place's band and alarms.
type airRules struct {
	Target      string `json:"target" doc:"% RH aimed at; 0 for none"`
	Low         string `json:"low" doc:"Lower edge of the band, % RH"`
	High        string `json:"high" doc:"Upper edge of the band, % RH; 0: no band"`
	OutHours    int    `json:"out_hours" doc:"An alarm after so many hours outside the band; two readings running are one too; 0: only those"`
	LowAtOnce   string `json:"low_at_once" doc:"An alarm at once below this; 0: off"`
	HighAtOnce  string `json:"high_at_once" doc:"An alarm at once above this; 0: off"`
	Stop        string `json:"stop" doc:"Above this everything stops; 0: off"`
	SilentHours int    `json:"silent_hours" doc:"An alarm after so many hours without a reading; 0: off"`
	StuckAfter  int    `json:"stuck_after" doc:"An alarm when one meter shows one value so often running, at least an hour apart; 0: off"`
	Apart       string `json:"apart" doc:"An alarm when two meters here lie further apart, % RH; 0: off"`
}

func rulesOf(r air.Rules) airRules {
	return airRules{
		Target: r.Target.String(), Low: r.Low.String(), High: r.High.String(), OutHours: r.OutHours, LowAtOnce: r.LowAtOnce.String(),
		HighAtOnce: r.HighAtOnce.String(), Stop: r.Stop.String(), SilentHours: r.SilentHours, StuckAfter: r.StuckAfter, Apart: r.Apart.String(),
	}
}

func (r airRules) domain(f domain.Fields) air.Rules {
	in := func(field, typed string) decimal.Decimal { return decimalIn(f, "rules."+field, typed) }
	return air.Rules{
		Target: in("target", r.Target), Low: in("low", r.Low), High: in("high", r.High), OutHours: r.OutHours, LowAtOnce: in("low_at_once", r.LowAtOnce),
		HighAtOnce: in("high_at_once", r.HighAtOnce), Stop: in("stop", r.Stop), SilentHours: r.SilentHours, StuckAfter: r.StuckAfter, Apart: in("apart", r.Apart),
	}
}

// airPlaceDoc is where the shop knows its air.
type airPlaceDoc struct {
	ID      int64                `json:"id"`
	Version int                  `json:"version" doc:"Grows with each change"`
	Name    string               `json:"name"`
	Kind    word[placeKindWords] `json:"kind"`
	Rules   airRules             `json:"rules"`
	Retired *time.Time           `json:"retired" doc:"No longer read since"`
}

func airPlaceOf(p air.Place) airPlaceDoc {
	return airPlaceDoc{ID: int64(p.ID), Version: p.Version, Name: p.Name, Kind: word[placeKindWords](p.Kind), Rules: rulesOf(p.Rules), Retired: moment(p.Retired)}
}

type airPlaceNote struct {
	Name    string               `json:"name"`
	Kind    word[placeKindWords] `json:"kind"`
	Rules   *airRules            `json:"rules,omitempty" doc:"Left out: the usual ones of the kind"`
	Retired bool                 `json:"retired,omitempty" doc:"No longer read"`
}

// meterDoc is a meter of humidity.
type meterDoc struct {
	ID           int64            `json:"id"`
	Version      int              `json:"version" doc:"Grows with each change"`
	Name         string           `json:"name"`
	Place        *int64           `json:"place" doc:"Where it usually lies; null when it travels"`
	Note         string           `json:"note"`
	Retired      *time.Time       `json:"retired" doc:"No longer in use since"`
	Trusted      bool             `json:"trusted" doc:"It is within its calibration now"`
	Doubt        string           `json:"doubt" doc:"Why it is not trusted; empty when it is"`
	Due          *string          `json:"due" doc:"Day of the next calibration; null before the first"`
	Calibrations []calibrationDoc `json:"calibrations" doc:"Oldest first; never changed"`
}

type calibrationDoc struct {
	ID     int64           `json:"id"`
	At     time.Time       `json:"at"`
	By     string          `json:"by"`
	Points []saltPointsDoc `json:"points"`
	Due    string          `json:"due"`
	Note   string          `json:"note"`
	Wrong  string          `json:"before_was_wrong" doc:"Why the check before this one, which it replaces, was wrong; empty when that stands"`
}

type saltPointsDoc struct {
	Salt    string `json:"salt"`
	Celsius string `json:"celsius"`
	Hours   string `json:"hours" doc:"It lay over the salt"`
	True    string `json:"true" doc:"% RH over the salt at that temperature"`
	Read    string `json:"read" doc:"% RH that the meter showed"`
	Offset  string `json:"offset" doc:"What is added to what it shows"`
}

// meterOf shows a meter as it stands at a moment in the shop's zone.
func meterOf(m air.Meter, now time.Time) meterDoc {
	doubt := m.Doubt(now)
	return meterDoc{
		ID: int64(m.ID), Version: m.Version, Name: m.Name, Place: identity(m.Place), Note: m.Note, Retired: moment(m.Retired), Trusted: doubt == "", Doubt: doubt,
		Due: civil(m.DueOn(now)), Calibrations: each(m.Calibrations, calibrationOf),
	}
}

func calibrationOf(c air.Calibration) calibrationDoc {
	return calibrationDoc{
		ID: c.ID, At: c.At.UTC(), By: c.By, Due: string(c.Due), Note: c.Note, Wrong: c.Wrong,
		Points: each(c.Points, func(p air.Point) saltPointsDoc {
			return saltPointsDoc{
				Salt: p.Salt, Celsius: p.Celsius.String(), Hours: p.Hours.String(), True: p.True.String(), Read: p.Read.String(), Offset: p.Offset().String(),
			}
		}),
	}
}

type meterNote struct {
	Name    string `json:"name"`
	Place   int64  `json:"place,omitempty" minimum:"0" doc:"Where it usually lies; left out when it travels"`
	Note    string `json:"note,omitempty"`
	Retired bool   `json:"retired,omitempty" doc:"No longer in use"`
}

type calibrationNote struct {
	At     *time.Time      `json:"at,omitempty" doc:"When it was read; left out for now"`
	Points []saltPointNote `json:"points" minItems:"1" maxItems:"2" doc:"One or two salts"`
	Due    string          `json:"due,omitempty" doc:"Day of the next check; left out: in a month in the season from October to April, else at the end of September"`
	Note   string          `json:"note,omitempty" doc:"Needed for another salt: its name and where its humidity is printed"`
	Wrong  string          `json:"wrong,omitempty" doc:"The last check was wrong: the reason; this one then replaces it"`
	Sure   bool            `json:"sure,omitempty" doc:"The meter really shows a value more than 10 % from that of the salt"`
}

type saltPointNote struct {
	Salt    word[saltWords] `json:"salt"`
	Celsius string          `json:"celsius" doc:"Temperature of the closed box, such as 20.5 C or 69 F"`
	Hours   string          `json:"hours" doc:"It lay over the salt, at least 8"`
	Read    string          `json:"read" doc:"What the meter showed, such as 73 %"`
	True    string          `json:"true,omitempty" doc:"Humidity over another salt; for known salts it is computed"`
}

func (n calibrationNote) domain(m domain.MeterID) (air.Calibration, error) {
	f := domain.Fields{}
	out := air.Calibration{Meter: m, Due: dateIn(f, "due", n.Due), Note: n.Note, Wrong: n.Wrong, Sure: n.Sure}
	if n.At != nil {
		out.At = *n.At
	}
	for i, p := range n.Points {
		at := "points[" + string(rune('0'+i%10)) + "]."
		out.Points = append(out.Points, air.Point{
			Salt: string(p.Salt), Celsius: needed(f, at+"celsius", p.Celsius, wood.Celsius), Hours: decimalIn(f, at+"hours", p.Hours),
			Read: needed(f, at+"read", p.Read, wood.Percent), True: decimalIn(f, at+"true", p.True),
		})
	}
	return out, f.Err()
}

// needed reads a measure that must be there.
func needed(f domain.Fields, field, typed string, unit wood.Unit) decimal.Decimal {
	m := measureIn(f, field, typed, unit)
	if !m.Is() {
		f.Add(field, "is needed")
	}
	return m.Value
}

// airReadingDoc is the air of a place at one moment.
type airReadingDoc struct {
	ID       int64             `json:"id"`
	Place    int64             `json:"place"`
	Meter    *int64            `json:"meter" doc:"Null when nobody said which"`
	At       time.Time         `json:"at"`
	Read     string            `json:"read" doc:"% RH as the meter showed it"`
	RH       string            `json:"rh" doc:"% RH, put right by the calibration of that day"`
	Celsius  *string           `json:"celsius" doc:"Null when not read"`
	Trusted  bool              `json:"trusted" doc:"The meter was within its calibration"`
	Source   word[sourceWords] `json:"source"`
	Note     string            `json:"note"`
	Replaces *int64            `json:"replaces" doc:"The reading that this one corrects"`
	Noted    time.Time         `json:"noted"`
	By       string            `json:"by"`
}

func airReadingOf(r air.Reading) airReadingDoc {
	out := airReadingDoc{
		ID: int64(r.ID), Place: int64(r.Place), Meter: identity(r.Meter), At: r.At.UTC(), Read: r.Raw.String(), RH: r.RH.String(), Trusted: r.Trusted,
		Source: word[sourceWords](r.Source), Note: r.Note, Replaces: identity(r.Replaces), Noted: r.Noted.UTC(), By: r.By,
	}
	if r.Celsius != nil {
		text := r.Celsius.String()
		out.Celsius = &text
	}
	return out
}

type airReadingNote struct {
	RH      string     `json:"rh" doc:"As the meter shows it, such as 42 %"`
	Celsius string     `json:"celsius,omitempty" doc:"Temperature, such as 20.5 C or 69 F"`
	Meter   int64      `json:"meter,omitempty" minimum:"0" doc:"The meter that was read; without it the reading is not trusted"`
	At      *time.Time `json:"at,omitempty" doc:"When it was read; left out for now"`
	Note    string     `json:"note,omitempty"`
}

type airCorrectionNote struct {
	RH      string `json:"rh" doc:"As the meter showed it, such as 42 %"`
	Celsius string `json:"celsius,omitempty" doc:"Temperature, such as 20.5 C or 69 F"`
	Meter   int64  `json:"meter,omitempty" minimum:"0" doc:"The meter that was read"`
	Reason  string `json:"reason"`
}

// airReadingIn reads the values of a reading.
func airReadingIn(rh, celsius string, meter int64) (air.Reading, error) {
	f := domain.Fields{}
	r := air.Reading{Raw: needed(f, "rh", rh, wood.Percent), Meter: domain.MeterID(meter)}
	if c := measureIn(f, "celsius", celsius, wood.Celsius); c.Is() {
		r.Celsius = &c.Value
	}
	return r, f.Err()
}

// alarmDoc is something about the air that somebody must see to.
type alarmDoc struct {
	Place  *int64           `json:"place" doc:"Null for a meter that travels"`
	Meter  *int64           `json:"meter" doc:"For what concerns one meter"`
	Kind   word[alarmWords] `json:"kind"`
	Key    string           `json:"key" doc:"By which it is answered"`
	Since  *time.Time       `json:"since" doc:"Null when it was never otherwise: then it ends by a reading or a calibration"`
	Text   string           `json:"text"`
	Stop   bool             `json:"stop" doc:"Stop work and open the place now"`
	Answer *alarmAnswerDoc  `json:"answer,omitempty" doc:"What was done about it; left out for nothing yet"`
}

type alarmAnswerDoc struct {
	Action string    `json:"action"`
	At     time.Time `json:"at"`
	By     string    `json:"by"`
}

func alarmOf(a air.Alarm) alarmDoc {
	out := alarmDoc{
		Place: identity(a.Place), Meter: identity(a.Meter), Kind: word[alarmWords](a.Kind), Key: a.Key(), Since: moment(a.Since), Text: a.Text, Stop: a.Stop,
	}
	if n := a.Answered; n != nil {
		out.Answer = &alarmAnswerDoc{Action: n.Action, At: n.At.UTC(), By: n.By}
	}
	return out
}

type alarmAnswerNote struct {
	Alarm  string    `json:"alarm" doc:"The key of the alarm"`
	Since  time.Time `json:"since" doc:"As the alarm told it"`
	Action string    `json:"action" doc:"What was done"`
}

// airDoc is the shop's own air now.
type airDoc struct {
	Answer string        `json:"answer"`
	Places []placeNowDoc `json:"places" doc:"Those in use, by name"`
	Alarms []alarmDoc    `json:"alarms" doc:"Of all places, then of the travelling meters"`
}

type placeNowDoc struct {
	Place airPlaceDoc    `json:"place"`
	Last  *airReadingDoc `json:"last,omitempty" doc:"The newest reading; left out when it was never read"`
}

func airOf(n *workshop.AirNow) airDoc {
	return airDoc{Answer: n.Answer, Alarms: each(n.Alarms, alarmOf), Places: each(n.Places, func(p workshop.PlaceNow) placeNowDoc {
		out := placeNowDoc{Place: airPlaceOf(p.Place)}
		if p.Last != nil {
			last := airReadingOf(*p.Last)
			out.Last = &last
		}
		return out
	})}
}

// importDoc is what came, or would come, of a logger's file.
type importDoc struct {
	Taken   int             `json:"taken" doc:"New readings"`
	There   int             `json:"there" doc:"Left out: noted before, or twice in the file"`
	Wrong   int             `json:"wrong" doc:"Lines that could not be taken"`
	Errors  []lineErrorDoc  `json:"lines" doc:"The first 100 of those"`
	Columns string          `json:"columns" doc:"How the file was read"`
	From    *time.Time      `json:"from" doc:"First reading of the file"`
	To      *time.Time      `json:"to" doc:"Last reading of the file"`
	Low     string          `json:"low" doc:"Lowest humidity of the file, put right"`
	High    string          `json:"high" doc:"Highest humidity of the file, put right"`
	Doubted int             `json:"doubted" doc:"Readings whose meter was not within its calibration then"`
	Doubt   string          `json:"doubt" doc:"Why not; empty when all are trusted"`
	Sample  []airReadingDoc `json:"sample" doc:"The first ten readings of the file, without identities"`
}

type lineErrorDoc struct {
	Line int    `json:"line" doc:"From 1"`
	Text string `json:"text"`
}

func importOf(n *workshop.AirImport) importDoc {
	return importDoc{
		Taken: n.Taken, There: n.There, Wrong: n.Wrong, Columns: n.Columns, From: moment(n.From), To: moment(n.To), Low: n.Low.String(), High: n.High.String(),
		Doubted: n.Doubted, Doubt: n.Doubt, Sample: each(n.Sample, airReadingOf),
		Errors: each(n.Errors, func(e air.LineError) lineErrorDoc { return lineErrorDoc(e) }),
	}
}
