package api

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/air"
	"winterbench/domain/workshop"
)

// OnAirPlace names a place of air in the path.
type OnAirPlace struct {
	Place int64 `path:"place" minimum:"1" doc:"Identity of the place"`
}

// OnMeter names a meter in the path.
type OnMeter struct {
	Meter int64 `path:"meter" minimum:"1" doc:"Identity of the meter"`
}

// OnAirReading names a reading of the air in the path.
type OnAirReading struct {
	Reading int64 `path:"reading" minimum:"1" doc:"Identity of the reading"`
}

type (
	airPlaceIn       struct{ Body airPlaceNote }
	airPlaceChangeIn struct {
		OnAirPlace
		Body airPlaceNote
	}
	meterIn       struct{ Body meterNote }
	meterChangeIn struct {
		OnMeter
		Body meterNote
	}
	calibrationIn struct {
		OnMeter
		Body calibrationNote
	}
	airReadingsIn struct {
		OnAirPlace
		Paged
		From time.Time `query:"from" doc:"From this moment; left out: a week before the end"`
		To   time.Time `query:"to" doc:"Until before this moment; left out for now"`
	}
	airNoteIn struct {
		OnAirPlace
		Body airReadingNote
	}
	airCorrectionIn struct {
		OnAirReading
		Body airCorrectionNote
	}
	alarmAnswerIn struct {
		OnAirPlace
		Body alarmAnswerNote
	}
	airImportIn struct {
		OnAirPlace
		Meter   int64  `query:"meter" required:"true" minimum:"1" doc:"The logger, a meter of the shop"`
		Order   string `query:"order" enum:",day first,month first" doc:"How dates in figures are written; left out: found out, or refused when they can be read two ways"`
		DryRun  bool   `query:"dry_run" doc:"Tell what would be taken and keep nothing"`
		RawBody []byte `contentType:"text/csv"`
	}
)

func (a *API) airRoutes() {
	a.airPlaceRoutes()
	a.meterRoutes()
	a.airReadingRoutes()
}

func (a *API) airPlaceRoutes() {
	o := operation{noun: "air", act: workshop.ActRead, method: http.MethodGet, path: "/air", id: "get_air", summary: "The shop's own air now, with its alarms"}
	add(a, o, a.airNow)
	o.path, o.id, o.summary = "/air/places", "list_air_places", "Places where the air is read, by name, also the retired"
	add(a, o, func(ctx context.Context, _ *struct{}) (*many[airPlaceDoc], error) {
		all, err := a.read.AirPlaces(ctx)
		return whole("", each(all, airPlaceOf)), err
	})
	o.path, o.id, o.summary = "/air/places/{place}", "get_air_place", "One place where the air is read"
	add(a, o, func(ctx context.Context, in *OnAirPlace) (*one[airPlaceDoc], error) {
		return a.airPlace(ctx, domain.AirPlaceID(in.Place), false)
	})
	o = operation{noun: "air", act: workshop.ActMeter, method: http.MethodPost, path: "/air/usual-places", id: "set_up_air", summary: "Begin with the usual places, where there are none yet"}
	add(a, o, func(ctx context.Context, _ *struct{}) (*many[airPlaceDoc], error) {
		if err := a.work.SetUpAir(ctx, by(ctx)); err != nil {
			return nil, err
		}
		all, err := a.read.AirPlaces(ctx)
		return whole("", each(all, airPlaceOf)), err
	})
	o.path, o.id, o.summary, o.status = "/air/places", "add_air_place", "Add a place where the air is read", http.StatusCreated
	add(a, o, func(ctx context.Context, in *airPlaceIn) (*one[airPlaceDoc], error) {
		id, err := a.saveAirPlace(ctx, in.Body, 0)
		if err != nil {
			return nil, err
		}
		return a.airPlace(ctx, id, true)
	})
	o = operation{noun: "air", act: workshop.ActMeter, method: http.MethodPut, path: "/air/places/{place}", id: "change_air_place", summary: "Change a place and its alarms, or retire it", match: matchNeeded}
	add(a, o, func(ctx context.Context, in *airPlaceChangeIn) (*one[airPlaceDoc], error) {
		id := domain.AirPlaceID(in.Place)
		if _, err := a.saveAirPlace(ctx, in.Body, id); err != nil {
			return nil, stale(ctx, err, func() (int, error) {
				p, err := a.findAirPlace(ctx, id)
				return p.Version, err
			})
		}
		return a.airPlace(ctx, id, false)
	})
}

