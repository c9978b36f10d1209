package air

import (
	"testing"
	"time"

	"winterbench/domain"
)

func typed() Calibration {
	return Calibration{At: noon, Points: []Point{
		{Salt: " Sodium Chloride ", Celsius: dec("25"), Hours: dec("12"), Read: dec("73")},
		{Salt: "magnesium chloride", Celsius: dec("25"), Hours: dec("8"), Read: dec("35")},
	}}
}

// The true values are those of package wood, whose rows name their source:
// 75.29 and 32.78 % at 25 C.
func TestSettleFillsInWhatFollows(t *testing.T) {
	c := typed()
	c.Points[0].True = dec("99") // typed over a known salt: not taken
	if err := c.Settle(noon); err != nil {
		t.Fatal(err)
	}
	if got := c.Points[0]; got.Salt != "sodium chloride" || !got.True.Equal(dec("75.3")) || !got.Offset().Equal(dec("2.3")) {
		t.Errorf("sodium chloride at 25 C: got %+v, want 75.3 %% and an offset of 2.3", got)
	}
	if got := c.Points[1]; !got.True.Equal(dec("32.8")) || !got.Offset().Equal(dec("-2.2")) {
		t.Errorf("magnesium chloride at 25 C: got %+v, want 32.8 %% and an offset of -2.2", got)
	}
	if c.Due != "2026-02-20" {
		t.Errorf("due %s, want 2026-02-20", c.Due)
	}
}

func TestSettleRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*Calibration)
		field string
	}{
		"no points":              {func(c *Calibration) { c.Points = nil }, "points"},
		"three points":           {func(c *Calibration) { c.Points = append(c.Points, c.Points[0]) }, "points"},
		"under 8 hours":          {func(c *Calibration) { c.Points[0].Hours = dec("7.9") }, "points[0].hours"},
		"unknown salt":           {func(c *Calibration) { c.Points[1].Salt = "sugar" }, "points[1].salt"},
		"too warm for the table": {func(c *Calibration) { c.Points[0].Celsius = dec("44") }, "points[0].celsius"},
		"too cold":               {func(c *Calibration) { c.Points[0].Celsius = dec("4") }, "points[0].celsius"},
		"read over 100":          {func(c *Calibration) { c.Points[0].Read = dec("101") }, "points[0].read"},
		"the same salt twice":    {func(c *Calibration) { c.Points[1] = c.Points[0] }, "points[1].read"},
		"read the wrong way":     {func(c *Calibration) { c.Points[1].Read = dec("74") }, "points[1].read"},
		"other without a value":  {func(c *Calibration) { c.Points[0].Salt = OtherSalt }, "points[0].true"},
		"other without a note":   {func(c *Calibration) { c.Points[0].Salt, c.Points[0].True = OtherSalt, dec("84") }, "note"},
		"in the future":          {func(c *Calibration) { c.At = noon.Add(time.Minute) }, "at"},
		"due before it was made": {func(c *Calibration) { c.Due = "2026-01-20" }, "due"},
		"due in two years":       {func(c *Calibration) { c.Due = "2028-01-20" }, "due"},
	} {
		got := typed()
		c.spoil(&got)
		if err := got.Settle(noon); domain.FieldsOf(err)[c.field] == "" {
			t.Errorf("%s: got %v, want field %s named", name, err, c.field)
		}
	}
	other := typed()
	other.Points[0].Salt, other.Points[0].True, other.Points[0].Read, other.Note = OtherSalt, dec("84"), dec("81"), "potassium chloride, printed table"
	if err := other.Settle(noon); err != nil || !other.Points[0].True.Equal(dec("84")) {
		t.Errorf("another salt with a note: got %v, %+v", err, other.Points[0])
	}
}

func TestUsualDue(t *testing.T) {
	for made, want := range map[domain.Date]domain.Date{
		"2026-09-15": "2026-10-15", "2026-10-31": "2026-11-30", "2026-12-20": "2027-01-20", "2027-01-31": "2027-02-28", "2028-01-30": "2028-02-29",
		"2027-03-30": "2027-04-30", "2027-04-01": "2027-09-30", "2027-07-20": "2027-09-30", "2027-08-31": "2027-09-30",
	} {
		if got := UsualDue(made); got != want {
			t.Errorf("made %s: due %s, want %s", made, got, want)
		}
	}
}
