package demo

import (
	"bytes"
	"image/jpeg"
	"slices"
	"testing"

	"winterbench/domain/job"
	"winterbench/domain/photo"
)

// A photo of the demonstration passes what every photo must, belongs to an open
// job, and its pictures can be opened.
func TestPhotosOfTheDemonstration(t *testing.T) {
	s := usual(t)
	if len(s.Photos) != photographed || len(s.Pictures) != 2*photographed {
		t.Fatalf("got %d photos with %d pictures, want %d with two each", len(s.Photos), len(s.Pictures), photographed)
	}
	for _, p := range s.Photos {
		i := slices.IndexFunc(s.Jobs, func(j *job.Job) bool { return j.ID == p.Job })
		if i < 0 || job.StageOf(s.Jobs[i]).Over() || p.At.Before(s.Jobs[i].Arrival.At) || p.By == "" || p.Check() != nil {
			t.Errorf("%+v does not fit its job", p)
		}
		for name, width := range map[string]int{p.Content: p.Width, p.Thumb: photo.ThumbSide} {
			img, err := jpeg.Decode(bytes.NewReader(s.Pictures[name]))
			if err != nil || img.Bounds().Dx() != width || photo.Name(s.Pictures[name]) != name {
				t.Errorf("photo %d: picture %s is not as described: %v", p.ID, name, err)
			}
		}
	}
}
