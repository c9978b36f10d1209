package demo

import (
	"math"
	"math/rand/v2"
	"time"

	"github.com/shopspring/decimal"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/wood"
)

// climate is the weather of a cold place and what the shop makes of it. It is
// invented: a yearly and a daily wave with spells of cold and thaw.
type climate struct {
	zone   *time.Location
	first  time.Time
	spells []float64 // by day: °C away from the season
	r      *rand.Rand
	from   time.Time // since then the humidifier is empty and the door stands open
}

func newClimate(seed uint64, zone *time.Location, first, end, from time.Time) *climate {
	c := &climate{zone: zone, first: first, r: rand.New(rand.NewPCG(seed, 0xa1)), from: from}
	away := 0.0
	for range int(end.Sub(first).Hours()/24) + 3 {
		away = 0.75*away + 3.2*c.r.NormFloat64()
		c.spells = append(c.spells, away)
	}
	return c
}

// outdoors is the temperature in °C at a moment; mean leaves the daily wave out.
func (c *climate) outdoors(t time.Time) (now, mean float64) {
	local := t.In(c.zone)
	age := t.Sub(c.first).Hours() / 24
	i := min(max(int(age), 0), len(c.spells)-2)
	part := min(max(age-float64(i), 0), 1)
	mean = 6 - 15.5*math.Cos(2*math.Pi*float64(local.YearDay()-18)/365.25)
	mean += c.spells[i]*(1-part) + c.spells[i+1]*part
	return mean + 3*math.Sin(2*math.Pi*(float64(local.Hour())-9)/24), mean
}

// room is the humidity of a heated room in %: what the outdoor air gives when it
// is warmed, what people add, and what the humidifier or dehumidifier can do.
func (c *climate) room(t time.Time, helps, dip float64) float64 {
	_, mean := c.outdoors(t)
	rh := wood.HeatedIndoor(mean, 78, 21) + 7
	switch {
	case rh < 44:
		rh = min(rh+helps, 44)
	case rh > 49:
		rh = max(rh-38, 49)
	}
	rh += 1.3*math.Sin(2*math.Pi*(float64(t.Hour())-14)/24) + 0.7*math.Sin(float64(t.Unix())/1.9e5)
	if !t.Before(c.from) {
		rh = dip
	}
	return rh
}

// airSpot is a place with the meter that lies there and what its air does.
type airSpot struct {
	place  domain.AirPlaceID
	dial   domain.MeterID // read by hand
	logger domain.MeterID // 0 for none
	steps  int32          // decimals of the dial
	rh     func(t time.Time) (rh, celsius float64)
	bench  bool // read by who is at the bench
}

func (s *sim) airSpots(c *climate) []airSpot {
	indoor := func(helps, dip, warm float64) func(time.Time) (float64, float64) {
		return func(t time.Time) (float64, float64) {
			return c.room(t, helps, dip) + 0.5*c.r.NormFloat64(), warm + 0.5*math.Sin(float64(t.Hour())/3.8) + 0.2*c.r.NormFloat64()
		}
	}
	outside := func(t time.Time) (float64, float64) {
		now, mean := c.outdoors(t)
		return min(max(78-2*(now-mean)+4*c.r.NormFloat64(), 45), 96), now
	}
	cabinet := func(t time.Time) (float64, float64) {
		return 47 + 1.2*math.Sin(float64(t.Unix())/4e5) + 0.5*c.r.NormFloat64(), 20.5 + 0.2*c.r.NormFloat64()
	}
	place := s.b.season.AirPlaces
	return []airSpot{
		{place: place[0].ID, dial: s.dials[0], rh: indoor(22, 37, 20)}, {place: place[1].ID, dial: s.dials[1], logger: s.dials[3], rh: indoor(26, 38.4, 20.5), bench: true},
		{place: place[2].ID, dial: s.logger, logger: s.logger, steps: 1, rh: cabinet, bench: true}, {place: place[3].ID, dial: s.dials[2], rh: outside},
	}
}

// airDays is how long before the present a logger's hours are kept, and how long
// rooms were read outside the heating season.
const (
	loggedDays = 14
	recentDays = 95
)

