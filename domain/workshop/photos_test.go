package workshop_test

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"sync"
	"testing"

	"winterbench/domain"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
	"winterbench/store"
	"winterbench/store/storetest"
)

// picture is a small JPEG file of one grey.
func picture(t *testing.T, grey uint8) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 64, 48))
	for i := range img.Pix {
		img.Pix[i] = color.Gray{Y: grey}.Y
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// keeping opens a house that keeps photos beside its database.
func keeping(t *testing.T, s *store.Store) *house {
	t.Helper()
	h := open(t, s)
	h.work = workshop.New(s, h.clock, workshop.WithPictures(s.Pictures()))
	return h
}

func TestAPhotoIsKeptWithItsJob(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := keeping(t, s)
		job := h.arrive()
		id, err := h.work.AddPhoto(h.ctx, h.counter, workshop.NewPhoto{Job: job, Subject: "before", Place: " soundhole to bridge ", Note: "as it came", Raw: picture(t, 90)})
		h.must(err)
		p, err := s.PhotoByID(h.ctx, id)
		h.must(err)
		full, err := h.work.PhotoFile(h.bench, p, workshop.Large)
		h.must(err)
		thumb, err := h.work.PhotoFile(h.bench, p, workshop.Small)
		h.must(err)
		want := photo.Photo{
			ID: id, Job: job, Subject: "before", Place: "soundhole to bridge", Note: "as it came", Content: photo.Name(full), Thumb: photo.Name(thumb),
			Width: 64, Height: 48, Size: len(full), At: h.work.Now(), By: "Ivo",
		}
		if *p != want {
			t.Errorf("got %+v, want %+v", *p, want)
		}
		diary, err := s.DiaryOf(h.ctx, job)
		h.must(err)
		if d := diary[0]; d.What != "added a photo: before, soundhole to bridge" || d.By != "Ivo" || d.After != "as it came" {
			t.Errorf("the diary says %+v", d)
		}
	})
}

func TestWhoMayAddAndWithdrawPhotos(t *testing.T) {
	h := keeping(t, storetest.Open(t, "sqlite"))
	job := h.arrive()
	in := workshop.NewPhoto{Job: job, Subject: "front", Raw: picture(t, 10)}
	_, err := h.work.AddPhoto(h.ctx, domain.Actor{}, in)
	h.refused(err, domain.SignIn, "sign in")
	id, err := h.work.AddPhoto(h.ctx, h.bench, in)
	h.must(err)
	h.refused(h.work.WithdrawPhoto(h.ctx, h.counter, id, "no use"), domain.Denied, "may not withdraw")
	h.refused(h.work.WithdrawPhoto(h.ctx, h.bench, id, "no use"), domain.Denied, "may not withdraw")
	h.refused(h.work.WithdrawPhoto(h.ctx, h.owner, id, " "), domain.Invalid, "is needed")
	h.refused(h.work.WithdrawPhoto(h.ctx, h.owner, 99, "no use"), domain.NotFound, "no photo 99")
	p, err := h.store.PhotoByID(h.ctx, id)
	h.must(err)
	_, err = h.work.PhotoFile(domain.Actor{}, p, workshop.Small)
	h.refused(err, domain.SignIn, "sign in")

	h.must(h.work.WithdrawPhoto(h.ctx, h.owner, id, "another guitar"))
	h.refused(h.work.WithdrawPhoto(h.ctx, h.owner, id, "again"), domain.Conflict, "withdrawn already, by Tove")
	p, err = h.store.PhotoByID(h.ctx, id)
	h.must(err)
	_, err = h.work.PhotoFile(h.owner, p, workshop.Large)
	h.refused(err, domain.NotFound, "was withdrawn")
	if p.WithdrawnWhy != "another guitar" || p.WithdrawnBy != "Tove" || p.Stands() {
		t.Errorf("got %+v, want it withdrawn with its reason", p)
	}
	diary, err := h.store.DiaryOf(h.ctx, job)
	h.must(err)
	if d := diary[0]; d.What != "withdrew a photo: front" || d.After != "another guitar" {
		t.Errorf("the diary says %+v", d)
	}
	_, err = h.work.AddPhoto(h.ctx, h.bench, in) // it may come again
	h.must(err)
}

