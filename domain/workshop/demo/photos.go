package demo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"winterbench/domain"
	"winterbench/domain/job"
	"winterbench/domain/photo"
	"winterbench/domain/workshop"
)

// photographed is how many photos the demonstration has; drawing and keeping
// them takes well under a second.
const photographed = 6

// takePhotos gives the newest open jobs that show a crack a photo as it came in,
// and a detail with a ruler beside it.
func takePhotos(s *workshop.Season, seed uint64) error {
	s.Pictures = map[string][]byte{}
	defer inOrder(s)
	for _, j := range slices.Backward(s.Jobs) {
		if len(s.Photos) >= photographed {
			return nil
		}
		place, survey := crackOf(s, j)
		if place == "" || job.StageOf(j).Over() {
			continue
		}
		for _, subject := range []string{"before", "detail with ruler"} {
			p := photo.Photo{Job: j.ID, Subject: subject, Place: place, At: j.Arrival.At.Add(10 * time.Minute), By: j.Arrival.By}
			if subject != "before" {
				p.Survey, p.At, p.By = survey.ID, survey.At.Add(-time.Minute), survey.By
			}
			if err := keepPhoto(s, p, seed); err != nil {
				return fmt.Errorf("photo of tag %d: %w", j.Tag, err)
			}
		}
	}
	return nil
}

// crackOf is where the first survey of a job found a crack, "" for none.
func crackOf(s *workshop.Season, j *job.Job) (string, *job.Survey) {
	for i := range s.Surveys {
		x := &s.Surveys[i]
		if x.Job != j.ID {
			continue
		}
		for _, d := range x.Findings {
			if d.Symptom == "crack length" {
				return d.Place, x
			}
		}
	}
	return "", nil
}

func keepPhoto(s *workshop.Season, p photo.Photo, seed uint64) error {
	p.ID = domain.PhotoID(len(s.Photos) + 1)
	var raw bytes.Buffer
	if err := jpeg.Encode(&raw, drawWood(seed+uint64(p.ID), p.Subject == "detail with ruler"), &jpeg.Options{Quality: 95}); err != nil {
		return err
	}
	made, err := photo.Prepare(raw.Bytes())
	if err != nil {
		return err
	}
	p.Content, p.Thumb = photo.Name(made.Full), photo.Name(made.Thumb)
	p.Width, p.Height, p.Size = made.Width, made.Height, len(made.Full)
	s.Pictures[p.Content], s.Pictures[p.Thumb] = made.Full, made.Thumb
	s.Photos = append(s.Photos, p)
	s.Diary = append(s.Diary, workshop.Entry{Job: p.Job, At: p.At, By: p.By, What: "added a photo: " + p.What()})
	return nil
}

// inOrder brings the diary into the order of time again; nothing refers to the
// numbers of its entries.
func inOrder(s *workshop.Season) {
	slices.SortStableFunc(s.Diary, func(a, b workshop.Entry) int { return a.At.Compare(b.At) })
	for i := range s.Diary {
		s.Diary[i].ID = domain.EntryID(i + 1)
	}
}

const woodWide, woodHigh = 640, 480

// drawWood draws a board of light wood with upright grain and a crack along it,
// and a ruler below when asked. It is plainly a drawing, not a likeness of a photo.
func drawWood(seed uint64, ruler bool) *image.RGBA {
	r := rand.New(rand.NewPCG(seed, 7))
	img := image.NewRGBA(image.Rect(0, 0, woodWide, woodHigh))
	rings, bend, middle := 4+3*r.Float64(), 12*r.Float64(), woodWide*(0.35+0.3*r.Float64())
	top, foot := 60+r.IntN(80), woodHigh-140-r.IntN(80)
	for y := range woodHigh {
		sway := bend * math.Sin(float64(y)/170)
		for x := range woodWide {
			grain := math.Sin((float64(x) + sway) * rings / 20)
			c := shade(222, 184, 126, 13*grain*grain*grain+6*r.Float64())
			if gap := math.Abs(float64(x) - middle - sway - 2*math.Sin(float64(y)/23)); y > top && y < foot && gap < crackWidth(y, top, foot) {
				c = shade(60, 38, 22, 8*r.Float64())
			}
			img.SetRGBA(x, y, c)
		}
	}
	if ruler {
		drawRuler(img)
	}
	return img
}

// crackWidth is half the width of the crack, widest in its middle, px.
func crackWidth(y, top, foot int) float64 {
	return 2.8 * math.Sin(math.Pi*float64(y-top)/float64(foot-top))
}

func shade(r, g, b int, by float64) color.RGBA {
	bright := func(v int) uint8 { return uint8(min(max(v+int(by), 0), 255)) }
	return color.RGBA{R: bright(r), G: bright(g), B: bright(b), A: 255}
}

// drawRuler lays a steel ruler along the foot, a mark for each of its
// millimetres, the fifth and tenth longer.
func drawRuler(img *image.RGBA) {
	const high, apart = 70, 10
	for y := woodHigh - high; y < woodHigh; y++ {
		for x := range woodWide {
			c := color.RGBA{R: 196, G: 200, B: 203, A: 255}
			long := 18
			switch n := x / apart; {
			case n%10 == 0:
				long = 38
			case n%5 == 0:
				long = 28
			}
			if x%apart < 2 && y < woodHigh-high+long {
				c = color.RGBA{R: 40, G: 42, B: 44, A: 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
}
