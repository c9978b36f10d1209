package store

import (
	"winterbench/domain"
	"winterbench/domain/job"
)

// holdRow is a row of holds.
type holdRow struct {
	ID        int64
	JobID     int64
	TaskID    int64
	Place     string
	StartedAt moment
	EndedAt   *moment
	Reason    string
	Note      string
	StartedBy string
	EndedBy   string
}

func (holdRow) TableName() string { return "holds" }
func (r *holdRow) key() *int64    { return &r.ID }

func rowOfHold(id domain.JobID, h job.Hold) holdRow {
	return holdRow{
		ID: int64(h.ID), JobID: int64(id), TaskID: int64(h.Task), Place: h.Place, StartedAt: at(h.Start), EndedAt: atOrNull(h.End),
		Reason: h.Reason, Note: h.Note, StartedBy: h.By, EndedBy: h.EndedBy,
	}
}

// hold makes the hold of a row, without its readings.
func (r *holdRow) hold() job.Hold {
	return job.Hold{
		ID: domain.HoldID(r.ID), Task: domain.TaskID(r.TaskID), Place: r.Place, Start: r.StartedAt.Time, End: r.EndedAt.orZero(),
		Reason: r.Reason, Note: r.Note, By: r.StartedBy, EndedBy: r.EndedBy,
	}
}

// readingRow is a row of readings.
type readingRow struct {
	ID       int64
	HoldID   int64
	NotedAt  moment
	RH       measureRow `gorm:"embedded;embeddedPrefix:rh_"`
	Air      measureRow `gorm:"embedded;embeddedPrefix:air_"`
	Gap      measureRow `gorm:"embedded;embeddedPrefix:gap_"`
	Arch     measureRow `gorm:"embedded;embeddedPrefix:arch_"`
	Weight   measureRow `gorm:"embedded;embeddedPrefix:weight_"`
	Note     string
	NotedBy  string
	MeterID  *int64
	RHOffset string `gorm:"column:rh_offset"`
	Trusted  bool
	Replaces *int64
}

func (readingRow) TableName() string { return "readings" }
func (r *readingRow) key() *int64    { return &r.ID }

func rowOfReading(id domain.HoldID, r job.Reading) readingRow {
	return readingRow{
		ID: int64(r.ID), HoldID: int64(id), NotedAt: at(r.At), RH: rowOfMeasure(r.RH), Air: rowOfMeasure(r.Air),
		Gap: rowOfMeasure(r.Gap), Arch: rowOfMeasure(r.Arch), Weight: rowOfMeasure(r.Weight), Note: r.Note, NotedBy: r.By,
		MeterID: idOrNull(r.Meter), RHOffset: r.Offset.String(), Trusted: r.Trusted, Replaces: idOrNull(r.Replaces),
	}
}

func (r *readingRow) reading() (job.Reading, error) {
	out := job.Reading{
		ID: domain.ReadingID(r.ID), At: r.NotedAt.Time, Note: r.Note, By: r.NotedBy, Meter: orZero[domain.MeterID](r.MeterID), Trusted: r.Trusted,
		Replaces: orZero[domain.ReadingID](r.Replaces),
	}
	var err error
	if out.Offset, err = readDecimal(r.RHOffset); err != nil {
		return out, err
	}
	err = measures(measurePair{&out.RH, r.RH}, measurePair{&out.Air, r.Air}, measurePair{&out.Gap, r.Gap},
		measurePair{&out.Arch, r.Arch}, measurePair{&out.Weight, r.Weight})
	return out, err
}

// readingsInto gives each reading to its hold. Holds of one job and their
// readings come in the order of their identities.
func readingsInto(holds []job.Hold, rows []readingRow) error {
	place := make(map[int64]int, len(holds))
	for i := range holds {
		place[int64(holds[i].ID)] = i
	}
	for i := range rows {
		r, err := rows[i].reading()
		if err != nil {
			return err
		}
		h := &holds[place[rows[i].HoldID]]
		h.Readings = append(h.Readings, r)
	}
	return nil
}
