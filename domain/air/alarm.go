package air

import (
	"time"

	"winterbench/domain"
)

// The kinds of alarm.
const (
	OutOfBand   = "out of band"
	TooDry      = "too dry"
	TooMoist    = "too moist"
	StopNow     = "stop"
	NoReading   = "no reading"
	Stuck       = "stuck"
	MetersApart = "meters apart"
	MeterDoubt  = "meter due"
)

// Alarm is something about the air that somebody must see to.
type Alarm struct {
	Place    domain.AirPlaceID // 0 for a travelling meter
	Meter    domain.MeterID    // for what concerns one meter, else 0
	Kind     string
	Since    time.Time // zero when it was never otherwise
	Text     string
	Stop     bool    // stop work and open the place now
	Answered *Answer // what somebody did about it, nil for nothing yet
}

// Answer is what somebody did about an alarm.
type Answer struct {
	ID     int64
	Place  domain.AirPlaceID
	Alarm  string    // the alarm's Key
	Since  time.Time // of the alarm
	Action string
	At     time.Time
	By     string
}
