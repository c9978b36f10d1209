package main

import (
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"winterbench/store/storetest"
)

// A program killed at any moment of its writing loses nothing that it has
// acknowledged, does nothing twice, and leaves no gap in a series of numbers.
func TestTortureKilled(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			database, photos := storetest.Database(t, engine), filepath.Join(t.TempDir(), "photos")
			token := smallShop(t, database, photos)
			d := make(doors, 1)
			s := startProgram(t, database, photos)
			d.open(0, s.address)
			c := hire(t, 8, d, token)
			began, longest := time.Now(), time.Duration(0)
			for range rounds(t) {
				time.Sleep(time.Duration(20+rand.IntN(300)) * time.Millisecond)
				d.open(0, "")
				s.kill()
				again := time.Now()
				s = startProgram(t, database, photos)
				longest = max(longest, time.Since(again))
				d.open(0, s.address)
			}
			all := c.home(t)
			s.kill()
			proved(t, database, photos, all)
			t.Logf("%s: %d kills in %.0f s, %d jobs; the longest start took %d ms; %v", engine, rounds(t), time.Since(began).Seconds(), len(all), longest.Milliseconds(), &c.count)
		})
	}
}
