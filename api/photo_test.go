package api_test

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"strings"
	"testing"

	"winterbench/domain"
	"winterbench/domain/photo"
	"winterbench/store"
	"winterbench/store/storetest"
)

// shot is a small picture of one grey, as the text of a body.
func shot(t *testing.T, grey uint8) string {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 400, 300))
	for i := range img.Pix {
		img.Pix[i] = grey
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var asJPEG = headers{"Content-Type": "image/jpeg"}

func TestPhotosOfAJob(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := open(t, s)
		job := h.arrive()
		at := job + "/photos"
		h.get(at).want("total", "0")
		keyed := headers{"Content-Type": "image/jpeg", "Idempotency-Key": "one"}
		r := h.post(at+"?subject=before&place=centre+seam&note=as+it+came", shot(t, 90), keyed).is(201)
		r.want("subject", "before").want("place", "centre seam").want("note", "as it came").want("width", "400").want("height", "300").want("by", "Ivo").want("shows", "As it came in: centre seam.")
		id := r.id("id")
		path := fmt.Sprintf("/photos/%d", id)
		if got := r.header.Get("Location"); got != "/api/v1"+path {
			t.Errorf("it can be read at %q, want %s", got, path)
		}
		if again := h.post(at+"?subject=before&place=centre+seam&note=as+it+came", shot(t, 90), keyed).is(201).id("id"); again != id {
			t.Errorf("the same key made photos %d and %d", id, again)
		}
		h.post(at+"?subject=after&place=centre+seam&note=as+it+came", shot(t, 90), keyed).problem(409)
		h.post(at+"?subject=after", "", asJPEG).problem(400, "this file is empty")
		h.post(at+"?subject=after", shot(t, 90), asJPEG).problem(409, "on the job already")
		h.get(at).want("total", "1").want("items.0.subject", "before")
		h.get(path).want("withdrawn_why", "")
		for _, file := range []string{"/full.jpg", "/thumb.jpg"} {
			r := h.get(path + file)
			if r.header.Get("Content-Type") != "image/jpeg" || r.header.Get("X-Content-Type-Options") != "nosniff" || r.header.Get("Cache-Control") != "private, max-age=31536000, immutable" {
				t.Errorf("%s came with %v", file, r.header)
			}
			if _, err := jpeg.Decode(bytes.NewReader(r.raw)); err != nil {
				t.Errorf("%s cannot be read: %v", file, err)
			}
			h.ask("GET", path+file, nil, headers{"If-None-Match": r.header.Get("ETag")}).is(304)
		}
		h.post(path+"/withdraw", map[string]any{"why": "no"}).problem(403)
		owner := h.as(domain.Owner)
		owner.post(path+"/withdraw", map[string]any{"why": ""}).wrong(422, "why", "needed")
		owner.post(path+"/withdraw", map[string]any{"why": "another guitar"}).is(200).want("withdrawn_why", "another guitar").want("withdrawn_by", "Tove")
		owner.post(path+"/withdraw", map[string]any{"why": "again"}).problem(409, "withdrawn already")
		h.ask("GET", path+"/full.jpg", nil).problem(404, "was withdrawn")
		h.get(at).want("total", "1").want("items.0.withdrawn_why", "another guitar")
	})
}

func TestPicturesThatAreRefused(t *testing.T) {
	h := open(t, storetest.Open(t, "sqlite"))
	at := h.arrive() + "/photos"
	cases := []struct {
		query, body string
		status      int
		want        string
	}{
		{"", shot(t, 1), 422, "subject"},
		{"?subject=moon", shot(t, 1), 422, "must be one of: before"},
		{"?subject=before", "\x00\x00\x00\x18ftypheic....", 422, "this is a HEIC picture: set the phone to send JPEG"},
		{"?subject=before", shot(t, 1)[:400], 422, "cut off"},
		{"?subject=before", `{"picture": "no"}`, 422, "no picture"},
		{"?subject=before&survey=9", shot(t, 1), 404, "no survey 9"},
		{"?subject=before&file=x", shot(t, 1), 422, "known are: note, place, subject, survey"},
		{"?subject=before", shot(t, 1) + strings.Repeat("x", photo.MaxBytes+10), 413, "20 MB"},
	}
	for _, c := range cases {
		h.post(at+c.query, c.body, asJPEG).problem(c.status, c.want)
	}
	h.post(at+"?subject=before", nil, asJPEG).problem(400)
	h.post("/jobs/99/photos?subject=before", shot(t, 1), asJPEG).problem(404)
	h.ask("GET", "/photos/..%2f..%2fshop.db/full.jpg", nil).problem(404)
	h.ask("GET", "/photos/99/full.jpg", nil).problem(404)
	h.place = ""
	h.ask("GET", "/photos/1/full.jpg", nil).problem(401)
}
