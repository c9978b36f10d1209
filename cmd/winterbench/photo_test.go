package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"winterbench/store/storetest"
)

// coarse is a JPEG file of some megabytes: noise does not shrink.
func coarse(t *testing.T, seed uint64) []byte {
	t.Helper()
	img, r := image.NewRGBA(image.Rect(0, 0, 1800, 1400)), rand.New(rand.NewPCG(seed, 1))
	for y := range 1400 {
		for x := range 1800 {
			img.SetRGBA(x, y, color.RGBA{R: byte(r.Uint32()), G: byte(r.Uint32()), B: byte(r.Uint32()), A: 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 90}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A form with pictures may be far larger than any other, and the pictures lie
// beside the database afterwards.
func TestPhotosPassTheWholeServer(t *testing.T) {
	database, folder := storetest.Database(t, "sqlite"), filepath.Join(t.TempDir(), "named")
	at, c := demoShopWith(t, database, folder, "owner")
	_, page, _ := get(t, c, at+"/jobs?stage=surveyed")
	job := regexp.MustCompile(`/jobs/\d+`).FindString(page)
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name, value := range map[string]string{"key": "k", "subject": "before", "place": "centre seam", "note": ""} {
		if err := w.WriteField(name, value); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 2 {
		part, err := w.CreateFormFile("photos", fmt.Sprintf("%d.jpg", i))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(coarse(t, uint64(i))); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if body.Len() < 2*maxBody {
		t.Fatalf("the form has %d bytes, too few to tell anything", body.Len())
	}
	large := body.Bytes()
	send := func(path string) (int, string) {
		res, err := c.Post(at+path, w.FormDataContentType(), bytes.NewReader(large))
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		text, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, string(text)
	}
	before := pictureFiles(t, folder)
	if status, text := send(job + "/photos"); status != http.StatusOK || !strings.Contains(text, "2 photos are kept.") {
		t.Fatalf("got %d, want the page that says both are kept", status)
	}
	if added := pictureFiles(t, folder) - before; added != 4 {
		t.Errorf("%d files came into the folder, want a large and a small one of each", added)
	}
	if status, _ := send(job + "/marks"); status < 400 {
		t.Errorf("another form of this size gets %d, want a refusal", status)
	}
}

func pictureFiles(t *testing.T, folder string) int {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "??", "*.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	return len(files)
}

func TestWherePhotosLie(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", filepath.FromSlash("/data"))
	for _, c := range []struct {
		command serveCommand
		want    string
	}{
		{serveCommand{Database: "shop.db"}, ""}, // the store puts them beside the file
		{serveCommand{Database: "postgres://bench@localhost/shop"}, filepath.FromSlash("/data/winterbench/photos")},
		{serveCommand{Database: "postgresql://bench@localhost/shop", Photos: "shared"}, "shared"},
	} {
		if got := photosOf(c.command.Photos, c.command.database()); got != c.want {
			t.Errorf("%s: got %q, want %q", c.command.Database, got, c.want)
		}
	}
	if _, err := os.Stat(filepath.FromSlash("/data/winterbench")); err == nil {
		t.Error("asking where photos lie made a folder")
	}
}
