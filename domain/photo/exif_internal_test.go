package photo

import (
	"testing"
)

func FuzzOrientation(f *testing.F) {
	f.Add([]byte("II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00"))
	f.Add([]byte("MM\x00*\x00\x00\x00\x08\xFF\xFF\x01\x12\x00\x03\x00\x00\x00\x01\x00\x09"))
	f.Add([]byte("\xFF\xD8\xFF\xE1\x00\x20Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x08\x00"))
	f.Add([]byte("\x89PNG\r\n\x1a\n\xFF\xFF\xFF\xFFeXIfII*\x00"))
	f.Add([]byte("RIFF\x00\x00\x00\x00WEBPEXIF\xFF\xFF\xFF\xFF"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		before := string(raw)
		turns := []int{turnInTIFF(raw), orientation(raw, kindJPEG), orientation(raw, kindPNG), orientation(raw, kindWebP)}
		for i, turn := range turns {
			if turn < upright || turn > lastTurn {
				t.Errorf("reader %d: got turn %d, want 1 to 8", i, turn)
			}
		}
		if fr := frameOf(raw); fr.samples < 0 || fr.samples > 255 {
			t.Errorf("got %v samples a pixel", fr.samples)
		}
		if string(raw) != before {
			t.Error("reading changed the file")
		}
	})
}

func TestTheTurnIsReadFromTheFirstDirectory(t *testing.T) {
	const six = "II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00"
	cases := []struct {
		name, block string
		want        int
	}{
		{"as it should be", six, 6},
		{"without its last bytes", six[:20], upright},
		{"start behind the end", "II*\x00\xFF\xFF\xFF\xFF\x01\x00", upright},
		{"no byte order", "XX" + six[2:], upright},
		{"a 32-bit number", six[:12] + "\x04" + six[13:], upright},
		{"two values", six[:14] + "\x02" + six[15:], upright},
		{"nothing", "", upright},
	}
	for _, c := range cases {
		if got := turnInTIFF([]byte(c.block)); got != c.want {
			t.Errorf("%s: got %d, want %d", c.name, got, c.want)
		}
	}
}
