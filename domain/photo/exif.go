package photo

import (
	"bytes"
	"encoding/binary"
)

// How a picture must be turned to stand upright, as its Exif data says: 1 not
// at all, up to 8. Source: Exif 2.32 (CIPA DC-008), tag 274 Orientation.
const (
	upright  = 1
	lastTurn = 8
	turnTag  = 0x0112
)

// orientation finds the turn in the metadata of a JPEG, PNG or WebP file. It is
// upright when there is none or it makes no sense: a picture on its side is
// better than none.
func orientation(raw []byte, kind string) int {
	switch kind {
	case kindJPEG:
		return turnInTIFF(exifOfJPEG(raw))
	case kindPNG:
		return turnInTIFF(exifOfPNG(raw))
	case kindWebP:
		return turnInTIFF(exifOfWebP(raw))
	}
	return upright
}

// exifOfJPEG walks the segments before the picture and returns the Exif block
// of the first APP1 segment that has one, nil when there is none.
func exifOfJPEG(raw []byte) []byte {
	var exif []byte
	segments(raw, func(marker byte, body []byte) bool {
		if rest, ok := bytes.CutPrefix(body, []byte("Exif\x00\x00")); ok && marker == 0xE1 {
			exif = rest
		}
		return exif == nil
	})
	return exif
}

// segments calls fn with each segment of a JPEG file before its scan, until fn
// returns false. Source: ITU-T T.81, annex B.
func segments(raw []byte, fn func(marker byte, body []byte) bool) {
	at := 2
	for at+4 <= len(raw) && raw[at] == 0xFF {
		marker := raw[at+1]
		if marker == 0xFF { // fill byte
			at++
			continue
		}
		length := int(binary.BigEndian.Uint16(raw[at+2:]))
		end := at + 2 + length
		if marker == 0xDA || length < 2 || end > len(raw) || !fn(marker, raw[at+4:end]) {
			return
		}
		at = end
	}
}

// exifOfPNG returns the body of the eXIf chunk. Source: PNG, third edition, 11.3.3.4.
func exifOfPNG(raw []byte) []byte {
	for at := 8; at+12 <= len(raw); {
		length := int64(binary.BigEndian.Uint32(raw[at:]))
		end := int64(at) + 8 + length
		if end+4 > int64(len(raw)) {
			return nil
		}
		if string(raw[at+4:at+8]) == "eXIf" {
			return raw[at+8 : end]
		}
		at = int(end) + 4
	}
	return nil
}

// exifOfWebP returns the body of the EXIF chunk. Source: RFC 9649, 2.7.1.5.
func exifOfWebP(raw []byte) []byte {
	for at := 12; at+8 <= len(raw); {
		length := int64(binary.LittleEndian.Uint32(raw[at+4:]))
		end := int64(at) + 8 + length
		if end > int64(len(raw)) {
			return nil
		}
		if string(raw[at:at+4]) == "EXIF" {
			return bytes.TrimPrefix(raw[at+8:end], []byte("Exif\x00\x00")) // some writers keep the prefix of JPEG
		}
		at = int(end + length%2)
	}
	return nil
}

// turnInTIFF reads the orientation from the first directory of a TIFF block.
// Source: TIFF 6.0, section 2.
func turnInTIFF(block []byte) int {
	if len(block) < 8 {
		return upright
	}
	var order binary.ByteOrder
	switch string(block[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return upright
	}
	start := int64(order.Uint32(block[4:]))
	if start+2 > int64(len(block)) {
		return upright
	}
	entries := block[start+2:]
	for range order.Uint16(block[start:]) {
		if len(entries) < 12 {
			return upright
		}
		// tag, type 3 (a 16-bit number), count 1, value at the front of its field
		if order.Uint16(entries) == turnTag && order.Uint16(entries[2:]) == 3 && order.Uint32(entries[4:]) == 1 {
			if turn := int(order.Uint16(entries[8:])); turn >= upright && turn <= lastTurn {
				return turn
			}
			return upright
		}
		entries = entries[12:]
	}
	return upright
}