func TestWhatAPhotoNeeds(t *testing.T) {
	h := keeping(t, storetest.Open(t, "sqlite"))
	first := h.arrive()
	h.survey(first)
	surveys, err := h.store.SurveysOf(h.ctx, first)
	h.must(err)
	second := h.arrive()
	cases := []struct {
		name string
		in   workshop.NewPhoto
		kind domain.Kind
		want string
	}{
		{"no subject", workshop.NewPhoto{Job: first}, domain.Invalid, "must be one of: before"},
		{"no such job", workshop.NewPhoto{Job: 99, Subject: "front"}, domain.NotFound, "99"},
		{"another job's survey", workshop.NewPhoto{Job: second, Survey: surveys[0].ID, Subject: "front"}, domain.NotFound, "no survey"},
		{"no picture", workshop.NewPhoto{Job: first, Subject: "front"}, domain.Invalid, "empty"},
		{"long words", workshop.NewPhoto{Job: first, Subject: "front", Place: strings.Repeat("x", 81)}, domain.Invalid, "at most 80"},
		{"a survey of its own", workshop.NewPhoto{Job: first, Survey: surveys[0].ID, Subject: "front", Raw: picture(t, 1)}, domain.Internal, ""},
	}
	for _, c := range cases {
		_, err := h.work.AddPhoto(h.ctx, h.bench, c.in)
		if c.want == "" {
			h.must(err)
			continue
		}
		if domain.KindOf(err) != c.kind || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
}

func TestTheSamePictureIsKeptOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := keeping(t, s)
		job := h.arrive()
		in := workshop.NewPhoto{Job: job, Subject: "before", Raw: picture(t, 90)}
		keyed := workshop.WithKey(h.ctx, "k", "one use")
		id, err := h.work.AddPhoto(keyed, h.bench, in)
		h.must(err)
		again, err := h.work.AddPhoto(keyed, h.bench, in)
		h.must(err)
		if id != again {
			t.Errorf("the same key made photos %d and %d", id, again)
		}
		_, err = h.work.AddPhoto(h.ctx, h.bench, in)
		h.refused(err, domain.Conflict, "on the job already (before)")
		_, err = h.work.AddPhoto(workshop.WithKey(h.ctx, "k", "another use"), h.bench, workshop.NewPhoto{Job: job, Subject: "after", Raw: picture(t, 91)})
		h.refused(err, domain.Conflict, "")
		other := h.arrive()
		in.Job = other
		_, err = h.work.AddPhoto(h.ctx, h.bench, in)
		h.must(err)
	})
}

func TestAJobHoldsSoManyPhotos(t *testing.T) {
	h := keeping(t, storetest.Open(t, "sqlite"))
	job := h.arrive()
	var wg sync.WaitGroup
	for i := range photo.MaxOfJob {
		wg.Go(func() {
			if _, err := h.work.AddPhoto(h.ctx, h.bench, workshop.NewPhoto{Job: job, Subject: "during", Raw: picture(t, uint8(4*i))}); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	one := workshop.NewPhoto{Job: job, Subject: "after", Raw: picture(t, 255)}
	_, err := h.work.AddPhoto(h.ctx, h.bench, one)
	h.refused(err, domain.Conflict, "60 photos already")
	h.must(h.work.WithdrawPhoto(h.ctx, h.owner, 1, "shows nothing new"))
	_, err = h.work.AddPhoto(h.ctx, h.bench, one)
	h.must(err)
}

// fullDisk is a keeper that cannot write.
type fullDisk struct{}

var errFull = errors.New("no space left")

func (fullDisk) Keep(string, []byte) error   { return errFull }
func (fullDisk) Read(string) ([]byte, error) { return nil, errFull }
func (fullDisk) Remove(string) error         { return errFull }

func TestWithoutItsFileAPhotoIsNotKept(t *testing.T) {
	h := open(t, storetest.Open(t, "sqlite"))
	job := h.arrive()
	for _, work := range []*workshop.Workshop{h.work, workshop.New(h.store, h.clock, workshop.WithPictures(fullDisk{}))} {
		_, err := work.AddPhoto(h.ctx, h.bench, workshop.NewPhoto{Job: job, Subject: "before", Raw: picture(t, 1)})
		if err == nil || domain.KindOf(err) != domain.Internal {
			t.Errorf("got %v, want the fault told as ours", err)
		}
	}
	all, err := h.store.PhotosOfJob(h.ctx, job)
	if err != nil || len(all) != 0 {
		t.Errorf("got %v and %v, want no photo", all, err)
	}
}

func ExamplePhotosAnswer() {
	fmt.Println(workshop.PhotosAnswer(nil))
	fmt.Println(workshop.PhotosAnswer([]photo.Photo{{Subject: "after"}}))
	fmt.Println(workshop.PhotosAnswer([]photo.Photo{{Subject: "before"}, {Subject: "before"}, {Subject: "label"}}))
	// Output:
	// No photo yet. Take the first before anything is done to it.
	// One photo: after. None is kept as how it came in.
	// 3 photos: 2 before, 1 label.
}

func ExamplePhotoAnswer() {
	fmt.Println(workshop.PhotoAnswer(&photo.Photo{Subject: "before", Place: "bass lower bout"}))
	fmt.Println(workshop.PhotoAnswer(&photo.Photo{Subject: "label"}))
	// Output:
	// As it came in: bass lower bout.
	// It shows the label.
}
