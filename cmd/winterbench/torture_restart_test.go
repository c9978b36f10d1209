package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"winterbench/store/storetest"
)

// Two programs on one database: one is killed, the database is restarted under the
// other, and sixteen writers find each number given once and each sum taken once.
func TestTortureTwoServers(t *testing.T) {
	again := os.Getenv("WINTERBENCH_TEST_POSTGRES_AGAIN")
	if again == "" {
		t.Skip("skipped: the server was not started by scripts/with-postgres.sh, so it is not for this test to restart")
	}
	mode := "fast" // a server that does not wait for the disk may forget in a crash
	if os.Getenv("WINTERBENCH_TEST_DURABLE") == "1" {
		mode = "immediate"
	}
	database, photos := storetest.Database(t, "postgres"), filepath.Join(t.TempDir(), "photos")
	token := smallShop(t, database, photos)
	d := make(doors, 2)
	servers := []*server{startProgram(t, database, photos), startProgram(t, database, photos)}
	for i, s := range servers {
		d.open(i, s.address)
	}
	c := hire(t, 16, d, token)
	began, starts, calm := time.Now(), (rounds(t)+9)/10, 400*time.Millisecond
	for i := range starts {
		time.Sleep(calm)
		servers[i%2].kill() // its address stays known: a balancer needs a moment to see it
		time.Sleep(calm)
		if out, err := exec.Command(again, mode).CombinedOutput(); err != nil {
			t.Fatalf("restart the database: %v: %s", err, out)
		}
		time.Sleep(calm)
		servers[i%2] = startProgram(t, database, photos)
		d.open(i%2, servers[i%2].address)
	}
	time.Sleep(calm)
	all := c.home(t)
	for _, s := range servers {
		s.kill()
	}
	proved(t, database, photos, all)
	t.Logf("%d servers killed and %d restarts (%s) of the database in %.0f s, 16 writers, %d jobs; %v", starts, starts, mode, time.Since(began).Seconds(), len(all), &c.count)
}
