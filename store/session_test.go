package store_test

import (
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"

	"winterbench/store"
	"winterbench/store/storetest"
)

var (
	_ scs.CtxStore         = (*store.Sessions)(nil)
	_ scs.IterableCtxStore = (*store.Sessions)(nil)
	_ scs.IterableStore    = (*store.Sessions)(nil)
)

func TestSessions(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		sessions := s.Sessions()
		want := func(token, data string) {
			t.Helper()
			got, found, err := sessions.Find(token)
			if err != nil || found != (data != "") || string(got) != data {
				t.Errorf("%s: got %q, found %v, error %v; want %q", token, got, found, err, data)
			}
		}
		commit := func(token, data string, expiry time.Time) {
			t.Helper()
			if err := sessions.Commit(token, []byte(data), expiry); err != nil {
				t.Fatal(err)
			}
		}
		later, before := time.Now().Add(time.Hour), time.Now().Add(-time.Second)
		want("a", "")
		commit("a", "one\x00\xff", later)
		commit("b", "two", later)
		commit("old", "three", before)
		want("a", "one\x00\xff")
		want("old", "")
		commit("a", "changed", later)
		want("a", "changed")
		all, err := sessions.All()
		same(t, "all sessions", map[string][]byte{"a": []byte("changed"), "b": []byte("two")}, all, err)
		for range 2 { // the second time there is nothing to delete
			if err := sessions.Delete("a"); err != nil {
				t.Error(err)
			}
		}
		want("a", "")
		commit("b", "two", before)
		all, err = sessions.All()
		if err != nil || all == nil || len(all) != 0 {
			t.Errorf("got %v and error %v, want an empty map", all, err)
		}
	})
}

// Sessions that ran out are removed when somebody signs in to a fresh program.
func TestSessionsThatRanOutAreRemoved(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		if err := s.Sessions().Commit("old", []byte("x"), time.Now().Add(-time.Minute)); err != nil {
			t.Fatal(err)
		}
		if err := s.Sessions().Commit("new", []byte("y"), time.Now().Add(time.Minute)); err != nil {
			t.Fatal(err)
		}
		var tokens []string
		if err := s.DB().Raw("SELECT token FROM sessions").Scan(&tokens).Error; err != nil {
			t.Fatal(err)
		}
		if len(tokens) != 1 || tokens[0] != "new" {
			t.Errorf("got sessions %v, want the new one", tokens)
		}
	})
}
