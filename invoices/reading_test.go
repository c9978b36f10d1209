package invoices

import (
	"bytes"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// reader returns the path of a program of poppler-utils. Without it the test is
// skipped on a person's machine and fails where everything must run.
func reader(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is missing; install poppler-utils", name)
	}
	t.Skipf("%s is missing; install poppler-utils to run this test", name)
	return ""
}

func saved(t *testing.T, pdf []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// textOf is the text of a document as an independent program reads it.
func textOf(t *testing.T, pdf []byte) string {
	t.Helper()
	out, err := exec.Command(reader(t, "pdftotext"), "-layout", saved(t, pdf), "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// words brings text to single spaces, so that lines do not matter.
func words(text string) string { return strings.Join(strings.Fields(text), " ") }

// dpi is the resolution of the pictures that are looked at.
const dpi = 100

// pictureOf draws a page, counted from 1, in grey.
func pictureOf(t *testing.T, pdf []byte, page int) *image.Gray {
	t.Helper()
	n := strconv.Itoa(page)
	out, err := exec.Command(reader(t, "pdftoppm"), "-png", "-r", strconv.Itoa(dpi), "-f", n, "-l", n, saved(t, pdf)).Output()
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	grey := image.NewGray(img.Bounds())
	draw.Draw(grey, grey.Bounds(), img, img.Bounds().Min, draw.Src)
	return grey
}

// inkIn is the share of dark dots in a part of a page, given in mm.
func inkIn(img *image.Gray, x, y, w, h float64) float64 {
	mm := func(f float64) int { return int(f * dpi / 25.4) }
	part := image.Rect(mm(x), mm(y), mm(x+w), mm(y+h)).Intersect(img.Bounds())
	dark := 0
	for row := part.Min.Y; row < part.Max.Y; row++ {
		for col := part.Min.X; col < part.Max.X; col++ {
			if img.GrayAt(col, row).Y < 128 {
				dark++
			}
		}
	}
	return float64(dark) / float64(max(part.Dx()*part.Dy(), 1))
}

var pageObject = regexp.MustCompile(`/Type /Page\b[^s]`)

// pagesOf counts the pages. It needs no other program: page objects are not
// compressed.
func pagesOf(pdf []byte) int { return len(pageObject.FindAll(pdf, -1)) }
