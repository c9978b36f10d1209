package season

import "testing"

// A file of months is read or refused, and never breaks the program.
func FuzzReadClimate(f *testing.F) {
	f.Add([]byte("month,temperature,humidity\n2026-01,-8.5,84\n"))
	f.Add([]byte("month;temperature;humidity\r\n2026-13;-8,5;184\r\n"))
	f.Add([]byte("\xef\xbb\xbf\"month\n"))
	f.Add([]byte{0xff, 0})
	f.Fuzz(func(t *testing.T, file []byte) {
		read, err := ReadClimate(file)
		again, errAgain := ReadClimate(file)
		if (err == nil) != (errAgain == nil) || err == nil && len(read.Bad) != len(again.Bad) {
			t.Errorf("the same file is read differently: %v and %v", err, errAgain)
		}
	})
}
