package store_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

func onePhoto(id domain.JobID, content string) photo.Photo {
	return photo.Photo{
		Job: id, Subject: "before", Place: "treble lower bout", Note: "ruler in frame", Content: photo.Name([]byte(content)), Thumb: photo.Name([]byte(content + "small")),
		Width: 2400, Height: 1800, Size: 512_345, At: hours(3), By: "Runa",
	}
}

func TestPhotosComeBackAsWritten(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		id := addJob(t, s, p.newJob(7)).ID
		other := addJob(t, s, p.newJob(8)).ID
		survey := surveyOf(id, 1)
		first, second := onePhoto(id, "one"), onePhoto(id, "two")
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			if err := tx.AddSurvey(ctx, &survey); err != nil {
				return err
			}
			first.Survey = survey.ID
			if err := tx.AddPhoto(ctx, &first); err != nil {
				return err
			}
			return tx.AddPhoto(ctx, &second)
		})
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			for of, want := range map[domain.JobID]bool{id: true, other: false} {
				if got, err := tx.SurveyIsOf(ctx, survey.ID, of); err != nil || got != want {
					t.Errorf("survey of job %d: got %v and %v, want %v", of, got, err, want)
				}
			}
			return nil
		})
		all, err := s.PhotosOfJob(t.Context(), id)
		same(t, "photos of the job", []photo.Photo{first, second}, all, err)
		got, err := s.PhotoByID(t.Context(), first.ID)
		same(t, "one photo", &first, got, err)
		all, err = s.PhotosOfJob(t.Context(), other)
		if err != nil || len(all) != 0 {
			t.Errorf("another job: got %v and %v, want none", all, err)
		}
		_, err = s.PhotoByID(t.Context(), 99)
		wantKind(t, err, domain.NotFound)
	})
}

func TestAPhotoIsWithdrawnOnceAndNeverChanged(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		p := addPeople(t, s)
		x := onePhoto(addJob(t, s, p.newJob(7)).ID, "one")
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddPhoto(ctx, &x) })
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error {
			read, err := tx.Photo(ctx, x.ID)
			if err != nil {
				return err
			}
			read.Subject = "after" // must not be written
			if err := read.Withdraw("Tove", "another guitar", hours(4)); err != nil {
				return err
			}
			return tx.SavePhoto(ctx, read)
		})
		x.Withdrawn, x.WithdrawnBy, x.WithdrawnWhy = hours(4), "Tove", "another guitar"
		got, err := s.PhotoByID(t.Context(), x.ID)
		same(t, "the withdrawn photo", &x, got, err)
		err = s.InTx(t.Context(), func(tx workshop.Tx) error { return tx.SavePhoto(t.Context(), &x) })
		wantKind(t, err, domain.Conflict)
		for _, statement := range []string{"DELETE FROM photos", "UPDATE photos SET withdrawn_at = NULL", "UPDATE photos SET content = thumb"} {
			if s.DB().Exec(statement).Error == nil {
				t.Errorf("%s was carried out, want a refusal", statement)
			}
		}
	})
}

func pictures(t *testing.T) (*store.Pictures, string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "shop.db")
	s, err := store.Open(t.Context(), file, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s.Pictures(), file + "-photos"
}

func TestPicturesLieBesideTheDatabase(t *testing.T) {
	p, dir := pictures(t)
	if _, err := os.Stat(dir); p.Dir() != dir || !os.IsNotExist(err) {
		t.Errorf("got folder %q (%v), want %q, not made before the first picture", p.Dir(), err, dir)
	}
	if names, err := p.Names(); err != nil || len(names) != 0 {
		t.Errorf("got %v and %v, want no pictures yet", names, err)
	}
	data := []byte("a picture")
	name := photo.Name(data)
	for range 2 { // the second time it is there already
		if err := p.Keep(name, data); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(dir, name[:2], name+".jpg")
	info, err := os.Stat(path)
	if err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("got %v and %v, want a file for its owner only", info, err)
	}
	got, err := p.Read(name)
	if err != nil || !bytes.Equal(got, data) {
		t.Errorf("got %q and %v, want %q", got, err, data)
	}
	_, err = p.Read(photo.Name([]byte("another")))
	wantKind(t, err, domain.NotFound)
}

func TestABackupWalksThePicturesAndNothingElse(t *testing.T) {
	p, dir := pictures(t)
	want := map[string]bool{}
	for _, data := range []string{"one", "two", "three"} {
		want[photo.Name([]byte(data))] = true
		if err := p.Keep(photo.Name([]byte(data)), []byte(data)); err != nil {
			t.Fatal(err)
		}
	}
	one := photo.Name([]byte("one"))
	for _, stray := range []string{"notes.txt", one[:2] + "/.new-123", "zz/" + one + ".jpg", one[:2] + "/" + strings.Repeat("x", 64) + ".jpg"} {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, stray)), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, stray), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	names, err := p.Names()
	if err != nil || len(names) != len(want) {
		t.Fatalf("got %v and %v, want %v", names, err, want)
	}
	for _, n := range names {
		if !want[n] {
			t.Errorf("%s is no picture that was kept", n)
		}
	}
}