func (a *API) airNow(ctx context.Context, _ *struct{}) (*one[airDoc], error) {
	now, err := workshop.AirOf(ctx, a.read, a.work.Now())
	if err != nil {
		return nil, err
	}
	return answer(ctx, 1, airOf(now))
}

func (a *API) findAirPlace(ctx context.Context, id domain.AirPlaceID) (air.Place, error) {
	all, err := a.read.AirPlaces(ctx)
	if err != nil {
		return air.Place{}, err
	}
	if i := slices.IndexFunc(all, func(p air.Place) bool { return p.ID == id }); i >= 0 {
		return all[i], nil
	}
	return air.Place{}, domain.NotFoundf("there is no place of air %d", id)
}

func (a *API) airPlace(ctx context.Context, id domain.AirPlaceID, isNew bool) (*one[airPlaceDoc], error) {
	p, err := a.findAirPlace(ctx, id)
	if err != nil {
		return nil, err
	}
	if isNew {
		return made(ctx, p.Version, fmt.Sprintf("/air/places/%d", id), airPlaceOf(p))
	}
	return answer(ctx, p.Version, airPlaceOf(p))
}

// when is a moment where something is so, else none.
func (a *API) when(so bool) time.Time {
	if so {
		return a.work.Now()
	}
	return time.Time{}
}

func (a *API) saveAirPlace(ctx context.Context, n airPlaceNote, id domain.AirPlaceID) (domain.AirPlaceID, error) {
	f := domain.Fields{}
	p := air.Place{
		ID: id, Version: askedOf(ctx).seen, Name: n.Name, Kind: air.Kind(n.Kind), Rules: air.UsualRules(air.Kind(n.Kind)), Retired: a.when(n.Retired),
	}
	if n.Rules != nil {
		p.Rules = n.Rules.domain(f)
	}
	if err := f.Err(); err != nil {
		return 0, err
	}
	return a.work.SavePlace(ctx, by(ctx), p)
}

func (a *API) meterRoutes() {
	o := operation{noun: "air", act: workshop.ActRead, method: http.MethodGet, path: "/air/meters", id: "list_meters", summary: "Meters of humidity by name, also the retired"}
	add(a, o, func(ctx context.Context, _ *struct{}) (*many[meterDoc], error) {
		all, now, err := a.meters(ctx)
		return whole("", each(all, func(m air.Meter) meterDoc { return meterOf(m, now) })), err
	})
	o.path, o.id, o.summary = "/air/meters/{meter}", "get_meter", "One meter with its calibrations"
	add(a, o, func(ctx context.Context, in *OnMeter) (*one[meterDoc], error) {
		return a.meter(ctx, domain.MeterID(in.Meter), false)
	})
	o = operation{noun: "air", act: workshop.ActMeter, method: http.MethodPost, path: "/air/meters", id: "add_meter", summary: "Add a meter", status: http.StatusCreated}
	add(a, o, func(ctx context.Context, in *meterIn) (*one[meterDoc], error) {
		id, err := a.saveMeter(ctx, in.Body, 0)
		if err != nil {
			return nil, err
		}
		return a.meter(ctx, id, true)
	})
	o.path, o.id, o.summary = "/air/meters/{meter}/calibrations", "calibrate", "Note a check of a meter over one or two salts"
	o.about = "Lay the meter over a wet slurry of a pure salt in a closed box at a steady temperature for 8 to 24 hours and read it through the lid. Keep salt off the meter; wear gloves and eye protection, and keep nitrates from heat and solvents."
	add(a, o, func(ctx context.Context, in *calibrationIn) (*one[meterDoc], error) {
		c, err := in.Body.domain(domain.MeterID(in.Meter))
		if err != nil {
			return nil, err
		}
		if _, err := a.meter(ctx, c.Meter, false); err != nil {
			return nil, err
		}
		if _, err := a.work.Calibrate(ctx, by(ctx), c); err != nil {
			return nil, err
		}
		return a.meter(ctx, c.Meter, true)
	})
	o = operation{noun: "air", act: workshop.ActMeter, method: http.MethodPut, path: "/air/meters/{meter}", id: "change_meter", summary: "Change a meter, or retire it", match: matchNeeded}
	add(a, o, func(ctx context.Context, in *meterChangeIn) (*one[meterDoc], error) {
		id := domain.MeterID(in.Meter)
		if _, err := a.saveMeter(ctx, in.Body, id); err != nil {
			return nil, stale(ctx, err, func() (int, error) {
				m, _, err := a.findMeter(ctx, id)
				return m.Version, err
			})
		}
		return a.meter(ctx, id, false)
	})
}