// keepAir writes down the air of the winters: by hand at opening and closing,
// and of the last days what the loggers noted each hour. The values are put
// right by the meters' calibrations of their day as the shop does it.
func (s *sim) keepAir() error {
	eve := s.eve()
	day, _ := s.cal.day(eve)
	c := newClimate(s.seed, s.cal.zone, s.cal.days[0].open.Add(-24*time.Hour), s.end, day.end.Add(-time.Hour))
	spots := s.airSpots(c)
	for _, d := range s.cal.days {
		month := d.open.In(s.cal.zone).Month()
		if d.open.After(s.end) || month > time.April && month < time.October && s.end.Sub(d.open) > days(recentDays) {
			continue
		}
		for _, p := range spots {
			for _, t := range []time.Time{d.open.Add(minutes(8 + c.r.IntN(15))), d.end.Add(-minutes(4 + c.r.IntN(15)))} {
				s.readAir(p, p.dial, domain.Moment(t), air.Hand)
			}
		}
	}
	hour := s.end.Truncate(time.Hour)
	for _, p := range spots {
		for n := loggedDays * 24; n >= 0 && p.logger != 0; n-- {
			s.readAir(p, p.logger, hour.Add(-time.Duration(n)*time.Hour), air.Logger)
		}
	}
	s.slip()
	s.answerAir(spots)
	return s.err
}

// readAir keeps one reading as the meter shows it and as it is put right.
func (s *sim) readAir(p airSpot, meter domain.MeterID, t time.Time, source air.Source) {
	if t.After(s.end) || s.err != nil {
		return
	}
	s.now = t
	rh, warm := p.rh(t)
	celsius := decimal.NewFromFloat(warm).Round(1)
	steps := p.steps
	if source == air.Logger {
		steps = 1
	}
	r := air.Reading{Place: p.place, Meter: meter, At: t, Raw: decimal.NewFromFloat(rh - meterReads).Round(steps), Celsius: &celsius, Source: source, Noted: t, By: s.desk().Name}
	if p.bench {
		r.By = s.techs[0].actor.Name
	}
	s.keepReading(r)
}

func (s *sim) keepReading(r air.Reading) {
	b := s.b
	for _, m := range b.season.Meters {
		if m.ID == r.Meter {
			r.RH, _, r.Trusted, _ = m.Correct(r.Raw, r.At.In(s.cal.zone))
		}
	}
	if s.must("read the air", r.Check(s.end)) {
		id(b, "air readings", &r.ID)
		b.season.AirReadings = append(b.season.AirReadings, r)
	}
}

// slip is a reading at the bench that was typed wrong and put right.
func (s *sim) slip() {
	bench := s.b.season.AirPlaces[1].ID
	for _, r := range s.b.season.AirReadings {
		if r.Place == bench && r.Source == air.Hand && s.end.Sub(r.At) < days(9) {
			typed := r
			typed.ID, typed.Raw, typed.At = 0, r.Raw.Add(decimal.NewFromInt(20)), r.At.Add(minutes(3))
			s.keepReading(typed)
			right := typed
			right.Raw, right.Noted, right.Note = r.Raw, typed.At.Add(minutes(5)), "typed a six for a four"
			right.Replaces = s.b.season.AirReadings[len(s.b.season.AirReadings)-1].ID
			s.keepReading(right)
			return
		}
	}
}

var airDeeds = []string{"filled the humidifier", "shut the door to the stairs", "second humidifier on", "filled the humidifier, asked all to keep cases shut"}

// answerAir notes what was done about dry spells that are over, and about the
// one at the bench now; the one at the counter is still open.
func (s *sim) answerAir(spots []airSpot) {
	season := s.b.season
	dry := map[domain.AirPlaceID]bool{}
	for _, r := range season.AirReadings {
		if r.Source != air.Hand || r.Place > spots[1].place {
			continue
		}
		rules := season.AirPlaces[r.Place-1].Rules
		is := r.RH.LessThan(rules.LowAtOnce)
		if is && !dry[r.Place] {
			s.answered(air.Answer{Place: r.Place, Alarm: air.TooDry, Since: r.At, At: r.At.Add(minutes(12)), By: r.By})
		}
		dry[r.Place] = is
	}
	var lately []air.Reading
	for _, r := range season.AirReadings {
		if r.Place == spots[1].place && s.end.Sub(r.At) < days(loggedDays) {
			lately = append(lately, r)
		}
	}
	for _, a := range air.Alarms(season.AirPlaces[1], lately, season.Meters, nil, s.end.In(s.cal.zone)) {
		if a.Kind == air.OutOfBand || a.Kind == air.TooDry {
			s.answered(air.Answer{Place: a.Place, Alarm: a.Key(), Since: a.Since, At: s.end.Add(-minutes(25)), By: s.techs[0].actor.Name})
		}
	}
}

func (s *sim) answered(a air.Answer) {
	if a.At.After(s.end) || a.At.Before(a.Since) {
		return
	}
	a.At = domain.Moment(a.At)
	a.Action = airDeeds[len(s.b.season.AirAnswers)%len(airDeeds)]
	a.ID = int64(len(s.b.season.AirAnswers) + 1)
	s.b.season.AirAnswers = append(s.b.season.AirAnswers, a)
}
