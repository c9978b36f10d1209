package workshop

import (
	"testing"
	"time"

	"winterbench/domain"
	"winterbench/domain/queue"
)

// A day is called in danger when it is likely passed, lost, or its window moved by more
// than two open days; what the draw alone moves calls nobody.
func TestSmallMovesOfTheWindowCallNobody(t *testing.T) {
	shop := weekdays().Shop
	on := func(days float64) time.Time { return monday.Add(time.Duration(days * 24 * float64(time.Hour))) }
	window := func(p20, p50, p80 float64) queue.Window {
		return queue.Window{P20: on(p20), P50: on(p50), P80: on(p80)}
	}
	for _, c := range []struct {
		name       string
		told, now  queue.Window
		moved      int
		in, noTold bool
	}{
		{"as it was", window(1, 2, 4.2), window(1, 2, 4.2), 0, false, false},
		{"over the weekend is one open day", window(1, 2, 4.2), window(1, 3, 7.1), 1, false, false},
		{"two open days", window(1, 2, 4.2), window(1, 3, 8.1), 2, false, false},
		{"three open days", window(1, 2, 4.2), window(1, 3, 9.1), 3, true, false},
		{"likely passed", window(1, 2, 4.2), window(3, 7.1, 8.1), 2, true, false},
		{"said with even chances, as likely passed as kept", window(2, 4.2, 8.1), window(2, 7.1, 8.1), 0, false, false},
		{"said with even chances, and lost", window(2, 4.2, 8.1), window(7.1, 7.2, 8.1), 0, true, false},
		{"said with even chances, and moved", window(2, 4.2, 8.1), window(2, 4.2, 11.1), 3, true, false},
		{"nobody knew a window: from the day itself", queue.Window{}, window(1, 3, 8.1), 2, false, true},
		{"nobody knew a window, three days", queue.Window{}, window(1, 3, 9.1), 3, true, true},
	} {
		row := QueueRow{JobRow: JobRow{ID: 1, Promised: "2026-11-27"}, Promise: Promise{Window: c.now}}
		said := PromiseMade{Said: "2026-11-27", Window: &c.told}
		if c.noTold {
			said.Window = nil
		}
		row.since(said, shop)
		if row.Moved != c.moved || row.InDanger(time.UTC) != c.in {
			t.Errorf("%s: moved by %d open days, in danger %t; want %d, %t", c.name, row.Moved, row.InDanger(time.UTC), c.moved, c.in)
		}
	}
	row := QueueRow{Promise: Promise{Window: window(1, 3, 9)}}
	if row.since(PromiseMade{}, shop); row.Moved != 0 || row.InDanger(time.UTC) {
		t.Errorf("no day was said, and it moved by %d", row.Moved)
	}
}

func TestOpenDaysAfter(t *testing.T) {
	shop := weekdays().Shop
	for _, c := range []struct {
		from, to domain.Date
		want     int
	}{
		{"2026-11-27", "2026-11-27", 0}, {"2026-11-27", "2026-11-20", 0}, {"2026-11-27", "2026-11-29", 0},
		{"2026-11-27", "2026-11-30", 1}, {"2026-11-27", "2026-12-04", 5}, {"2026-11-27", "2029-11-27", MostOpenDays},
	} {
		if got := openDaysAfter(shop, c.from, c.to); got != c.want {
			t.Errorf("%s to %s: got %d open days, want %d", c.from, c.to, got, c.want)
		}
	}
}
