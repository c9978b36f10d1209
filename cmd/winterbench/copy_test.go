package main

import (
	"path/filepath"
	"strings"
	"testing"

	"winterbench/store"
	"winterbench/store/storetest"
)

// The drill: a shop with photos is copied, the copy is checked and brought back
// on either engine, and the restored shop answers as the old one.
func TestBackupAndRestore(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			shop, shopPhotos := storetest.Empty(t, engine), filepath.Join(t.TempDir(), "photos")
			s, err := store.Open(t.Context(), shop, nil, store.PhotosIn(shopPhotos))
			if err != nil {
				t.Fatal(err)
			}
			if err := s.Load(t.Context(), invented(t)); err != nil {
				t.Fatal(err)
			}
			s.Close()
			file := filepath.Join(t.TempDir(), "monday.tar.gz")
			ranWell(t, "Copied ", "backup", file, "--database", shop, "--photos", shopPhotos)
			ranWell(t, "is whole", "restore", "--check", file)
			back, backPhotos := storetest.Empty(t, engine), filepath.Join(t.TempDir(), "photos")
			ranWell(t, "Restored ", "restore", file, "--database", back, "--photos", backPhotos)
			refused(t, "there already", "backup", file, "--database", shop, "--photos", shopPhotos)
			refused(t, "", "restore", file, "--database", back, "--photos", backPhotos)
			sameShop(t, shop, shopPhotos, back, backPhotos)
		})
	}
	refused(t, "no shop at", "backup", "x.tar.gz", "--database", filepath.Join(t.TempDir(), "none.db"))
}

func ranWell(t *testing.T, want string, args ...string) {
	t.Helper()
	if code, out, errs := commanded(t, "", args...); code != 0 || !strings.Contains(out, want) {
		t.Fatalf("%v: status %d, %s%s; want %q", args, code, out, errs, want)
	}
}

func refused(t *testing.T, want string, args ...string) {
	t.Helper()
	if code, out, errs := commanded(t, "", args...); code != 1 || !strings.Contains(errs, want) {
		t.Fatalf("%v: status %d, %s%s; want 1 and %q", args, code, out, errs, want)
	}
}

// sameShop compares what two shops hold by the copies made of them.
func sameShop(t *testing.T, a, aPhotos, b, bPhotos string) {
	t.Helper()
	var found [2]store.Copied
	for i, shop := range [][2]string{{a, aPhotos}, {b, bPhotos}} {
		s, err := store.Open(t.Context(), shop[0], nil, store.PhotosIn(shop[1]))
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		if found[i], err = s.Backup(t.Context(), filepath.Join(t.TempDir(), "copy.tar.gz"), nil); err != nil {
			t.Fatal(err)
		}
	}
	if found[0].Rows != found[1].Rows || found[0].Photos != found[1].Photos || found[0].Rows < 10_000 || found[0].Photos == 0 {
		t.Errorf("the shop has %d rows and %d photos, the restored one %d and %d", found[0].Rows, found[0].Photos, found[1].Rows, found[1].Photos)
	}
}