// What a power cut left half written is written again.
func TestABrokenFileIsReplaced(t *testing.T) {
	p, dir := pictures(t)
	data := []byte("the whole picture")
	name := photo.Name(data)
	if err := os.MkdirAll(filepath.Join(dir, name[:2]), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name[:2], name+".jpg"), data[:3], 0o600); err != nil {
		t.Fatal(err)
	}
	if err := p.Keep(name, data); err != nil {
		t.Fatal(err)
	}
	if got, err := p.Read(name); err != nil || !bytes.Equal(got, data) {
		t.Errorf("got %q and %v, want %q", got, err, data)
	}
}

func TestNoNameLeadsOutOfTheFolder(t *testing.T) {
	p, dir := pictures(t)
	outside := filepath.Join(filepath.Dir(dir), "secret.jpg")
	if err := os.WriteFile(outside, []byte("secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	good := photo.Name([]byte("x"))
	for _, name := range []string{
		"", ".", "..", "../secret", "../../secret", "/etc/passwd", "..\\secret", good[:63], good + "0", good[:61] + "/..", "../" + good[:61],
		strings.ToUpper(photo.Name([]byte("abc"))), good[:63] + "\x00", good[:62] + "é", strings.Repeat("../", 21) + "x", strings.Repeat(".", 64),
	} {
		_, err := p.Read(name)
		wantKind(t, err, domain.NotFound)
		if err := p.Keep(name, []byte("x")); err == nil {
			t.Errorf("a picture was kept under %q", name)
		}
	}
	if err := p.Keep(good, []byte("y")); err == nil {
		t.Error("a picture was kept under the name of another")
	}
	if _, err := os.Stat(dir); !os.IsNotExist(err) {
		t.Errorf("something was written: %v", err)
	}
}

func TestManyHandsKeepTheSamePicture(t *testing.T) {
	p, dir := pictures(t)
	data := bytes.Repeat([]byte("picture"), 50_000)
	name := photo.Name(data)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if err := p.Keep(name, data); err != nil {
				t.Error(err)
			}
			if got, err := p.Read(name); err != nil || !bytes.Equal(got, data) {
				t.Errorf("got %d bytes and %v, want %d", len(got), err, len(data))
			}
		})
	}
	wg.Wait()
	left, err := filepath.Glob(filepath.Join(dir, "*", ".new-*"))
	if err != nil || len(left) != 0 {
		t.Errorf("%v were left behind (%v)", left, err)
	}
}

func TestTheFolderCanBeNamed(t *testing.T) {
	for _, engine := range storetest.Engines() {
		t.Run(engine, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "shared", "photos")
			s, err := store.Open(t.Context(), storetest.Database(t, engine), nil, store.PhotosIn(dir))
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			if err := s.Pictures().Keep(photo.Name([]byte("x")), []byte("x")); err != nil || s.Pictures().Dir() != dir {
				t.Errorf("got %v in %q, want it in %q", err, s.Pictures().Dir(), dir)
			}
		})
	}
}

func TestAServerWithoutAFolderSaysSo(t *testing.T) {
	s, err := store.Open(t.Context(), storetest.Database(t, "postgres"), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Pictures().Keep(photo.Name([]byte("x")), []byte("x")); err == nil || !strings.Contains(err.Error(), "--photos") {
		t.Errorf("got %v, want an error that names --photos", err)
	}
}

func TestASeasonBringsItsPhotos(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		d := beginning(t)
		small, large := []byte("small"), []byte("large")
		d.Photos = []photo.Photo{onePhoto(d.Jobs[0].ID, "large")}
		d.Photos[0].ID, d.Photos[0].Content, d.Photos[0].Thumb = 5, photo.Name(large), photo.Name(small)
		d.Pictures = map[string][]byte{photo.Name(large): large, photo.Name(small): small}
		if err := s.Load(t.Context(), d); err != nil {
			t.Fatal(err)
		}
		got, err := s.PhotosOfJob(t.Context(), d.Jobs[0].ID)
		same(t, "photos", d.Photos, got, err)
		if data, err := s.Pictures().Read(got[0].Content); err != nil || !bytes.Equal(data, large) {
			t.Errorf("got %q and %v, want the picture", data, err)
		}
		next := onePhoto(d.Jobs[0].ID, "next")
		inTx(t, s, func(ctx context.Context, tx workshop.Tx) error { return tx.AddPhoto(ctx, &next) })
		if next.ID <= 5 {
			t.Errorf("the next photo is number %d, want one after 5", next.ID)
		}
	})
}