// meters returns all meters and the present moment in the shop's zone.
func (a *API) meters(ctx context.Context) ([]air.Meter, time.Time, error) {
	shop, err := a.read.ShopSettings(ctx)
	if err != nil {
		return nil, time.Time{}, err
	}
	all, err := a.read.Meters(ctx)
	return all, a.work.Now().In(shop.Location()), err
}

func (a *API) findMeter(ctx context.Context, id domain.MeterID) (air.Meter, time.Time, error) {
	all, now, err := a.meters(ctx)
	if err != nil {
		return air.Meter{}, now, err
	}
	if i := slices.IndexFunc(all, func(m air.Meter) bool { return m.ID == id }); i >= 0 {
		return all[i], now, nil
	}
	return air.Meter{}, now, domain.NotFoundf("there is no meter %d", id)
}

func (a *API) meter(ctx context.Context, id domain.MeterID, isNew bool) (*one[meterDoc], error) {
	m, now, err := a.findMeter(ctx, id)
	if err != nil {
		return nil, err
	}
	if isNew {
		return made(ctx, m.Version, fmt.Sprintf("/air/meters/%d", id), meterOf(m, now))
	}
	return answer(ctx, m.Version, meterOf(m, now))
}

func (a *API) saveMeter(ctx context.Context, n meterNote, id domain.MeterID) (domain.MeterID, error) {
	return a.work.SaveMeter(ctx, by(ctx), air.Meter{
		ID: id, Version: askedOf(ctx).seen, Name: n.Name, Place: domain.AirPlaceID(n.Place), Note: n.Note, Retired: a.when(n.Retired),
	})
}

func (a *API) airReadingRoutes() {
	o := operation{noun: "air", act: workshop.ActRead, method: http.MethodGet, path: "/air/places/{place}/readings", id: "list_air_readings", summary: "Readings of a place, newest first, also what was corrected"}
	add(a, o, a.airReadings)
	o.path, o.id, o.summary = "/air/readings/{reading}", "get_air_reading", "One reading of the air"
	add(a, o, func(ctx context.Context, in *OnAirReading) (*one[airReadingDoc], error) {
		r, err := a.read.AirReadingByID(ctx, domain.AirReadingID(in.Reading))
		if err != nil {
			return nil, err
		}
		return answer(ctx, 1, airReadingOf(*r))
	})
	o = operation{noun: "air", act: workshop.ActAir, method: http.MethodPost, path: "/air/places/{place}/readings", id: "note_air", summary: "Note a reading made by hand, now or before", status: http.StatusCreated}
	add(a, o, a.noteAir)
	o.path, o.id, o.summary = "/air/readings/{reading}/correction", "correct_air", "Put a reading right; the old one stays beside it"
	add(a, o, a.correctAir)
	o.path, o.id, o.summary, o.status = "/air/places/{place}/import", "import_air", "Take in the CSV file of a logger", 0
	o.about = "A line of column names with a time and a humidity, then a line for each reading; at most 5 MB and 100,000 readings. Delimiter, decimal comma and order of dates are found out; times without an offset are the shop's. Lines that make no sense are left out and told. The same file again adds nothing."
	o.body = air.MaxFile
	add(a, o, a.importAir)
	o = operation{noun: "air", act: workshop.ActAir, method: http.MethodPost, path: "/air/places/{place}/answers", id: "answer_alarm", summary: "Note what was done about an alarm"}
	add(a, o, func(ctx context.Context, in *alarmAnswerIn) (*one[airDoc], error) {
		_, err := a.work.AnswerAlarm(ctx, by(ctx), air.Answer{Place: domain.AirPlaceID(in.Place), Alarm: in.Body.Alarm, Since: in.Body.Since, Action: in.Body.Action})
		if err != nil {
			return nil, err
		}
		return a.airNow(ctx, nil)
	})
}

