package photo

import (
	"bytes"

	"winterbench/domain"
)

// Kinds of picture that can be opened.
const (
	kindJPEG = "jpeg"
	kindPNG  = "png"
	kindWebP = "webp"
)

// kindOf tells the kind of a file by its first bytes; what it is called and what
// its sender says it is do not count. A kind that cannot be opened is an Invalid
// error that says what to do.
func kindOf(raw []byte) (string, error) {
	starts := func(s string) bool { return bytes.HasPrefix(raw, []byte(s)) }
	switch {
	case starts("\xFF\xD8\xFF"):
		return kindJPEG, nil
	case starts("\x89PNG\r\n\x1a\n"):
		return kindPNG, nil
	case starts("RIFF") && len(raw) >= 12 && string(raw[8:12]) == "WEBP":
		return kindWebP, nil
	case len(raw) >= 12 && string(raw[4:8]) == "ftyp":
		return "", boxed(string(raw[8:12]))
	case starts("GIF8"):
		return "", domain.Invalidf("this is a GIF picture; send JPEG, PNG or WebP")
	case starts("II*\x00"), starts("MM\x00*"):
		return "", domain.Invalidf("this is a TIFF or raw camera picture; send it as JPEG")
	case starts("%PDF"):
		return "", domain.Invalidf("this is a PDF paper; send the picture itself, as JPEG, PNG or WebP")
	}
	return "", domain.Invalidf("this is no picture that can be read here; send JPEG, PNG or WebP")
}

// boxed says what is wrong with a file of the ISO base media format, by its
// major brand.
func boxed(brand string) error {
	switch brand {
	case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1":
		return domain.Invalidf("this is a HEIC picture: set the phone to send JPEG")
	case "avif", "avis":
		return domain.Invalidf("this is an AVIF picture; send it as JPEG")
	}
	return domain.Invalidf("this is a film or sound, not a picture; send JPEG, PNG or WebP")
}
