package store

import (
	"testing"
	"time"

	"gorm.io/gorm"
	"pgregory.net/rapid"
)

// momentRow reads and writes api_tokens, which has moments with and without NULL.
type momentRow struct {
	ID         int64
	StaffID    int64
	Name       string
	TokenHash  string
	CreatedAt  moment
	LastUsedAt *moment
	RevokedAt  *moment
}

func (momentRow) TableName() string { return "api_tokens" }

func TestMomentsComeBackAsWritten(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		staff := addStaff(t, s, "Runa")
		zone := time.FixedZone("winter", -5*3600)
		wrote := time.Date(2026, 11, 25, 23, 30, 0, 123456789, zone)
		row := momentRow{StaffID: staff, Name: "bench", TokenHash: "a", CreatedAt: at(wrote), LastUsedAt: atOrNull(wrote), RevokedAt: atOrNull(time.Time{})}
		if err := s.db.Create(&row).Error; err != nil {
			t.Fatal(err)
		}
		var got momentRow
		if err := s.db.Take(&got, row.ID).Error; err != nil {
			t.Fatal(err)
		}
		want := time.Date(2026, 11, 26, 4, 30, 0, 123456000, time.UTC)
		if got.CreatedAt.Time != want {
			t.Errorf("created_at: got %v, want %v, in UTC and whole microseconds", got.CreatedAt.Time, want)
		}
		if got.LastUsedAt.orZero() != want {
			t.Errorf("last_used_at: got %v, want %v", got.LastUsedAt.orZero(), want)
		}
		if got.RevokedAt != nil || !got.RevokedAt.orZero().IsZero() {
			t.Errorf("revoked_at: got %v, want NULL", got.RevokedAt)
		}
	})
}

func TestMomentsSortAndCompare(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		staff := addStaff(t, s, "Runa")
		noon := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
		// By time, not in the order of their texts' fractions or zones.
		order := []time.Time{
			noon.Add(-time.Second),
			noon,
			noon.Add(time.Microsecond),
			noon.Add(100 * time.Millisecond),
			noon.Add(120 * time.Millisecond),
			noon.Add(time.Hour).In(time.FixedZone("far", -11*3600)),
			noon.Add(24 * time.Hour),
		}
		for _, i := range []int{3, 6, 1, 5, 0, 4, 2} {
			row := momentRow{StaffID: staff, Name: "n", TokenHash: string(rune('a' + i)), CreatedAt: at(order[i])}
			if err := s.db.Create(&row).Error; err != nil {
				t.Fatal(err)
			}
		}
		var rows []momentRow
		if err := s.db.Order("created_at").Find(&rows).Error; err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			if !row.CreatedAt.Equal(order[i]) {
				t.Errorf("place %d: got %v, want %v", i, row.CreatedAt, order[i])
			}
		}
		checkComparisons(t, s.db, noon)
	})
}

// checkComparisons compares the rows of TestMomentsSortAndCompare in SQL, with a
// time.Time from another zone and with a moment, and reads an aggregate.
func checkComparisons(t *testing.T, db *gorm.DB, noon time.Time) {
	t.Helper()
	for _, limit := range []any{noon.In(time.FixedZone("far", 9*3600)), at(noon)} {
		var after int64
		if err := db.Raw("SELECT count(*) FROM api_tokens WHERE created_at > ?", limit).Scan(&after).Error; err != nil {
			t.Fatal(err)
		}
		if after != 5 {
			t.Errorf("rows after noon, asked with %T: got %d, want 5", limit, after)
		}
	}
	var last struct{ At *moment }
	if err := db.Raw("SELECT max(created_at) AS at FROM api_tokens").Scan(&last).Error; err != nil {
		t.Fatal(err)
	}
	if !last.At.orZero().Equal(noon.Add(24 * time.Hour)) {
		t.Errorf("latest: got %v, want noon of the next day", last.At.orZero())
	}
}

func TestZeroTimeIsRefused(t *testing.T) {
	eachEngine(t, func(t *testing.T, s *Store) {
		never := &moment{} // a slip for nil; atOrNull does not make it
		row := momentRow{StaffID: addStaff(t, s, "Runa"), Name: "n", TokenHash: "a", CreatedAt: at(time.Now()), RevokedAt: never}
		wantInvalid(t, translate(s.db.Create(&row).Error))
	})
}

func TestScanRefusesWhatIsNoMoment(t *testing.T) {
	for _, read := range []any{nil, int64(7), "yesterday", "2026-11-25"} {
		var m moment
		if err := m.Scan(read); err == nil {
			t.Errorf("Scan(%#v): got %v and no error", read, m)
		}
	}
}

// The fast way agrees with time.Parse on whatever text it takes.
func TestMomentsAreReadFastAndAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := time.UnixMicro(rapid.Int64Range(-6e16, 1.6e17).Draw(t, "moment")).UTC().Format(sqliteMoment)
		if rapid.Bool().Draw(t, "spoilt") {
			b := []byte(text)
			b[rapid.IntRange(0, len(b)-1).Draw(t, "at")] = rapid.SampledFrom([]byte("0123456789-:. +")).Draw(t, "sign")
			text = string(b)
		}
		got, fast := utcMoment(text)
		want, err := time.Parse(sqliteMoment, text)
		if fast && (err != nil || !got.Equal(want)) {
			t.Fatalf("%q: got %v, time.Parse has %v, %v", text, got, want, err)
		}
	})
	for _, text := range []string{"2026-11-25 16:05:00+00:00", "2026-11-25 16:05:00.5+00:00", "2026-11-25 16:05:00.000001+00:00"} {
		if _, fast := utcMoment(text); !fast {
			t.Errorf("%q is not read the fast way", text)
		}
	}
	for _, text := range []string{"", "2026-02-30 16:05:00+00:00", "2026-11-25 16:05:00+01:00", "2026-11-25 24:00:00+00:00", "2026-11-25 16:05:00.+00:00", "2026-11-25 16:05:00.1234567+00:00"} {
		if got, fast := utcMoment(text); fast {
			t.Errorf("%q is read as %v; want it left to time.Parse", text, got)
		}
	}
}