func (a *API) airReadings(ctx context.Context, in *airReadingsIn) (*many[airReadingDoc], error) {
	p, err := a.findAirPlace(ctx, domain.AirPlaceID(in.Place))
	if err != nil {
		return nil, err
	}
	from, to := in.From, in.To
	if to.IsZero() {
		to = a.work.Now().Add(time.Microsecond)
	}
	if from.IsZero() {
		from = to.AddDate(0, 0, -7)
	}
	rs, total, err := a.read.AirReadingPage(ctx, p.ID, from, to, in.page())
	if err != nil {
		return nil, err
	}
	return paged(ctx, in.Paged, "", total, each(rs, airReadingOf)), nil
}

func (a *API) noteAir(ctx context.Context, in *airNoteIn) (*one[airReadingDoc], error) {
	r, err := airReadingIn(in.Body.RH, in.Body.Celsius, in.Body.Meter)
	if err != nil {
		return nil, err
	}
	if r.Place, r.Note = domain.AirPlaceID(in.Place), in.Body.Note; in.Body.At != nil {
		r.At = *in.Body.At
	}
	if _, err := a.findAirPlace(ctx, r.Place); err != nil {
		return nil, err
	}
	id, err := a.work.NoteAir(ctx, by(ctx), r)
	return a.newAirReading(ctx, id, err)
}

func (a *API) correctAir(ctx context.Context, in *airCorrectionIn) (*one[airReadingDoc], error) {
	r, err := airReadingIn(in.Body.RH, in.Body.Celsius, in.Body.Meter)
	if err != nil {
		return nil, err
	}
	r.Replaces, r.Note = domain.AirReadingID(in.Reading), in.Body.Reason
	id, err := a.work.CorrectAir(ctx, by(ctx), r)
	if text := domain.FieldsOf(err)["note"]; text != "" {
		return nil, &domain.Error{Kind: domain.Invalid, Text: text, Fields: domain.Fields{"reason": text}}
	}
	return a.newAirReading(ctx, id, err)
}

// newAirReading answers with a reading that was noted, or with why it was not.
func (a *API) newAirReading(ctx context.Context, id domain.AirReadingID, err error) (*one[airReadingDoc], error) {
	if err != nil {
		return nil, err
	}
	r, err := a.read.AirReadingByID(ctx, id)
	if err != nil {
		return nil, err
	}
	return made(ctx, 1, fmt.Sprintf("/air/readings/%d", id), airReadingOf(*r))
}

func (a *API) importAir(ctx context.Context, in *airImportIn) (*one[importDoc], error) {
	file := workshop.AirFile{Place: domain.AirPlaceID(in.Place), Meter: domain.MeterID(in.Meter), CSV: in.RawBody, Order: air.DateOrder(in.Order)}
	take := a.work.ImportAir
	if in.DryRun {
		take = a.work.PreviewAir
	}
	out, err := take(ctx, by(ctx), file)
	if err != nil {
		return nil, err
	}
	return answer(ctx, 1, importOf(out))
}
